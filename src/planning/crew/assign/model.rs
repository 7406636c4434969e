//! A part of the season as a network: what each arc and decision means.

use std::collections::{BTreeMap, BTreeSet};

use crate::planning::crew::flow::network::Network;
use crate::planning::crew::routes::list::{Known, Route, Visit};
use crate::planning::crew::sessions::parts::Clashes;
use crate::planning::crew::sessions::unstaffed::{Able, Unstaffed};
use crate::trade::season::Season;

/// The network, and what its arcs mean.
pub(crate) struct Model {
    pub(crate) network: Network,
    /// Arc from a lot to a slot.
    pub(crate) to_slot: Vec<ToSlot>,
    /// Arc from a slot to a class.
    pub(crate) to_class: Vec<ToClass>,
    pub(crate) classes: Vec<Class>,
    /// Decision of a class at a session of the part, where that is a decision.
    pub(crate) assigned: BTreeMap<(usize, usize), usize>,
    /// Decision of a class at the boxes of a session in a slot, where that is a decision.
    pub(crate) at_box: BTreeMap<(usize, usize, i64), usize>,
    /// For each class the pairs of sessions it cannot serve both.
    pub(crate) clashes: Vec<Vec<(usize, usize)>>,
    /// For each class the sessions that it serves by one route.
    pub(crate) components: Vec<Vec<Vec<usize>>>,
    /// True if some sessions are kept apart only for what may lie between them.
    pub(crate) wary: bool,
    /// Routes that members of a class may take.
    pub(crate) columns: Vec<RouteColumn>,
    /// Classes with the sessions to which they come by routes.
    pub(crate) routed: BTreeSet<(usize, usize)>,
}

/// How those are sent who cannot be everywhere.
#[derive(Clone, Copy)]
pub(crate) enum Ways<'a> {
    /// To whole sessions.
    Whole,
    /// On these routes, which may leave a session for another; whoever is at a session with few
    /// boxes stands at one for the whole visit.
    Routes(&'a Known),
}

impl Model {
    pub(crate) fn add(&mut self, class: Class, found: Clashes) {
        self.classes.push(class);
        self.clashes.push(found.pairs);
        self.components.push(found.components);
        self.wary |= found.wary;
    }

    /// The routes of a class that visit a session.
    pub(crate) fn visits(
        &self,
        class: usize,
        session: usize,
    ) -> impl Iterator<Item = (usize, &Visit)> {
        let mine = self.columns.iter().enumerate();
        mine.filter(move |(_, p)| p.class == class)
            .filter_map(move |(n, p)| Some((n, p.at(session)?)))
    }

    /// True if somebody can serve no more than a part of a session, for the longest day.
    pub(crate) fn is_cut_by_day(&self) -> bool {
        self.clashes.iter().flatten().any(|(a, b)| a == b)
    }

    /// Which members of a class serve a session whole, by place in the class. Sessions are gone through by
    /// opening time; each takes the members who are not at an earlier session that clashes with it.
    pub(crate) fn members_at(&self, c: usize, s: usize, decisions: &[u32]) -> Vec<usize> {
        let size = self.classes[c].members.len();
        if !self.assigned.contains_key(&(c, s)) {
            return (0..size).collect();
        }
        let mut taken: BTreeMap<usize, Vec<usize>> = BTreeMap::new();
        for k in 0..=s {
            let Some(decision) = self.assigned.get(&(c, k)) else {
                continue;
            };
            let clash = |other: usize| self.clashes[c].contains(&(other.min(k), other.max(k)));
            let others = taken.iter().filter(|(other, _)| clash(**other));
            let busy: Vec<usize> = others.flat_map(|(_, m)| m.iter().copied()).collect();
            let free = (0..size).filter(|m| !busy.contains(m));
            taken.insert(k, free.take(decisions[*decision] as usize).collect());
        }
        taken.remove(&s).unwrap_or_default()
    }

    /// True if members of a class come to a session by routes alone: also where no route that is
    /// known visits it, for then nobody of them comes.
    pub(crate) fn is_routed(&self, class: usize, session: usize) -> bool {
        self.routed.contains(&(class, session))
    }
}

/// Technicians who are alike, by their place in the season.
pub(crate) struct Class {
    pub(crate) members: Vec<usize>,
}

/// Session by its place in the part.
pub(crate) struct ToSlot {
    pub(crate) arc: usize,
    pub(crate) session: usize,
    /// Place among the session's dues.
    pub(crate) due: usize,
    pub(crate) lot: usize,
    pub(crate) slot: i64,
}

/// Session by its place in the part.
pub(crate) struct ToClass {
    pub(crate) arc: usize,
    pub(crate) session: usize,
    pub(crate) slot: i64,
    pub(crate) class: usize,
}

pub(crate) fn able_of<'a>(unstaffed: &'a Unstaffed, class: &Class) -> Option<&'a Able> {
    unstaffed
        .able
        .iter()
        .find(|a| a.technician == class.members[0])
}

/// Minutes on the road from a technician's home.
pub(crate) fn road(season: &Season, technician: usize, site: usize) -> i64 {
    season.crew[technician]
        .home
        .map_or(0, |h| season.sites[h].road[site].num_minutes())
}

/// A route that members of a class may take, as a decision how many do.
pub(crate) struct RouteColumn {
    pub(crate) class: usize,
    /// Sessions that clash, directly or by others: each member takes one route through them.
    pub(crate) component: usize,
    pub(crate) route: Route,
    pub(crate) decision: usize,
}

impl RouteColumn {
    pub(crate) fn at(&self, session: usize) -> Option<&Visit> {
        self.route.iter().find(|v| v.session == session)
    }
}
