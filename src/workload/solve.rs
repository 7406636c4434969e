//! The one file that names the solver.
//!
//! Yes-or-no choices first, as a mixed-integer model, where a part has any: who goes where. With
//! those set the rest is a flow with whole capacities, whose best plans are whole by structure.
//! Two LPs in order: head covered and distance from the aim; then, among plans that are best for
//! those, even load and early finish. Within each LP the weights are large enough that the
//! earlier objective is never traded (see [`Network::worth`]).

use good_lp::solvers::microlp::microlp;
use good_lp::{
    Expression, ProblemVariables, Solution, SolverModel, Variable, constraint, variable, variables,
};

use super::face::optimal_face;
use super::network::{Arc, Network, SINK, SOURCE};
use super::send::Guess;

/// Nodes that a search over the choices of one part may open, in arcs of the network: large
/// networks take longer for each. Counted, not timed, so that a plan never depends on the machine.
const MOST_NODE_ARCS: usize = 1_000_000;

/// Networks with more arcs are not searched: the choice by plain rules stands, unproven.
const MOST_ARCS: usize = 20_000;

/// With more yes-or-no choices than this, those made by plain rules stand where they cover as
/// many: proving the last slot of distance best would take minutes.
const MOST_SWITCHES_FOR_DISTANCE: usize = 16;

pub(super) struct Solved {
    /// Flow on each arc.
    pub(super) flow: Vec<u32>,
    /// Value of each switch.
    pub(super) switches: Vec<u32>,
    /// True if no other choice covers more head.
    pub(super) proven: bool,
}

/// Solves a network. `guess` sets the switches by plain rules; it is kept where no other choice
/// covers more, or where the choices are too many to search for the best distance.
pub(super) fn solve(network: &Network, guess: &Guess) -> Result<Solved, String> {
    let cost = coverage_then_distance(network);
    let mut switches = guess.switches.clone();
    let mut flow = lp(network, &within(network, &switches), &cost)?;
    let mut proven = true;
    if !network.switches.is_empty() {
        let head = head(network, &flow);
        let better = choose(network, guess, head)?;
        proven = better.proven;
        if better.switches != switches {
            switches = better.switches;
            flow = lp(network, &within(network, &switches), &cost)?;
        }
    }
    // Exchanging one plan for another shifts head around a circle, once through each node.
    let load = network.worth(|a| a.late);
    let second = costs(network, |a| a.load * load + a.late);
    let face = optimal_face(network, &network.uppers(&switches), &flow, &cost)?;

    // Straws have neither load nor hour: nothing is left to choose.
    if second.iter().any(|c| *c != 0) {
        flow = lp(network, &face, &second)?;
    }
    Ok(Solved {
        flow,
        switches,
        proven,
    })
}

fn within(network: &Network, switches: &[u32]) -> Vec<(u32, u32)> {
    network.uppers(switches).iter().map(|u| (0, *u)).collect()
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

/// A cheapest flow within bounds, in whole numbers.
fn lp(network: &Network, bounds: &[(u32, u32)], cost: &[i64]) -> Result<Vec<u32>, String> {
    let mut vars = variables!();
    let flow: Vec<Variable> = bounds
        .iter()
        .map(|(low, high)| vars.add(variable().min(f64::from(*low)).max(f64::from(*high))))
        .collect();
    let objective: Expression = flow.iter().zip(cost).map(|(f, c)| *c as f64 * *f).sum();
    let mut model = vars.minimise(objective).using(microlp);
    for balance in balances(network, &flow) {
        model = model.with(constraint!(balance == 0.0));
    }
    let solution = model.solve().map_err(|e| e.to_string())?;
    flow.iter().map(|f| whole(solution.value(*f))).collect()
}

fn balances(network: &Network, flow: &[Variable]) -> Vec<Expression> {
    let mut balance = vec![Expression::default(); network.nodes];
    for (arc, f) in network.arcs.iter().zip(flow) {
        balance[arc.from] -= *f;
        balance[arc.to] += *f;
    }
    balance
        .into_iter()
        .enumerate()
        .filter(|(n, _)| *n != SOURCE && *n != SINK)
        .map(|(_, b)| b)
        .collect()
}

/// Whole by structure; a fraction would be a fault, and is not rounded away.
fn whole(x: f64) -> Result<u32, String> {
    let rounded = x.round();
    if (x - rounded).abs() > 1e-6 || rounded < 0.0 {
        return Err(format!("{x} head is not a whole number"));
    }
    Ok(rounded as u32)
}

struct Choice {
    vars: ProblemVariables,
    flow: Vec<Variable>,
    switches: Vec<Variable>,
}

/// What a search for switches gave.
struct Chosen {
    switches: Vec<f64>,
    total: f64,
    proven: bool,
}

impl Choice {
    fn new(network: &Network, whole_switches: bool) -> Self {
        let mut vars = variables!();
        let flow = network
            .arcs
            .iter()
            .map(|a| {
                let most = a.upper * a.switch.map_or(1, |s| network.switches[s].most);
                vars.add(variable().min(0).max(f64::from(most)))
            })
            .collect();
        let switches = network
            .switches
            .iter()
            .map(|s| {
                let v = variable().min(0).max(f64::from(s.most));
                vars.add(if whole_switches { v.integer() } else { v })
            })
            .collect();
        Self {
            vars,
            flow,
            switches,
        }
    }

    /// Cheapest, with at least `least` flow in all.
    fn solve(
        self,
        network: &Network,
        objective: Expression,
        least: Option<f64>,
    ) -> Result<Chosen, String> {
        let Self {
            vars,
            flow,
            switches,
        } = self;
        let total = total(network, &flow);
        let mut model = vars.minimise(objective).using(microlp);
        for balance in balances(network, &flow) {
            model = model.with(constraint!(balance == 0.0));
        }
        for (arc, f) in network.arcs.iter().zip(&flow) {
            if let Some(s) = arc.switch {
                model = model.with(constraint!(*f <= f64::from(arc.upper) * switches[s]));
            }
        }
        for limit in &network.limits {
            let sum = |of: &[usize]| of.iter().map(|s| switches[*s]).sum::<Expression>();
            model = model.with(constraint!(
                sum(&limit.plus) <= f64::from(limit.most) + sum(&limit.minus)
            ));
        }
        if let Some(least) = least {
            model = model.with(constraint!(total.clone() >= least));
        }
        let nodes = (MOST_NODE_ARCS / network.arcs.len().max(1)).clamp(10, 5_000);
        let mut options = ::microlp::SolveOptions::default();
        options.node_limit = Some(nodes as _);
        let found = model
            .as_inner()
            .solve_with(options)
            .map(::microlp::SolveOutcome::into_solution)
            .map_err(|e| e.to_string())?
            .map_err(|_| "no choice was found within the limit".to_owned())?;
        // Values come in the order in which the variables were added: flow, then switches.
        let values: Vec<f64> = found.iter().map(|(_, x)| x).collect();
        let flowing = network.arcs.iter().zip(&values);
        let total = flowing.filter(|(a, _)| a.from == SOURCE).map(|(_, x)| *x);
        Ok(Chosen {
            total: total.sum(),
            switches: values[network.arcs.len()..].to_vec(),
            proven: found.termination_reason() == ::microlp::TerminationReason::ProvenOptimal,
        })
    }
}

fn total(network: &Network, flow: &[Variable]) -> Expression {
    network
        .arcs
        .iter()
        .zip(flow)
        .filter(|(a, _)| a.from == SOURCE)
        .map(|(_, f)| *f)
        .sum()
}

struct Better {
    switches: Vec<u32>,
    /// True if no other choice covers more.
    proven: bool,
}

/// Sets the switches, from a guess that covers `head`: most head first; then, where the choices
/// are few, least distance and road.
fn choose(network: &Network, guess: &Guess, mut head: u32) -> Result<Better, String> {
    let mut best = guess.switches.clone();
    let mut proven = head >= guess.bound;
    if !proven && network.arcs.len() > MOST_ARCS {
        return Ok(Better {
            switches: best,
            proven,
        });
    }
    if !proven {
        // No choice of whole people covers more than fractions of people do.
        let relaxed = Choice::new(network, false);
        let most = -total(network, &relaxed.flow);
        if let Ok(bound) = relaxed.solve(network, most, None) {
            proven = bound.proven && f64::from(head) >= (bound.total + 1e-6).floor();
        }
    }
    if !proven {
        let search = Choice::new(network, true);
        let most = -total(network, &search.flow);
        if let Ok(found) = search.solve(network, most, None) {
            proven = found.proven;
            if found.total > f64::from(head) + 0.5 {
                head = found.total.round() as u32;
                best = all_whole(&found.switches)?;
            }
        }
    }
    if network.switches.len() <= MOST_SWITCHES_FOR_DISTANCE {
        let search = Choice::new(network, true);
        let distance: Expression = network
            .arcs
            .iter()
            .zip(&search.flow)
            .map(|(a, f)| a.distance as f64 * *f)
            .sum();
        let road: Expression = network
            .switches
            .iter()
            .zip(&search.switches)
            .map(|(s, v)| s.cost as f64 * *v)
            .sum();
        // This only improves on what stands: where it fails, that stands.
        let least = Some(f64::from(head) - 1e-6);
        if let Ok(found) = search.solve(network, distance + road, least) {
            best = all_whole(&found.switches)?;
        }
    }
    Ok(Better {
        switches: best,
        proven,
    })
}

fn all_whole(switches: &[f64]) -> Result<Vec<u32>, String> {
    switches.iter().map(|s| whole(*s)).collect()
}
