//! Published worked examples and check dates, forwards and backwards. Where a figure is published
//! its source tag stands beside it; the rest is arithmetic on it, done by hand.

use chrono::{NaiveDate, TimeDelta};
use thawline::protocol::backwards::{Backwards, start_for_breeding};
use thawline::protocol::timetable::{Timetable, timetable};
use thawline::protocol::{self, Protocol};
use thawline::time::{Zone, parse_date, parse_local};

use crate::support::LIBRARY;

fn zone() -> Zone {
    Zone::parse("America/Chicago").unwrap()
}

fn day(text: &str) -> NaiveDate {
    parse_date(text).unwrap()
}

fn at(dates: &Timetable, protocol: &Protocol, step: &str) -> String {
    let n = protocol.steps.iter().position(|s| s.id.as_str() == step);
    let local = dates.zone.local(dates.steps[n.unwrap()].at);
    local.format("%Y-%m-%d %H:%M").to_string()
}

fn date_of(dates: &Timetable, protocol: &Protocol, step: &str) -> NaiveDate {
    day(&at(dates, protocol, step)[..10])
}

fn fed(dates: &Timetable) -> (NaiveDate, NaiveDate) {
    dates.steps.iter().find_map(|s| s.days).unwrap()
}

fn bred_at(protocol: &Protocol, moment: &str, hours: f64) -> Backwards {
    let breeding = zone().resolve(parse_local(moment).unwrap()).at;
    let back = start_for_breeding(protocol, zone(), breeding, Some(hours)).unwrap();
    assert!(back.is_exact());
    let expected = moment.replace('T', " ");
    assert_eq!(at(&back.timetable, protocol, "ai"), expected);
    // And forwards again: the start alone gives the same treatments.
    let again = timetable(protocol, zone(), back.start());
    for (n, step) in protocol.steps.iter().enumerate() {
        if !step.is_timed_breeding() {
            assert_eq!(again.steps[n], back.timetable.steps[n]);
        }
    }
    back
}

fn built_in(id: &str) -> &'static Protocol {
    LIBRARY.get(id).unwrap()
}

/// A built-in protocol with another text in its file.
fn changed(id: &str, from: &str, to: &str) -> Protocol {
    let path = format!("{}/protocols/{id}.yaml", env!("CARGO_MANIFEST_DIR"));
    let text = std::fs::read_to_string(path).unwrap();
    assert!(text.contains(from), "{from} is not in {id}");
    protocol::read("changed.yaml", text.replacen(from, to, 1).as_bytes()).unwrap()
}

/// AI on Tuesday 1 June 2027 at 08:00, counted back in hours from the intervals of the sheets.
mod ai_on_the_first_of_june {
    use super::*;

    fn back(id: &str, hours: f64) -> (&'static Protocol, Timetable) {
        let protocol = built_in(id);
        let back = bred_at(protocol, "2027-06-01T08:00", hours);
        (protocol, back.timetable)
    }

    /// 66 h (BRTF, from memory; 63 to 66 h in SEXED-CALV).
    #[test]
    fn seven_day_cows() {
        let (p, dates) = back("cow-7-day-co-synch-insert", 66.0);
        assert_eq!(dates.start, parse_local("2027-05-22T14:00").unwrap());
        assert_eq!(at(&dates, p, "pg"), "2027-05-29 14:00");
    }

    /// 54 h (OOST). PG falls at 02:00 on a Sunday, which nobody wants and the program says.
    #[test]
    fn seven_day_heifers() {
        let (p, dates) = back("heifer-7-day-co-synch-insert", 54.0);
        assert_eq!(dates.start, parse_local("2027-05-23T02:00").unwrap());
        assert_eq!(at(&dates, p, "pg"), "2027-05-30 02:00");
        let found = dates.findings(p);
        assert_eq!(found[0].code.as_str(), "D112");
        // PG at 08:00 on that Sunday gives AI on Tuesday at 14:00.
        let by_day = bred_at(p, "2027-06-01T14:00", 54.0).timetable;
        assert_eq!(at(&by_day, p, "pg"), "2027-05-30 08:00");
        assert_eq!(by_day.start, parse_local("2027-05-23T08:00").unwrap());
        assert_eq!(by_day.findings(p), []);
    }

    /// 66 h (THOMAS-STAI1, ARSBC18).
    #[test]
    fn fourteen_day_insert_heifers() {
        let (p, dates) = back("heifer-14-day-insert-pg", 66.0);
        assert_eq!(dates.start, parse_local("2027-04-29T14:00").unwrap());
        assert_eq!(at(&dates, p, "insert-out"), "2027-05-13 14:00");
        assert_eq!(at(&dates, p, "pg"), "2027-05-29 14:00");
    }

    /// 72 h (ARSBC18), feeding and PG by HEIFER-GUIDE.
    #[test]
    fn mga_heifers() {
        let (p, dates) = back("heifer-mga-pg", 72.0);
        assert_eq!(fed(&dates), (day("2027-04-27"), day("2027-05-10")));
        assert_eq!(at(&dates, p, "pg"), "2027-05-29 08:00");
        let expected = TimeDelta::days(19);
        assert_eq!(date_of(&dates, p, "pg") - fed(&dates).1, expected);
    }

    /// 66 h (LATER-FTAI, ARK-7and7).
    #[test]
    fn seven_and_seven_cows() {
        let (p, dates) = back("cow-7-and-7-synch", 66.0);
        assert_eq!(dates.start, parse_local("2027-05-15T14:00").unwrap());
        let second = p.steps.iter().find(|s| s.words() == "GnRH").unwrap();
        assert_eq!(at(&dates, p, second.id.as_str()), "2027-05-22 14:00");
        assert_eq!(at(&dates, p, "pg"), "2027-05-29 14:00");
    }
}

/// HEIFER-GUIDE: feeding starts 34 days before breeding starts; 14 days of feed; PG 19 days after
/// the last of them, on day 33; with bulls no PG, and they go in 17 days after it, on day 31.
#[test]
fn mga_counts_back_from_breeding() {
    let p = built_in("heifer-mga-pg-detect");
    let dates = timetable(p, zone(), parse_local("2027-04-01T07:00").unwrap());
    let (first, last) = fed(&dates);
    assert_eq!((last - first).num_days() + 1, 14);
    let pg = date_of(&dates, p, "pg");
    assert_eq!((pg - last).num_days(), 19);
    assert_eq!((pg - first).num_days() + 1, 33);
    // Breeding by heat begins a day or two after PG: 34 days after the first feeding.
    let breeding = first + TimeDelta::days(34);
    let watch = dates
        .steps
        .iter()
        .filter_map(|s| s.days)
        .next_back()
        .unwrap();
    assert!(watch.0 <= breeding && breeding <= watch.1);

    // The days of breeding stand for those of the bulls.
    let bulls = mga_then_bulls(30);
    let dates = timetable(&bulls, zone(), parse_local("2027-04-01T07:00").unwrap());
    let turn_in = dates.steps[1].days.unwrap().0;
    assert_eq!((turn_in - fed(&dates).0).num_days() + 1, 31);
    assert_eq!((turn_in - fed(&dates).1).num_days(), 17);
}

/// ESTRUS-DIVIDENDS: MGA for 14 days, a wait of 10 days, bulls in.
#[test]
fn mga_and_bulls_alone() {
    let bulls = mga_then_bulls(23);
    let dates = timetable(&bulls, zone(), parse_local("2027-04-01T07:00").unwrap());
    assert_eq!(fed(&dates), (day("2027-04-01"), day("2027-04-14")));
    let turn_in = dates.steps[1].days.unwrap().0;
    assert_eq!(turn_in, day("2027-04-24"));
    // Back from the day the bulls go in.
    let wanted = dates.steps[1].at;
    let back = start_for_breeding(&bulls, zone(), wanted, None).unwrap();
    assert_eq!(fed(&back.timetable).0, day("2027-04-01"));
}

fn mga_then_bulls(days: u32) -> Protocol {
    let text = format!(
        "id: mga-then-bulls
name: MGA, then bulls (for tests)
class: heifer
kind: estrus-detection
suits: Tests; the days of breeding stand for the bulls.
sources: [{{tag: HEIFER-GUIDE, supports: days}}]
steps:
  - {{id: mga, after: start, days: 0, lasts_days: 14, do: [feed-mga]}}
  - {{id: bulls, after: start, days: {days}, lasts_days: 21, do: [detect-estrus, inseminate-in-heat]}}
"
    );
    protocol::read("bulls.yaml", text.as_bytes()).unwrap()
}

/// ANDERSON-RESYNC: AI on 21 May, insert in on 4 June and out on 11 June, return heats 36 to 96 h
/// later, which is by 15 June.
#[test]
fn resynchronization_with_an_insert() {
    let text = "\
id: return-heats
name: Insert for return heats (for tests)
class: cow
kind: estrus-detection
suits: Tests; the start is the first AI.
sources: [{tag: ANDERSON-RESYNC, supports: days and hours}]
steps:
  - {id: insert-in, after: start, days: 14, do: [insert-in]}
  - {id: insert-out, after: start, days: 21, do: [insert-out, patch-on]}
  - {id: watch, after: insert-out, hours: {earliest: 36, aim: 66, latest: 96}, lasts_days: 4, do: [detect-estrus, inseminate-in-heat]}
";
    let p = protocol::read("resync.yaml", text.as_bytes()).unwrap();
    let dates = timetable(&p, zone(), parse_local("2027-05-21T08:00").unwrap());
    assert_eq!(date_of(&dates, &p, "insert-in"), day("2027-06-04"));
    assert_eq!(date_of(&dates, &p, "insert-out"), day("2027-06-11"));
    let watch = dates.steps[2];
    assert_eq!(at(&dates, &p, "watch"), "2027-06-12 20:00");
    assert_eq!(watch.days.unwrap(), (day("2027-06-12"), day("2027-06-15")));
    let latest = zone().local(watch.hours.unwrap().latest);
    assert_eq!(latest, parse_local("2027-06-15T08:00").unwrap());
    let back = start_for_breeding(&p, zone(), watch.at, None).unwrap();
    assert_eq!(back.start(), parse_local("2027-05-21T08:00").unwrap());
}

/// Days before AI, for each treatment in the chute.
fn negative_days(protocol: &Protocol, hours: f64) -> Vec<i64> {
    // In the afternoon, so that 66 to 74 h before it is three days.
    let dates = bred_at(protocol, "2027-06-01T14:00", hours).timetable;
    let ai = date_of(&dates, protocol, "ai");
    let chute = protocol
        .steps
        .iter()
        .filter(|s| s.is_chute_work() && !s.is_timed_breeding());
    chute
        .map(|s| (date_of(&dates, protocol, s.id.as_str()) - ai).num_days())
        .collect()
}

/// LATER-FTAI: insert in on day -33, out on day -19, PG on day -3, AI on day 0 at 66, 70 or 74 h.
#[test]
fn fourteen_day_insert_in_negative_days() {
    let id = "heifer-14-day-insert-pg";
    let window = "hours: {earliest: 64, latest: 68, aim: 66}";
    let wide = changed(id, window, "hours: {earliest: 66, latest: 74, aim: 70}");
    for hours in [66.0, 70.0, 74.0] {
        assert_eq!(negative_days(&wide, hours), [-33, -19, -3], "{hours} h");
    }
    assert_eq!(negative_days(built_in(id), 66.0), [-33, -19, -3]);
}

/// LATER-FTAI: PG and insert on day -17, `GnRH` on day -10, PG and insert out on day -3, AI on
/// day 0 at 66 or 72 h.
#[test]
fn seven_and_seven_in_negative_days() {
    let id = "cow-7-and-7-synch";
    let window = "hours: {earliest: 64, latest: 68, aim: 66}";
    let wide = changed(id, window, "hours: {earliest: 66, latest: 72, aim: 69}");
    for hours in [66.0, 72.0] {
        assert_eq!(negative_days(&wide, hours), [-17, -10, -3], "{hours} h");
    }
    assert_eq!(negative_days(built_in(id), 66.0), [-17, -10, -3]);
}
