//! The calving curve from conceptions, and what is told of it.

use std::collections::BTreeMap;

use chrono::{NaiveDate, TimeDelta};

use super::law::Days;
use super::row::{Herd, Rows};
use super::{Found, HEAD, PERCENT};
use thawline::forecast::{Calving, First21Days};

/// A mean and a deviation of gestation, in days.
#[derive(Clone, Copy, PartialEq)]
pub(super) struct Carried {
    pub(super) mean: f64,
    pub(super) sd: f64,
}

impl Carried {
    fn due(self, bred: NaiveDate) -> NaiveDate {
        bred + TimeDelta::days(self.mean.round() as i64)
    }
}

/// Calves of AI and of bulls by day, unrounded.
#[derive(Clone, Default)]
pub(super) struct Born {
    pub(super) days: BTreeMap<NaiveDate, (f64, f64)>,
    pub(super) first_due: Option<NaiveDate>,
}

impl Born {
    /// Of a group, with the gestation of AI and of bulls, and the share of pregnancies kept.
    pub(super) fn of(herd: &Herd, rows: &Rows, [ai, bulls]: [Carried; 2], kept: f64) -> Self {
        let mut born = Self::default();
        for (row, carried, of_bulls) in [(&rows.ai, ai, false), (&rows.bulls, bulls, true)] {
            let law = Days::gestation(carried.mean, carried.sd);
            for (n, head) in row.iter().enumerate().filter(|c| *c.1 > 0.0) {
                for (days, share) in law.each() {
                    let day = herd.from + TimeDelta::days((n + days) as i64);
                    let there = born.days.entry(day).or_default();
                    let one = if of_bulls { &mut there.1 } else { &mut there.0 };
                    *one += head * share * kept;
                }
            }
        }
        let bred = herd.bred.iter().map(|d| d.0).min().map(|d| ai.due(d));
        let settled = rows.bulls.iter().position(|h| *h > 0.0);
        let settled = settled.map(|n| bulls.due(herd.from + TimeDelta::days(n as i64)));
        born.first_due = bred.into_iter().chain(settled).min();
        born
    }

    pub(super) fn add(&mut self, other: &Self) {
        for (day, (ai, bulls)) in &other.days {
            let there = self.days.entry(*day).or_default();
            there.0 += ai;
            there.1 += bulls;
        }
        let due = [self.first_due, other.first_due];
        self.first_due = due.into_iter().flatten().min();
    }

    pub(super) fn ai(&self) -> f64 {
        self.days.values().map(|d| d.0).sum()
    }

    pub(super) fn all(&self) -> f64 {
        self.days.values().map(|d| d.0 + d.1).sum()
    }

    /// The mean day, in days from another: near it, so that no digits are lost.
    pub(super) fn mean(&self, from: NaiveDate) -> Option<f64> {
        let all = self.all();
        let day = |d: &NaiveDate| (*d - from).num_days() as f64;
        let sum: f64 = self.days.iter().map(|(d, h)| day(d) * (h.0 + h.1)).sum();
        (all > 0.0).then(|| sum / all)
    }

    /// Percent born in so many days from one on, or before the end of them.
    fn within(&self, from: Option<NaiveDate>, before: NaiveDate) -> f64 {
        let inside = |d: &NaiveDate| from.is_none_or(|f| *d >= f) && *d < before;
        let part = self.days.iter().filter(|(d, _)| inside(d));
        100.0 * part.map(|(_, h)| h.0 + h.1).sum::<f64>() / self.all()
    }

    /// Percent in the 21 days from 12 before the first due date (TORELL), and by the 21st day after it:
    /// due on the 10th, by the end of the 31st.
    pub(super) fn parts(&self) -> Option<[f64; 2]> {
        let due = self.first_due.filter(|_| self.all() > 0.0)?;
        let first = due - TimeDelta::days(12);
        let part = self.within(Some(first), first + TimeDelta::days(21));
        Some([part, self.within(None, due + TimeDelta::days(22))])
    }
}

/// The first 21 days of several, each counted by itself.
pub(super) fn first_parts<'a>(all: impl Iterator<Item = &'a Born>) -> Option<[f64; 2]> {
    let (mut head, mut sums) = (0.0, [0.0; 2]);
    for born in all {
        if let Some(parts) = born.parts() {
            head += born.all();
            for (sum, part) in sums.iter_mut().zip(parts) {
                *sum += part * born.all();
            }
        }
    }
    (head > 0.0).then(|| sums.map(|s| s / head))
}

impl Found {
    pub(super) fn parts(&mut self, who: &str, right: Option<[f64; 2]>, told: Option<First21Days>) {
        let told = told.map(|t| [t.percent, t.percent_from_due]);
        match (right, told) {
            (Some(right), Some(told)) => {
                for (right, told) in right.into_iter().zip(told) {
                    self.same(&format!("{who}, first 21 days"), right, told, PERCENT);
                }
            }
            (None, None) => {}
            (right, told) => self.wrong(who, format!("{right:?}"), format!("{told:?}")),
        }
    }

    /// A curve is that of these births, and what is told of it follows from them.
    pub(super) fn calving(&mut self, who: &str, born: &Born, told: Option<&Calving>) {
        let all = born.all();
        let (Some(c), Some(due)) = (told, born.first_due.filter(|_| all > 0.0)) else {
            if told.is_some() != (all > 0.0 && born.first_due.is_some()) {
                self.wrong(who, format!("a curve of {all} calves"), "none, or one");
            }
            return;
        };
        self.same(&format!("{who}, calves"), all, c.calves_head, HEAD);
        self.exactly(&format!("{who}, first due date"), &due, &c.first_due);
        let first = due - TimeDelta::days(12);
        self.exactly(&format!("{who}, first calves"), &first, &c.first);
        let ai = 100.0 * born.ai() / all;
        self.same(&format!("{who}, of AI"), ai, c.ai_percent, PERCENT);
        let mut missing = born.days.clone();
        let (mut so_far, mut before): (f64, Option<NaiveDate>) = (0.0, None);
        for day in &c.curve {
            let who = format!("{who}, {}", day.date);
            let follows = before.is_none_or(|b| b.succ_opt() == Some(day.date));
            if !follows {
                self.wrong(&who, "one day after the other", day.date);
            }
            before = Some(day.date);
            let (ai, bulls) = missing.remove(&day.date).unwrap_or_default();
            so_far += ai + bulls;
            self.same(&who, ai, day.ai_head, HEAD);
            self.same(&who, bulls, day.bulls_head, HEAD);
            let percent = 100.0 * so_far / all;
            self.same(&who, percent, day.born_percent, PERCENT);
        }
        if let Some(day) = missing.keys().next() {
            self.wrong(
                who,
                "every day on which a calf may come",
                format!("none for {day}"),
            );
        }
        let told = [c.born_5_percent, c.born_50_percent, c.born_95_percent];
        for (part, got) in [0.05, 0.5, 0.95].into_iter().zip(told) {
            // Where next to nobody is born for days on end, any of them will do.
            let by = |d: NaiveDate| {
                let until = born.days.range(..=d).map(|(_, h)| h.0 + h.1);
                until.sum::<f64>()
            };
            let near = 1e-6 * all;
            let there = by(got) >= part * all - near;
            let sooner = got.pred_opt().is_some_and(|d| by(d) >= part * all + near);
            if !there || sooner || !born.days.contains_key(&got) {
                self.wrong(who, format!("the day by which {part} of 1 are born"), got);
            }
        }
        let day = (c.mean - due).num_days() as f64;
        let mean = born.mean(due).unwrap_or_default();
        self.same(&format!("{who}, mean day"), mean, day, 0.5 + 1e-6);
        if let Some([part, from_due]) = born.parts() {
            let (a, b) = (c.percent_in_21_days, c.percent_by_21_days_from_due);
            self.same(&format!("{who}, 21 days"), part, a, PERCENT);
            self.same(&format!("{who}, 21 days from due"), from_due, b, PERCENT);
        }
    }
}
