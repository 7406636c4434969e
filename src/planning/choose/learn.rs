//! What a proposal of the model shows of collisions, as limits of the model.

use std::collections::{BTreeMap, BTreeSet};

use chrono::NaiveDate;

use super::model::Model;
use super::table::{At, Pen, SAME, Table};
use crate::base::solver::{Sense, Var};
use crate::base::time::Instant;
use crate::planning::crew::{self, Fault};

impl Model {
    /// Adds limits for what collides in a proposal beyond what is known. False if nothing does.
    pub(super) fn learn(
        &mut self,
        table: &mut Table<'_, '_>,
        picks: &[At],
        values: &[f64],
    ) -> Result<bool, Fault> {
        let chutes = self.learn_chutes(table, picks);
        let mut crew = false;
        for set in table.bred_together(picks) {
            let extra = table.extra(&set)?;
            let days = table.days(&set).into_iter();
            let known = days.filter_map(|d| values.get(*self.left.get(&d)?));
            let known: f64 = known.sum();
            if f64::from(extra) > known + SAME {
                crew = true;
                self.learn_hours(table, &set);
                self.learn_set(table, &set, extra);
                if !self.learn_few(table, &set)? && set.len() > 3 {
                    self.learn_neighbours(table, &set)?;
                }
            }
        }
        Ok(chutes || crew)
    }

    /// A chute for one group at a time, or else it costs.
    fn learn_chutes(&mut self, table: &Table<'_, '_>, picks: &[At]) -> bool {
        // Quarters with the same candidates in them are one limit.
        let mut limits: BTreeMap<Vec<usize>, u32> = BTreeMap::new();
        for (q, _) in table.wanted(picks).into_iter().filter(|(_, n)| *n > 1) {
            if self.limited.insert(q) {
                let mut inside = Vec::new();
                for (g, entries) in table.groups.iter().enumerate() {
                    for (c, e) in entries.iter().enumerate() {
                        if e.quarters.contains(&q) {
                            inside.push(self.chosen[g][c]);
                        }
                    }
                }
                *limits.entry(inside).or_default() += 1;
            }
        }
        let any = !limits.is_empty();
        for (inside, quarters) in limits {
            let twice = self.program.var(Var {
                low: 0.0,
                high: self.chosen.len() as f64,
                cost: self.quarter_cost * f64::from(quarters),
                whole: false,
            });
            let mut terms: Vec<(usize, f64)> = inside.into_iter().map(|v| (v, 1.0)).collect();
            terms.push((twice, -1.0));
            self.program.row(terms, Sense::AtMost, 1.0);
        }
        any
    }

    /// Whoever is due between two moments is bred between them, or left: for the stretch of this
    /// set's hours that asks most of the crew.
    fn learn_hours(&mut self, table: &Table<'_, '_>, set: &[At]) {
        let dues: Vec<_> = set.iter().flat_map(|at| &table.entry(*at).dues).collect();
        let days: BTreeSet<NaiveDate> = dues.iter().map(|d| d.day).collect();
        for day in days {
            let here: Vec<&Pen> = dues.iter().filter(|d| d.day == day).copied().collect();
            let sites: BTreeSet<Option<usize>> =
                here.iter().map(|d| Some(d.site)).chain([None]).collect();
            for site in sites {
                let mut mine = here.clone();
                mine.retain(|d| site.is_none_or(|s| s == d.site));
                let boxes = site.map_or(1000, |s| table.season.sites[s].breeding_boxes);
                let mut worst: Option<(i64, Instant, Instant, u32)> = None;
                for a in mine.iter().map(|d| d.earliest) {
                    for b in mine.iter().map(|d| d.latest) {
                        let inside = mine.iter().filter(|d| d.inside(a, b));
                        let head: u32 = inside.map(|d| d.head).sum();
                        if head == 0 {
                            continue;
                        }
                        let (all, here) = crew::most_between(table.season, a, b, boxes);
                        let cap = if site.is_some() { here } else { all };
                        let over = i64::from(head) - i64::from(cap);
                        if over > 0 && worst.is_none_or(|w| over > w.0) {
                            worst = Some((over, a, b, cap));
                        }
                    }
                }
                if let Some((_, a, b, cap)) = worst {
                    self.limit_hours(table, day, site, (a, b), cap);
                }
            }
        }
    }

    fn limit_hours(
        &mut self,
        table: &Table<'_, '_>,
        day: NaiveDate,
        site: Option<usize>,
        (a, b): (Instant, Instant),
        cap: u32,
    ) {
        let left = self.left_on(day);
        // What each candidate brings into these hours, less what it leaves alone.
        let mut brings: Vec<(usize, f64)> = Vec::new();
        for (g, entries) in table.groups.iter().enumerate() {
            for (c, e) in entries.iter().enumerate() {
                let inside = e
                    .dues
                    .iter()
                    .filter(|d| d.day == day && site.is_none_or(|s| s == d.site))
                    .filter(|d| d.inside(a, b));
                let head: u32 = inside.map(|d| d.head).sum();
                if head > 0 {
                    let brings_more = f64::from(head) - f64::from(e.base);
                    brings.push((self.chosen[g][c], brings_more));
                }
            }
        }
        let cap = f64::from(cap);
        let mut terms = brings.clone();
        terms.push((left, -1.0));
        self.program.row(terms, Sense::AtMost, cap);
        // Any two of those with more than half of it are too many: said outright, fractions of
        // candidates cannot slip through.
        let large: Vec<_> = brings.into_iter().filter(|(_, h)| 2.0 * h > cap).collect();
        let least = large.iter().map(|(_, h)| *h).fold(f64::INFINITY, f64::min);
        if large.len() > 1 {
            let over = 2.0 * least - cap;
            let mut terms: Vec<_> = large.iter().map(|(v, _)| (*v, over)).collect();
            terms.push((left, -1.0));
            self.program.row(terms, Sense::AtMost, over);
        }
    }

    /// These together, and no other group on their days, leave so many.
    fn learn_set(&mut self, table: &Table<'_, '_>, set: &[At], extra: u32) {
        let days = table.days(set);
        let extra = f64::from(extra);
        let mut terms: Vec<(usize, f64)> = set.iter().map(|at| (self.var(*at), extra)).collect();
        let others = (0..table.groups.len()).filter(|g| set.iter().all(|at| at.0 != *g));
        for g in others {
            for (c, entry) in table.groups[g].iter().enumerate() {
                if !entry.touched.is_disjoint(&days) {
                    terms.push((self.var((g, c)), -extra));
                }
            }
        }
        for day in days {
            terms.push((self.left_on(day), -1.0));
        }
        self.program
            .row(terms, Sense::AtMost, extra * (set.len() as f64 - 1.0));
    }

    /// Where no two or three of a set collide but all of them do: what it leaves with one of its groups on
    /// another start of the same days.
    fn learn_neighbours(&mut self, table: &mut Table<'_, '_>, set: &[At]) -> Result<(), Fault> {
        for (n, at) in set.iter().enumerate() {
            let days = table.entry(*at).days();
            for other in 0..table.groups[at.0].len() {
                if other == at.1 || table.entry((at.0, other)).days() != days {
                    continue;
                }
                if table.sets_left == 0 {
                    return Ok(());
                }
                let mut near = set.to_vec();
                near[n] = (at.0, other);
                let extra = table.extra(&near)?;
                if extra > 0 {
                    self.learn_set(table, &near, extra);
                }
            }
        }
        Ok(())
    }
}
