//! The one file that names the solver: a linear program with whole variables, in and out.

use good_lp::solvers::microlp::microlp;
use good_lp::{Expression, Solution, SolverModel, Variable, variable, variables};

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
pub struct Answer {
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

    /// The cheapest values. A search over whole values opens at most `nodes` of its tree: counted,
    /// not timed, so that the answer never depends on how busy the machine is.
    ///
    /// # Errors
    /// What the solver says, if no values fit or it fails; if its limit came before any answer.
    pub fn cheapest(&self, nodes: usize) -> Result<Answer, String> {
        let mut vars = variables!();
        let all: Vec<Variable> = self
            .vars
            .iter()
            .map(|v| {
                let var = variable().min(v.low).max(v.high);
                vars.add(if v.whole { var.integer() } else { var })
            })
            .collect();
        let sum = |terms: &mut dyn Iterator<Item = (usize, f64)>| -> Expression {
            terms.map(|(n, weight)| weight * all[n]).sum()
        };
        let cost = sum(&mut self.vars.iter().map(|v| v.cost).enumerate());
        let mut model = vars.minimise(cost).using(microlp);
        for row in &self.rows {
            let left = sum(&mut row.terms.iter().copied());
            model = model.with(match row.sense {
                Sense::AtMost => left.leq(row.limit),
                Sense::Equal => left.eq(row.limit),
                Sense::AtLeast => left.geq(row.limit),
            });
        }
        let (values, proven, bound): (Vec<f64>, bool, Option<f64>) =
            if self.vars.iter().any(|v| v.whole) {
                let mut options = ::microlp::SolveOptions::default();
                options.node_limit = Some(nodes as _);
                let found = model
                    .as_inner()
                    .solve_with(options)
                    .map(::microlp::SolveOutcome::into_solution)
                    .map_err(|e| e.to_string())?
                    .map_err(|_| "no choice was found within the limit".to_owned())?;
                let reason = found.termination_reason();
                // Values come in the order in which the variables were added.
                (
                    found.iter().map(|(_, x)| x).collect(),
                    reason == ::microlp::TerminationReason::ProvenOptimal,
                    found.stats().best_bound,
                )
            } else {
                let found = model.solve().map_err(|e| e.to_string())?;
                (all.iter().map(|v| found.value(*v)).collect(), true, None)
            };
        let cost: f64 = self.vars.iter().zip(&values).map(|(v, x)| v.cost * x).sum();
        Ok(Answer {
            values,
            cost,
            proven,
            bound: if proven {
                cost
            } else {
                bound.unwrap_or(f64::NEG_INFINITY).min(cost)
            },
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Two things of worth 3 and 4 with weights 2 and 3 in a bag of 4: only one fits.
    #[test]
    fn whole_values_are_searched_and_fractions_are_not() {
        let bag = |whole: bool| {
            let mut p = Program::default();
            let var = |cost: f64| Var {
                low: 0.0,
                high: 1.0,
                cost,
                whole,
            };
            let (a, b) = (p.var(var(-3.0)), p.var(var(-4.0)));
            p.row(vec![(a, 2.0), (b, 3.0)], Sense::AtMost, 4.0);
            p.cheapest(100).unwrap()
        };
        let answer = bag(true);
        assert!(
            answer.proven && (answer.cost + 4.0).abs() < 1e-9,
            "{answer:?}"
        );
        assert!((bag(false).cost + 3.0 + 8.0 / 3.0).abs() < 1e-6);
    }

    #[test]
    fn what_cannot_be_is_an_error() {
        let mut p = Program::default();
        let x = p.var(Var {
            low: 0.0,
            high: 1.0,
            cost: 1.0,
            whole: false,
        });
        p.row(vec![(x, 1.0)], Sense::AtLeast, 2.0);
        assert!(p.cheapest(10).is_err());
    }
}
