// The table stands as the reference library prints it.
#![allow(clippy::unreadable_literal)]
use statrs::distribution::{Binomial, DiscreteCDF};

use super::*;
use crate::base::dice::Dice;

/// Evenly between 0 and 1.
fn roll(dice: &mut Dice) -> f64 {
    dice.below(1 << 31) as f64 / f64::from(1u32 << 31)
}

const SPREAD: Spread = Spread {
    mean: 60.0,
    sd: 14.0,
};
const SHOWS: f64 = 0.92;
const HEAD: u32 = 60;
const LONG: f64 = 3.0;
const CHECKS: [f64; 11] = [
    12.0, 24.0, 36.0, 48.0, 60.0, 72.0, 84.0, 96.0, 108.0, 120.0, 132.0,
];

fn chances() -> Vec<f64> {
    let mut before = CHECKS[0] - 12.0;
    CHECKS
        .iter()
        .map(|c| {
            let share = SHOWS * between(&SPREAD, before, *c, LONG);
            before = *c;
            share
        })
        .collect()
}

/// The exact band against whole animals: each has her own treatment time, shows heat or not, and
/// is seen at the first check after her heat begins.
#[test]
fn bands_hold_for_simulated_animals() {
    const TIMES: u32 = 20_000;
    let mut dice = Dice::seeded(7);
    let chances = chances();
    let bands: Vec<(u32, u32)> = chances.iter().map(|p| band(HEAD, *p)).collect();
    let in_all: f64 = chances.iter().sum();
    let total_band = band(HEAD, in_all);
    let n = CHECKS.len();
    let of = |k: usize| {
        if k < n {
            (chances[k], bands[k])
        } else {
            (in_all, total_band)
        }
    };
    let (mut sum, mut squares) = (vec![0.0; n + 1], vec![0.0; n + 1]);
    let (mut below, mut at_most) = (vec![0u32; n + 1], vec![0u32; n + 1]);
    for _ in 0..TIMES {
        let mut seen = vec![0u32; n + 1];
        for animal in 0..HEAD {
            // Her place in the chute, and where in her own turn she had the shot.
            let treated = (f64::from(animal) + roll(&mut dice)) / f64::from(HEAD) * LONG;
            let off = SPREAD.sd * Normal::standard().inverse_cdf(roll(&mut dice));
            let heat = treated + SPREAD.mean + off;
            let shows = roll(&mut dice) < SHOWS;
            let first = CHECKS.iter().position(|c| heat <= *c);
            if let Some(k) = first.filter(|_| shows && heat > CHECKS[0] - 12.0) {
                seen[k] += 1;
                seen[n] += 1;
            }
        }
        for (k, count) in seen.iter().enumerate() {
            let (low, high) = of(k).1;
            sum[k] += f64::from(*count);
            squares[k] += f64::from(*count).powi(2);
            below[k] += u32::from(*count < low);
            at_most[k] += u32::from(*count <= high);
        }
    }
    let times = f64::from(TIMES);
    for k in 0..=n {
        let (chance, (low, high)) = of(k);
        let mean = sum[k] / times;
        let variance = squares[k] / times - mean * mean;
        let wanted = f64::from(HEAD) * chance;
        // Four standard errors of the mean: one run in 16,000 is further off by chance alone.
        let error = 4.0 * (wanted.max(0.05) / times).sqrt();
        let off = (mean - wanted).abs();
        assert!(off < error, "{k}: {mean} {wanted} {error}");
        // The variance is the binomial's, or a little less: its standard error is about
        // variance x root(2 / times), and more where counts are few.
        let binomial = wanted * (1.0 - chance);
        let within = binomial * 0.9 - 0.01..binomial * 1.05 + 0.01;
        assert!(within.contains(&variance), "{k}: {variance} {binomial}");
        // Exact tails: below the low end at most 5 times in 100, at most the high end 95 at least;
        // four standard errors of such a share are 0.6 percent.
        let slack = 4.0 * (0.05f64 * 0.95 / times).sqrt();
        let (under, within) = (f64::from(below[k]) / times, f64::from(at_most[k]) / times);
        assert!(under < 0.05 + slack, "{k} low {low}");
        assert!(within > 0.95 - slack, "{k} high {high}");
        // And they are no wider than need be, by the exact distribution.
        let exact = Binomial::new(chance, u64::from(HEAD)).unwrap();
        assert!(low == 0 || exact.cdf(u64::from(low) - 1) < 0.05);
        assert!(exact.cdf(u64::from(low)) >= 0.05);
        assert!(exact.cdf(u64::from(high)) >= 0.95);
        assert!(high == 0 || exact.cdf(u64::from(high) - 1) < 0.95);
    }
}

/// Exact, in whole numbers: with chances of so many twentieths a probability is a whole number
/// of `20^n`.
#[test]
fn bands_are_exact_for_a_few_animals() {
    for n in 1..=26u32 {
        for twentieths in 1..20u128 {
            let all = 20u128.pow(n);
            let (mut ways, mut sum) = (1u128, 0u128);
            let (mut low, mut high) = (None, None);
            for k in 0..=n {
                sum += ways * twentieths.pow(k) * (20 - twentieths).pow(n - k);
                // Twenty times the sum would not fit: all is a multiple of 20.
                if low.is_none() && sum >= all / 20 {
                    low = Some(k);
                }
                if high.is_none() && sum >= all / 20 * 19 {
                    high = Some(k);
                }
                ways = ways * u128::from(n - k) / u128::from(k + 1);
            }
            let wanted = (low.unwrap(), high.unwrap());
            let given = band(n, twentieths as f64 / 20.0);
            assert_eq!(given, wanted, "{n} of {twentieths} / 20");
        }
    }
}

/// Against sums of every term with 60 digits (Python's `decimal`), where few or nearly all are meant
/// and for many head.
#[test]
fn bands_are_those_of_sums_with_sixty_digits() {
    for (n, chance, low, high) in [
        (1, 1e-09, 0, 0),
        (100000, 1e-09, 0, 0),
        (100000, 5.1e-07, 0, 0),
        (100000, 5.2e-07, 0, 1),
        (100000, 0.99999949, 100000, 100000),
        (100000, 0.9999994, 99999, 100000),
        (20000, 0.0013900993375708499, 19, 37),
        (73848, 0.0009019809100907099, 53, 80),
        (73848, 0.79273185607279, 58360, 58723),
        (73848, 0.18643213524808694, 13594, 13942),
        (100000, 0.5, 49740, 50260),
        (99999, 0.25, 24775, 25225),
        (50000, 0.92, 45900, 46100),
        (141, 0.0003, 0, 0),
        (2, 0.0253, 0, 0),
        (2, 0.0254, 0, 1),
        (3, 0.9831, 3, 3),
        (12345, 0.99, 12203, 12239),
        (1, 0.5, 0, 1),
        (10, 0.03, 0, 1),
        (60, 0.27, 11, 22),
        (88, 0.85, 69, 80),
        (500, 0.001, 0, 2),
        // 25,000 give or take 1.645 standard deviations of 136.9.
        (100000, 0.25, 24775, 25225),
        // Nothing to be summed.
        (0, 0.5, 0, 0),
        (40, 0.0, 0, 0),
        (40, 1.0, 40, 40),
        (40, f64::NAN, 0, 40),
    ] {
        assert_eq!(band(n, chance), (low, high), "{n} {chance}");
    }
}

/// The integral over treatment times against the sum over animals.
#[test]
fn the_mean_over_a_pen_is_the_mean_over_its_animals() {
    for (from, to, long) in [(48.0, 60.0, 3.0), (12.0, 24.0, 8.0), (60.0, 72.5, 0.01)] {
        let animals = 40_000;
        let sum: f64 = (0..animals)
            .map(|n| {
                let treated = (f64::from(n) + 0.5) / f64::from(animals) * long;
                between(&SPREAD, from - treated, to - treated, 0.0)
            })
            .sum();
        let mean = sum / f64::from(animals);
        assert!((between(&SPREAD, from, to, long) - mean).abs() < 1e-9);
    }
    assert!(between(&SPREAD, 60.0, 48.0, 1.0).abs() < 1e-12);
    assert!((between(&SPREAD, -1e6, 1e6, 1.0) - 1.0).abs() < 1e-9);
}

#[test]
fn a_pen_treated_late_comes_in_heat_late() {
    let slow = between(&SPREAD, 0.0, 60.0, 10.0);
    let fast = between(&SPREAD, 0.0, 60.0, 1.0);
    assert!(slow < fast, "{slow} {fast}");
}

#[test]
fn whole_head_keep_their_sum_and_never_leave_their_neighbours() {
    // 7.2 is 7: one more than the whole parts, and the first of equals has it.
    assert_eq!(whole(&[1.4, 2.4, 3.4]), [2, 2, 3]);
    assert_eq!(whole(&[1.4, 2.4, 3.4, 0.0]).iter().sum::<u32>(), 7);
    assert_eq!(whole(&[0.5, 0.5]), [1, 0]);
    assert_eq!(whole(&[0.2, 0.2, 0.1]), [1, 0, 0]);
    assert_eq!(whole(&[]), Vec::<u32>::new());
    // 8.25 x 2, short of 16.5 by what sums lose.
    assert_eq!(whole(&[8.25, 8.249_999_999_999_9]), [9, 8]);
    assert_eq!(whole(&[2.999_999_999_999, 4.0]), [3, 4]);
    for n in 1..200u32 {
        let expected: Vec<f64> = chances().iter().map(|p| p * f64::from(n)).collect();
        let head = whole(&expected);
        let all: f64 = expected.iter().sum();
        assert!((f64::from(head.iter().sum::<u32>()) - all).abs() <= 0.5 + 1e-6);
        assert!(head.iter().sum::<u32>() <= n);
        for (h, x) in head.iter().zip(&expected) {
            assert!((f64::from(*h) - x).abs() < 1.0);
        }
    }
}

#[test]
fn untreated_animals_come_in_heat_once_a_cycle() {
    // 1 in 21 a day (NDSU-JUL01).
    assert!((cycling(21.0, 24.0) - 0.0476).abs() < 1e-4);
    assert!((cycling(21.0, 21.0 * 24.0) - 1.0).abs() < 1e-12);
    assert!((cycling(21.0, 2100.0) - 1.0).abs() < 1e-12);
}
