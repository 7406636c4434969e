//! Heats that come back, and bulls that settle them. Head are real numbers: expected ones.
//!
//! An animal that is not pregnant is in heat again after about 21 days (TIMED-2010,
//! ANDERSON-RESYNC), after 17 to 24 of them (SYNCH-HEIFERS). How these days are spread is not
//! published: a normal law is taken, of whose heats 95 in 100 come within 3.5 days of the mean. Its
//! mean must be the published 21, so it reaches as far past the mean as before it, to day 25. The watch
//! for return heats that a plan sets is shorter, 18 to 24 days: 2 in 100 of these heats come before it,
//! and 2 in 100 after it.
//!
//! The days are spread because bulls are often out just 63 days after AI: at 21 days flat, a whole heat
//! of all that are open would hang on one day. Over whole heats the sums are those of a geometric row
//! all the same.

use std::collections::BTreeMap;

use chrono::{Days, NaiveDate};
use statrs::distribution::{ContinuousCDF, Normal};

/// Expected head by day.
pub type ByDay = BTreeMap<NaiveDate, f64>;

/// Days from one heat to the next, on average.
pub const CYCLE_DAYS: u32 = 21;

/// Fewest and most days that are published.
pub const CYCLE_RANGE: [u32; 2] = [17, 24];

/// Where they come from.
pub const CYCLE_SOURCE: &str = "TIMED-2010, ANDERSON-RESYNC, SYNCH-HEIFERS";

/// Of animals that cycle one in 21 is in heat each day (NDSU-JUL01).
pub const CYCLING_SOURCE: &str = "NDSU-JUL01";

/// Half of the published range is two of these.
const CYCLE_SD: f64 = 1.75;

/// The farthest a heat may be from its mean: what is beyond counts on that day.
const CYCLE_REACH: u32 = 4;

/// How many days after a heat the next one comes, and how often, of 1. The mean is 21 exactly.
#[must_use]
pub fn cycle() -> Vec<(u64, f64)> {
    shares(f64::from(CYCLE_DAYS), CYCLE_SD, f64::from(CYCLE_REACH))
}

/// Shares of a normal law on whole days as far as `reach` from its mean, as differences of its
/// distribution function at half days; the tails beyond count on the first and last day, so that
/// the sum is 1.
pub(super) fn shares(mean: f64, sd: f64, reach: f64) -> Vec<(u64, f64)> {
    let Ok(law) = Normal::new(mean, sd) else {
        return vec![(mean.round().max(0.0) as u64, 1.0)];
    };
    let (first, last) = (
        (mean - reach).floor().max(0.0) as u64,
        (mean + reach).ceil().max(0.0) as u64,
    );
    let below = |n: u64| law.cdf(n as f64 - 0.5);
    (first..=last)
        .map(|n| {
            let from = if n == first { 0.0 } else { below(n) };
            let to = if n == last { 1.0 } else { below(n + 1) };
            (n, to - from)
        })
        .collect()
}

/// When those that were in heat on these days, and are open, are in heat again.
#[must_use]
pub fn next_heats(last: &ByDay) -> ByDay {
    let mut next = ByDay::new();
    for (day, head) in last {
        for (days, share) in cycle() {
            if let Some(on) = day.checked_add_days(Days::new(days)) {
                *next.entry(on).or_default() += head * share;
            }
        }
    }
    next
}

/// Heats of animals of whom nobody knows where in the cycle they are: as many on each of 21 days.
#[must_use]
pub fn any_day(from: NaiveDate, head: f64) -> ByDay {
    let each = head / f64::from(CYCLE_DAYS);
    (0..u64::from(CYCLE_DAYS))
        .filter_map(|n| Some((from.checked_add_days(Days::new(n))?, each)))
        .collect()
}

/// Bulls with the animals of a group.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Bulls {
    /// The first day on which they breed.
    pub first: NaiveDate,
    /// The last one.
    pub last: NaiveDate,
    /// Share of heats that they settle, of 1.
    pub settled: f64,
}

/// The first, second, third heat of each animal that is open while bulls are with her.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct BullHeat {
    /// Its mean day.
    pub mean: NaiveDate,
    /// Expected head in heat.
    pub in_heat: f64,
    /// Of these, settled.
    pub settled: f64,
}

/// What bulls settle.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Settling {
    /// Expected head settled, by day.
    pub by_day: ByDay,
    /// Heat by heat.
    pub heats: Vec<BullHeat>,
    /// Left open when the bulls are out.
    pub open: f64,
}

impl Settling {
    /// Expected head settled.
    #[must_use]
    pub fn settled(&self) -> f64 {
        self.by_day.values().sum()
    }
}

/// Lets bulls settle animals that are next in heat on these days: each heat while they are in at
/// the same share, whatever the heats before (common practice, no source). Without bulls all stay open.
#[must_use]
pub fn settle(next: &ByDay, bulls: Option<&Bulls>) -> Settling {
    let mut found = Settling::default();
    let Some(bulls) = bulls else {
        found.open = next.values().sum();
        return found;
    };
    let cycle = cycle();
    // By day, and by heats with bulls so far.
    let mut ahead: BTreeMap<(NaiveDate, usize), f64> =
        next.iter().map(|(day, head)| ((*day, 0), *head)).collect();
    let mut means: Vec<f64> = Vec::new();
    while let Some(((day, nth), head)) = ahead.pop_first() {
        if day > bulls.last {
            found.open += head;
            continue;
        }
        let (mut left, mut level) = (head, nth);
        if day >= bulls.first {
            if found.heats.len() == nth {
                found.heats.push(BullHeat {
                    mean: day,
                    in_heat: 0.0,
                    settled: 0.0,
                });
                means.push(0.0);
            }
            let settled = head * bulls.settled;
            found.heats[nth].in_heat += head;
            found.heats[nth].settled += settled;
            means[nth] += head * (day - bulls.first).num_days() as f64;
            *found.by_day.entry(day).or_default() += settled;
            left -= settled;
            level += 1;
        }
        for (days, share) in &cycle {
            match day.checked_add_days(Days::new(*days)) {
                Some(on) => *ahead.entry((on, level)).or_default() += left * share,
                None => found.open += left * share,
            }
        }
    }
    for (heat, sum) in found.heats.iter_mut().zip(means) {
        let days = if heat.in_heat > 0.0 {
            sum / heat.in_heat
        } else {
            0.0
        };
        let mean = bulls.first.checked_add_days(Days::new(days.round() as u64));
        heat.mean = mean.unwrap_or(bulls.last);
    }
    found
}

#[cfg(test)]
mod tests {
    use super::*;

    fn day(n: u64) -> NaiveDate {
        NaiveDate::from_ymd_opt(2027, 5, 1).unwrap() + Days::new(n)
    }

    fn bulls(first: NaiveDate, last: NaiveDate, settled: f64) -> Bulls {
        Bulls {
            first,
            last,
            settled,
        }
    }

    #[test]
    fn a_cycle_is_21_days_on_average_and_17_to_25_at_the_most() {
        let all = cycle();
        let sum: f64 = all.iter().map(|c| c.1).sum();
        let mean: f64 = all.iter().map(|c| c.0 as f64 * c.1).sum();
        assert!((sum - 1.0).abs() < 1e-12 && (mean - 21.0).abs() < 1e-12);
        assert_eq!((all[0].0, all[all.len() - 1].0), (17, 25));
        // Two in a hundred before the watch of 18 to 24 days, and two after it (tables of the normal law:
        // 0.0228 below -2).
        let before: f64 = all.iter().filter(|c| c.0 < 18).map(|c| c.1).sum();
        let after: f64 = all.iter().filter(|c| c.0 > 24).map(|c| c.1).sum();
        assert!((before - 0.0228).abs() < 1e-4 && (after - 0.0228).abs() < 1e-4);
        // Within the published 17 to 24 days but for one or two in a hundred.
        let outside: f64 = all.iter().filter(|c| c.0 > 24).map(|c| c.1).sum();
        assert!(outside < 0.03, "{outside}");
    }

    /// Bulls that stay for k whole cycles leave (1 - p)^k open: a geometric row.
    #[test]
    fn whole_cycles_are_a_geometric_row() {
        let bred = ByDay::from([(day(0), 100.0)]);
        for (last, k) in [(30, 1), (50, 2)] {
            let bulls = bulls(day(10), day(last), 0.6);
            let got = settle(&next_heats(&bred), Some(&bulls));
            assert_eq!(got.heats.len(), k);
            assert!((got.open - 100.0 * 0.4_f64.powi(k as i32)).abs() < 1e-9);
            let first = got.heats[0];
            assert!((first.in_heat - 100.0).abs() < 1e-9 && (first.settled - 60.0).abs() < 1e-9);
            assert_eq!(first.mean, day(21));
        }
    }

    #[test]
    fn heats_before_the_bulls_are_lost() {
        let bulls = bulls(day(30), day(50), 0.5);
        let got = settle(&next_heats(&ByDay::from([(day(0), 8.0)])), Some(&bulls));
        assert_eq!(got.heats.len(), 1);
        assert_eq!(got.heats[0].mean, day(42));
        assert!((got.open - 4.0).abs() < 1e-9);
        assert!((settle(&any_day(day(0), 21.0), None).open - 21.0).abs() < 1e-9);
    }

    #[test]
    fn the_end_of_the_calendar_does_not_panic() {
        let all = ByDay::from([(NaiveDate::MAX, 3.0)]);
        assert!(next_heats(&all).is_empty());
        let bulls = bulls(NaiveDate::MIN, NaiveDate::MAX, 0.5);
        assert!((settle(&all, Some(&bulls)).open - 1.5).abs() < 1e-12);
    }
}
