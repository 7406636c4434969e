//! Routes as decisions: how many of a class of technicians take each.

use std::collections::BTreeSet;

use super::crew::Shape;
use super::formulate::{Model, road};
use super::network::{Limit, Switch};
use super::routes::{Route, Routes, Visit, routes};
use crate::season::Season;

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

/// Routes of a part at the most: with more, those left are sent to whole sessions.
const MOST_PIECES: usize = 1_500;

/// Sessions that clash, directly or by others.
fn knots(clashes: &[(usize, usize)]) -> Vec<BTreeSet<usize>> {
    let mut knots: Vec<BTreeSet<usize>> = Vec::new();
    for (a, b) in clashes {
        let mut knot = BTreeSet::from([*a, *b]);
        knots.retain(|k| {
            let apart = k.is_disjoint(&knot);
            if !apart {
                knot.extend(k);
            }
            apart
        });
        knots.push(knot);
    }
    knots
}

/// Decisions who takes which route, for a class that cannot be everywhere. False if there are too
/// many routes: then the class is sent to whole sessions.
pub(super) fn add(season: &Season, here: &[&Shape], model: &mut Model, c: usize) -> bool {
    let technician = model.classes[c].members[0];
    let size = model.classes[c].members.len() as u32;
    let mut found = Vec::new();
    for knot in knots(&model.clashes[c]) {
        let sessions: Vec<usize> = knot.into_iter().collect();
        let Some(routes) = routes(season, here, &sessions, technician) else {
            model.complete = false;
            return false;
        };
        let all = found.iter().map(|r: &Routes| r.all.len()).sum::<usize>();
        if model.pieces.len() + all + routes.all.len() > MOST_PIECES {
            model.complete = false;
            return false;
        }
        found.push(routes);
    }
    for (knot, routes) in found.into_iter().enumerate() {
        model.complete &= routes.complete;
        let mut all = Vec::new();
        for route in routes.all {
            let road: i64 = road_of(season, here, technician, &route);
            let cost = road / season.rules.slot.num_minutes().max(1);
            model.network.switches.push(Switch { most: size, cost });
            let switch = model.network.switches.len() - 1;
            all.push(switch);
            model.pieces.push(Piece {
                class: c,
                knot,
                route,
                switch,
            });
        }
        model.network.limits.push(Limit {
            plus: all,
            minus: Vec::new(),
            most: size,
        });
    }
    true
}

/// Minutes on the road to the first session of a route and on to the others.
fn road_of(season: &Season, here: &[&Shape], technician: usize, route: &Route) -> i64 {
    let site = |v: &Visit| here[v.session].site;
    let between = route.windows(2).map(|w| {
        let road = season.sites[site(&w[0])].road[site(&w[1])];
        road.num_minutes()
    });
    road(season, technician, site(&route[0])) + between.sum::<i64>()
}
