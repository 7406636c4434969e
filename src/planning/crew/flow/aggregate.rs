//! The choice of who goes where for most head, as a program far smaller than the network.
//!
//! For the number of head alone it does not matter who breeds a cow in a slot, nor in which of
//! several slots that are open to the same lots: what counts is how many places the choice leaves
//! there. So slots open to the same lots become one, and all arcs to technicians become one row.
//!
//! Why this program beside the network: with one limit for all sessions that clash with each other, in
//! place of one for each pair, fractions of people bound a part to within a few head. The search then
//! ends at once where it ran into its limit before.

use std::collections::BTreeMap;

use super::network::{Capacity, Network, SINK, SOURCE};
use crate::base::solver::{Program, Sense, Var};

/// What an arc lets through: so much in any case, or so much for each unit of a decision.
fn capacity(network: &Network, arc: usize) -> (u32, Capacity) {
    match network.capacities.get(&arc) {
        None => (network.arcs[arc].upper, Vec::new()),
        // Limits on the decisions keep it within the arc's own most.
        Some(capacity) => (0, capacity.clone()),
    }
}

/// The most that an arc can ever let through.
fn most(network: &Network, arc: usize) -> u32 {
    network.arcs[arc].upper
}

/// Arcs by the node they leave and the node they enter.
struct Ends {
    out_of: Vec<Vec<usize>>,
    into: Vec<Vec<usize>>,
}

impl Ends {
    fn new(network: &Network) -> Self {
        let mut ends = Self {
            out_of: vec![Vec::new(); network.nodes],
            into: vec![Vec::new(); network.nodes],
        };
        for (n, arc) in network.arcs.iter().enumerate() {
            ends.out_of[arc.from].push(n);
            ends.into[arc.to].push(n);
        }
        ends
    }

    fn most_into(&self, network: &Network, node: usize) -> u32 {
        self.into[node].iter().map(|a| most(network, *a)).sum()
    }
}

/// Slots that are open to the same lots: where their cows come from and how many at the most, and
/// the places there are, in all cases and by decisions.
#[derive(Default)]
struct Places {
    from: Vec<(usize, u32)>,
    fixed: u32,
    by_decision: BTreeMap<usize, u32>,
}

/// The program of a network: its first variables are the decisions, its cost is the head covered,
/// below zero.
pub(crate) fn compact(network: &Network, whole: bool) -> Program {
    let ends = Ends::new(network);
    let fixed = |arcs: &[usize]| arcs.iter().all(|a| capacity(network, *a).1.is_empty());
    // Technicians: whatever comes to them goes on to the sink.
    let is_free = |node: usize| {
        let out = &ends.out_of[node];
        let room: u32 = out.iter().map(|a| most(network, *a)).sum();
        node != SOURCE
            && out.iter().all(|a| network.arcs[*a].to == SINK)
            && fixed(out)
            && (node == SINK || room >= ends.most_into(network, node))
    };
    let free: Vec<bool> = (0..network.nodes).map(is_free).collect();
    let is_slot = |node: usize| {
        let out = &ends.out_of[node];
        node != SOURCE
            && !free[node]
            && !out.is_empty()
            && out.iter().all(|a| free[network.arcs[*a].to])
            && fixed(&ends.into[node])
    };
    let slot: Vec<bool> = (0..network.nodes).map(is_slot).collect();
    let mut all: Vec<Places> = Vec::new();
    let mut by_lots: BTreeMap<Vec<usize>, usize> = BTreeMap::new();
    for node in (0..network.nodes).filter(|n| slot[*n]) {
        let into = || ends.into[node].iter().map(|a| &network.arcs[*a]);
        // Slots are one only where no arc to any of them binds.
        let loose = into().all(|a| a.from != SOURCE && a.upper >= ends.most_into(network, a.from));
        let new = all.len();
        let at = if loose {
            *by_lots
                .entry(into().map(|a| a.from).collect())
                .or_insert(new)
        } else {
            new
        };
        if at == new {
            all.push(Places {
                from: into().map(|a| (a.from, a.upper)).collect(),
                ..Places::default()
            });
        }
        for a in &ends.out_of[node] {
            let (fixed, by_decision) = capacity(network, *a);
            all[at].fixed += fixed;
            for (s, n) in by_decision {
                *all[at].by_decision.entry(s).or_default() += n;
            }
        }
    }
    // The arcs that are left: those that neither enter nor leave a slot, nor leave a technician.
    let left = |n: &usize| {
        let arc = &network.arcs[*n];
        !slot[arc.from] && !slot[arc.to] && !free[arc.from]
    };
    let left: Vec<usize> = (0..network.arcs.len()).filter(left).collect();
    let inner = |node: usize| node != SOURCE && node != SINK && !free[node] && !slot[node];
    let inner: Vec<bool> = (0..network.nodes).map(inner).collect();
    build(network, whole, &left, all, &inner)
}

fn build(
    network: &Network,
    whole: bool,
    left: &[usize],
    all: Vec<Places>,
    inner: &[bool],
) -> Program {
    let mut program = Program::default();
    // Decisions are the first variables.
    for s in &network.decisions {
        program.var(Var {
            low: 0.0,
            high: f64::from(s.most),
            cost: 0.0,
            whole,
        });
    }
    let mut balance: Vec<Vec<(usize, f64)>> = vec![Vec::new(); network.nodes];
    let flow = |program: &mut Program, from: usize, high: u32| {
        program.var(Var {
            low: 0.0,
            high: f64::from(high),
            cost: -f64::from(u8::from(from == SOURCE)),
            whole: false,
        })
    };
    let opened = |(s, each): (usize, u32)| (s, -f64::from(each));
    for n in left {
        let arc = &network.arcs[*n];
        let var = flow(&mut program, arc.from, most(network, *n));
        balance[arc.from].push((var, -1.0));
        balance[arc.to].push((var, 1.0));
        let (fixed, by_decision) = capacity(network, *n);
        if !by_decision.is_empty() {
            let terms = by_decision.into_iter().map(opened).chain([(var, 1.0)]);
            program.row(terms.collect(), Sense::AtMost, f64::from(fixed));
        }
    }
    for places in all {
        let mut terms: Vec<_> = places.by_decision.into_iter().map(opened).collect();
        for (from, upper) in places.from {
            let var = flow(&mut program, from, upper);
            balance[from].push((var, -1.0));
            terms.push((var, 1.0));
        }
        program.row(terms, Sense::AtMost, f64::from(places.fixed));
    }
    for (node, terms) in balance.into_iter().enumerate() {
        if inner[node] && !terms.is_empty() {
            program.row(terms, Sense::Equal, 0.0);
        }
    }
    for limit in &network.limits {
        let plus = limit.plus.iter().map(|s| (*s, 1.0));
        let minus = limit.minus.iter().map(|s| (*s, -1.0));
        let terms = plus.chain(minus).collect();
        program.row(terms, Sense::AtMost, f64::from(limit.most));
    }
    program
}

#[cfg(test)]
mod tests {
    use super::super::network::{Decision, Limit};
    use super::*;

    /// Two lots of five, one with three slots and one with the first two of them; a technician who
    /// breeds two a slot, and one who breeds three, of whom only one can come.
    fn network() -> Network {
        let mut n = Network::new();
        let lots = [n.node(), n.node()];
        let slots = [n.node(), n.node(), n.node()];
        let technicians = [n.node(), n.node()];
        for lot in lots {
            n.arc(SOURCE, lot, 5);
        }
        for (k, slot) in slots.iter().enumerate() {
            n.arc(lots[0], *slot, 5);
            if k < 2 {
                n.arc(lots[1], *slot, 5);
            }
        }
        for (t, each) in [2, 3].into_iter().enumerate() {
            n.decisions.push(Decision { most: 1, cost: 0 });
            for slot in slots {
                let arc = n.arc(slot, technicians[t], each);
                n.capacities.insert(arc, vec![(t, each)]);
            }
            n.arc(technicians[t], SINK, 3 * each);
        }
        n.limits.push(Limit {
            plus: vec![0, 1],
            minus: Vec::new(),
            most: 1,
        });
        n
    }

    #[test]
    fn the_small_program_covers_as_many() {
        let small = compact(&network(), true);
        let answer = small.cheapest(100).unwrap();
        // The fast one, three a slot, in three slots.
        assert!((answer.cost + 9.0).abs() < 1e-6, "{answer:?}");
        assert!(answer.values[0] < 0.5 && answer.values[1] > 0.5);
        // Two decisions, two lots, two slots that are one with two lots, and one with one.
        assert_eq!(small.vars.len(), 2 + 2 + 2 + 1);
    }
}
