//! The one file that names the solver: a linear program with whole variables, in and out.
//!
//! The solver is asked every 64 nodes of its tree whether to go on, always, so that the answer is the
//! same whether anybody looks on or not. It is not broken off before the root is solved, nor in a
//! program without whole variables: those have no limit but time, which a plan must not hang on.

use good_lp::solvers::clarabel::clarabel;
use good_lp::solvers::microlp::microlp;
use good_lp::variable::UnsolvedProblem;
use good_lp::{
    Constraint, DualValues, Expression, Solution, SolutionWithDual, SolverModel, Variable,
    variable, variables,
};

use crate::base::progress::{NoProgress, Progress};

/// Nodes that a search opens before it asks whether to go on. It then goes on from the best node left
/// in place of the deepest, so fewer would find good values later.
const NODES_BETWEEN: usize = 64;

/// A variable: its bounds, what a unit costs, and whether it is whole.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Var {
    /// Least value.
    pub low: f64,
    /// Greatest value.
    pub high: f64,
    /// Cost of a unit.
    pub cost: f64,
    /// True if only whole values count.
    pub whole: bool,
}

/// How a row's sum stands to its limit.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Sense {
    /// At most.
    AtMost,
    /// Just as much.
    Equal,
    /// At least.
    AtLeast,
}

/// A limit on a weighted sum of variables.
#[derive(Clone, Debug, PartialEq)]
pub struct Row {
    /// Variables, by place, and their weights.
    pub terms: Vec<(usize, f64)>,
    /// How the sum stands to the limit.
    pub sense: Sense,
    /// The limit.
    pub limit: f64,
}

impl Row {
    /// The limit on the solver's variables.
    fn on(&self, all: &[Variable]) -> Constraint {
        let left: Expression = self.terms.iter().map(|(n, w)| *w * all[*n]).sum();
        match self.sense {
            Sense::AtMost => left.leq(self.limit),
            Sense::Equal => left.eq(self.limit),
            Sense::AtLeast => left.geq(self.limit),
        }
    }
}

/// What is to be cheapest.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Program {
    /// Variables.
    pub vars: Vec<Var>,
    /// Limits.
    pub rows: Vec<Row>,
}

/// The cheapest values found.
#[derive(Clone, Debug, PartialEq)]
pub struct Solved {
    /// A value for each variable.
    pub values: Vec<f64>,
    /// What they cost.
    pub cost: f64,
    /// True if nothing is cheaper; false if the search reached its limit.
    pub proven: bool,
    /// No values cost less than this; less than `cost` where that is not proven.
    pub bound: f64,
}

impl Program {
    /// Adds a variable and gives its place.
    pub fn var(&mut self, var: Var) -> usize {
        self.vars.push(var);
        self.vars.len() - 1
    }

    /// Adds a limit.
    pub fn row(&mut self, terms: Vec<(usize, f64)>, sense: Sense, limit: f64) {
        self.rows.push(Row {
            terms,
            sense,
            limit,
        });
    }

    /// About what it takes to solve this in fractions, in microseconds: from its size alone. A search over
    /// whole values tells its own work, by its steps.
    #[must_use]
    pub fn work(&self) -> usize {
        let vars = self.vars.len();
        4 * vars + vars * vars / 4_000
    }

    /// The same for [`Program::priced`].
    #[must_use]
    pub fn priced_work(&self) -> usize {
        let terms: usize = self.rows.iter().map(|r| r.terms.len()).sum();
        3 * terms + terms * terms / 25_000
    }

    /// The cheapest values. A search over whole values opens at most `nodes` of its tree: counted,
    /// not timed, so that the answer never depends on how busy the machine is.
    ///
    /// # Errors
    /// What the solver says, if no values fit or it fails; if its limit came before any answer.
    pub fn cheapest(&self, nodes: usize) -> Result<Solved, String> {
        self.cheapest_until(nodes, &NoProgress)
    }

    /// Values in fractions at least cost, and what one more of each row's limit would save: zero
    /// for rows that do not bind. Near the middle of all cheapest values, not in a corner; whoever
    /// needs whole values takes [`Program::cheapest`].
    ///
    /// # Errors
    /// What the solver says.
    pub fn priced(&self) -> Result<(Vec<f64>, Vec<f64>), String> {
        let mut vars = variables!();
        let all = self.vars.iter();
        let all = all.map(|v| vars.add(variable().min(v.low).max(v.high)));
        let all: Vec<Variable> = all.collect();
        let cost: Expression = all.iter().zip(&self.vars).map(|(x, v)| v.cost * *x).sum();
        let mut model = vars.minimise(cost).using(clarabel);
        // Prices are only ever used where any would do.
        model.settings().max_iter(60);
        let rows = self.rows.iter();
        let rows = rows.map(|row| model.add_constraint(row.on(&all)));
        let rows: Vec<_> = rows.collect();
        let mut found = model.solve().map_err(|e| e.to_string())?;
        let values = all.iter().map(|v| found.value(*v)).collect();
        let dual = found.compute_dual();
        let prices = rows.into_iter().map(|r| -dual.dual(r)).collect();
        Ok((values, prices))
    }

    /// No values, in fractions or whole, cost less than this: the sum that the prices of
    /// [`Program::priced`] give at the best values within each variable's bounds. Weak duality makes it a
    /// bound whatever the prices are; good ones make it a close one. `None` where there are none.
    #[must_use]
    pub fn bound_by_prices(&self) -> Option<f64> {
        let (_, prices) = self.priced().ok()?;
        let mut reduced: Vec<f64> = self.vars.iter().map(|v| v.cost).collect();
        let mut bound = 0.0;
        for (row, price) in self.rows.iter().zip(prices) {
            let price = match row.sense {
                Sense::AtMost => price.max(0.0),
                Sense::Equal => price,
                Sense::AtLeast => price.min(0.0),
            };
            bound -= price * row.limit;
            for (n, weight) in &row.terms {
                reduced[*n] += price * weight;
            }
        }
        for (var, cost) in self.vars.iter().zip(reduced) {
            bound += cost * if cost < 0.0 { var.high } else { var.low };
        }
        bound.is_finite().then_some(bound)
    }

    /// As [`Program::cheapest`], ended early if so asked: with the best values so far, or an error if there
    /// are none. Asked every few nodes of the tree; its root, and a program without whole variables, are not
    /// broken off.
    ///
    /// # Errors
    /// As [`Program::cheapest`].
    pub fn cheapest_until(&self, nodes: usize, progress: &dyn Progress) -> Result<Solved, String> {
        #[cfg(feature = "highs")]
        return self.answer(nodes, by_highs, progress);
        #[cfg(not(feature = "highs"))]
        self.answer(nodes, embedded, progress)
    }

    fn answer(
        &self,
        nodes: usize,
        solver: Solver,
        progress: &dyn Progress,
    ) -> Result<Solved, String> {
        let mut vars = variables!();
        let all = self.vars.iter().map(|v| {
            let var = variable().min(v.low).max(v.high);
            vars.add(if v.whole { var.integer() } else { var })
        });
        let all: Vec<Variable> = all.collect();
        let cost: Expression = all.iter().zip(&self.vars).map(|(x, v)| v.cost * *x).sum();
        let rows = self.rows.iter().map(|row| row.on(&all)).collect();
        let search = self.vars.iter().any(|v| v.whole).then_some(nodes);
        let found = solver(vars.minimise(cost), rows, &all, (search, progress))?;
        let vars = self.vars.iter();
        let cost: f64 = vars.zip(&found.values).map(|(v, x)| v.cost * x).sum();
        Ok(Solved {
            values: found.values,
            cost,
            proven: found.proven,
            bound: if found.proven {
                cost
            } else {
                found.bound.unwrap_or(f64::NEG_INFINITY).min(cost)
            },
        })
    }
}

/// What a solver found, values in the order of the variables.
struct Found {
    values: Vec<f64>,
    proven: bool,
    bound: Option<f64>,
}

/// Solves a program of these rows; with a limit in nodes if any variable is whole.
type Solver = fn(
    UnsolvedProblem,
    Vec<Constraint>,
    &[Variable],
    (Option<usize>, &dyn Progress),
) -> Result<Found, String>;

/// The solver that is always there: pure Rust.
#[cfg_attr(feature = "highs", allow(dead_code))]
fn embedded(
    program: UnsolvedProblem,
    rows: Vec<Constraint>,
    all: &[Variable],
    (search, progress): (Option<usize>, &dyn Progress),
) -> Result<Found, String> {
    let mut model = program.using(microlp);
    for row in rows {
        model = model.with(row);
    }
    let Some(nodes) = search else {
        let found = model.solve().map_err(|e| e.to_string())?;
        return Ok(Found {
            values: all.iter().map(|v| found.value(*v)).collect(),
            proven: true,
            bound: None,
        });
    };
    let mut options = ::microlp::SolveOptions::default();
    let at_once = |left: usize| left.min(NODES_BETWEEN) as u64;
    let mut left = nodes;
    options.node_limit = Some(at_once(left));
    let outcome = model.as_inner().solve_with(options);
    let mut outcome = outcome.map_err(|e| e.to_string())?;
    // A pivot takes 6 microseconds and a sixtieth for each variable, about.
    let work = |outcome: &::microlp::SolveOutcome| {
        outcome.stats().lp_iterations as usize * (360 + all.len()) / 60
    };
    let mut told = work(&outcome);
    progress.worked(told);
    // Cut in the same pieces whether anybody looks on or not: the answer is the same.
    while outcome.termination_reason() == ::microlp::TerminationReason::NodeLimit {
        left = left.saturating_sub(NODES_BETWEEN);
        if left == 0 || progress.stop() {
            break;
        }
        let mut more = ::microlp::ResumeOptions::default();
        more.node_limit = Some(at_once(left));
        outcome = outcome.resume_with(more).map_err(|e| e.to_string())?;
        let so_far = work(&outcome);
        progress.worked(so_far - told);
        told = so_far;
    }
    let found = outcome
        .into_solution()
        .map_err(|_| "no choice was found within the limit".to_owned())?;
    let reason = found.termination_reason();
    Ok(Found {
        // Values come in the order in which the variables were added.
        values: found.iter().map(|(_, x)| x).collect(),
        proven: reason == ::microlp::TerminationReason::ProvenOptimal,
        bound: found.stats().best_bound,
    })
}

/// HiGHS: faster by far for large choices, but its C++ has to be built.
#[cfg(feature = "highs")]
fn by_highs(
    program: UnsolvedProblem,
    rows: Vec<Constraint>,
    all: &[Variable],
    (search, progress): (Option<usize>, &dyn Progress),
) -> Result<Found, String> {
    use good_lp::solvers::SolutionStatus;
    if all.is_empty() {
        return embedded(program, rows, all, (search, progress));
    }
    // One thread, and simplex, so that the answer is the same each time and lies in a corner.
    let way = search.map_or("simplex", |_| "choose");
    let mut model = program
        .using(good_lp::solvers::highs::highs)
        .set_option("threads", 1)
        .set_option("parallel", "off")
        .set_option("solver", way)
        .set_option("mip_rel_gap", 0.0)
        .set_option("mip_max_nodes", search.unwrap_or(0) as i32);
    for row in rows {
        model = model.with(row);
    }
    let found = model.solve().map_err(|e| e.to_string())?;
    let whole = |x: f64| {
        if (x - x.round()).abs() < 1e-6 {
            x.round()
        } else {
            x
        }
    };
    Ok(Found {
        values: all.iter().map(|v| whole(found.value(*v))).collect(),
        proven: search.is_none() || matches!(found.status(), SolutionStatus::Optimal),
        // It keeps the bound of a search to itself.
        bound: None,
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    /// From none to the whole of it, at this cost.
    fn share(cost: f64, whole: bool) -> Var {
        Var {
            low: 0.0,
            high: 1.0,
            cost,
            whole,
        }
    }

    /// Two things of worth 3 and 4 with weights 2 and 3 in a bag of 4: only one fits.
    #[test]
    fn whole_values_are_searched_and_fractions_are_not() {
        let bag = |whole: bool| {
            let mut p = Program::default();
            let (a, b) = (p.var(share(-3.0, whole)), p.var(share(-4.0, whole)));
            p.row(vec![(a, 2.0), (b, 3.0)], Sense::AtMost, 4.0);
            p.cheapest(100).unwrap()
        };
        let answer = bag(true);
        let right = (answer.cost + 4.0).abs() < 1e-9;
        assert!(answer.proven && right, "{answer:?}");
        assert!((bag(false).cost + 3.0 + 8.0 / 3.0).abs() < 1e-6);
    }

    /// A knapsack of many kinds, for a search of some hundred nodes.
    fn knapsack() -> Program {
        let mut p = Program::default();
        let mut terms = [Vec::new(), Vec::new()];
        for n in 0..28_u32 {
            let (a, b) = (f64::from(17 + n * 37 % 41), f64::from(13 + n * 29 % 43));
            let var = p.var(share(-(a + b + f64::from(n % 5)), true));
            terms[0].push((var, a));
            terms[1].push((var, b));
        }
        for row in terms {
            p.row(row, Sense::AtMost, 301.0);
        }
        p
    }

    /// Stops when asked for the so-manieth time.
    struct After(std::sync::atomic::AtomicUsize);

    impl Progress for After {
        fn stop(&self) -> bool {
            use std::sync::atomic::Ordering::Relaxed;
            let before = self
                .0
                .fetch_update(Relaxed, Relaxed, |n| Some(n.saturating_sub(1)));
            before == Ok(0)
        }
    }

    #[test]
    fn a_search_in_pieces_ends_early_when_asked() {
        let p = knapsack();
        let whole = p.cheapest(100_000).unwrap();
        assert!(whole.proven);
        let cut = p.cheapest_until(100_000, &After(4.into())).unwrap();
        assert!(!cut.proven && cut.bound <= whole.cost + 1e-6 && cut.cost >= whole.cost - 1e-6);
        let limited = p.cheapest(NODES_BETWEEN * 3).unwrap();
        assert!(!limited.proven && limited.cost >= whole.cost - 1e-6);
    }

    #[test]
    fn prices_bound_the_cost_from_below() {
        let mut bag = knapsack();
        for var in &mut bag.vars {
            var.whole = false;
        }
        let cheapest = bag.cheapest(0).unwrap().cost;
        let bound = bag.bound_by_prices().unwrap();
        let within = cheapest - 1e-3..=cheapest + 1e-9;
        assert!(within.contains(&bound), "{bound} {cheapest}");
    }

    #[test]
    fn what_cannot_be_is_an_error() {
        let mut p = Program::default();
        let x = p.var(share(1.0, false));
        p.row(vec![(x, 1.0)], Sense::AtLeast, 2.0);
        assert!(p.cheapest(10).is_err());
    }

    /// Random programs with a few whole variables: what each of the solvers calls cheapest costs as
    /// much as what the other does.
    #[cfg(feature = "highs")]
    #[test]
    fn both_solvers_find_the_same_cost() {
        let mut dice = crate::base::dice::Dice::seeded(7);
        let mut below = |n: u64| dice.below(n);
        for n in 0..200 {
            let mut p = Program::default();
            for v in 0..3 + below(8) {
                p.var(Var {
                    low: 0.0,
                    high: 1.0 + below(9) as f64,
                    cost: below(20) as f64 - 12.0,
                    whole: n % 2 == 0 && v % 2 == 0,
                });
            }
            for _ in 0..2 + below(6) {
                let terms = (0..p.vars.len()).map(|v| (v, below(5) as f64)).collect();
                p.row(terms, Sense::AtMost, 5.0 + below(30) as f64);
            }
            let costs = [embedded as Solver, by_highs].map(|solver| {
                let answer = p.answer(5_000, solver, &NoProgress).unwrap();
                assert!(answer.proven);
                answer.cost
            });
            assert!((costs[0] - costs[1]).abs() < 1e-6, "{n}: {costs:?} {p:?}");
        }
    }
}
