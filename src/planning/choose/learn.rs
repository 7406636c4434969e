//! What a proposal of the model shows of collisions, as limits of the model.

use std::collections::{BTreeMap, BTreeSet};

use chrono::NaiveDate;

use super::hours::{Hours, Pen, Prices};
use super::model::Model;
use super::table::{At, SAME, Table};
use crate::base::progress::Progress;
use crate::base::solver::{Sense, Var};
use crate::base::time::Instant;
use crate::planning::crew::Fault;

/// Times that the choice in fractions is looked at, and stretches of a day and site that are counted each time.
const MOST_RELAXED: usize = 40;
const MOST_STRETCHES: usize = 12;

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
                let all: Vec<(At, f64)> = set.iter().map(|at| (*at, 1.0)).collect();
                for hours in self.learn_hours(table, &all, &BTreeMap::new()) {
                    self.limit_large(table, &hours);
                    if !table.hours.contains(&hours) {
                        table.hours.push(hours);
                    }
                }
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

    /// Limits, on each day, the stretches of hours in which these candidates, or shares of them, ask most of the crew
    /// beyond what is known to be left.
    pub(super) fn learn_hours(
        &mut self,
        table: &mut Table<'_, '_>,
        some: &[(At, f64)],
        left: &BTreeMap<NaiveDate, f64>,
    ) -> Vec<Hours> {
        let mut dues: BTreeMap<NaiveDate, Vec<(Pen, f64)>> = BTreeMap::new();
        for (at, share) in some {
            for pen in &table.entry(*at).dues {
                dues.entry(pen.day).or_default().push((*pen, *share));
            }
        }
        let mut found = Vec::new();
        for (day, here) in dues {
            let known = left.get(&day).copied().unwrap_or(0.0);
            let sites = here.iter().map(|(d, _)| Some(d.site));
            let sites: BTreeSet<Option<usize>> = sites.chain([None]).collect();
            for site in sites {
                found.extend(too_many(table, &here, (day, site), known));
            }
        }
        for hours in &found {
            self.limit_hours(table, hours);
        }
        found
    }

    fn limit_hours(&mut self, table: &Table<'_, '_>, hours: &Hours) {
        let left = self.left_on(hours.day);
        let mut terms = vec![(left, -1.0)];
        for (g, entries) in table.groups.iter().enumerate() {
            for (c, e) in entries.iter().enumerate() {
                terms.extend(
                    hours
                        .brought(e.asked())
                        .map(|more| (self.chosen[g][c], more)),
                );
            }
        }
        self.program
            .row(terms, Sense::AtMost, f64::from(hours.most));
    }

    /// Any two candidates with more than half of what a stretch allows are too many: said outright, fractions of them
    /// cannot slip through.
    pub(super) fn limit_large(&mut self, table: &Table<'_, '_>, hours: &Hours) {
        let most = f64::from(hours.most);
        let mut large: Vec<(usize, f64)> = Vec::new();
        for (g, entries) in table.groups.iter().enumerate() {
            for (c, e) in entries.iter().enumerate() {
                let brings = hours.brought(e.asked()).filter(|more| 2.0 * more > most);
                large.extend(brings.map(|more| (self.chosen[g][c], more)));
            }
        }
        let least = large.iter().map(|(_, h)| *h).fold(f64::INFINITY, f64::min);
        if large.len() > 1 {
            let left = self.left_on(hours.day);
            let over = 2.0 * least - most;
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

impl Table<'_, '_> {
    /// What hours of the crew are worth to the starts taken in, and the choice in fractions that says so.
    pub(super) fn priced(&mut self, progress: &dyn Progress) -> (Prices, Vec<At>) {
        let mut model = Model::new(self);
        let mut hours = std::mem::take(&mut self.hours);
        for h in &hours {
            model.limit_hours(self, h);
        }
        let mut picks = Vec::new();
        for _ in 0..MOST_RELAXED {
            let Some(relaxed) = model.relaxed(progress) else {
                break;
            };
            picks = model.picks(&relaxed.values);
            let mut some = Vec::new();
            for (g, vars) in model.chosen.iter().enumerate() {
                let share = |(c, var): (usize, &usize)| ((g, c), relaxed.values[*var]);
                some.extend(vars.iter().enumerate().map(share));
            }
            some.retain(|(_, share)| *share > SAME);
            let left = model.left.iter();
            let left = left
                .map(|(day, var)| (*day, relaxed.values[*var]))
                .collect();
            let more = model.learn_hours(self, &some, &left);
            hours.extend(&more);
            if more.is_empty() || progress.stop() {
                break;
            }
        }
        let head = self.weights.head_not_bred.min(self.weights.other_head);
        let prices = model
            .program
            .priced()
            .map_or(Vec::new(), |(_, prices)| prices);
        // The first rows say that each group begins once.
        let prices = prices.into_iter().skip(self.groups.len());
        let prices = Prices::new(hours.iter().copied().zip(prices), head);
        self.hours = hours;
        (prices, picks)
    }
}

/// The stretch of hours in which pens, or shares of them, ask most of the crew beyond what is known to be left. None
/// where they ask for no more than can be bred.
fn too_many(
    table: &mut Table<'_, '_>,
    here: &[(Pen, f64)],
    (day, site): (NaiveDate, Option<usize>),
    known: f64,
) -> Option<Hours> {
    let mine: Vec<&(Pen, f64)> = here
        .iter()
        .filter(|(d, _)| site.is_none_or(|s| s == d.site))
        .collect();
    let boxes = site.map_or(u32::MAX, |s| table.season.sites[s].breeding_boxes);
    let opens: BTreeSet<Instant> = mine.iter().map(|(d, _)| d.earliest).collect();
    let closes: BTreeSet<Instant> = mine.iter().map(|(d, _)| d.latest).collect();
    let mut asked: Vec<(f64, f64, Instant, Instant)> = Vec::new();
    for from in opens {
        for to in closes.range(from..) {
            let inside = mine.iter().filter(|(d, _)| d.inside(from, *to));
            let head: f64 = inside.map(|(d, share)| f64::from(d.head) * share).sum();
            if head > known + 0.5 {
                let over = head - table.crew.about(from, *to, boxes);
                asked.push((over, head, from, *to));
            }
        }
    }
    asked.sort_by(|x, y| y.0.total_cmp(&x.0));
    let mut worst: Option<(f64, Hours)> = None;
    for (_, head, from, to) in asked.into_iter().take(MOST_STRETCHES) {
        let (all, here) = table.crew.head(from, to, boxes);
        let most = if site.is_some() { here } else { all };
        let over = head - known - f64::from(most);
        if over > 0.5 && worst.as_ref().is_none_or(|w| over > w.0) {
            let hours = Hours {
                day,
                site,
                from,
                to,
                most,
            };
            worst = Some((over, hours));
        }
    }
    worst.map(|(_, hours)| hours)
}
