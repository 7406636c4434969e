//! What candidates of two or three groups leave on a day, as limits of the model.
//!
//! Where a proposal brings two groups together on a day, all their candidates of that day are
//! counted in pairs. Head left of several groups is at least what is left of two of them, and each
//! group more adds at least what its pairs leave, but for a cow or so a technician; so limits on
//! pairs, less these, hold for any choice.

use std::collections::{BTreeMap, BTreeSet};

use chrono::NaiveDate;

use super::model::{Model, Pair};
use super::table::{At, Table};
use crate::base::solver::Sense;
use crate::planning::crew::Fault;

/// A group's candidates of which some or all are bred on this day.
fn bred_on(table: &Table<'_, '_>, group: usize, day: NaiveDate) -> Vec<At> {
    let all = 0..table.groups[group].len();
    all.map(|c| (group, c))
        .filter(|at| table.entry(*at).days().contains(&day))
        .collect()
}

impl Model {
    /// Counts the pairs of a set that are bred on one day, and where these leave nothing, its
    /// threes. True if any pair or three of the set itself leaves head.
    pub(super) fn learn_few(
        &mut self,
        table: &mut Table<'_, '_>,
        set: &[At],
    ) -> Result<bool, Fault> {
        let mut any = false;
        let days = table.days(set);
        for day in days {
            let here: Vec<At> = set
                .iter()
                .filter(|at| table.entry(**at).days().contains(&day))
                .copied()
                .collect();
            let mut pairs = false;
            for (n, a) in here.iter().enumerate() {
                for b in &here[n + 1..] {
                    pairs |= table.extra_at_least(&[*a, *b])? > 0;
                    self.learn_pair(table, (a.0, b.0, day))?;
                }
            }
            self.learn_cliques(table, &here, day);
            any |= pairs;
            if !pairs {
                any |= self.learn_threes(table, &here, day)?;
            }
        }
        Ok(any)
    }

    fn learn_threes(
        &mut self,
        table: &mut Table<'_, '_>,
        here: &[At],
        day: NaiveDate,
    ) -> Result<bool, Fault> {
        let mut any = false;
        for (n, a) in here.iter().enumerate() {
            for (m, b) in here.iter().enumerate().skip(n + 1) {
                for c in &here[m + 1..] {
                    if table.extra_at_least(&[*a, *b, *c])? > 0 {
                        any = true;
                        self.learn_three(table, [a.0, b.0, c.0], day)?;
                    }
                }
            }
        }
        Ok(any)
    }

    /// Each candidate of the three groups with those of a second group that leave head whichever
    /// the third takes.
    fn learn_three(
        &mut self,
        table: &mut Table<'_, '_>,
        groups: [usize; 3],
        day: NaiveDate,
    ) -> Result<(), Fault> {
        let all = groups.map(|g| bred_on(table, g, day));
        let counts: usize = all.iter().map(Vec::len).product();
        if counts > table.few_left || !self.pairs.threes.insert((groups, day)) {
            return Ok(());
        }
        table.few_left -= counts;
        // By two candidates: what they leave at the least.
        let mut least: BTreeMap<(At, At), u32> = BTreeMap::new();
        for a in &all[0] {
            for b in &all[1] {
                for c in &all[2] {
                    let extra = table.extra_at_least(&[*a, *b, *c])?;
                    for (x, y) in [(a, b), (a, c), (b, c), (b, a), (c, a), (c, b)] {
                        let known = least.entry((*x, *y)).or_insert(extra);
                        *known = extra.min(*known);
                    }
                }
            }
        }
        for (n, mine) in all.iter().enumerate() {
            for one in mine {
                for (second, third) in [((n + 1) % 3, (n + 2) % 3), ((n + 2) % 3, (n + 1) % 3)] {
                    let with: Vec<(u32, At)> = all[second]
                        .iter()
                        .map(|at| (least[&(*one, *at)], *at))
                        .filter(|(head, _)| *head > 0)
                        .collect();
                    let Some(head) = with.iter().map(|(head, _)| *head).min() else {
                        continue;
                    };
                    let others = with.iter().map(|(_, at)| *at);
                    let members: Vec<At> = others
                        .chain(all[third].iter().copied())
                        .chain([*one])
                        .collect();
                    self.leave(table, &members, 2, head);
                }
            }
        }
        Ok(())
    }

    fn learn_pair(&mut self, table: &mut Table<'_, '_>, pair: Pair) -> Result<(), Fault> {
        let (g, h, day) = pair;
        let (mine, theirs) = (bred_on(table, g, day), bred_on(table, h, day));
        let counts = mine.len() * theirs.len();
        if counts > table.few_left || !self.pairs.counted.insert(pair) {
            return Ok(());
        }
        table.few_left -= counts;
        let mut least = u32::MAX;
        // By candidate: what it leaves with each of the other group's.
        let mut leaves: BTreeMap<At, Vec<(u32, At)>> = BTreeMap::new();
        for a in &mine {
            for b in &theirs {
                let extra = table.extra_at_least(&[*a, *b])?;
                least = least.min(extra);
                leaves.entry(*a).or_default().push((extra, *b));
                leaves.entry(*b).or_default().push((extra, *a));
            }
        }
        if least > 0 && least < u32::MAX {
            self.pairs.always.insert(pair, least);
            let all: Vec<At> = mine.iter().chain(&theirs).copied().collect();
            self.leave(table, &all, 1, least);
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
                self.leave(table, &all, 1, level);
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
                self.leave(table, &all, 1, least);
            }
        }
    }

    /// Each of these beyond so many leaves head, on the days that they are bred on.
    fn leave(&mut self, table: &Table<'_, '_>, all: &[At], beyond: u32, head: u32) {
        // With another group there the rounds of each technician may begin a little sooner or later:
        // a cow each.
        let head = head.saturating_sub(table.season.crew.len() as u32);
        if head == 0 {
            return;
        }
        let days = table.days(all);
        let head = f64::from(head);
        let mut terms: Vec<(usize, f64)> = all.iter().map(|at| (self.var(*at), head)).collect();
        for day in days {
            terms.push((self.left_on(day), -1.0));
        }
        self.program
            .row(terms, Sense::AtMost, head * f64::from(beyond));
    }
}
