//! When people work, and when nobody does.

use chrono::{Datelike, NaiveDate, NaiveTime};

use super::Weekday;
use crate::base::time::{Instant, Zone};
use crate::base::units::Clock;

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

    /// Start and end of the shift that begins on this date.
    #[must_use]
    pub fn span(&self, zone: Zone, date: NaiveDate) -> (Instant, Instant) {
        let last = if self.to <= self.from {
            date.succ_opt().unwrap_or(date)
        } else {
            date
        };
        (
            zone.resolve(date.and_time(self.from)).at,
            zone.resolve(last.and_time(self.to)).at,
        )
    }
}

/// When a free stretch recurs.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum When {
    /// On one date.
    On(NaiveDate),
    /// On every such weekday.
    Every(Weekday),
}

/// Hours without chute work.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct FreeHours {
    /// On which days.
    pub when: When,
    /// From; the start of the day if absent.
    pub from: Option<NaiveTime>,
    /// To; the end of the day if absent.
    pub to: Option<NaiveTime>,
    /// Why.
    pub why: Option<String>,
}

impl FreeHours {
    /// In words: `on Sundays 09:00 to 12:00 (church)`.
    #[must_use]
    pub fn words(&self, told: Clock) -> String {
        let day = match self.when {
            When::On(date) => format!("on {}", crate::base::time::human_date(date)),
            When::Every(day) => format!("on {}", weekday_words(day)),
        };
        let clock = |t: NaiveTime| told.time(t);
        let hours = match (self.from, self.to) {
            (None, None) => String::new(),
            (Some(a), None) => format!(" from {}", clock(a)),
            (None, Some(b)) => format!(" until {}", clock(b)),
            (Some(a), Some(b)) => format!(" {} to {}", clock(a), clock(b)),
        };
        let why = self.why.as_ref().map(|w| format!(" ({w})"));
        format!("{day}{hours}{}", why.unwrap_or_default())
    }

    /// The free stretch of a local date, if it has one.
    #[must_use]
    pub fn on(&self, zone: Zone, date: NaiveDate) -> Option<(Instant, Instant)> {
        let today = match self.when {
            When::On(d) => d == date,
            When::Every(w) => is_weekday(w, date),
        };
        let next = date.succ_opt()?;
        let at = |time: NaiveTime| zone.resolve(date.and_time(time)).at;
        today.then(|| {
            let from = self.from.map_or_else(|| zone.start_of_day(date), at);
            let to = self.to.map_or_else(|| zone.start_of_day(next), at);
            (from, to)
        })
    }
}

const fn weekday_words(day: Weekday) -> &'static str {
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
pub fn is_weekday(day: Weekday, date: NaiveDate) -> bool {
    day == weekday(date)
}

/// The day of the week of a date.
#[must_use]
pub fn weekday(date: NaiveDate) -> Weekday {
    let days = <Weekday as strum::VariantArray>::VARIANTS;
    days[date.weekday().num_days_from_monday() as usize]
}
