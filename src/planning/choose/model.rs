//! The mixed-integer model of a choice for several groups, as far as it knows of collisions.

use std::collections::{BTreeMap, BTreeSet};

use chrono::NaiveDate;

use super::cover::Quarter;
use super::table::{At, Entry, Table};
use crate::base::progress::Progress;
use crate::base::solver::{Program, Sense, Solved, Var};

/// Nodes that the search for one proposal may open, in rows of the model: each takes longer in a
/// large one.
const MOST_NODE_ROWS: usize = 10_000_000;

pub(super) type Pair = (usize, usize, NaiveDate);

/// What is known of pairs.
#[derive(Default)]
pub(super) struct Pairs {
    pub(super) counted: BTreeSet<Pair>,
    /// Head that any two candidates of the pair leave at the least, where they all leave some.
    pub(super) always: BTreeMap<Pair, u32>,
    /// Groups of a day that are limited as one.
    pub(super) cliques: BTreeSet<(NaiveDate, Vec<usize>)>,
    /// Threes of groups on a day, counted.
    pub(super) threes: BTreeSet<([usize; 3], NaiveDate)>,
}

/// The model, as far as it knows of collisions.
pub(super) struct Model {
    pub(super) program: Program,
    pub(super) pairs: Pairs,
    /// The variable of each group's candidates.
    pub(super) chosen: Vec<Vec<usize>>,
    /// Head left on a day, once anything is known of it.
    pub(super) left: BTreeMap<NaiveDate, usize>,
    pub(super) limited: BTreeSet<Quarter>,
    head_cost: f64,
    pub(super) quarter_cost: f64,
    /// No more head than this can ever be left.
    most_head: f64,
}

impl Model {
    pub(super) fn new(table: &Table<'_, '_>) -> Self {
        let mut program = Program::default();
        let mut choose = |e: &Entry| {
            program.var(Var {
                low: 0.0,
                high: 1.0,
                cost: e.points,
                whole: true,
            })
        };
        let groups = table.groups.iter();
        let chosen: Vec<Vec<usize>> = groups
            .map(|entries| entries.iter().map(&mut choose).collect())
            .collect();
        for group in &chosen {
            let one = group.iter().map(|v| (*v, 1.0)).collect();
            program.row(one, Sense::Equal, 1.0);
        }
        let most = |entries: &Vec<Entry>| {
            let head = |e: &Entry| e.dues.iter().map(|d| d.head).sum::<u32>();
            entries.iter().map(head).max().unwrap_or(0)
        };
        Self {
            program,
            pairs: Pairs::default(),
            chosen,
            left: BTreeMap::new(),
            limited: BTreeSet::new(),
            head_cost: table.weights.head_not_bred,
            quarter_cost: table.weights.chute_quarter,
            most_head: f64::from(table.groups.iter().map(most).sum::<u32>()),
        }
    }

    pub(super) fn picks(&self, values: &[f64]) -> Vec<At> {
        let mut picks = Vec::new();
        for (g, vars) in self.chosen.iter().enumerate() {
            let most = vars
                .iter()
                .enumerate()
                .max_by(|(_, a), (_, b)| values[**a].total_cmp(&values[**b]));
            picks.extend(most.map(|(c, _)| (g, c)));
        }
        picks
    }

    /// The cheapest choice, by what is known.
    pub(super) fn proposal(&self, progress: &dyn Progress) -> Result<Solved, String> {
        let rows = self.program.rows.len().max(1);
        let nodes = (MOST_NODE_ROWS / rows).clamp(200, 20_000);
        self.program.cheapest_until(nodes, progress)
    }

    /// The cheapest choice in fractions, by what is known.
    pub(super) fn relaxed(&self, progress: &dyn Progress) -> Option<Solved> {
        let mut program = self.program.clone();
        for var in &mut program.vars {
            var.whole = false;
        }
        progress.worked(program.work());
        program.cheapest(0).ok()
    }

    pub(super) fn var(&self, at: At) -> usize {
        self.chosen[at.0][at.1]
    }

    pub(super) fn left_on(&mut self, day: NaiveDate) -> usize {
        if let Some(var) = self.left.get(&day) {
            return *var;
        }
        let var = self.program.var(Var {
            low: 0.0,
            high: self.most_head,
            cost: self.head_cost,
            whole: false,
        });
        self.left.insert(day, var);
        var
    }
}
