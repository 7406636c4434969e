//! A network with whole capacities, and the few yes-or-no choices that change them.

use std::collections::BTreeMap;

/// An arc. Flow runs from the source, node 0, to the sink, node 1.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct Arc {
    pub(crate) from: usize,
    pub(crate) to: usize,
    /// Most flow, however the decisions stand.
    pub(crate) upper: u32,
    /// Distance from the aim: the second objective after the total flow.
    pub(crate) distance: i64,
    /// Step of load: the third.
    pub(crate) load: i64,
    /// Lateness in the session: the fourth.
    pub(crate) late: i64,
}

/// What the decisions let through an arc: the sum of so much for each unit of a decision.
pub(crate) type Capacity = Vec<(usize, u32)>;

/// A decision: how many of a class of technicians are at a place or take a route.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct Decision {
    pub(crate) most: u32,
    /// What one unit costs, in the units of `Arc::distance`.
    pub(crate) cost: i64,
}

/// A limit on a sum of decisions: `sum of plus <= most + sum of minus`.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct Limit {
    pub(crate) plus: Vec<usize>,
    pub(crate) minus: Vec<usize>,
    pub(crate) most: u32,
}

#[derive(Clone, Debug, Default)]
pub(crate) struct Network {
    pub(crate) nodes: usize,
    pub(crate) arcs: Vec<Arc>,
    pub(crate) decisions: Vec<Decision>,
    pub(crate) limits: Vec<Limit>,
    /// Capacities of arcs that hang on decisions; an arc lets through no more than each of them.
    pub(crate) capacities: BTreeMap<usize, Capacity>,
}

pub(crate) const SOURCE: usize = 0;
pub(crate) const SINK: usize = 1;

impl Network {
    pub(crate) fn new() -> Self {
        Self {
            nodes: 2,
            ..Self::default()
        }
    }

    pub(crate) fn node(&mut self) -> usize {
        self.nodes += 1;
        self.nodes - 1
    }

    pub(crate) fn arc(&mut self, from: usize, to: usize, upper: u32) -> usize {
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

    /// Capacities once the decisions are set.
    pub(crate) fn uppers(&self, decisions: &[u32]) -> Vec<u32> {
        let mut uppers: Vec<u32> = self.arcs.iter().map(|a| a.upper).collect();
        for (arc, capacity) in &self.capacities {
            let open = capacity.iter().map(|(s, each)| decisions[*s] * each).sum();
            uppers[*arc] = uppers[*arc].min(open);
        }
        uppers
    }

    /// What one more head is worth, in units of `cost`: more than any chain of shifts it may
    /// cause. A new head shifts the others along one path without repeats, which passes each
    /// node at most once.
    pub(crate) fn worth(&self, cost: impl Fn(&Arc) -> i64) -> i64 {
        let dearest = self.arcs.iter().map(|a| cost(a).abs()).max().unwrap_or(0);
        1 + dearest * self.nodes as i64
    }
}
