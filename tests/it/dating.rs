//! One protocol dated for one animal: as a whole season dates it, and back again.

use chrono::{NaiveDateTime, TimeDelta};
use proptest::prelude::*;
use thawline::dating::{Work, date};
use thawline::protocol::backwards::{start_for_breeding, start_for_calving};
use thawline::protocol::target::Target;
use thawline::protocol::timetable::{Timetable, timetable};
use thawline::protocol::{Class, Delay, Protocol};
use thawline::time::{Instant, Zone};

use crate::dates::one_group;
use crate::support::LIBRARY;

/// North and south, half and quarter hours, changes of half an hour, without a change, and with
/// rules of their own.
const ZONES: &[&str] = &[
    "America/Denver",
    "America/Chicago",
    "America/St_Johns",
    "America/Phoenix",
    "America/Sao_Paulo",
    "America/Santiago",
    "Africa/Johannesburg",
    "Africa/Casablanca",
    "Europe/Dublin",
    "Europe/Berlin",
    "Asia/Kolkata",
    "Asia/Kathmandu",
    "Australia/Adelaide",
    "Australia/Lord_Howe",
    "Australia/Sydney",
    "Pacific/Auckland",
    "Pacific/Chatham",
];

/// A start near a change of the clocks as often as not, at any minute, at full hours more often.
fn starts() -> impl Strategy<Value = (&'static Protocol, Zone, NaiveDateTime)> {
    let dice = (0usize..1000, 2024i32..2036, 0u32..365, 0u32..1440);
    (prop::sample::select(ZONES), dice, any::<[bool; 2]>()).prop_map(
        |(zone, (which, year, day, minute), [near, full])| {
            let zone = Zone::parse(zone).unwrap();
            let all: Vec<&Protocol> = LIBRARY.iter().collect();
            let protocol = all[which % all.len()];
            let mut date = chrono::NaiveDate::from_yo_opt(year, day + 1).unwrap();
            let mut minute = if full { minute / 60 * 60 } else { minute };
            let from = zone.start_of_day(date);
            let to = from + TimeDelta::days(250);
            if let Some(change) = zone.transitions(from, to).first().filter(|_| near) {
                // Some step, the start among them, falls on the day of the change.
                let offsets = protocol.nominal_offsets();
                let step = day as usize % (offsets.len() + 1);
                let back = offsets.get(step).map_or(0, TimeDelta::num_days);
                date = zone.date(change.at) - TimeDelta::days(back);
                minute %= 4 * 60;
            }
            let clock = chrono::NaiveTime::from_hms_opt(minute / 60, minute % 60, 0).unwrap();
            (protocol, zone, date.and_time(clock))
        },
    )
}

fn breeds_at(protocol: &Protocol, dates: &Timetable) -> Instant {
    dates.steps[protocol.breeding_step().unwrap()].at
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(1500))]

    #[test]
    fn one_animal_is_dated_as_a_season_dates_her((protocol, zone, start) in starts()) {
        let class = if protocol.class == Class::Heifer { "heifer" } else { "cow" };
        let text = one_group(zone.name(), class, protocol.id.as_str(), &start.format("%Y-%m-%dT%H:%M").to_string());
        let (season, _) = thawline::season::read("s.yaml", text.as_bytes(), &LIBRARY).unwrap();
        let whole = date(&season);
        let dates = timetable(protocol, zone, start);
        for (n, dated) in dates.steps.iter().enumerate() {
            let pass = whole.passes.iter().find(|p| p.step == n).unwrap();
            prop_assert_eq!(pass.start, dated.at);
            prop_assert_eq!(pass.doubt, dated.doubt);
            prop_assert_eq!(pass.days, dated.days);
            if let Some(hours) = pass.hours {
                let between = dated.hours.unwrap();
                // A season counts from when she leaves the chute, some seconds later.
                prop_assert!((hours.earliest - between.earliest).num_seconds().abs() <= 4);
                prop_assert!((hours.latest - between.latest).num_seconds().abs() <= 4);
            } else {
                prop_assert!(dated.days.is_some() || matches!(protocol.steps[n].delay, Delay::Days(_)));
            }
        }
        let said = |code: &str| whole.findings.iter().any(|f| f.code.as_str() == code);
        for code in ["D101", "D102", "D103"] {
            let now = dates.findings(protocol).iter().any(|f| f.code.as_str() == code);
            prop_assert_eq!(now, said(code), "{}", code);
        }
    }

    #[test]
    fn forwards_and_back_is_the_start((protocol, zone, start) in starts()) {
        let dates = timetable(protocol, zone, start);
        let back = start_for_breeding(protocol, zone, breeds_at(protocol, &dates), None).unwrap();
        prop_assert!(back.is_exact());
        prop_assert_eq!(breeds_at(protocol, &back.timetable), back.wanted);
        // Where a time on the way is doubtful, another start may lead to the same moment.
        if dates.doubts().is_empty() {
            prop_assert_eq!(back.start(), start);
        } else {
            prop_assert!(back.timetable.doubts().len() <= dates.doubts().len());
        }
    }

    #[test]
    fn back_and_forwards_is_the_breeding(
        (protocol, zone, local) in starts(),
        part in 0u32..=8,
        chosen in any::<bool>(),
    ) {
        let breeding = zone.resolve(local).at;
        let step = protocol.breeding_step().unwrap();
        let hours = match protocol.steps[step].delay {
            Delay::Elapsed(w) if chosen && protocol.steps[step].is_timed_breeding() => {
                let span = (w.latest - w.earliest).num_seconds();
                Some((w.earliest.num_seconds() + span * i64::from(part) / 8) as f64 / 3600.0)
            }
            _ => None,
        };
        let back = start_for_breeding(protocol, zone, breeding, hours).unwrap();
        let dated = back.timetable.steps[step];
        prop_assert_eq!(dated.at - back.wanted, back.off);
        if let Some(hours) = hours {
            prop_assert_eq!(dated.at - dated.from, TimeDelta::seconds((hours * 3600.0).round() as i64));
            let between = dated.hours.unwrap();
            prop_assert!(between.earliest <= dated.at && dated.at <= between.latest);
        } else {
            // No start near it leads nearer.
            for minutes in -200..=200 {
                let other = timetable(protocol, zone, back.start() + TimeDelta::minutes(minutes));
                prop_assert!((breeds_at(protocol, &other) - breeding).abs() >= back.off.abs());
            }
        }
        if !back.is_exact() {
            prop_assert!(back.off.abs() <= TimeDelta::hours(1), "{}", back.off);
            prop_assert_eq!(back.findings(protocol)[0].code.as_str(), "D113");
        }
    }
}

/// Every protocol at every full hour of a day without a change of the clocks.
#[test]
fn every_hour_of_a_plain_day_has_its_start() {
    for protocol in LIBRARY.iter() {
        for zone in ["America/Denver", "Asia/Kolkata", "Australia/Sydney"] {
            let zone = Zone::parse(zone).unwrap();
            for hour in 0..24 {
                let local = chrono::NaiveDate::from_ymd_opt(2027, 8, 10)
                    .unwrap()
                    .and_hms_opt(hour, 0, 0)
                    .unwrap();
                let wanted = zone.resolve(local).at;
                let back = start_for_breeding(protocol, zone, wanted, None).unwrap();
                assert!(back.is_exact());
                assert_eq!(breeds_at(protocol, &back.timetable), wanted);
            }
        }
    }
}

/// Heat watch begins on 21 March 2027 at 02:30, seven days after the clocks of Denver skipped 02:30.
#[test]
fn where_no_start_leads_there_the_nearest_is_said() {
    let protocol = LIBRARY.get("cow-select-synch-insert").unwrap();
    let zone = Zone::parse("America/Denver").unwrap();
    let at = |text| thawline::time::parse_local(text).unwrap();
    let wanted = zone.resolve(at("2027-03-21T02:30")).at;
    let back = start_for_breeding(protocol, zone, wanted, None).unwrap();
    assert_eq!(back.start(), at("2027-03-14T03:00"));
    assert_eq!(back.off, TimeDelta::minutes(30));
    let found = back.findings(protocol);
    assert!(found[0].what.contains("30 min later"), "{}", found[0].what);
}

#[test]
fn hours_outside_the_window_are_refused_with_the_window() {
    let zone = Zone::parse("America/Denver").unwrap();
    let wanted = zone
        .resolve(thawline::time::parse_local("2027-06-01T08:00").unwrap())
        .at;
    let refused = |id: &str, hours: f64| {
        let protocol = LIBRARY.get(id).unwrap();
        start_for_breeding(protocol, zone, wanted, Some(hours)).unwrap_err()
    };
    for hours in [59.99, 66.01, -1.0, f64::NAN, f64::INFINITY, 1e300] {
        let finding = refused("cow-7-day-co-synch-insert", hours);
        assert_eq!(finding.code.as_str(), "D114");
        assert_eq!(finding.expected.unwrap(), "60 to 66 h, aim 63");
    }
    assert!(refused("heifer-mga-pg-detect", 72.0).what.contains("heat"));
}

/// 283 days is the mean of all breeds (TORELL, BIF-GL); the day after breeding counts as 1.
#[test]
fn a_first_calf_is_counted_back() {
    let zone = Zone::parse("America/Denver").unwrap();
    let day = |text| thawline::time::parse_date(text).unwrap();
    let clock = thawline::time::parse_clock("08:00").unwrap();
    // Published pairs by date arithmetic, with and without 29 February between.
    for (calf, bred) in [
        ("2027-02-27", "2026-05-20"),
        ("2027-03-11", "2026-06-01"),
        ("2028-03-10", "2027-06-01"),
        ("2028-04-09", "2027-07-01"),
        ("2027-10-11", "2027-01-01"),
    ] {
        for protocol in LIBRARY.iter() {
            let back = start_for_calving(protocol, zone, day(calf), 283, clock).unwrap();
            let step = protocol.first_breeding_step().unwrap();
            let local = zone.local(back.timetable.steps[step].at);
            assert_eq!(local, day(bred).and_time(clock), "{}", protocol.id);
        }
    }
    // First calves are 12 days before the mean (TORELL).
    let asked = Target::of_first_calf(zone, day("2027-02-15"), 283, clock).unwrap();
    assert_eq!(asked.breeding.local, day("2026-05-20").and_time(clock));
    assert_eq!(asked.calf, Some(day("2027-02-27")));
    let protocol = LIBRARY.get("cow-co-synch").unwrap();
    for days in [0, 266, 305, u32::MAX] {
        let refused = start_for_calving(protocol, zone, day("2027-03-01"), days, clock);
        assert_eq!(refused.unwrap_err().code.as_str(), "K104");
    }
    for date in ["2000-03-01", "1999-12-31", "2101-12-31"] {
        let refused = start_for_calving(protocol, zone, day(date), 283, clock);
        assert_eq!(refused.unwrap_err().code.as_str(), "S103", "{date}");
    }
}

fn season_of(protocol: &Protocol, zone: &str, start: NaiveDateTime, more: &str) -> String {
    let class = if protocol.class.serves(Class::Cow) {
        "cow"
    } else {
        "heifer"
    };
    format!(
        "format: thawline.season/1\nname: One group\nzone: {zone}\nsites: [{{id: s, injections_head_per_hour: 61, inserts_head_per_hour: 37, breeding_boxes: 2}}]\ngroups: [{{id: g, site: s, class: {class}, protocol: {}, start: \"{}\", bulls: [b], heat_mean_hours: 50, heat_spread_hours: 15{more}}}]\ncrew: [{{id: t, minutes_per_cow: 3}}]\nsemen: [{{bull: b, straws: 900}}]\n",
        protocol.id,
        start.format("%Y-%m-%dT%H:%M"),
    )
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(400))]

    /// Whatever the protocol, the start, the pens and the order: the best moment lies inside the hours,
    /// of a pen and of each of its animals, and a pass begins inside its hours where it can.
    #[test]
    fn every_aim_lies_inside_its_hours(
        (protocol, zone, start) in starts(),
        pens in proptest::collection::vec(1u32..90, 1..4),
        order in proptest::sample::select(vec!["kept", "mixed"]),
    ) {
        let all: u32 = pens.iter().sum();
        let more = format!(", head: {all}, pen_head: {pens:?}, order: {order}");
        let text = format!("country: AR\n{}", season_of(protocol, zone.name(), start, &more));
        let read = thawline::season::read("s.yaml", text.as_bytes(), &LIBRARY);
        let (season, _) = read.unwrap_or_else(|e| panic!("{e}\n{text}"));
        let whole = date(&season);
        let of_passes = whole.passes.iter().filter_map(|p| p.hours);
        let of_animals = whole
            .dues
            .iter()
            .flat_map(|d| (0..d.head.0).map(|n| d.hours(n)).chain([d.safe_hours()]));
        for h in of_passes.chain(of_animals).filter(|h| h.earliest <= h.latest) {
            prop_assert!(h.earliest <= h.aim && h.aim <= h.latest, "{h:?}\n{text}");
        }
        let mut busy = whole.passes.iter().filter(|p| p.work == Work::Chute && p.pen == 0);
        let begun = busy.all(|p| p.hours.is_none_or(|h| h.earliest > h.latest || p.start == h.aim));
        prop_assert!(begun, "{text}");
    }
}

/// Sixty heifers in any order, an hour in the chute, and hours that end at the aim: the middle's aim is
/// too late for the first, so that the best moment for all is the last of the hours.
#[test]
fn the_best_moment_for_a_pen_suits_its_first_and_last_animal() {
    let protocol = LIBRARY.get("cow-ovsynch-48").unwrap();
    let start = thawline::time::parse_local("2027-06-03T08:00").unwrap();
    let more = ", head: 60, order: mixed";
    let text = season_of(protocol, "America/Denver", start, more);
    let (season, plan) = crate::support::plan_of(&text);
    assert_eq!(thawline::verify::verify(&season, &plan), []);
    let ai = plan.passes.iter().find(|p| p.step == "ai").unwrap();
    let hours = ai.hours.as_ref().unwrap();
    assert_eq!(hours.aim, hours.earliest);
}

/// The second pen's turn comes after midnight: it is watched for its five days, too.
#[test]
fn a_pen_after_midnight_keeps_its_last_day_of_watch() {
    let protocol = LIBRARY.get("heifer-2-shot-pg").unwrap();
    let last = |time: &str, pens: &str| {
        let start = thawline::time::parse_local(time).unwrap();
        let text = season_of(protocol, "America/Denver", start, pens);
        let (season, plan) = crate::support::plan_of(&text);
        assert_eq!(thawline::verify::verify(&season, &plan), []);
        let watch = plan.passes.iter().find(|p| p.last_day.is_some()).unwrap();
        (watch.first_day.unwrap(), watch.last_day.unwrap())
    };
    let one = last("2027-06-01T22:30", ", head: 60, pen_head: [60]");
    let two = last("2027-06-01T22:30", ", head: 180, pen_head: [60, 60, 60]");
    assert_eq!(one.0, two.0);
    assert_eq!(one.1.succ_opt().unwrap(), two.1);
}
