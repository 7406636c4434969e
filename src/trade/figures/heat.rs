//! How many of a group come in heat between two moments, and how far chance may take it.
//!
//! Among those that show heat, hours from treatment to heat are normally distributed
//! ([`Spread`]). Animals are treated one after the other at an even pace, so the share of a pen
//! in heat by a moment is the mean over treatment times: an integral with a closed form. With
//! shares that differ from animal to animal the number varies a little less than the binomial
//! with their mean says, so bands are on the safe side.
//!
//! ```
//! use thawline::figures::heat::{Spread, between, band};
//!
//! let spread = Spread { mean: 60.0, sd: 14.0 };
//! // A pen that took an hour, from 48 to 60 h after its first animal: a third of it.
//! let share = 0.92 * between(&spread, 48.0, 60.0, 1.0);
//! assert_eq!((share * 100.0).round(), 28.0);
//! assert_eq!(band(50, share), (9, 19));
//! ```

use statrs::distribution::{Continuous, ContinuousCDF, Normal};

pub use crate::trade::protocol::heat::Spread;

/// Hours that a heat lasts, and so the longest that a check looks back: 11.9 on average (HALL59).
pub const LASTS_HOURS: i64 = 12;

/// Ends of the bands: 5 and 95 of 100 times, the number is at most this.
pub const BAND: [f64; 2] = [0.05, 0.95];

/// A pen that takes less than this, in hours, is treated at one moment.
const AT_ONCE: f64 = 1e-6;

/// The share, 0 to 1, of those that show heat whose heat begins in `(from, to]`: hours after the
/// first animal's treatment. The pen's treatment takes `long` hours at an even pace.
#[must_use]
pub fn between(spread: &Spread, from: f64, to: f64, long: f64) -> f64 {
    if to <= from {
        return 0.0;
    }
    (by(spread, to, long) - by(spread, from, long)).clamp(0.0, 1.0)
}

/// The share whose heat begins by `hours` after the first animal's treatment.
fn by(spread: &Spread, hours: f64, long: f64) -> f64 {
    let unit = Normal::standard();
    let z = (hours - spread.mean) / spread.sd;
    if long < AT_ONCE {
        return unit.cdf(z);
    }
    // The mean of the normal over treatment times: its integral is z F(z) + f(z).
    let integral = |z: f64| z * unit.cdf(z) + unit.pdf(z);
    let width = long / spread.sd;
    (integral(z) - integral(z - width)) / width
}

/// The share of cycling animals that come in heat in so many hours, each once in `days`.
#[must_use]
pub fn cycling(days: f64, hours: f64) -> f64 {
    (hours.max(0.0) / (24.0 * days)).min(1.0)
}

/// Probabilities that differ by less are the same: what sums lose.
const EQUAL: f64 = 1e-12;

/// A term of this share of the largest one adds nothing to a sum.
const NOTHING: f64 = 1e-22;

/// Head between which the number lies nine times in ten, each of `head` animals with the same
/// chance: the least number that is not exceeded in 5, and in 95, of 100 seasons (the quantiles of
/// the binomial: least `k` with P(X <= k) >= 0.05, and >= 0.95).
///
/// Terms are summed outward from the largest, each from its neighbor: nothing is subtracted from 1
/// and nothing overflows, so the ends hold for chances near 0 and 1 and for any number of head.
#[must_use]
pub fn band(head: u32, chance: f64) -> (u32, u32) {
    if chance.is_nan() {
        return (0, head);
    }
    if chance <= 0.0 || head == 0 {
        return (0, 0);
    }
    if chance >= 1.0 {
        return (head, head);
    }
    let odds = chance / (1.0 - chance);
    let top = ((f64::from(head) + 1.0) * chance).floor() as u32;
    let top = top.min(head);
    // Below the largest term, from there down; and above it, up.
    let (mut below, mut above) = (Vec::new(), Vec::new());
    let mut term = 1.0;
    for k in (0..top).rev() {
        term *= f64::from(k + 1) / f64::from(head - k) / odds;
        if term < NOTHING {
            break;
        }
        below.push(term);
    }
    term = 1.0;
    for k in top..head {
        term *= f64::from(head - k) / f64::from(k + 1) * odds;
        if term < NOTHING {
            break;
        }
        above.push(term);
    }
    let first = top - below.len() as u32;
    let terms = below.iter();
    let terms: Vec<f64> = terms.rev().chain(&[1.0]).chain(&above).copied().collect();
    let all: f64 = terms.iter().sum();
    let mut ends = [head; 2];
    for (end, share) in ends.iter_mut().zip(BAND) {
        let mut sum = 0.0;
        let at = terms.iter().position(|t| {
            sum += t;
            sum >= (share - EQUAL) * all
        });
        if let Some(at) = at {
            *end = first + at as u32;
        }
    }
    (ends[0], ends[1])
}

/// Remainders that differ by less are the same: sums of one season in another order.
const SAME: f64 = 1e9;

/// Whole head of expected ones, with the same sum to the nearest whole: the largest remainders
/// are rounded up, the earlier of equals first.
#[must_use]
pub fn whole(expected: &[f64]) -> Vec<u32> {
    let all: f64 = expected.iter().sum();
    whole_of(expected, (all + 1.0 / SAME).round() as u32)
}

/// The same for a given sum: at least that of the whole parts, and at most one more each.
#[must_use]
pub fn whole_of(expected: &[f64], sum: u32) -> Vec<u32> {
    let floor = |x: f64| (x + 1.0 / SAME).floor();
    let mut head: Vec<u32> = expected.iter().map(|x| floor(*x) as u32).collect();
    let short = sum.saturating_sub(head.iter().sum());
    let mut order: Vec<usize> = (0..expected.len()).collect();
    let rest = |n: usize| ((expected[n] - floor(expected[n])) * SAME).round() as i64;
    order.sort_by_key(|n| (-rest(*n), *n));
    for n in order.into_iter().take(short as usize) {
        head[n] += 1;
    }
    head
}

#[cfg(test)]
mod tests;
