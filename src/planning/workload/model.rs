//! A part of the season as a network: what each arc and switch means.

use std::collections::{BTreeMap, BTreeSet};

use super::network::Network;
use super::parts::Clashes;
use super::routes::{Known, Route, Visit};
use super::shape::{Able, Shape};
use crate::trade::season::Season;

/// The network, and what its arcs mean.
pub(super) struct Model {
    pub(super) network: Network,
    /// Arc from a lot to a slot.
    pub(super) to_slot: Vec<ToSlot>,
    /// Arc from a slot to a class.
    pub(super) to_class: Vec<ToClass>,
    pub(super) classes: Vec<Class>,
    /// Switch of a class at a session of the part, where that is a decision.
    pub(super) sent: BTreeMap<(usize, usize), usize>,
    /// Switch of a class at the boxes of a session in a slot, where that is a decision.
    pub(super) at_box: BTreeMap<(usize, usize, i64), usize>,
    /// For each class the pairs of sessions it cannot serve both.
    pub(super) clashes: Vec<Vec<(usize, usize)>>,
    /// For each class the sessions that it serves by one route.
    pub(super) knots: Vec<Vec<Vec<usize>>>,
    /// True if some sessions are kept apart only for what may lie between them.
    pub(super) wary: bool,
    /// Routes that members of a class may take.
    pub(super) pieces: Vec<Piece>,
    /// Classes with the sessions to which they come by routes.
    pub(super) routed: BTreeSet<(usize, usize)>,
}

/// How those are sent who cannot be everywhere.
#[derive(Clone, Copy)]
pub(super) enum Ways<'a> {
    /// To whole sessions.
    Whole,
    /// On these routes, which may leave a session for another; whoever is at a session with few
    /// boxes stands at one for the whole visit.
    Routes(&'a Known),
}

impl Model {
    pub(super) fn add(&mut self, class: Class, found: Clashes) {
        self.classes.push(class);
        self.clashes.push(found.pairs);
        self.knots.push(found.knots);
        self.wary |= found.wary;
    }

    /// The routes of a class that visit a session.
    pub(super) fn visits(
        &self,
        class: usize,
        session: usize,
    ) -> impl Iterator<Item = (usize, &Visit)> {
        let mine = self.pieces.iter().enumerate();
        mine.filter(move |(_, p)| p.class == class)
            .filter_map(move |(n, p)| Some((n, p.at(session)?)))
    }

    /// True if members of a class come to a session by routes alone: also where no route that is
    /// known visits it, for then nobody of them comes.
    pub(super) fn is_routed(&self, class: usize, session: usize) -> bool {
        self.routed.contains(&(class, session))
    }
}

/// Technicians who are alike, by their place in the season.
pub(super) struct Class {
    pub(super) members: Vec<usize>,
}

/// Session by its place in the part.
pub(super) struct ToSlot {
    pub(super) arc: usize,
    pub(super) session: usize,
    /// Place among the session's dues.
    pub(super) due: usize,
    pub(super) lot: usize,
    pub(super) slot: i64,
}

/// Session by its place in the part.
pub(super) struct ToClass {
    pub(super) arc: usize,
    pub(super) session: usize,
    pub(super) slot: i64,
    pub(super) class: usize,
}

pub(super) fn able_of<'a>(shape: &'a Shape, class: &Class) -> Option<&'a Able> {
    shape.able.iter().find(|a| a.technician == class.members[0])
}

/// Minutes on the road from a technician's home.
pub(super) fn road(season: &Season, technician: usize, site: usize) -> i64 {
    season.crew[technician]
        .home
        .map_or(0, |h| season.sites[h].road[site].num_minutes())
}

/// A route that members of a class may take, as a decision how many do.
pub(super) struct Piece {
    pub(super) class: usize,
    /// Sessions that clash, directly or by others: each member takes one route through them.
    pub(super) knot: usize,
    pub(super) route: Route,
    pub(super) switch: usize,
}

impl Piece {
    pub(super) fn at(&self, session: usize) -> Option<&Visit> {
        self.route.iter().find(|v| v.session == session)
    }
}
