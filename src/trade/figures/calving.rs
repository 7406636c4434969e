//! From breeding to calving and back, by plain date arithmetic: the day after breeding is day 1.
//!
//! Printed tables often count the breeding day as day 1, or leave out 29 February; they are a day
//! or two off these dates. Past the last date that the calendar holds, dates stay at it.

use chrono::{Days, NaiveDate};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use super::Gestation;

/// When the animals bred on one day calve.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Deserialize, Serialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Calving {
    /// The day of breeding.
    pub bred: NaiveDate,
    /// Earliest calves due: the mean less the spread.
    pub first: NaiveDate,
    /// The due date.
    pub mean: NaiveDate,
    /// Last calves due: the mean and the spread.
    pub last: NaiveDate,
}

impl Calving {
    /// The calving of animals bred on that day.
    #[must_use]
    pub fn from_breeding(bred: NaiveDate, gestation: &Gestation) -> Self {
        let mean = later(bred, gestation.days);
        Self {
            bred,
            first: earlier(mean, gestation.early_days),
            mean,
            last: later(mean, gestation.late_days),
        }
    }
}

/// The day to breed on for a due date.
#[must_use]
pub fn bred_for_due(due: NaiveDate, gestation: &Gestation) -> NaiveDate {
    earlier(due, gestation.days)
}

/// The first day to breed on, or to turn bulls in, so that first calves come on `first` or later.
#[must_use]
pub fn bred_for_first(first: NaiveDate, gestation: &Gestation) -> NaiveDate {
    earlier(later(first, gestation.early_days), gestation.days)
}

/// When animals calve that are bred over a stretch of days, as with bulls.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Deserialize, Serialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct CalvingSpan {
    /// Earliest calves due.
    pub first: NaiveDate,
    /// Due date of animals bred on the first day.
    pub first_due: NaiveDate,
    /// Due date of animals bred on the last day.
    pub last_due: NaiveDate,
    /// Last calves due.
    pub last: NaiveDate,
}

impl CalvingSpan {
    /// With bulls in from the morning of `bulls_in`, and out on `bulls_out`, the last day on which
    /// they breed. `None` if they come out before they go in.
    #[must_use]
    pub fn from_stay(
        bulls_in: NaiveDate,
        bulls_out: NaiveDate,
        gestation: &Gestation,
    ) -> Option<Self> {
        let (start, end) = (
            Calving::from_breeding(bulls_in, gestation),
            Calving::from_breeding(bulls_out, gestation),
        );
        (bulls_in <= bulls_out).then_some(Self {
            first: start.first,
            first_due: start.mean,
            last_due: end.mean,
            last: end.last,
        })
    }

    /// Days from the first calves to the last, both counted.
    #[must_use]
    pub fn days(&self) -> i64 {
        (self.last - self.first).num_days() + 1
    }
}

/// A day so many days later; the last day there is where that lies beyond.
#[must_use]
pub fn later(date: NaiveDate, days: u32) -> NaiveDate {
    date.checked_add_days(Days::new(u64::from(days)))
        .unwrap_or(NaiveDate::MAX)
}

fn earlier(date: NaiveDate, days: u32) -> NaiveDate {
    date.checked_sub_days(Days::new(u64::from(days)))
        .unwrap_or(NaiveDate::MIN)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::base::time::parse_date;

    fn day(text: &str) -> NaiveDate {
        parse_date(text).unwrap()
    }

    #[test]
    fn twelve_days_either_side_of_the_due_date() {
        let c = Calving::from_breeding(day("2026-05-20"), &Gestation::default());
        assert_eq!(c.first, day("2027-02-15"));
        assert_eq!(c.mean, day("2027-02-27"));
        assert_eq!(c.last, day("2027-03-11"));
    }

    #[test]
    fn back_from_calving_to_breeding() {
        let g = Gestation::default();
        assert_eq!(bred_for_due(day("2027-02-27"), &g), day("2026-05-20"));
        assert_eq!(bred_for_first(day("2027-02-15"), &g), day("2026-05-20"));
    }

    #[test]
    fn bulls_in_and_out() {
        let g = Gestation::of_days(280).unwrap();
        let span = CalvingSpan::from_stay(day("2026-06-01"), day("2026-07-16"), &g).unwrap();
        assert_eq!(span.first, day("2027-02-24"));
        assert_eq!(span.first_due, day("2027-03-08"));
        assert_eq!(span.last_due, day("2027-04-22"));
        assert_eq!(span.last, day("2027-05-04"));
        // 46 days with bulls and 12 more at either end.
        assert_eq!(span.days(), 46 + 24);
        assert!(CalvingSpan::from_stay(day("2026-06-02"), day("2026-06-01"), &g).is_none());
        assert!(CalvingSpan::from_stay(day("2026-06-01"), day("2026-06-01"), &g).is_some());
    }

    #[test]
    fn the_ends_of_the_calendar_do_not_panic() {
        let g = Gestation::default();
        let expected = NaiveDate::MAX;
        assert_eq!(Calving::from_breeding(NaiveDate::MAX, &g).mean, expected);
        assert_eq!(bred_for_due(NaiveDate::MIN, &g), NaiveDate::MIN);
        assert!(CalvingSpan::from_stay(NaiveDate::MIN, NaiveDate::MAX, &g).is_some());
    }
}
