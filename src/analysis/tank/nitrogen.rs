//! The level of the nitrogen: what a tank loses a day by its readings, and where that leads.
//!
//! Levels are shares of the full tank. Readings between two fillings fall on a line; all lines of a
//! tank have one slope, the loss a day, and each its own height. The slope is fitted by least
//! squares: with `t` and `y` a level's day and share, and means taken within each stretch between
//! fillings,
//!
//! ```text
//! loss = - sum (t - mean t)(y - mean y) / sum (t - mean t)^2
//! standard error = sqrt(sum of squared residuals / spare / sum (t - mean t)^2)
//! spare = levels - stretches - 1
//! ```
//!
//! A filling is a level too: the full tank, on its day. Openings before the last reading are in the
//! readings already; those after it are counted, at what the season states for each.
//!
//! So a tank that is read once after each filling can be fitted. A filling short of the brim, or a
//! reading that is off, shifts one line and not the loss.
//!
//! The refill day comes from the high end of the band: running dry costs the whole inventory, filling a
//! week early costs a few liters. With two levels nobody can tell how sure the loss is, and the words
//! say so; with three the band is wide, and a fourth reading pays at once.

use std::collections::BTreeSet;

use chrono::{Days, NaiveDate};
use statrs::distribution::{ContinuousCDF, StudentsT};

use crate::trade::season::{Nitrogen, Reading};

/// A level that rises by more than this share of the tank is a filling that nobody wrote down
/// (common practice, no source); less is the dipstick.
pub const RISE: f64 = 0.05;

/// Published minimum levels in inches, with the upper end of a range: they disagree.
pub const MINIMUMS: [(f64, Option<f64>, &str); 4] = [
    (3.0, Some(6.0), "WISC-TANK"),
    (6.0, None, "KSU-BT"),
    // 15 cm.
    (5.9, None, "IASRI"),
    (10.0, None, "CF-DALTON"),
];

/// The limit in inches unless the season states one (KSU-BT).
pub const USUAL_INCHES: f64 = 6.0;

/// Days looked ahead for the day on which a tank runs low.
const FAR: i64 = 1500;

/// The loss a day, as fitted.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Fit {
    /// Share of the tank a day.
    pub a_day: f64,
    /// Standard error of that.
    pub error: Option<f64>,
    /// Levels the fit rests on.
    pub levels: u32,
    /// Degrees of freedom.
    pub spare: u32,
}

impl Fit {
    /// The high end of the band that holds the true loss 19 times in 20.
    #[must_use]
    pub fn at_most(&self) -> Option<f64> {
        Some(self.a_day + factor(self.spare)? * self.error?)
    }
}

/// The factor on a standard error for a band that holds the truth 19 times in 20, by Student's t and the
/// readings left over; nothing for none.
fn factor(spare: u32) -> Option<f64> {
    let law = StudentsT::new(0.0, 1.0, f64::from(spare)).ok()?;
    Some(law.inverse_cdf(0.975))
}

/// Levels of one stretch between fillings.
type Stretch = Vec<Reading>;

/// The full tank on a day.
fn brimful(date: NaiveDate) -> Reading {
    Reading { date, share: 1.0 }
}

/// Levels by stretch, and the days on which a level rises with no filling written down.
#[must_use]
pub fn stretches(n: &Nitrogen) -> (Vec<Stretch>, Vec<NaiveDate>) {
    let read: BTreeSet<NaiveDate> = n.readings.iter().map(|r| r.date).collect();
    let full = n.filled.iter().filter(|d| !read.contains(d));
    let mut levels = n.readings.clone();
    levels.extend(full.map(|d| brimful(*d)));
    levels.sort_by_key(|l| l.date);
    let mut all: Vec<Stretch> = Vec::new();
    let mut rises = Vec::new();
    for level in levels {
        let filled = n.filled.contains(&level.date);
        let before = all.last().and_then(|s| s.last());
        let rise = !filled && before.is_some_and(|b| level.share > b.share + RISE);
        if rise {
            rises.push(level.date);
        }
        match all.last_mut() {
            Some(stretch) if !filled && !rise => stretch.push(level),
            _ => all.push(vec![level]),
        }
    }
    (all, rises)
}

/// The loss a day by least squares; nothing where no stretch has two days.
#[must_use]
pub fn fit(stretches: &[Stretch]) -> Option<Fit> {
    let fitted: Vec<&Stretch> = stretches.iter().filter(|s| s.len() > 1).collect();
    let first = fitted.first()?.first()?.date;
    let day = |l: &Reading| (l.date - first).num_days() as f64;
    let (mut across, mut down) = (0.0, 0.0);
    let mut centred = Vec::new();
    for stretch in &fitted {
        let count = stretch.len() as f64;
        let mean_day = stretch.iter().map(day).sum::<f64>() / count;
        let mean = stretch.iter().map(|l| l.share).sum::<f64>() / count;
        for level in *stretch {
            let (x, y) = (day(level) - mean_day, level.share - mean);
            across += x * x;
            down += x * y;
            centred.push((x, y));
        }
    }
    if across <= 0.0 {
        return None;
    }
    let a_day = -down / across;
    let spare = centred.len().saturating_sub(fitted.len() + 1);
    let squares: f64 = centred.iter().map(|(x, y)| (y + a_day * x).powi(2)).sum();
    Some(Fit {
        a_day,
        error: (spare > 0).then(|| (squares / spare as f64 / across).sqrt()),
        levels: centred.len() as u32,
        spare: spare as u32,
    })
}

/// One day ahead.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Ahead {
    /// The day.
    pub date: NaiveDate,
    /// Share at its end; below 0 it stays 0.
    pub share: f64,
    /// Sessions that open the tank.
    pub openings: u32,
    /// True if it is filled.
    pub filled: bool,
}

/// What lies ahead of a tank.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Outlook {
    /// Where it begins: the last reading, or the last filling where nothing was read.
    pub from: Option<Reading>,
    /// The loss.
    pub fit: Option<Fit>,
    /// Days on which a level rises with no filling between.
    pub rises: Vec<NaiveDate>,
    /// The limit as a share of the tank, and whether it is the user's own.
    pub limit: Option<(f64, bool)>,
    /// Each day from then to the last session.
    pub days: Vec<Ahead>,
    /// The filling that is stated after a last reading below the limit, if the nitrogen lasts until
    /// then: what follows is asked from this day on.
    pub filled_since: Option<NaiveDate>,
    /// The first day below the limit.
    pub below_on: Option<NaiveDate>,
    /// The same with the highest loss that the readings allow.
    pub earliest: Option<NaiveDate>,
    /// The day to refill by.
    pub refill_by: Option<NaiveDate>,
    /// True if the limit is passed on or before the last session.
    pub runs_low: bool,
    /// True if it may be, with the highest loss.
    pub may_run_low: bool,
}

impl Outlook {
    /// The outlook of a tank that is opened on these days, a day for each session, and that has to
    /// last until `last`.
    #[must_use]
    pub fn of(n: &Nitrogen, openings: &[NaiveDate], last: Option<NaiveDate>) -> Self {
        let (stretches, rises) = stretches(n);
        // Where no loss is seen, nothing can be carried on.
        let fit = fit(&stretches).filter(|f| f.a_day > 0.0);
        let limit = match (n.limit, n.full_inches) {
            (Some(own), _) => Some((own, true)),
            (None, Some(full)) => Some((USUAL_INCHES / full, false)),
            (None, None) => None,
        };
        let read = n.readings.last().copied();
        let from = read.or_else(|| n.filled.first().map(|d| brimful(*d)));
        let mut outlook = Self {
            from,
            fit,
            rises,
            limit,
            ..Self::default()
        };
        let (Some(from), Some(fit)) = (from, fit) else {
            return outlook;
        };
        let road = Road { n, openings, from };
        if let Some(last) = last {
            outlook.days = road
                .days(fit.a_day)
                .take_while(|d| d.date <= last)
                .collect();
        }
        let Some((limit, _)) = limit else {
            return outlook;
        };
        let high = fit.at_most().unwrap_or(fit.a_day);
        outlook.filled_since = road.filled_since(high, limit);
        let first = outlook.filled_since.unwrap_or(from.date);
        outlook.below_on = road.below(fit.a_day, limit, first);
        outlook.earliest = road.below(high, limit, first);
        let by = |day: NaiveDate| day.checked_sub_days(Days::new(u64::from(n.margin_days) + 1));
        outlook.refill_by = outlook
            .earliest
            .map(|day| by(day).unwrap_or(first).max(first));
        let until = |day: Option<NaiveDate>| day.zip(last).is_some_and(|(d, last)| d <= last);
        outlook.runs_low = until(outlook.below_on);
        outlook.may_run_low = until(outlook.earliest);
        outlook
    }
}

/// A tank day after day from a known level on, opened on these days.
#[derive(Clone, Copy)]
pub(crate) struct Road<'a> {
    pub(crate) n: &'a Nitrogen,
    pub(crate) openings: &'a [NaiveDate],
    pub(crate) from: Reading,
}

impl Road<'_> {
    /// Sessions that open the tank on a day.
    fn openings_on(&self, date: NaiveDate) -> u32 {
        self.openings.iter().filter(|o| **o == date).count() as u32
    }

    /// What these openings take, as a share of the tank.
    pub(crate) fn opened(&self, date: NaiveDate) -> f64 {
        f64::from(self.openings_on(date)) * self.n.opening.unwrap_or(0.0)
    }

    /// Day after day at this loss. What is read on the first day is its level.
    pub(crate) fn days(self, a_day: f64) -> impl Iterator<Item = Ahead> {
        let mut share = self.from.share;
        (0..FAR).map_while(move |k| {
            let date = self.from.date.checked_add_days(Days::new(k as u64))?;
            let filled = k > 0 && self.n.filled.contains(&date);
            let openings = self.openings_on(date);
            if k > 0 {
                share = if filled { 1.0 } else { share - a_day };
                share = (share - self.opened(date)).max(0.0);
            }
            Some(Ahead {
                date,
                share,
                openings,
                filled,
            })
        })
    }

    /// The first day below the limit, from a day on.
    fn below(&self, a_day: f64, limit: f64, first: NaiveDate) -> Option<NaiveDate> {
        // A hair below is rounding.
        self.days(a_day)
            .find(|d| d.date >= first && d.share < limit - 1e-9)
            .map(|d| d.date)
    }

    /// The first filling after a reading below the limit, unless the tank is empty before it.
    fn filled_since(&self, a_day: f64, limit: f64) -> Option<NaiveDate> {
        if self.from.share >= limit - 1e-9 {
            return None;
        }
        let mut until = self.days(a_day).take_while(|d| d.filled || d.share > 0.0);
        until.find(|d| d.filled).map(|d| d.date)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// One and two degrees have closed forms: tan(0.475 pi), and p times the root of 2 / (1 - p p) at
    /// p = 0.95. With 20 degrees a table has 2.086 (from memory).
    #[test]
    fn closed_forms_of_the_first_two() {
        let one = (0.475 * std::f64::consts::PI).tan();
        assert!((factor(1).unwrap() - one).abs() < 1e-6, "{one}");
        let p: f64 = 0.95;
        let two = p * (2.0 / (1.0 - p * p)).sqrt();
        assert!((factor(2).unwrap() - two).abs() < 1e-6, "{two}");
        assert!((factor(20).unwrap() - 2.086).abs() < 5e-4);
        assert_eq!(factor(0), None);
    }
}
