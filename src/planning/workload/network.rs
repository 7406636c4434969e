//! A network with whole capacities, and the few yes-or-no choices that change them.

use std::collections::BTreeMap;

/// An arc. Flow runs from the source, node 0, to the sink, node 1.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Arc {
    pub(super) from: usize,
    pub(super) to: usize,
    /// Most flow, however the switches stand.
    pub(super) upper: u32,
    /// Distance from the aim: the second objective after the total flow.
    pub(super) distance: i64,
    /// Step of load: the third.
    pub(super) load: i64,
    /// Lateness in the session: the fourth.
    pub(super) late: i64,
}

/// What the switches let through an arc: the sum of so much for each unit of a switch.
pub(super) type Opening = Vec<(usize, u32)>;

/// A decision: how many of a class of technicians are at a place or take a route.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Switch {
    pub(super) most: u32,
    /// What one unit costs, in the units of `Arc::distance`.
    pub(super) cost: i64,
}

/// A limit on a sum of switches: `sum of plus <= most + sum of minus`.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct Limit {
    pub(super) plus: Vec<usize>,
    pub(super) minus: Vec<usize>,
    pub(super) most: u32,
}

#[derive(Clone, Debug, Default)]
pub(super) struct Network {
    pub(super) nodes: usize,
    pub(super) arcs: Vec<Arc>,
    pub(super) switches: Vec<Switch>,
    pub(super) limits: Vec<Limit>,
    /// Openings of arcs that hang on switches; an arc lets through no more than each of them.
    pub(super) openings: BTreeMap<usize, Opening>,
}

pub(super) const SOURCE: usize = 0;
pub(super) const SINK: usize = 1;

impl Network {
    pub(super) fn new() -> Self {
        Self {
            nodes: 2,
            ..Self::default()
        }
    }

    pub(super) fn node(&mut self) -> usize {
        self.nodes += 1;
        self.nodes - 1
    }

    pub(super) fn arc(&mut self, from: usize, to: usize, upper: u32) -> usize {
        self.arcs.push(Arc {
            from,
            to,
            upper,
            distance: 0,
            load: 0,
            late: 0,
        });
        self.arcs.len() - 1
    }

    /// Capacities once the switches are set.
    pub(super) fn uppers(&self, switches: &[u32]) -> Vec<u32> {
        let mut uppers: Vec<u32> = self.arcs.iter().map(|a| a.upper).collect();
        for (arc, opening) in &self.openings {
            let open = opening.iter().map(|(s, each)| switches[*s] * each).sum();
            uppers[*arc] = uppers[*arc].min(open);
        }
        uppers
    }

    /// What one more head is worth, in units of `cost`: more than any chain of shifts it may
    /// cause. A new head shifts the others along one path without repeats, which passes each
    /// node at most once.
    pub(super) fn worth(&self, cost: impl Fn(&Arc) -> i64) -> i64 {
        let dearest = self.arcs.iter().map(|a| cost(a).abs()).max().unwrap_or(0);
        1 + dearest * self.nodes as i64
    }
}
