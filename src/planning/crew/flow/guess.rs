//! A first choice of a part, to begin the search with.

use std::collections::BTreeMap;

use crate::planning::crew::bounds::coverage::covered;
use crate::planning::crew::sessions::unstaffed::Unstaffed;

/// A first choice, and how much any choice could cover at the most.
pub(crate) struct Guess {
    /// A value for each decision of the part's network.
    pub(crate) decisions: Vec<u32>,
    /// No choice covers more head than this.
    pub(crate) bound: u32,
    /// How far to search for more: nodes times arcs.
    pub(crate) node_arcs: usize,
    /// True if only the head counts: who breeds when is left as it comes.
    pub(crate) only_head: bool,
    /// Places a slot, by session of the part.
    pub(crate) places: Vec<BTreeMap<i64, u32>>,
}

impl Guess {
    /// Head covered, had they straws for all.
    pub(crate) fn head(&self, here: &[&Unstaffed]) -> u32 {
        let each = here.iter().zip(&self.places);
        each.map(|(unstaffed, places)| covered(&unstaffed.all_lots(), places))
            .sum()
    }

    /// For a network without choices.
    pub(crate) fn none() -> Self {
        Self {
            decisions: Vec::new(),
            bound: 0,
            node_arcs: MOST_NODE_ARCS,
            only_head: false,
            places: Vec::new(),
        }
    }
}

/// Nodes that a search over the choices of one part may open, in arcs of the network: large
/// networks take longer for each. Counted, not timed, so that a plan never depends on the machine.
pub(crate) const MOST_NODE_ARCS: usize = 1_000_000;
