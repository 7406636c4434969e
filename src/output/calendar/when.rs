//! When an event is: DTSTART and DTEND.

use chrono::{Days, NaiveDate};
use icalendar::{CalendarDateTime, DatePerhapsTime, Property};

use crate::base::time::{Instant, Zone};

/// The time of an event.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum When {
    /// From one moment to another.
    Timed { start: Instant, end: Instant },
    /// All of each day, from the first to the last.
    Daily { first: NaiveDate, last: NaiveDate },
    /// Some time between two days, told as one stretch.
    Span { first: NaiveDate, last: NaiveDate },
}

impl When {
    /// The first moment.
    pub(super) fn start(self, zone: Zone) -> Instant {
        match self {
            Self::Timed { start, .. } => start,
            Self::Daily { first, .. } | Self::Span { first, .. } => zone.start_of_day(first),
        }
    }

    /// The end.
    pub(super) fn end(self, zone: Zone) -> Instant {
        match self {
            Self::Timed { end, .. } => end,
            Self::Daily { last, .. } | Self::Span { last, .. } => {
                zone.start_of_day(last + Days::new(1))
            }
        }
    }

    /// True if its times are of the zone, and not whole days.
    pub(super) const fn is_timed(self) -> bool {
        matches!(self, Self::Timed { .. })
    }

    /// DTSTART, DTEND, RRULE and TRANSP, as needed.
    ///
    /// What happens on several days is one all-day event repeated daily, not one long event: a
    /// phone shows either well, but reminds of the long one only once, and each day counts (a
    /// heifer that misses her feed is lost to the program). One repeated event, not one for each
    /// day: when a new plan moves the days, the same UID moves them all and leaves none behind.
    pub(super) fn properties(self, zone: Zone) -> Vec<Property> {
        match self {
            Self::Timed { start, end } => {
                let utc = zone.name() == "UTC" || !is_plain(zone, start) || !is_plain(zone, end);
                let mut found = vec![moment("DTSTART", zone, start, utc)];
                // DTEND must be later than DTSTART (section 3.8.2.2); an event without it takes no time.
                if end > start {
                    found.push(moment("DTEND", zone, end, utc));
                }
                found
            }
            Self::Daily { first, last } => {
                let days = (last - first).num_days() + 1;
                // DTEND is the day after (section 3.6.1).
                let mut found = vec![day("DTSTART", first), day("DTEND", first + Days::new(1))];
                if days > 1 {
                    found.push(Property::new("RRULE", format!("FREQ=DAILY;COUNT={days}")));
                }
                // A day of feeding leaves its owner free for an appointment.
                found.push(Property::new("TRANSP", "TRANSPARENT"));
                found
            }
            Self::Span { first, last } => vec![
                day("DTSTART", first),
                day("DTEND", last + Days::new(1)),
                Property::new("TRANSP", "TRANSPARENT"),
            ],
        }
    }
}

fn day(name: &str, date: NaiveDate) -> Property {
    DatePerhapsTime::Date(date).to_property(name)
}

/// True if the local reading means this instant and no other.
fn is_plain(zone: Zone, at: Instant) -> bool {
    let read = zone.resolve(zone.local(at));
    read.doubt.is_none() && read.at == at
}

/// A DATE-TIME: local with TZID, or UTC (also where that is the zone). A local reading that comes twice means the earlier one
/// (section 3.3.5), so the later one can only be told in UTC; as programs differ over the earlier
/// one too, both are. DTEND follows DTSTART in this (section 3.8.2.2).
fn moment(name: &str, zone: Zone, at: Instant, utc: bool) -> Property {
    let value = if utc {
        CalendarDateTime::Utc(at)
    } else {
        CalendarDateTime::WithTimezone {
            date_time: zone.local(at),
            tzid: zone.name().to_owned(),
        }
    };
    DatePerhapsTime::DateTime(value).to_property(name)
}

#[cfg(test)]
mod tests {
    use super::super::component::Component;
    use super::*;

    fn lines(when: When) -> Vec<String> {
        let zone = Zone::parse("America/Denver").unwrap();
        let event = Component::new("VEVENT");
        let properties = when.properties(zone).into_iter();
        let event = properties.fold(event, Component::with);
        let text = event.to_text();
        let lines: Vec<&str> = text.trim_end().split("\r\n").collect();
        let within = lines[1..lines.len() - 1].iter();
        within.map(ToString::to_string).collect()
    }

    fn timed(start: &str, end: &str) -> When {
        let [start, end] = [start, end].map(|t| t.parse().unwrap());
        When::Timed { start, end }
    }

    /// An hour that comes twice is told in UTC, likewise when only the end lies in it: 08:30 is 01:30 MST,
    /// an hour after 01:30 MDT. Days are repeated, and end the day after.
    #[test]
    fn times_are_local_or_of_an_hour_that_comes_twice_in_utc_and_days_are_repeated() {
        let first = NaiveDate::from_ymd_opt(2027, 2, 28).unwrap();
        let last = NaiveDate::from_ymd_opt(2027, 3, 13).unwrap();
        for (when, told) in [
            (
                timed("2027-05-18T11:00:00Z", "2027-05-18T13:30:05Z"),
                "DTSTART;TZID=America/Denver:20270518T050000 DTEND;TZID=America/Denver:20270518T073005",
            ),
            (
                timed("2027-11-07T08:30:00Z", "2027-11-07T10:00:00Z"),
                "DTSTART:20271107T083000Z DTEND:20271107T100000Z",
            ),
            (
                timed("2027-11-07T05:00:00Z", "2027-11-07T07:30:00Z"),
                "DTSTART:20271107T050000Z DTEND:20271107T073000Z",
            ),
            // Without length it has no end.
            (
                timed("2027-05-18T11:00:00Z", "2027-05-18T11:00:00Z"),
                "DTSTART;TZID=America/Denver:20270518T050000",
            ),
            (
                When::Daily { first, last },
                "DTSTART;VALUE=DATE:20270228 DTEND;VALUE=DATE:20270301 RRULE:FREQ=DAILY;COUNT=14 TRANSP:TRANSPARENT",
            ),
            (
                When::Daily { first, last: first },
                "DTSTART;VALUE=DATE:20270228 DTEND;VALUE=DATE:20270301 TRANSP:TRANSPARENT",
            ),
            (
                When::Span { first, last },
                "DTSTART;VALUE=DATE:20270228 DTEND;VALUE=DATE:20270314 TRANSP:TRANSPARENT",
            ),
        ] {
            assert_eq!(lines(when).join(" "), told);
        }
    }

    #[test]
    fn utc_is_told_in_utc() {
        let when = timed("2027-05-18T11:00:00Z", "2027-05-18T12:00:00Z");
        let found = when.properties(Zone::parse("UTC").unwrap());
        assert_eq!(found[0].value(), "20270518T110000Z");
        assert!(found[0].params().is_empty());
    }
}
