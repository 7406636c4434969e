//! A network with whole capacities, and the few yes-or-no choices that change them.

/// An arc. Flow runs from the source, node 0, to the sink, node 1.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Arc {
    pub(super) from: usize,
    pub(super) to: usize,
    /// Most flow; where a switch is named, for each unit of the switch.
    pub(super) upper: u32,
    pub(super) switch: Option<usize>,
    /// Distance from the aim: the second objective after the total flow.
    pub(super) distance: i64,
    /// Step of load: the third.
    pub(super) load: i64,
    /// Lateness in the session: the fourth.
    pub(super) late: i64,
}

/// How many of a class of technicians are at a place, as a decision.
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
            switch: None,
            distance: 0,
            load: 0,
            late: 0,
        });
        self.arcs.len() - 1
    }

    /// Capacities once the switches are set.
    pub(super) fn uppers(&self, switches: &[u32]) -> Vec<u32> {
        self.arcs
            .iter()
            .map(|a| a.upper * a.switch.map_or(1, |s| switches[s]))
            .collect()
    }

    /// What one more head is worth, in units of `cost`: more than any chain of shifts it may
    /// cause. A new head shifts the others along one path without repeats, which passes each
    /// node at most once.
    pub(super) fn worth(&self, cost: impl Fn(&Arc) -> i64) -> i64 {
        let dearest = self.arcs.iter().map(|a| cost(a).abs()).max().unwrap_or(0);
        1 + dearest * self.nodes as i64
    }
}
