//! The optimal face of a flow: which arcs no optimal plan may change.
//!
//! A second objective may only choose among plans that are best for the first. Adding the first
//! objective as a constraint would spoil the whole-number structure; fixing arcs does not. With
//! potentials from the residual network, an arc whose reduced cost is above zero carries nothing
//! in any best plan, and one below zero is full in every best plan.
//!
//! This also proves the solver's optimum: it fails if a better plan exists.

use super::network::{Network, SINK, SOURCE};

/// Bounds for each arc that keep to plans as good as `flow`; or the fault, if `flow` is not best.
pub(crate) fn optimal_face(
    network: &Network,
    uppers: &[u32],
    flow: &[u32],
    cost: &[i64],
) -> Result<Vec<(u32, u32)>, &'static str> {
    // The total flow is part of the cost (negative on arcs from the source); a free arc from
    // sink to source makes it a circulation.
    let mut potential = vec![0i64; network.nodes];
    let mut stable = false;
    for _ in 0..=network.nodes {
        stable = true;
        let mut relax = |from: usize, to: usize, c: i64| {
            if potential[from] + c < potential[to] {
                potential[to] = potential[from] + c;
                stable = false;
            }
        };
        for (n, arc) in network.arcs.iter().enumerate() {
            if flow[n] < uppers[n] {
                relax(arc.from, arc.to, cost[n]);
            }
            if flow[n] > 0 {
                relax(arc.to, arc.from, -cost[n]);
            }
        }
        relax(SINK, SOURCE, 0);
        relax(SOURCE, SINK, 0);
        if stable {
            break;
        }
    }
    if !stable {
        return Err("a better plan exists than the one the solver called best");
    }
    Ok(network
        .arcs
        .iter()
        .enumerate()
        .map(|(n, arc)| {
            let reduced = cost[n] + potential[arc.from] - potential[arc.to];
            match reduced.signum() {
                1 => (0, 0),
                -1 => (uppers[n], uppers[n]),
                _ => (0, uppers[n]),
            }
        })
        .collect())
}
