//! Days and clock times as people read them. Beginnings are rounded up to the minute and ends down, so
//! that no reading lies outside what is meant.

use chrono::{NaiveDate, TimeDelta};

use crate::base::time::human_date;
use crate::base::units::Clock;
use crate::planning::plan::{FollowUp, Moment};

/// The day beside which times are read, and the clock that they are told on.
#[derive(Clone, Copy)]
pub(super) struct OnDay {
    pub(super) date: NaiveDate,
    pub(super) clock: Clock,
}

/// A day for times on this clock.
pub(super) fn on_day(clock: Clock, date: NaiveDate) -> OnDay {
    OnDay { date, clock }
}

/// A beginning as it is read: up to the minute.
pub(super) fn up_to_minute(at: Moment) -> Moment {
    let over = at.timestamp().rem_euclid(60);
    at + TimeDelta::seconds(if over > 0 { 60 - over } else { 0 })
}

/// The first and the last of some moments, for readings in which a beginning goes up to the next
/// minute and an end down: an end is never before its beginning.
pub(super) fn first_and_last(first: Moment, last: Moment) -> (Moment, Moment) {
    (first, last.max(up_to_minute(first)))
}

/// A beginning and an end on whole minutes, as all forms show them.
pub(super) fn span(first: Moment, last: Moment) -> (Moment, Moment) {
    let (first, last) = first_and_last(first, last);
    (up_to_minute(first), last)
}

/// `Mon 15 Mar`: a date without its year, where the year stands nearby.
pub(super) fn short_date(day: NaiveDate) -> String {
    day.format("%a %-d %b").to_string()
}

/// The days of a follow-up: `Mon 14 Jun 2027 to Sun 20 Jun 2027`, or from when on.
pub(super) fn follow_days(event: &FollowUp) -> String {
    let first = human_date(event.first_day);
    match event.last_day {
        Some(last) if last == event.first_day => first,
        Some(last) => format!("{first} to {}", human_date(last)),
        None => format!("from {first} on"),
    }
}

/// Hours from a beginning to an end, or that there are none.
pub(super) fn hours(earliest: Moment, latest: Moment, day: OnDay) -> String {
    if earliest > latest {
        return "no time suits every animal".to_owned();
    }
    format!("{} to {}", begins(earliest, day), ends(latest, day))
}

/// The clock time of an end, or of an aim; the day stands with a reading on another day.
pub(super) fn ends(at: Moment, day: OnDay) -> String {
    if at.date_naive() == day.date {
        day.clock.time(at)
    } else {
        day.clock.day(at.naive_local())
    }
}

/// The clock time of a beginning.
pub(super) fn begins(at: Moment, day: OnDay) -> String {
    ends(up_to_minute(at), day)
}

/// True if a word is the half of the day of a time that ends before it, which no line's end parts.
pub(super) fn is_one_time(before: &str, word: &str) -> bool {
    let half = word.strip_prefix("am").or_else(|| word.strip_prefix("pm"));
    half.is_some_and(|rest| !rest.starts_with(char::is_alphanumeric))
        && before.ends_with(|c: char| c.is_ascii_digit())
        && before.contains(':')
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn beginnings_go_up_to_the_minute_and_ends_down() {
        let at = |text: &str| Moment::parse_from_rfc3339(text).unwrap();
        let read = |first: &str, last: &str| {
            let (first, last) = span(at(first), at(last));
            [first, last].map(|at| Clock::H24.time(at))
        };
        let one = "2027-05-17T06:59:30-06:00";
        assert_eq!(read(one, "2027-05-17T08:00:59-06:00"), ["07:00", "08:00"]);
        assert_eq!(read(one, one), ["07:00", "07:00"]);
        let day = on_day(Clock::H24, at(one).date_naive());
        assert_eq!(
            [begins(at(one), day), ends(at(one), day)],
            ["07:00", "06:59"]
        );
        assert_eq!(begins(at("2027-05-17T07:00:00-06:00"), day), "07:00");
        let eve = on_day(Clock::H12, day.date.pred_opt().unwrap());
        assert_eq!(begins(at(one), eve), "Mon 17 May 7:00 am");
    }
}
