//! A part's network, solved.
//!
//! Yes-or-no choices first, as a mixed-integer model, where a part has any: who goes where. With
//! those set the rest is a flow with whole capacities, whose best plans are whole by structure.
//! Two LPs in order: head covered and distance from the aim; then, among plans that are best for
//! those, even load and early finish. Within each LP the weights are large enough that the
//! earlier objective is never traded (see [`Network::worth`]).

use super::aggregate::compact;
use super::guess::{Guess, MOST_NODE_ARCS};
use super::network::{Arc, Network, SINK, SOURCE};
use super::optimal_face::optimal_face;
use super::simplex;
use crate::base::progress::Progress;
use crate::base::solver::{Program, Sense, Var};

/// Networks with more arcs are not searched: the choice by plain rules stands, unproven.
const MOST_ARCS: usize = 20_000;

/// Nor is it counted how much fractions of people would cover, where there are more than this.
const MOST_ARCS_BOUNDED: usize = 80_000;

/// With more variables than this the bound in fractions comes from an interior point: the simplex may take
/// a thousand times as long as its like of the same size.
const MOST_VARS_OF_SIMPLEX: usize = 1_000;

/// With more yes-or-no choices than this, those made by plain rules stand where they cover as
/// many: proving the last slot of distance best would take minutes.
const MOST_DECISIONS_FOR_DISTANCE: usize = 16;

pub(crate) struct Solved {
    /// Flow on each arc.
    pub(crate) flow: Vec<u32>,
    /// Value of each decision.
    pub(crate) decisions: Vec<u32>,
    /// Head covered.
    pub(crate) head: u32,
    /// No other choice covers more head than this.
    pub(crate) bound: u32,
}

/// Solves a network. `guess` sets the decisions by plain rules; it is kept where no other choice
/// covers more, where the choices are too many to search for the best distance, or where no search
/// is wanted.
pub(crate) fn solve(
    network: &Network,
    guess: &Guess,
    progress: &dyn Progress,
) -> Result<Solved, String> {
    let cost = coverage_then_distance(network);
    let lp =
        |bounds: &[(u32, u32)], cost: &[i64]| simplex::cheapest(network, bounds, cost, progress);
    let mut decisions = guess.decisions.clone();
    let mut flow = lp(&within(network, &decisions), &cost)?;
    let mut bound = head(network, &flow);
    if !network.decisions.is_empty() {
        let better = choose(network, guess, bound, progress)?;
        bound = better.bound;
        if better.decisions != decisions {
            decisions = better.decisions;
            flow = lp(&within(network, &decisions), &cost)?;
        }
    }
    if guess.only_head {
        let head = head(network, &flow);
        return Ok(Solved {
            flow,
            decisions,
            head,
            bound,
        });
    }
    // Exchanging one plan for another shifts head around a circle, once through each node.
    let load = network.worth(|a| a.late);
    let second = costs(network, |a| a.load * load + a.late);
    let face = optimal_face(network, &network.uppers(&decisions), &flow, &cost)?;

    // Straws have neither load nor hour: nothing is left to choose.
    if second.iter().any(|c| *c != 0) {
        flow = lp(&face, &second)?;
    }
    Ok(Solved {
        head: head(network, &flow),
        flow,
        decisions,
        bound,
    })
}

/// No choice covers more head than this: what fractions of people would cover, where the network is not
/// too large to tell.
pub(crate) fn most(network: &Network, progress: &dyn Progress) -> Result<u32, String> {
    if network.arcs.len() > MOST_ARCS_BOUNDED {
        return Ok(u32::MAX);
    }
    let program = compact(network, false);
    if program.vars.len() > MOST_VARS_OF_SIMPLEX {
        progress.worked(program.priced_work());
        if let Some(cost) = program.bound_by_prices() {
            return Ok(most_at(cost));
        }
    }
    progress.worked(program.work());
    Ok(most_at(program.cheapest(0)?.cost))
}

/// The most head, where no choice costs less; a head costs -1.
fn most_at(cost: f64) -> u32 {
    (-cost + 1e-6).floor().clamp(0.0, f64::from(u32::MAX)) as u32
}

fn within(network: &Network, decisions: &[u32]) -> Vec<(u32, u32)> {
    network.uppers(decisions).iter().map(|u| (0, *u)).collect()
}

/// Flow in all.
fn head(network: &Network, flow: &[u32]) -> u32 {
    let from_source = network
        .arcs
        .iter()
        .zip(flow)
        .filter(|(a, _)| a.from == SOURCE);
    from_source.map(|(_, f)| *f).sum()
}

fn coverage_then_distance(network: &Network) -> Vec<i64> {
    let head = network.worth(|a| a.distance);
    costs(network, |a| {
        a.distance - if a.from == SOURCE { head } else { 0 }
    })
}

fn costs(network: &Network, cost: impl Fn(&Arc) -> i64) -> Vec<i64> {
    network.arcs.iter().map(cost).collect()
}

/// What flows into a node flows out of it. Arcs are the program's first variables.
fn balance(network: &Network, program: &mut Program) {
    let mut balance = vec![Vec::new(); network.nodes];
    for (n, arc) in network.arcs.iter().enumerate() {
        balance[arc.from].push((n, -1.0));
        balance[arc.to].push((n, 1.0));
    }
    for (node, terms) in balance.into_iter().enumerate() {
        if node != SOURCE && node != SINK {
            program.row(terms, Sense::Equal, 0.0);
        }
    }
}

/// Whole by structure; a fraction would be a fault, and is not rounded away.
fn whole(x: f64) -> Result<u32, String> {
    let rounded = x.round();
    if (x - rounded).abs() > 1e-6 || rounded < 0.0 {
        return Err(format!("{x} head is not a whole number"));
    }
    Ok(rounded as u32)
}

/// What a search for decisions gave.
struct Chosen {
    decisions: Vec<f64>,
    total: f64,
    proven: bool,
    /// No values cost less.
    bound: f64,
}

impl Chosen {
    /// After a search for most head: no choice covers more.
    fn most_head(&self) -> u32 {
        most_at(self.bound)
    }
}

fn from_source(network: &Network) -> impl Iterator<Item = usize> {
    let arcs = network.arcs.iter().enumerate();
    arcs.filter(|(_, a)| a.from == SOURCE).map(|(n, _)| n)
}

/// Nodes that a search may open.
fn nodes(program: &Program, node_arcs: usize) -> usize {
    (node_arcs / program.vars.len().max(1)).clamp(10, 5_000)
}

/// Lowers each cost by a different part of a millionth: among many equal costs the simplex can go round in a
/// circle. All flows together stay far below half a million, so no choice seems to cover one head more.
fn break_ties(program: &mut Program) {
    for (n, var) in program.vars.iter_mut().enumerate() {
        // Multiples of the golden ratio: no two have the same fraction.
        var.cost -= 1e-6 * (n as f64 * 0.618_033_988_749_895).fract();
    }
}

/// The decisions for most head, by so much of a search.
fn most_head(
    network: &Network,
    node_arcs: usize,
    progress: &dyn Progress,
) -> Result<Chosen, String> {
    let mut program = compact(network, true);
    if program.vars.len() > MOST_VARS_OF_SIMPLEX {
        break_ties(&mut program);
    }
    let nodes = nodes(&program, node_arcs);
    let found = program.cheapest_until(nodes, progress)?;
    Ok(Chosen {
        total: -found.cost,
        decisions: found.values[..network.decisions.len()].to_vec(),
        proven: found.proven,
        bound: found.bound,
    })
}

/// The decisions for least distance and road, with at least so much head.
fn least_distance(
    network: &Network,
    least: f64,
    progress: &dyn Progress,
) -> Result<Vec<f64>, String> {
    let mut program = Program::default();
    for arc in &network.arcs {
        program.var(Var {
            low: 0.0,
            high: f64::from(arc.upper),
            cost: arc.distance as f64,
            whole: false,
        });
    }
    let decision = |s: usize| network.arcs.len() + s;
    for s in &network.decisions {
        program.var(Var {
            low: 0.0,
            high: f64::from(s.most),
            cost: s.cost as f64,
            whole: true,
        });
    }
    balance(network, &mut program);
    for (arc, capacity) in &network.capacities {
        let open = capacity
            .iter()
            .map(|(s, each)| (decision(*s), -f64::from(*each)));
        let terms = std::iter::once((*arc, 1.0)).chain(open).collect();
        program.row(terms, Sense::AtMost, 0.0);
    }
    for limit in &network.limits {
        let plus = limit.plus.iter().map(|s| (decision(*s), 1.0));
        let minus = limit.minus.iter().map(|s| (decision(*s), -1.0));
        program.row(
            plus.chain(minus).collect(),
            Sense::AtMost,
            f64::from(limit.most),
        );
    }
    let total = from_source(network).map(|n| (n, 1.0)).collect();
    program.row(total, Sense::AtLeast, least);
    let found = program.cheapest_until(nodes(&program, MOST_NODE_ARCS), progress)?;
    Ok(found.values[network.arcs.len()..].to_vec())
}

struct Better {
    decisions: Vec<u32>,
    /// No choice covers more than this.
    bound: u32,
}

/// Sets the decisions, from a guess that covers `head`: most head first; then, where the choices
/// are few, least distance and road.
fn choose(
    network: &Network,
    guess: &Guess,
    mut head: u32,
    progress: &dyn Progress,
) -> Result<Better, String> {
    let mut best = guess.decisions.clone();
    let mut bound = guess.bound.max(head);
    if progress.stop() || (head < bound && network.arcs.len() > MOST_ARCS) {
        return Ok(Better {
            decisions: best,
            bound,
        });
    }
    if head < bound
        && let Ok(most) = most(network, progress)
    {
        bound = bound.min(most).max(head);
    }
    if head < bound
        && !progress.stop()
        && let Ok(found) = most_head(network, guess.node_arcs, progress)
    {
        bound = bound.min(found.most_head()).max(head);
        let total = found.total.round() as u32;
        if total > head {
            head = total;
            best = all_whole(&found.decisions)?;
        }
        if found.proven {
            bound = head;
        }
    }
    let few =
        network.decisions.len() <= MOST_DECISIONS_FOR_DISTANCE && network.arcs.len() <= MOST_ARCS;
    if few && !guess.only_head && !progress.stop() {
        // This only improves on what stands: where it fails, that stands.
        let least = f64::from(head) - 1e-6;
        if let Ok(found) = least_distance(network, least, progress) {
            best = all_whole(&found)?;
        }
    }
    Ok(Better {
        decisions: best,
        bound,
    })
}

fn all_whole(decisions: &[f64]) -> Result<Vec<u32>, String> {
    decisions.iter().map(|s| whole(*s)).collect()
}
