//! The one file that names the solver.
//!
//! Yes-or-no choices first, as a mixed-integer model, where a part has any: who goes where. With
//! those set the rest is a flow with whole capacities, whose best plans are whole by structure.
//! Two LPs in order: head covered and distance from the aim; then, among plans that are best for
//! those, even load and early finish. Within each LP the weights are large enough that the
//! earlier objective is never traded (see [`Network::worth`]).

use good_lp::solvers::{SolutionStatus, WithTimeLimit, microlp::microlp};
use good_lp::{
    Expression, ProblemVariables, Solution, SolverModel, Variable, constraint, variable, variables,
};

use super::face::optimal_face;
use super::network::{Arc, Network, SINK, SOURCE};

/// Seconds for the choices of one part.
const MOST_SECONDS: f64 = 20.0;

pub(super) struct Solved {
    /// Flow on each arc.
    pub(super) flow: Vec<u32>,
    /// Value of each switch.
    pub(super) switches: Vec<u32>,
    /// False if time ran out before the choices were proven best.
    pub(super) proven: bool,
}

pub(super) fn solve(network: &Network) -> Result<Solved, String> {
    let (switches, proven) = if network.switches.is_empty() {
        (Vec::new(), true)
    } else {
        choose(network)?
    };
    let uppers = network.uppers(&switches);
    let free: Vec<(u32, u32)> = uppers.iter().map(|u| (0, *u)).collect();

    let head = network.worth(|a| a.distance);
    let first = costs(network, |a| {
        a.distance - if a.from == SOURCE { head } else { 0 }
    });
    let flow = lp(network, &free, &first)?;
    let face = optimal_face(network, &uppers, &flow, &first)?;

    // Exchanging one plan for another shifts head around a circle, once through each node.
    let load = network.worth(|a| a.late);
    let second = costs(network, |a| a.load * load + a.late);
    let flow = lp(network, &face, &second)?;
    Ok(Solved {
        flow,
        switches,
        proven,
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

impl Choice {
    fn new(network: &Network) -> Self {
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
            .map(|s| vars.add(variable().integer().min(0).max(f64::from(s.most))))
            .collect();
        Self {
            vars,
            flow,
            switches,
        }
    }

    /// Cheapest, with at least `least` flow in all. Gives switches, total flow and proof.
    fn solve(
        self,
        network: &Network,
        objective: Expression,
        least: Option<f64>,
    ) -> Result<(Vec<u32>, f64, bool), String> {
        let Self {
            vars,
            flow,
            switches,
        } = self;
        let total = total(network, &flow);
        let mut model = vars
            .minimise(objective)
            .using(microlp)
            .with_time_limit(MOST_SECONDS);
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
        let solution = model.solve().map_err(|e| e.to_string())?;
        let chosen = switches
            .iter()
            .map(|s| whole(solution.value(*s)))
            .collect::<Result<_, _>>()?;
        let proven = matches!(solution.status(), SolutionStatus::Optimal);
        Ok((chosen, solution.eval(total), proven))
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

/// Sets the switches: most head first, then least distance and road.
fn choose(network: &Network) -> Result<(Vec<u32>, bool), String> {
    let first = Choice::new(network);
    let most = -total(network, &first.flow);
    let (switches, covered, proven) = first.solve(network, most, None)?;
    let second = Choice::new(network);
    let cost: Expression = network
        .arcs
        .iter()
        .zip(&second.flow)
        .map(|(a, f)| a.distance as f64 * *f)
        .sum::<Expression>()
        + network
            .switches
            .iter()
            .zip(&second.switches)
            .map(|(s, v)| s.cost as f64 * *v)
            .sum::<Expression>();
    // The second search only improves on the first: where it fails, the first stands.
    match second.solve(network, cost, Some((covered - 1e-6).ceil() - 1e-6)) {
        Ok((better, _, best)) => Ok((better, proven && best)),
        Err(_) => Ok((switches, false)),
    }
}
