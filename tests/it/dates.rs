//! Dates of whole plans against a second time-zone implementation.

use proptest::prelude::*;
use thawline::plan::{Pass, Plan};
use thawline::protocol::{Anchor, Class, Delay};
use thawline::time::Zone;

use crate::bad_input::thawline;
use crate::support::{LIBRARY, plan_of};

pub(crate) fn one_group(zone: &str, class: &str, protocol: &str, start: &str) -> String {
    format!(
        "format: thawline.season/1
name: One group (invented)
zone: {zone}
allow: [{{drug: estradiol, reason: invented}}]
sites: [{{id: s, injections_head_per_hour: 1000, breeding_boxes: 1}}]
groups: [{{id: g, site: s, class: {class}, head: 1, protocol: {protocol}, start: \"{start}\", order: kept, bulls: [b]}}]
crew: [{{id: t, minutes_per_cow: 3}}]
semen: [{{bull: b, straws: 9}}]
"
    )
}

fn step<'a>(plan: &'a Plan, step: &str) -> &'a Pass {
    plan.passes.iter().find(|p| p.step == step).unwrap()
}

/// The first treatment a second implementation would date: its own calendar, zones and elapsed
/// time, from the protocol's steps alone.
fn by_jiff(
    protocol: &thawline::protocol::Protocol,
    zone: &str,
    start: &str,
) -> Vec<jiff::ZonedDateTime> {
    let tz = jiff::tz::TimeZone::get(zone).unwrap();
    let start: jiff::civil::DateTime = start.parse().unwrap();
    let start = tz.to_ambiguous_zoned_datetime(start).compatible().unwrap();
    let mut found: Vec<jiff::ZonedDateTime> = Vec::new();
    for s in &protocol.steps {
        let base = match s.anchor {
            Anchor::Start => start.clone(),
            Anchor::Step(a) => found[a].clone(),
        };
        let at = match s.delay {
            Delay::Days(d) => {
                let civil = base.datetime() + jiff::Span::new().days(i64::from(d));
                tz.to_ambiguous_zoned_datetime(civil).compatible().unwrap()
            }
            Delay::Elapsed(w) => {
                let seconds = if s.lasts_days.is_some() {
                    w.earliest
                } else {
                    w.aim
                };
                base + jiff::SignedDuration::from_secs(seconds.num_seconds())
            }
        };
        found.push(at);
    }
    found
}

/// Both implementations carry the same release of the IANA data, and read it with code of their own.
fn zones() -> Vec<&'static str> {
    Zone::names().filter(|n| n.contains('/')).collect()
}

/// Every change of the clocks to 2040, as jiff reads the zone data.
#[test]
fn clock_changes_of_every_zone_as_a_second_implementation_reads_them() {
    let at = |text: &str| text.parse::<chrono::DateTime<chrono::Utc>>().unwrap();
    let (from, to) = (at("2000-01-01T00:00:00Z"), at("2041-01-01T00:00:00Z"));
    let mut changes = 0;
    for name in Zone::names() {
        let tz = jiff::tz::TimeZone::get(name).unwrap();
        let start = jiff::Timestamp::from_second(from.timestamp()).unwrap();
        let mut offset = tz.to_offset(start).seconds();
        let mut theirs = Vec::new();
        for change in tz.following(start) {
            if change.timestamp().as_second() > to.timestamp() {
                break;
            }
            // The data also list changes of name alone.
            if change.offset().seconds() != offset {
                offset = change.offset().seconds();
                theirs.push((change.timestamp().as_second(), offset));
            }
        }
        let ours = Zone::parse(name).unwrap().transitions(from, to);
        let ours: Vec<_> = ours.iter().map(|t| (t.at.timestamp(), t.after)).collect();
        assert_eq!(ours, theirs, "{name}");
        changes += ours.len();
    }
    assert!(changes > 15_000, "{changes}");
}

/// `chrono-tz` has zone data of its own, older ones: they agree on the years before its release.
#[test]
fn clock_readings_as_other_zone_data_have_them() {
    use chrono::{Offset, TimeZone};
    let mut zones = 0;
    for tz in chrono_tz::TZ_VARIANTS {
        let Ok(zone) = Zone::parse(tz.name()) else {
            continue;
        };
        zones += 1;
        for day in 0..365 * 15 / 2 {
            let at = chrono::DateTime::from_timestamp(1_262_304_000 + day * 172_800 + day * 61, 0);
            let at = at.unwrap();
            let theirs = tz.offset_from_utc_datetime(&at.naive_utc()).fix();
            let (name, theirs) = (tz.name(), theirs.local_minus_utc());
            assert_eq!(zone.offset_seconds(at), theirs, "{name} at {at}");
            let local = zone.local(at);
            let showing: Vec<_> = match tz.from_local_datetime(&local) {
                chrono::LocalResult::None => Vec::new(),
                chrono::LocalResult::Single(one) => vec![one.to_utc()],
                chrono::LocalResult::Ambiguous(a, b) => vec![a.to_utc(), b.to_utc()],
            };
            assert_eq!(zone.showing(local), showing, "{name} at {local}");
        }
    }
    assert!(zones > 590, "{zones}");
}

/// From November 2026 Alberta keeps its clocks at six hours behind UTC (IANA data, release 2026f): 63 hours
/// after Friday 14:00 it is Monday 05:00, with no hour skipped between.
#[test]
fn a_spring_in_alberta_skips_no_hour() {
    let start = "2027-03-05T14:00";
    let season = one_group(
        "America/Edmonton",
        "cow",
        "cow-7-day-co-synch-insert",
        start,
    );
    let (_, plan) = plan_of(&season);
    assert_eq!(plan.zone_data, thawline::time::data_version());
    let ai = step(&plan, "ai").start.to_rfc3339();
    assert_eq!(ai, "2027-03-15T05:00:00-06:00");
}

#[test]
fn zones_of_a_folder_take_the_place_of_the_compiled_ones() {
    let folder = tempfile::tempdir().unwrap();
    std::fs::create_dir(folder.path().join("America")).unwrap();
    // Made-up data of another release, as RFC 9636 has them: no changes, and a rule without any.
    let header = |version: u8, times: [u32; 6]| {
        let mut bytes = [&b"TZif"[..], &[version], &[0; 15]].concat();
        bytes.extend(times.iter().flat_map(|n| n.to_be_bytes()));
        bytes.extend((-25_200_i32).to_be_bytes());
        bytes.extend([0, 0]);
        bytes.extend(b"MST\0");
        bytes
    };
    let counts = [0, 0, 0, 0, 1, 4];
    let tzif = [
        header(b'2', counts),
        header(b'2', counts),
        b"\nMST7\n".to_vec(),
    ]
    .concat();
    std::fs::write(folder.path().join("America/Denver"), tzif).unwrap();
    std::fs::write(folder.path().join("tzdata.zi"), "# version 2199z\n").unwrap();
    let run = |args: &[&str]| {
        let mut command = thawline();
        command.env("TZDIR", folder.path());
        let done = command.args(args).output().unwrap();
        String::from_utf8(done.stdout).unwrap()
    };
    assert!(run(&["--version"]).contains("zone data: IANA 2199z (TZDIR)"));
    let date = |zone| {
        let start = ["--start", "2027-03-05T09:00", "--zone", zone];
        run(&[&["protocols", "cow-7-day-co-synch-insert"][..], &start].concat())
    };
    // PG on Friday 09:00; the clocks go ahead on Sunday 14 March where they do.
    let denver = date("America/Denver");
    assert!(denver.contains("Mon 15 Mar 2027  00:00"), "{denver}");
    let chicago = date("America/Chicago");
    assert!(chicago.contains("Mon 15 Mar 2027  01:00"), "{chicago}");
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(400))]

    /// Random starts over years, most of them near a change of the clocks.
    #[test]
    fn every_pass_is_dated_as_a_second_implementation_dates_it(
        zone in proptest::sample::select(zones()),
        which in 0usize..10_000,
        year in 2024i32..2036,
        day in 0u32..365,
        minute in 0u32..1440,
        near in any::<bool>(),
    ) {
        let protocol = LIBRARY.iter().nth(which % LIBRARY.iter().count()).unwrap();
        let mut date = chrono::NaiveDate::from_yo_opt(year, day + 1).unwrap();
        if near {
            // So that a breeding interval, which begins days later, meets the change.
            let z = Zone::parse(zone).unwrap();
            let from = z.start_of_day(date);
            if let Some(change) = z.transitions(from, from + chrono::TimeDelta::days(200)).first() {
                let back = protocol.days_to_breeding() - i64::from(day % 4);
                date = z.date(change.at) - chrono::TimeDelta::days(back);
            }
        }
        let start = format!("{date}T{:02}:{:02}", minute / 60, minute % 60);
        let class = match protocol.class {
            Class::Heifer => "heifer",
            Class::Cow | Class::Both => "cow",
        };
        let (_, plan) = plan_of(&one_group(zone, class, protocol.id.as_str(), &start));
        let expected = by_jiff(protocol, zone, &start);
        for (s, at) in protocol.steps.iter().zip(expected) {
            let pass = step(&plan, s.id.as_str());
            prop_assert_eq!(pass.start.timestamp(), at.timestamp().as_second(), "{} in {}", s.id.as_str(), zone);
            prop_assert_eq!(pass.start.offset().local_minus_utc(), at.offset().seconds());
        }
    }
}
