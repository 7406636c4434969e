//! What a rule that keeps hours free says of itself, and the hours.

use chrono::{NaiveDate, NaiveDateTime, NaiveTime};

use crate::base::error::Finding;
use crate::base::time::{Instant, Zone, human_date};
use crate::base::units::Clock;
use crate::trade::season::Weekday;
use crate::trade::season::shifts::{is_weekday, weekday_words};

/// A rule, as it stands under its key.
pub(crate) trait Rule {
    /// What is wrong with it, each with its place below the key.
    fn wrong(&self) -> Vec<(String, Finding)>;

    /// The hours that it keeps free, once nothing is wrong.
    fn free(&self) -> Vec<FreeHours>;
}

/// On which days hours are kept free.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum When {
    /// On one date.
    On(NaiveDate),
    /// On every such weekday.
    Every(Weekday),
    /// On every day.
    Daily,
}

/// What stops in hours kept free.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Stops {
    /// Treatments and breeding.
    ChuteWork,
    /// These, and whatever else people do: nobody thaws straws, and nobody is on the road from or to
    /// home.
    AllWork,
}

/// Hours kept free.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct FreeHours {
    /// On which days.
    pub when: When,
    /// From; the start of the day if absent.
    pub from: Option<NaiveTime>,
    /// To; the end of the day if absent.
    pub to: Option<NaiveTime>,
    /// What stops.
    pub stops: Stops,
    /// Why.
    pub why: Option<String>,
}

impl FreeHours {
    /// In words: `on Sundays 09:00 to 12:00 (church)`.
    #[must_use]
    pub fn words(&self, told: Clock) -> String {
        let day = match self.when {
            When::On(date) => format!("on {}", human_date(date)),
            When::Every(day) => format!("on {}", weekday_words(day)),
            When::Daily => "on any day".to_owned(),
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

    /// From when to when on a local date, as its clocks show it; nothing on other days.
    #[must_use]
    pub fn of(&self, date: NaiveDate) -> Option<(NaiveDateTime, NaiveDateTime)> {
        let today = match self.when {
            When::On(d) => d == date,
            When::Every(w) => is_weekday(w, date),
            When::Daily => true,
        };
        let from = date.and_time(self.from.unwrap_or(NaiveTime::MIN));
        let to = match self.to {
            Some(to) => date.and_time(to),
            None => date.succ_opt()?.and_time(NaiveTime::MIN),
        };
        (today && from < to).then_some((from, to))
    }

    /// The same in instants.
    #[must_use]
    pub fn on(&self, zone: Zone, date: NaiveDate) -> Option<(Instant, Instant)> {
        let at = |local| zone.resolve(local).at;
        self.of(date).map(|(from, to)| (at(from), at(to)))
    }
}
