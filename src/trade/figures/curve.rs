//! When calves come, day by day: every conception spread by the gestation of its breed.

use chrono::{Days, NaiveDate};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use super::cycle::{ByDay, shares};
use super::gestation::{Breed, disagreement, sourced};

/// Calves farther from the mean than so many standard deviations count on the last such day: 6 in
/// 100,000.
const REACH: f64 = 4.0;

/// Days from breeding to calving, by a normal law.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
#[schemars(rename = "Gestation")]
pub struct GestationLaw {
    /// Mean; the day after breeding is day 1.
    pub mean_days: f64,
    /// One standard deviation.
    pub sd_days: f64,
    /// Where the mean comes from.
    pub source: String,
    /// Where the standard deviation comes from.
    pub sd_source: String,
    /// Other published means, where sources differ.
    pub disagreement: Option<String>,
}

impl GestationLaw {
    /// The breed whose standard deviation is taken for those without one: the wider of the two published.
    const KNOWN: Breed = Breed::Simmental;

    /// As published for a breed. A standard deviation is published of Angus and Simmental; that of Simmental is
    /// taken for all others, which are published within 12 days of their mean (TORELL): 97 in 100
    /// calves by this law.
    #[must_use]
    pub fn for_breed(breed: Breed) -> Self {
        let figure = breed.figure();
        let (sd_days, sd_source) = Self::sd(breed);
        Self {
            mean_days: figure.days,
            sd_days,
            source: sourced(&figure),
            sd_source,
            disagreement: disagreement(breed),
        }
    }

    fn sd(breed: Breed) -> (f64, String) {
        if let Some(sd) = breed.figure().sd_days {
            return (sd, breed.figure().sources.join(", "));
        }
        let known = Self::KNOWN.figure();
        let words = format!(
            "{}; {}, as none is published of the breed",
            known.sources.join(", "),
            Self::KNOWN.words()
        );
        (known.sd_days.unwrap_or(5.52), words)
    }

    /// The same with the user's own mean or standard deviation in place of the published.
    #[must_use]
    pub fn with_own(mut self, mean_days: Option<f64>, sd_days: Option<f64>) -> Self {
        const OWN: &str = "your own figure";
        if let Some(mean) = mean_days {
            self.mean_days = mean;
            OWN.clone_into(&mut self.source);
            self.disagreement = None;
        }
        if let Some(sd) = sd_days {
            self.sd_days = sd;
            OWN.clone_into(&mut self.sd_source);
        }
        self
    }

    /// Share of calves born so many days after breeding, of 1: differences of the distribution
    /// function at half days. They add up to 1.
    #[must_use]
    pub fn shares(&self) -> Vec<(u64, f64)> {
        shares(self.mean_days, self.sd_days, REACH * self.sd_days)
    }

    /// The due date of animals bred on a day, to the nearest day.
    #[must_use]
    pub fn due(&self, bred: NaiveDate) -> NaiveDate {
        bred.checked_add_days(Days::new(self.mean_days.round() as u64))
            .unwrap_or(NaiveDate::MAX)
    }

    /// Expected calves by day of those conceived on these days. Their sum is the same.
    #[must_use]
    pub fn born(&self, conceived: &ByDay) -> ByDay {
        let shares = self.shares();
        let mut born = ByDay::new();
        for (day, head) in conceived {
            for (days, share) in &shares {
                let on = day.checked_add_days(Days::new(*days));
                *born.entry(on.unwrap_or(NaiveDate::MAX)).or_default() += head * share;
            }
        }
        born
    }
}

/// The first day by which that share, of 1, of all is there. `None` where there is nothing.
#[must_use]
pub fn day_by(born: &ByDay, share: f64) -> Option<NaiveDate> {
    let all: f64 = born.values().sum();
    let mut so_far = 0.0;
    // A sum taken in another order must not move the day.
    let wanted = all * share - 1e-9;
    born.iter()
        .filter(|_| all > 0.0)
        .find(|(_, head)| {
            so_far += *head;
            so_far >= wanted
        })
        .map(|(day, _)| *day)
}

/// The mean day, to the nearest.
#[must_use]
pub fn mean_day(born: &ByDay) -> Option<NaiveDate> {
    mean_days(born).and_then(|(first, days)| first.checked_add_days(Days::new(days.round() as u64)))
}

/// The first day, and how many days after it the mean lies.
#[must_use]
pub fn mean_days(born: &ByDay) -> Option<(NaiveDate, f64)> {
    let (first, _) = born.first_key_value()?;
    let all: f64 = born.values().sum();
    let days = |(day, head): (&NaiveDate, &f64)| (*day - *first).num_days() as f64 * head;
    (all > 0.0).then(|| (*first, born.iter().map(days).sum::<f64>() / all))
}

/// Share, of 1, of those from `from` on for so many days. What comes before is not in it.
#[must_use]
pub fn share_within(born: &ByDay, from: NaiveDate, days: u64) -> f64 {
    let all: f64 = born.values().sum();
    let end = from
        .checked_add_days(Days::new(days))
        .unwrap_or(NaiveDate::MAX);
    let within: f64 = born.range(from..end).map(|(_, head)| head).sum();
    if all > 0.0 { within / all } else { 0.0 }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn day(n: u64) -> NaiveDate {
        NaiveDate::from_ymd_opt(2027, 5, 20).unwrap() + Days::new(n)
    }

    /// TORELL: within 12 days of the mean within a breed. BIF-GL: SD 5.52. By the normal law 97 in
    /// 100 are born then (2 x 0.98527 - 1 = 0.9764 to 12.5 days, tables of the normal law).
    #[test]
    fn the_published_spread_holds_nearly_all() {
        let law = GestationLaw::for_breed(Breed::Other);
        assert_eq!((law.mean_days, law.sd_days), (283.0, 5.52));
        let born = law.born(&ByDay::from([(day(0), 100.0)]));
        let within = share_within(&born, day(271), 25);
        assert!((within - 0.9764).abs() < 5e-4, "{within}");
    }

    /// The normal law's own quantiles: 5 and 95 in 100 lie 1.645 standard deviations off the mean.
    #[test]
    fn quantiles_of_one_day_are_the_normal_ones() {
        let law = GestationLaw::for_breed(Breed::Other).with_own(Some(283.0), Some(6.0));
        let born = law.born(&ByDay::from([(day(0), 40.0)]));
        // 9.87 days: with half days, the 10th before the mean holds the 5 %.
        assert_eq!(day_by(&born, 0.05), Some(day(273)));
        assert_eq!(day_by(&born, 0.5), Some(day(283)));
        assert_eq!(day_by(&born, 0.95), Some(day(293)));
        assert_eq!(mean_day(&born), Some(day(283)));
        assert_eq!(law.due(day(0)), day(283));
        let sum: f64 = born.values().sum();
        assert!((sum - 40.0).abs() < 1e-9, "{sum}");
    }

    /// The variance of the law on whole days: that of the normal law and 1/12 for the rounding
    /// (Sheppard's correction).
    #[test]
    fn mean_and_variance_are_those_of_the_breed() {
        for &breed in Breed::ALL {
            let law = GestationLaw::for_breed(breed);
            let shares = law.shares();
            let mean: f64 = shares.iter().map(|s| s.0 as f64 * s.1).sum();
            let square = shares.iter();
            let square: f64 = square.map(|s| (s.0 as f64 - mean).powi(2) * s.1).sum();
            assert!((mean - law.mean_days).abs() < 1e-3, "{breed:?} {mean}");
            let expected = law.sd_days.powi(2) + 1.0 / 12.0;
            assert!(
                (square / expected - 1.0).abs() < 0.003,
                "{breed:?} {square}"
            );
        }
    }

    /// Without spread every calf comes on the due date; all that is conceived is born.
    #[test]
    fn a_curve_without_spread_is_a_day() {
        let law = GestationLaw::for_breed(Breed::Other).with_own(Some(283.0), Some(0.0));
        let born = law.born(&ByDay::from([(day(0), 30.0), (day(2), 10.0)]));
        let there: Vec<(NaiveDate, f64)> = born.into_iter().filter(|b| b.1 > 0.0).collect();
        assert_eq!(there, [(day(283), 30.0), (day(285), 10.0)]);
    }

    /// The integral of the normal law (tables): 0.7063, 0.9596 and 0.9977 within 1.05, 2.05 and 3.05
    /// deviations, which are 10, 20 and 30 days and a half with a deviation of 10.
    #[test]
    fn the_integral_is_the_normal_laws() {
        let law = GestationLaw::for_breed(Breed::Other).with_own(Some(283.0), Some(10.0));
        let born = law.born(&ByDay::from([(day(0), 1.0)]));
        for (days, within) in [(10, 0.7063), (20, 0.9596), (30, 0.9977)] {
            let got = share_within(&born, day(283 - days), 2 * days + 1);
            assert!((got - within).abs() < 6e-5, "{days}: {got}");
        }
    }

    #[test]
    fn nothing_has_no_days() {
        let none = ByDay::new();
        assert_eq!((day_by(&none, 0.5), mean_day(&none)), (None, None));
        assert!(share_within(&none, day(0), 21).abs() < 1e-12);
    }
}
