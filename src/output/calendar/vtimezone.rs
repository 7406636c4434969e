//! The zone's rules for the span of a calendar (RFC 5545, section 3.6.5).

use chrono::{NaiveDateTime, TimeDelta};
use icalendar::{CalendarDateTime, DatePerhapsTime, Property};

use super::component::Component;
use crate::base::time::{Instant, Zone};

/// How far back the change is looked for that began what holds at the first event. Where clocks
/// change they do so within a year.
const LOOK_BACK_DAYS: i64 = 400;

/// Room before the first event: its reminder rings the evening before.
const REMINDER_HOURS: i64 = 48;

/// The VTIMEZONE that holds from `from` to `to`: what holds at `from`, from its own onset, and every change
/// until `to`.
///
/// Each change of the clocks is an observance of its own, with a plain DTSTART: a season holds
/// one or two, a yearly rule would claim more than is known, and some programs pass over RDATE.
pub(super) fn vtimezone(zone: Zone, from: Instant, to: Instant) -> Component {
    let from = from - TimeDelta::hours(REMINDER_HOURS);
    // The onset in local time as it was before it, seconds east of UTC before and since.
    let observance = |onset: NaiveDateTime, before: i32, since: i32, name: &str, at: Instant| {
        let onset = DatePerhapsTime::DateTime(CalendarDateTime::Floating(onset));
        let daylight = zone.is_daylight(at);
        Component::new(if daylight { "DAYLIGHT" } else { "STANDARD" })
            .with(onset.to_property("DTSTART"))
            .with(Property::new("TZOFFSETFROM", offset(before)))
            .with(Property::new("TZOFFSETTO", offset(since)))
            .text("TZNAME", name)
    };
    let mut made = Component::new("VTIMEZONE").text("TZID", zone.name());
    let mut changes = zone.transitions(from - TimeDelta::days(LOOK_BACK_DAYS), to);
    if let Some(n) = changes.iter().rposition(|c| c.at <= from) {
        changes.drain(..n);
    } else {
        // Nothing has changed for more than a year: the same offset before and since, from a date
        // before any season.
        let (epoch, same) = (Instant::UNIX_EPOCH.naive_utc(), zone.offset_seconds(from));
        made = made.part(observance(
            epoch,
            same,
            same,
            &zone.abbreviation(from),
            from,
        ));
    }
    for c in changes {
        let onset = c.at.naive_utc() + TimeDelta::seconds(i64::from(c.before));
        made = made.part(observance(onset, c.before, c.after, &c.name, c.at));
    }
    made
}

/// `-0600` (section 3.3.14); seconds only where there are any.
fn offset(seconds: i32) -> String {
    let sign = if seconds < 0 { '-' } else { '+' };
    let (h, m, s) = (
        seconds.abs() / 3600,
        seconds.abs() / 60 % 60,
        seconds.abs() % 60,
    );
    if s == 0 {
        format!("{sign}{h:02}{m:02}")
    } else {
        format!("{sign}{h:02}{m:02}{s:02}")
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use chrono::{TimeZone, Utc};
    use proptest::prelude::*;

    fn text(zone: &str, from: &str, to: &str) -> String {
        let zone = Zone::parse(zone).unwrap();
        vtimezone(zone, from.parse().unwrap(), to.parse().unwrap()).to_text()
    }

    fn value<'a>(part: &'a str, name: &str) -> &'a str {
        let from = part.find(&format!("\r\n{name}:")).expect(name) + name.len() + 3;
        part[from..].split("\r\n").next().unwrap()
    }

    fn seconds(offset: &str) -> i64 {
        let n = |r: std::ops::Range<usize>| offset[r].parse::<i64>().unwrap();
        let size = n(1..3) * 3600 + n(3..5) * 60;
        if offset.starts_with('-') { -size } else { size }
    }

    /// Reads the text as another program would: onsets as instants, with the offset since.
    fn onsets(text: &str) -> Vec<(Instant, i64)> {
        text.split("BEGIN:")
            .filter(|p| p.starts_with("STANDARD") || p.starts_with("DAYLIGHT"))
            .map(|p| {
                let local = NaiveDateTime::parse_from_str(value(p, "DTSTART"), "%Y%m%dT%H%M%S");
                let before = seconds(value(p, "TZOFFSETFROM"));
                let at = Utc.from_utc_datetime(&(local.unwrap() - TimeDelta::seconds(before)));
                (at, seconds(value(p, "TZOFFSETTO")))
            })
            .collect()
    }

    /// The offset of every half hour of the span, and of the seconds about each change, as a second
    /// implementation reads the database.
    fn assert_offsets(zone: &str, from: Instant, to: Instant) {
        let tz = jiff::tz::TimeZone::get(zone).unwrap();
        let made = vtimezone(Zone::parse(zone).unwrap(), from, to).to_text();
        let onsets = onsets(&made);
        assert!(onsets[0].0 <= from, "{zone}: {made}");
        let steps = (to - from).num_minutes() / 30;
        let halves = (0..=steps).map(|n| from + TimeDelta::minutes(30 * n));
        let edges = onsets
            .iter()
            .flat_map(|o| [o.0 - TimeDelta::seconds(1), o.0]);
        for at in halves.chain(edges.filter(|t| (from..=to).contains(t))) {
            let held = onsets.iter().rfind(|o| o.0 <= at).expect("an observance").1;
            let known = tz
                .to_offset(jiff::Timestamp::from_second(at.timestamp()).unwrap())
                .seconds();
            assert_eq!(held, i64::from(known), "{zone} at {at}: {made}");
        }
    }

    #[test]
    fn a_spring_in_the_mountains() {
        assert_eq!(
            text(
                "America/Denver",
                "2027-03-05T21:00:00Z",
                "2027-06-10T13:00:00Z"
            ),
            "BEGIN:VTIMEZONE\r\nTZID:America/Denver\r\n\
             BEGIN:STANDARD\r\nDTSTART:20261101T020000\r\nTZOFFSETFROM:-0600\r\n\
             TZOFFSETTO:-0700\r\nTZNAME:MST\r\nEND:STANDARD\r\n\
             BEGIN:DAYLIGHT\r\nDTSTART:20270314T020000\r\nTZOFFSETFROM:-0700\r\n\
             TZOFFSETTO:-0600\r\nTZNAME:MDT\r\nEND:DAYLIGHT\r\nEND:VTIMEZONE\r\n"
        );
    }

    /// One observance where nothing changes; a first event on the night of a change has its evening before;
    /// Irish summer time is daylight, and half hours are kept.
    #[test]
    fn observances_of_a_span() {
        for (zone, days, has, lacks) in [
            (
                "America/Denver",
                ["05-05", "06-10"],
                "BEGIN:DAYLIGHT\r\nDTSTART:20270314T020000",
                "STANDARD",
            ),
            (
                "America/Phoenix",
                ["01-05", "12-10"],
                "DTSTART:19700101T000000\r\nTZOFFSETFROM:-0700\r\nTZOFFSETTO:-0700",
                "DAYLIGHT",
            ),
            (
                "America/Denver",
                ["03-14", "03-20"],
                "END:STANDARD\r\nBEGIN:DAYLIGHT",
                "1970",
            ),
            (
                "Europe/Dublin",
                ["03-01", "05-01"],
                "BEGIN:DAYLIGHT\r\nDTSTART:20270328T010000\r\nTZOFFSETFROM:+0000\r\nTZOFFSETTO:+0100\r\nTZNAME:IST",
                "1970",
            ),
            (
                "Australia/Lord_Howe",
                ["03-01", "05-01"],
                "TZOFFSETFROM:+1100\r\nTZOFFSETTO:+1030",
                "1970",
            ),
        ] {
            let [from, to] = days.map(|day| format!("2027-{day}T11:00:00Z"));
            let made = text(zone, &from, &to);
            assert!(made.contains(has) && !made.contains(lacks), "{made}");
        }
    }

    #[test]
    fn offsets_hold_through_the_span() {
        for zone in [
            "America/Denver",
            "America/Phoenix",
            "America/St_Johns",
            "America/Sao_Paulo",
            "Europe/Dublin",
            "Africa/Casablanca",
            "Australia/Lord_Howe",
            "Asia/Kolkata",
            "Pacific/Auckland",
            "UTC",
        ] {
            for year in [2018, 2027] {
                let at = |m| Utc.with_ymd_and_hms(year, m, 9, 4, 30, 0).unwrap();
                for (from, to) in [
                    (at(1), at(12)),
                    (at(2), at(5)),
                    (at(6), at(7)),
                    (at(9), at(12)),
                ] {
                    assert_offsets(zone, from, to);
                }
            }
        }
    }

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(60))]
        #[test]
        fn any_zone_and_span(
            zone in proptest::sample::select(Zone::names().collect::<Vec<_>>()),
            day in 0_i64..36_000,
            length in 0_i64..200,
        ) {
            let from = Utc.with_ymd_and_hms(2000, 6, 1, 0, 0, 0).unwrap() + TimeDelta::days(day);
            assert_offsets(zone, from, from + TimeDelta::days(length));
        }
    }
}
