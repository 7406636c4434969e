//! Days and clock times as people read them. Beginnings are rounded up to the minute and ends down, so
//! that no reading lies outside what is meant.

use chrono::{NaiveDate, TimeDelta};

use crate::planning::plan::Moment;

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

/// `07:18`.
pub(super) fn clock(at: Moment) -> String {
    at.format("%H:%M").to_string()
}

/// `07:18:30`.
pub(super) fn to_the_second(at: Moment) -> String {
    at.format("%H:%M:%S").to_string()
}

/// `Mon 15 Mar`: a date without its year, where the year stands nearby.
pub(super) fn short_date(day: NaiveDate) -> String {
    day.format("%a %-d %b").to_string()
}

/// The clock time of an end, or of an aim; the day stands with a reading on another day.
pub(super) fn ends(at: Moment, day: NaiveDate) -> String {
    let there = at.date_naive();
    if there == day {
        clock(at)
    } else {
        format!("{} {}", short_date(there), clock(at))
    }
}

/// The clock time of a beginning.
pub(super) fn begins(at: Moment, day: NaiveDate) -> String {
    ends(up_to_minute(at), day)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn beginnings_go_up_to_the_minute_and_ends_down() {
        let at = |text: &str| Moment::parse_from_rfc3339(text).unwrap();
        let read = |first: &str, last: &str| {
            let (first, last) = span(at(first), at(last));
            (clock(first), clock(last))
        };
        let one = "2027-05-17T06:59:30-06:00";
        let whole = |a: &str, b: &str| (a.to_owned(), b.to_owned());
        assert_eq!(
            read(one, "2027-05-17T08:00:59-06:00"),
            whole("07:00", "08:00")
        );
        assert_eq!(read(one, one), whole("07:00", "07:00"));
    }
}
