//! When people work.

use chrono::{Datelike, NaiveDate, NaiveDateTime, NaiveTime};

use super::Weekday;
use crate::base::time::{Instant, Zone};

/// Hours of work.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Shift {
    /// Weekdays on which it begins; all if empty.
    pub days: Vec<Weekday>,
    /// Local clock time.
    pub from: NaiveTime,
    /// Local clock time; not later than `from` means the next day.
    pub to: NaiveTime,
}

impl Shift {
    /// True if a shift begins on this date.
    #[must_use]
    pub fn begins_on(&self, date: NaiveDate) -> bool {
        self.days.is_empty() || self.days.iter().any(|d| is_weekday(*d, date))
    }

    /// Start and end of the shift that begins on this date, as the clocks show them.
    #[must_use]
    pub fn of(&self, date: NaiveDate) -> (NaiveDateTime, NaiveDateTime) {
        let next = date.succ_opt().unwrap_or(date);
        let last = if self.to <= self.from { next } else { date };
        (date.and_time(self.from), last.and_time(self.to))
    }

    /// The same in instants.
    #[must_use]
    pub fn span(&self, zone: Zone, date: NaiveDate) -> (Instant, Instant) {
        let (from, to) = self.of(date);
        (zone.resolve(from).at, zone.resolve(to).at)
    }
}

/// A weekday in words: `Mondays`.
pub(super) const fn weekday_words(day: Weekday) -> &'static str {
    match day {
        Weekday::Mon => "Mondays",
        Weekday::Tue => "Tuesdays",
        Weekday::Wed => "Wednesdays",
        Weekday::Thu => "Thursdays",
        Weekday::Fri => "Fridays",
        Weekday::Sat => "Saturdays",
        Weekday::Sun => "Sundays",
    }
}

/// True if the date is that day of the week.
#[must_use]
pub(super) fn is_weekday(day: Weekday, date: NaiveDate) -> bool {
    day == weekday(date)
}

/// The day of the week of a date.
#[must_use]
pub fn weekday(date: NaiveDate) -> Weekday {
    let days = <Weekday as strum::VariantArray>::VARIANTS;
    days[date.weekday().num_days_from_monday() as usize]
}
