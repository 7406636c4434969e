//! Reminders (RFC 5545, section 3.6.6).
//!
//! Triggers are relative: phones keep reminders as minutes before the start, and some drop an
//! absolute one. A duration in hours and minutes is elapsed time (section 3.3.6), so the one from
//! 19:00 to the start is worked out for each event and is right even when the clocks change in
//! between; and when somebody moves an event on the phone, its reminders go with it.

use chrono::{Days, NaiveTime, TimeDelta};
use icalendar::Property;

use super::component::Component;
use super::when::When;
use crate::base::time::{Instant, Zone};

/// The reminders of an event, each with its text.
///
/// Timed: at 19:00 the evening before, and an hour before. All day: at 19:00 the evening before,
/// and at 06:00 on the day itself, before the first feed; a phone that knows no reminder after
/// the start of a day still has the one of the evening. The days of a repeated event share their
/// triggers, so on a day whose clocks change these two may ring an hour early or late.
pub(super) fn alarms(zone: Zone, when: When, text: &str) -> [Component; 2] {
    let triggers = match when {
        When::Timed { start, .. } => [evening_before(zone, start) - start, -TimeDelta::hours(1)],
        When::Daily { .. } | When::Span { .. } => [-TimeDelta::hours(5), TimeDelta::hours(6)],
    };
    triggers.map(|trigger| {
        Component::new("VALARM")
            .text("ACTION", "DISPLAY")
            .text("DESCRIPTION", text)
            .with(Property::new("TRIGGER", duration(trigger)))
    })
}

/// 19:00 on the day before that of `at`.
fn evening_before(zone: Zone, at: Instant) -> Instant {
    let evening = NaiveTime::from_hms_opt(19, 0, 0).expect("19:00 is a time");
    zone.resolve((zone.date(at) - Days::new(1)).and_time(evening))
        .at
}

/// `-PT10H40M10S`. Minutes stand between hours and seconds even when there are none (section
/// 3.3.6); days are left out, as a day need not have 24 hours.
fn duration(length: TimeDelta) -> String {
    let seconds = length.num_seconds();
    let (h, m, s) = (
        seconds.abs() / 3600,
        seconds.abs() / 60 % 60,
        seconds.abs() % 60,
    );
    let sign = if seconds < 0 { "-" } else { "" };
    let hours = if h > 0 {
        format!("{h}H")
    } else {
        String::new()
    };
    let rest = match (m, s) {
        (0, 0) if h > 0 => String::new(),
        (m, 0) => format!("{m}M"),
        (m, s) => format!("{m}M{s}S"),
    };
    format!("{sign}PT{hours}{rest}")
}

#[cfg(test)]
mod tests {
    use super::*;
    use chrono::NaiveDate;

    fn texts(when: When) -> [String; 2] {
        let zone = Zone::parse("America/Denver").unwrap();
        alarms(zone, when, "Go").map(|a| a.to_text())
    }

    fn timed(local: &str) -> When {
        let zone = Zone::parse("America/Denver").unwrap();
        let local = crate::base::time::parse_local(local).unwrap();
        let start = zone.resolve(local).at;
        let end = start + TimeDelta::hours(2);
        When::Timed { start, end }
    }

    #[test]
    fn durations() {
        for (seconds, text) in [
            (-3600, "-PT1H"),
            (-36_610, "-PT10H10M10S"),
            (-36_010, "-PT10H0M10S"),
            (-90, "-PT1M30S"),
            (-30, "-PT0M30S"),
            (0, "PT0M"),
            (90_000, "PT25H"),
        ] {
            assert_eq!(duration(TimeDelta::seconds(seconds)), text);
        }
    }

    /// Also when the clocks change: an hour of the night is skipped, or comes twice.
    #[test]
    fn an_event_rings_at_19_o_clock_and_an_hour_before_or_at_6() {
        let first = NaiveDate::from_ymd_opt(2027, 4, 12).unwrap();
        for (when, triggers) in [
            (timed("2027-05-18T05:00"), ["-PT10H", "-PT1H"]),
            (timed("2027-05-18T05:40:10"), ["-PT10H40M10S", "-PT1H"]),
            (timed("2027-03-14T05:00"), ["-PT9H", "-PT1H"]),
            (timed("2027-11-07T05:00"), ["-PT11H", "-PT1H"]),
            (timed("2027-05-18T20:00"), ["-PT25H", "-PT1H"]),
            (When::Daily { first, last: first }, ["-PT5H", "PT6H"]),
        ] {
            let whole = |t| {
                let alarm = "ACTION:DISPLAY\r\nDESCRIPTION:Go\r\nTRIGGER";
                format!("BEGIN:VALARM\r\n{alarm}:{t}\r\nEND:VALARM\r\n")
            };
            assert_eq!(texts(when), triggers.map(whole));
        }
    }
}
