//! Days counted: shares, means and quantiles, with the error of having tried only so many.

use super::answer::{Chance, Finish, MeanHead};
use crate::planning::plan::Moment;

/// 95 % of a normal law lies within so many deviations.
const WIDE: f64 = 1.959_963_984_540_054;

/// A count of each day, summed up.
#[derive(Clone, Copy, Debug, Default)]
pub(super) struct Sums {
    days: u32,
    any: u32,
    sum: f64,
    squares: f64,
}

impl Sums {
    pub(super) fn add(&mut self, count: u32) {
        self.days += 1;
        self.any += u32::from(count > 0);
        self.sum += f64::from(count);
        self.squares += f64::from(count).powi(2);
    }

    fn mean(&self) -> f64 {
        self.sum / f64::from(self.days.max(1))
    }

    /// The standard error of the mean.
    fn error(&self) -> f64 {
        let n = f64::from(self.days.max(2));
        let variance = (self.squares - self.sum * self.mean()) / (n - 1.0);
        (variance.max(0.0) / n).sqrt()
    }

    /// The chance that a day has any.
    pub(super) fn chance_of_any(&self) -> Chance {
        share(
            f64::from(self.any) / f64::from(self.days.max(1)),
            f64::from(self.days),
        )
    }

    /// The chance that one of `each` things a day is so; `None` where a day has none.
    pub(super) fn chance_of_each(&self, each: usize) -> Option<Chance> {
        if each == 0 {
            return None;
        }
        let p = self.mean() / each as f64;
        let error = self.error() / each as f64;
        // Things of one day may go together: so many would have to be apart for this error.
        let apart = if error > 0.0 {
            (p * (1.0 - p) / (error * error)).max(1.0)
        } else {
            f64::from(self.days)
        };
        Some(share(p, apart))
    }

    pub(super) fn mean_head(&self) -> MeanHead {
        let (mean, wide) = (self.mean(), self.error() * WIDE);
        MeanHead {
            mean_head: rounded(mean),
            low_head: rounded((mean - wide).max(0.0)),
            high_head: rounded(mean + wide),
        }
    }
}

/// A share `p` of `n`, with Wilson's interval: it holds near none and all, too.
fn share(p: f64, n: f64) -> Chance {
    let z = WIDE * WIDE / n;
    let middle = (p + z / 2.0) / (1.0 + z);
    let wide = (z * (p * (1.0 - p) + z / 4.0)).sqrt() / (1.0 + z);
    // At none and at all the interval begins there, but for the rounding.
    let low = if p <= 0.0 {
        0.0
    } else {
        (middle - wide).max(0.0)
    };
    let high = if p >= 1.0 {
        1.0
    } else {
        (middle + wide).min(1.0)
    };
    Chance {
        percent: rounded(p * 100.0),
        low_percent: rounded(low * 100.0),
        high_percent: rounded(high * 100.0),
    }
}

/// To four decimals: more than any number of days tried can tell.
pub(super) fn rounded(x: f64) -> f64 {
    crate::base::units::rounded(x, 4)
}

/// The 5, 50 and 95 % quantiles: the least value that so many of the days do not exceed.
pub(super) fn quantiles(values: &mut [f64]) -> [f64; 3] {
    values.sort_unstable_by(f64::total_cmp);
    [5, 50, 95].map(|percent| {
        let at = (values.len() * percent).div_ceil(100).max(1) - 1;
        values.get(at).copied().unwrap_or(0.0)
    })
}

impl Finish {
    pub(super) fn of(values: &mut [f64], moment: impl Fn(f64) -> Moment) -> Self {
        let [low, middle, high] = quantiles(values).map(moment);
        Self {
            by_5_percent: low,
            by_50_percent: middle,
            by_95_percent: high,
        }
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::float_cmp)] // Whole seconds and values that are copied are exact.

    use super::*;

    #[test]
    fn an_interval_holds_at_none_at_all_and_between() {
        let sums = |any: u32, of: u32| {
            let mut s = Sums::default();
            (0..of).for_each(|n| s.add(u32::from(n < any)));
            s.chance_of_any()
        };
        // Wilson's interval for 10 of 100, worked by hand: 5.5 to 17.4 %.
        let c = sums(10, 100);
        assert!((c.low_percent - 5.52).abs() < 0.01, "{c:?}");
        assert!((c.high_percent - 17.44).abs() < 0.01, "{c:?}");
        let none = sums(0, 10_000);
        assert!(none.percent == 0.0 && none.low_percent == 0.0);
        assert!((none.high_percent - 0.0384).abs() < 1e-4, "{none:?}");
        let all = sums(50, 50);
        assert!(all.percent == 100.0 && all.high_percent == 100.0 && all.low_percent < 95.0);
    }

    #[test]
    fn things_that_go_together_count_once() {
        // Ten things a day, all or none: the error is that of the days, not of the things.
        let (mut together, mut apart) = (Sums::default(), Sums::default());
        for day in 0..1000 {
            together.add(if day % 2 == 0 { 10 } else { 0 });
            apart.add(5);
        }
        let wide = |s: Sums| {
            let c = s.chance_of_each(10).unwrap();
            c.high_percent - c.low_percent
        };
        assert!((wide(together) - 6.2).abs() < 0.1);
        assert!(together.chance_of_each(0).is_none());
        assert!((apart.chance_of_each(10).unwrap().percent - 50.0).abs() < 1e-9);
    }

    #[test]
    fn quantiles_are_values_that_came() {
        let mut values: Vec<f64> = (1..=100).rev().map(f64::from).collect();
        assert_eq!(quantiles(&mut values), [5.0, 50.0, 95.0]);
        assert_eq!(quantiles(&mut [7.0]), [7.0; 3]);
        assert_eq!(quantiles(&mut []), [0.0; 3]);
    }
}
