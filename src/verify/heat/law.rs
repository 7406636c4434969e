//! Chances of heat and of head, by other ways than the planner's: sums in place of closed forms.

use statrs::distribution::{Binomial, Continuous, ContinuousCDF, Discrete, Normal};
use statrs::statistics::Distribution;

use crate::trade::protocol::Step;
use crate::trade::protocol::heat::{ByHours, Heats};
use crate::trade::season::Group;

/// Gauss's points in a stretch from -1 to 1, and their weights (from memory; a test adds up powers).
const GAUSS: [(f64, f64); 5] = [
    (0.0, 0.568_888_888_888_888_9),
    (-0.538_469_310_105_683_1, 0.478_628_670_499_366_5),
    (0.538_469_310_105_683_1, 0.478_628_670_499_366_5),
    (-0.906_179_845_938_664, 0.236_926_885_056_189_1),
    (0.906_179_845_938_664, 0.236_926_885_056_189_1),
];
/// No heat is so many standard deviations from the mean.
const FAR: f64 = 9.0;
/// Percent that show heat where nothing is published (TIMED-2010, 85 to 92).
const SHOW: f64 = 88.5;

/// The chance of fewer than `n` of all: each number by itself, added up. (The library's own
/// distribution function ends a continued fraction after 140 terms: too few for many head.)
pub(super) fn below(binomial: &Binomial, all: u32, chance: f64, n: u32) -> f64 {
    if n > all {
        return 1.0;
    }
    let mean = f64::from(all) * chance;
    // Ten standard deviations and ten head: what lies below is nothing.
    let far = 10.0 * (mean * (1.0 - chance)).max(0.0).sqrt() + 10.0;
    let first = (mean - far).max(0.0) as u32;
    if f64::from(n) > mean + far {
        return 1.0;
    }
    (first..n).map(|k| binomial.pmf(u64::from(k))).sum()
}

/// The share in heat by so many hours after the first animal's turn began, each treated at any
/// moment of her own turn: added up over the pen's turns, which take `long` hours.
pub(super) fn in_heat_by(normal: &Normal, sd: f64, at: f64, long: f64) -> f64 {
    if long <= 0.0 {
        return normal.cdf(at);
    }
    let mean = normal.mean().unwrap_or(at);
    // All treated before the one are in heat, none treated after the other.
    let sure = (at - mean - FAR * sd).clamp(0.0, long);
    let open = (at - mean + FAR * sd).clamp(0.0, long);
    let pieces = (2.0 * (open - sure) / sd).ceil().max(1.0) as u32;
    let half = (open - sure) / f64::from(pieces) / 2.0;
    let unsure: f64 = (0..pieces)
        .map(|n| sure + half * f64::from(2 * n + 1))
        .flat_map(|middle| GAUSS.map(|(x, weight)| weight * normal.cdf(at - middle - half * x)))
        .sum();
    (sure + half * unsure) / long
}

/// Mean, standard deviation, and the share (0 to 1) that ever shows heat.
pub(super) fn numbers(group: &Group, step: &Step) -> Option<(f64, f64, f64)> {
    let own = group.heat_hours;
    let Some(heat) = &step.heat else {
        return Some((own.mean?, own.spread?, SHOW / 100.0));
    };
    let Heats::After {
        shows,
        by_hours,
        mean,
        spread,
        ..
    } = &heat.heats
    else {
        return None;
    };
    let stated = spread.as_ref().map(|s| s.expected);
    let (fitted_mean, fitted_sd) = match mean {
        Some(mean) => (mean.expected, stated?),
        None => fitted(by_hours, shows.expected, stated),
    };
    Some((
        own.mean.unwrap_or(fitted_mean),
        own.spread.unwrap_or(fitted_sd),
        shows.expected / 100.0,
    ))
}

/// Least squares of `a + b t` through the normal deviates, by the normal equations; with a stated
/// spread only `a`.
fn fitted(points: &[ByHours], shows: f64, stated: Option<f64>) -> (f64, f64) {
    let unit = Normal::standard();
    let (mut w, mut wt, mut wtt, mut wz, mut wtz) = (0.0, 0.0, 0.0, 0.0, 0.0);
    for p in points {
        let share = (p.share.expected / shows).min(0.995);
        let z = unit.inverse_cdf(share);
        let weight =
            f64::from(p.head.unwrap_or(100)) * unit.pdf(z).powi(2) / (share * (1.0 - share));
        w += weight;
        wt += weight * p.hours;
        wtt += weight * p.hours * p.hours;
        wz += weight * z;
        wtz += weight * p.hours * z;
    }
    let slope = match stated {
        Some(sd) => 1.0 / sd,
        None => (w * wtz - wt * wz) / (w * wtt - wt * wt),
    };
    let start = (wz - slope * wt) / w;
    (-start / slope, 1.0 / slope)
}

#[cfg(test)]
mod tests {
    use super::super::{CHANCE, HEAD};
    use super::*;

    #[test]
    fn gauss_adds_up_powers() {
        for power in 0..10 {
            let sum: f64 = GAUSS.iter().map(|(x, w)| w * x.powi(power)).sum();
            let wanted = if power % 2 == 0 {
                2.0 / f64::from(power + 1)
            } else {
                0.0
            };
            assert!((sum - wanted).abs() < 1e-14, "{power}: {sum}");
        }
    }

    /// The planner's closed form and its ends, read by the verifier's own ways: pens of one and of
    /// many, treated in a moment or in months, with narrow and wide spreads.
    #[test]
    fn shares_and_ends_are_the_planners() {
        use crate::trade::figures::heat::{Spread, band, between};
        let mut seed = 11u64;
        let mut roll = |from: f64, to: f64| {
            seed = seed
                .wrapping_mul(6_364_136_223_846_793_005)
                .wrapping_add(1_442_695_040_888_963_407);
            from * (to / from).powf((seed >> 33) as f64 / (1u64 << 31) as f64)
        };
        for _ in 0..400 {
            let (mean, sd, long) = (roll(1.0, 200.0), roll(0.5, 60.0), roll(1e-3, 20_000.0));
            let (head, from) = (roll(1.0, 100_000.0) as u32, roll(0.1, 1000.0));
            let to = from + roll(1.0, 24.0);
            let normal = Normal::new(mean, sd).unwrap();
            let mine = in_heat_by(&normal, sd, to, long) - in_heat_by(&normal, sd, from, long);
            let planned = between(&Spread { mean, sd }, from, to, long);
            let off = (mine - planned).abs() * f64::from(head);
            assert!(off < HEAD / 10.0, "{mean} {sd} {long} {from} {to}: {off}");
            for chance in [planned, 1.0 - planned] {
                let (low, high) = band(head, chance);
                let binomial = Binomial::new(chance, u64::from(head)).unwrap();
                let less = |n| below(&binomial, head, chance, n);
                let what = format!("{chance} of {head}: {low} to {high}");
                assert!(
                    less(low) < 0.05 + CHANCE && less(low + 1) >= 0.05 - CHANCE,
                    "{what}"
                );
                assert!(
                    less(high) < 0.95 + CHANCE && less(high + 1) >= 0.95 - CHANCE,
                    "{what}"
                );
            }
        }
    }
}
