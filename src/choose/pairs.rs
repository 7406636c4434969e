//! What pairs of candidates of two groups leave on a day, as limits of the model.
//!
//! Where a proposal brings two groups together on a day, all their candidates of that day are
//! counted in pairs. Head left of several groups is at least what is left of two of them, and each
//! group more adds at least what its pairs leave; so limits on pairs hold for any choice.

use std::collections::{BTreeMap, BTreeSet};

use chrono::NaiveDate;

use super::model::Model;
use super::together::{At, Table};
use crate::solver::Sense;
use crate::workload::Fault;

/// Two groups on a day.
type Pair = (usize, usize, NaiveDate);

/// What is known of pairs.
#[derive(Default)]
pub(super) struct Pairs {
    counted: BTreeSet<Pair>,
    /// Head that any two candidates of the pair leave at the least, where they all leave some.
    always: BTreeMap<Pair, u32>,
    /// Groups of a day that are limited as one.
    cliques: BTreeSet<(NaiveDate, Vec<usize>)>,
}

/// A group's candidates that are bred on this day and no other.
fn bred_on(table: &Table<'_, '_>, group: usize, day: NaiveDate) -> Vec<At> {
    let only = BTreeSet::from([day]);
    let all = 0..table.groups[group].len();
    all.map(|c| (group, c))
        .filter(|at| table.entry(*at).days() == only)
        .collect()
}

impl Model {
    /// Counts the pairs of a set that are bred on one day. True if any pair of the set itself
    /// leaves head.
    pub(super) fn learn_pairs(
        &mut self,
        table: &mut Table<'_, '_>,
        set: &[At],
    ) -> Result<bool, Fault> {
        let mut explains = false;
        let days: BTreeSet<NaiveDate> = set.iter().flat_map(|at| table.entry(*at).days()).collect();
        for day in days {
            let only = BTreeSet::from([day]);
            let here: Vec<At> = set
                .iter()
                .filter(|at| table.entry(**at).days() == only)
                .copied()
                .collect();
            for (n, a) in here.iter().enumerate() {
                for b in &here[n + 1..] {
                    explains |= table.extra(&[*a, *b])? > 0;
                    self.learn_pair(table, (a.0, b.0, day))?;
                }
            }
            self.learn_cliques(table, &here, day);
        }
        Ok(explains)
    }

    fn learn_pair(&mut self, table: &mut Table<'_, '_>, pair: Pair) -> Result<(), Fault> {
        if !self.pairs.counted.insert(pair) {
            return Ok(());
        }
        let (g, h, day) = pair;
        let (mine, theirs) = (bred_on(table, g, day), bred_on(table, h, day));
        let mut least = u32::MAX;
        // By candidate: what it leaves with each of the other group's.
        let mut leaves: BTreeMap<At, Vec<(u32, At)>> = BTreeMap::new();
        for a in &mine {
            for b in &theirs {
                let extra = table.extra(&[*a, *b])?;
                least = least.min(extra);
                leaves.entry(*a).or_default().push((extra, *b));
                leaves.entry(*b).or_default().push((extra, *a));
            }
        }
        if least > 0 && least < u32::MAX {
            self.pairs.always.insert(pair, least);
            let all: Vec<At> = mine.iter().chain(&theirs).copied().collect();
            self.leave(day, &all, least);
        }
        for (one, mut others) in leaves {
            others.sort_unstable();
            let some: Vec<u32> = others.iter().map(|(e, _)| *e).filter(|e| *e > 0).collect();
            let levels: BTreeSet<u32> = [some.first(), some.get(some.len() / 2), some.last()]
                .into_iter()
                .flatten()
                .copied()
                .filter(|e| *e > least)
                .collect();
            for level in levels {
                let with = others
                    .iter()
                    .filter(|(e, _)| *e >= level)
                    .map(|(_, at)| *at);
                let all: Vec<At> = with.chain([one]).collect();
                self.leave(day, &all, level);
            }
        }
        Ok(())
    }

    /// Groups of which any two leave head, whichever candidates of the day they take.
    fn learn_cliques(&mut self, table: &Table<'_, '_>, here: &[At], day: NaiveDate) {
        let always = |a: usize, b: usize| {
            let pair = (a.min(b), a.max(b), day);
            self.pairs.always.get(&pair).copied()
        };
        let mut found = Vec::new();
        for (first, _) in here {
            let mut clique = vec![*first];
            let mut least = u32::MAX;
            for (g, _) in here {
                let with: Option<Vec<u32>> = clique.iter().map(|c| always(*c, *g)).collect();
                if let Some(with) = with.filter(|_| !clique.contains(g)) {
                    least = with.into_iter().fold(least, u32::min);
                    clique.push(*g);
                }
            }
            clique.sort_unstable();
            if clique.len() > 2 {
                found.push((clique, least));
            }
        }
        for (clique, least) in found {
            if self.pairs.cliques.insert((day, clique.clone())) {
                let all: Vec<At> = clique
                    .iter()
                    .flat_map(|g| bred_on(table, *g, day))
                    .collect();
                self.leave(day, &all, least);
            }
        }
    }

    /// Each of these beyond the first leaves so many that day.
    fn leave(&mut self, day: NaiveDate, all: &[At], head: u32) {
        let head = f64::from(head);
        let mut terms: Vec<(usize, f64)> = all.iter().map(|at| (self.var(*at), head)).collect();
        terms.push((self.left_on(day), -1.0));
        self.program.row(terms, Sense::AtMost, head);
    }
}
