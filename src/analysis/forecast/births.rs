//! The calving curve, and what people ask of it.

use chrono::{Days, NaiveDate};

use super::answer::{Calving, Day, First21Days};
use super::model::rounded;
use crate::trade::figures::Gestation;
use crate::trade::figures::curve::{day_by, mean_day, share_within};
use crate::trade::figures::cycle::ByDay;

/// Days of the first part of a calving season.
const PART: u64 = 21;

/// The first 21 days of several calvings, each by itself. Rounded once: of a calf or two, heads and
/// percents that are rounded already would give another percent.
pub(super) fn first_21_days<'a>(births: impl Iterator<Item = &'a Births>) -> Option<First21Days> {
    let (mut all, mut part, mut from_due) = (0.0, 0.0, 0.0);
    for (calves, [share, by_due]) in births.filter_map(|b| b.first_part(&b.all())) {
        all += calves;
        part += calves * share;
        from_due += calves * by_due;
    }
    (all > 0.0).then(|| First21Days {
        percent: rounded(100.0 * part / all),
        percent_from_due: rounded(100.0 * from_due / all),
    })
}

/// The day of the first calves: the spread before the due date.
fn first_expected(due: NaiveDate) -> NaiveDate {
    due.checked_sub_days(Days::new(u64::from(Gestation::SPREAD_DAYS)))
        .unwrap_or(NaiveDate::MIN)
}

/// Calves by day.
#[derive(Clone, Debug, Default)]
pub(super) struct Births {
    pub(super) ai: ByDay,
    pub(super) bulls: ByDay,
    /// The earliest due date.
    pub(super) first_due: Option<NaiveDate>,
}

impl Births {
    pub(super) fn add(&mut self, other: &Self) {
        for (mine, theirs) in [(&mut self.ai, &other.ai), (&mut self.bulls, &other.bulls)] {
            for (day, head) in theirs {
                *mine.entry(*day).or_default() += head;
            }
        }
        self.first_due = [self.first_due, other.first_due]
            .into_iter()
            .flatten()
            .min();
    }

    /// Of AI and bulls together.
    pub(super) fn all(&self) -> ByDay {
        let mut all = self.ai.clone();
        for (day, head) in &self.bulls {
            *all.entry(*day).or_default() += head;
        }
        all
    }

    /// Calves, and of these the shares of the first 21 days: from the first that are expected, and by the
    /// 21st day after the due date. `None` where no calf is expected.
    fn first_part(&self, born: &ByDay) -> Option<(f64, [f64; 2])> {
        let calves: f64 = born.values().sum();
        let first_due = self.first_due?;
        let before = first_due
            .checked_add_days(Days::new(PART + 1))
            .unwrap_or(NaiveDate::MAX);
        let by_due: f64 = born.range(..before).map(|b| b.1).sum();
        let share = share_within(born, first_expected(first_due), PART);
        (calves > 0.0).then(|| (calves, [share, by_due / calves]))
    }

    /// `None` where no calf is expected.
    pub(super) fn calving(&self) -> Option<Calving> {
        let born = self.all();
        let (calves, [share, by_due]) = self.first_part(&born)?;
        let ai: f64 = self.ai.values().sum();
        let first_due = self.first_due?;
        let first = first_expected(first_due);
        Some(Calving {
            calves_head: rounded(calves),
            ai_percent: rounded(100.0 * ai / calves),
            first,
            first_due,
            mean: mean_day(&born)?,
            born_5_percent: day_by(&born, 0.05)?,
            born_50_percent: day_by(&born, 0.5)?,
            born_95_percent: day_by(&born, 0.95)?,
            percent_in_21_days: rounded(100.0 * share),
            percent_by_21_days_from_due: rounded(100.0 * by_due),
            curve: self.curve(&born, calves),
        })
    }

    fn curve(&self, born: &ByDay, calves: f64) -> Vec<Day> {
        let (Some((first, _)), Some((last, _))) = (born.first_key_value(), born.last_key_value())
        else {
            return Vec::new();
        };
        let of = |by: &ByDay, day: NaiveDate| by.get(&day).copied().unwrap_or(0.0);
        let mut so_far = 0.0;
        let days = first.iter_days().take_while(|day| day <= last);
        let days = days.map(|date| {
            let (ai_head, bulls_head) = (of(&self.ai, date), of(&self.bulls, date));
            so_far += ai_head + bulls_head;
            Day {
                date,
                ai_head: rounded(ai_head),
                bulls_head: rounded(bulls_head),
                born_percent: rounded((100.0 * so_far / calves).min(100.0)),
            }
        });
        days.collect()
    }
}
