//! Dates against published worked examples, and against a second time-zone implementation.

use chrono::{DateTime, FixedOffset};
use proptest::prelude::*;
use thawline::plan::{Pass, Plan, Work};
use thawline::protocol::{Anchor, Class, Delay};
use thawline::time::Zone;

use crate::support::{LIBRARY, plan_of};

fn season(zone: &str, class: &str, protocol: &str, start: &str) -> String {
    format!(
        "format: thawline.season/1
name: One group (invented)
zone: {zone}
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

fn local(at: DateTime<FixedOffset>) -> String {
    at.naive_local().format("%Y-%m-%d %H:%M").to_string()
}

/// Published check dates for AI on Tuesday 1 June 2027, worked back in hours; the arithmetic was
/// done by hand from the sheets' intervals (BRTF, LATER-FTAI, THOMAS-STAI1, HEIFER-GUIDE).
#[test]
fn ai_on_the_first_of_june() {
    // Protocol, start, [(step, date)], AI aim.
    type Case = (
        &'static str,
        &'static str,
        &'static str,
        &'static [(&'static str, &'static str)],
        i64,
    );
    let cases: &[Case] = &[
        // AI at 66 h on 1 June 08:00: first treatment 22 May, PG 29 May 14:00.
        (
            "cow",
            "cow-7-day-co-synch-insert",
            "2027-05-22T14:00",
            &[("pg", "2027-05-29 14:00")],
            66,
        ),
        // AI at 54 h on 1 June 14:00: PG on Sunday 30 May 08:00, first treatment 23 May.
        (
            "heifer",
            "heifer-7-day-co-synch-insert",
            "2027-05-23T08:00",
            &[("pg", "2027-05-30 08:00")],
            54,
        ),
        // Insert 29 April, out 13 May, PG 29 May 14:00, AI at 66 h.
        (
            "heifer",
            "heifer-14-day-insert-pg",
            "2027-04-29T14:00",
            &[
                ("insert-out", "2027-05-13 14:00"),
                ("pg", "2027-05-29 14:00"),
            ],
            66,
        ),
        // MGA first 27 April, last 10 May, PG 29 May 08:00, AI at 72 h.
        (
            "heifer",
            "heifer-mga-pg",
            "2027-04-27T08:00",
            &[("pg", "2027-05-29 08:00")],
            72,
        ),
        // PG and insert 15 May, GnRH 22 May, PG 29 May 14:00, AI at 66 h.
        (
            "cow",
            "cow-7-and-7-synch",
            "2027-05-15T14:00",
            &[("pg", "2027-05-29 14:00")],
            66,
        ),
    ];
    for (class, protocol, start, dates, hours) in cases {
        let (_, plan) = plan_of(&season("America/Denver", class, protocol, start));
        for (id, date) in *dates {
            assert_eq!(local(step(&plan, id).start), *date, "{protocol} {id}");
        }
        let pg = step(&plan, "pg");
        let ai = plan
            .passes
            .iter()
            .find(|p| p.work == Work::Breeding)
            .unwrap();
        let window = ai.hours.as_ref().unwrap();
        let aim = pg.start + chrono::TimeDelta::hours(*hours);
        assert_eq!(aim.date_naive().to_string(), "2027-06-01", "{protocol}");
        // The published hour lies in the hours that the plan allows.
        let minute = chrono::TimeDelta::minutes(1);
        assert!(
            window.earliest <= aim + minute && aim - minute <= window.latest,
            "{protocol}"
        );
        if let Some(feed) = plan.passes.iter().find(|p| p.work == Work::Feeding) {
            assert_eq!(feed.first_day.unwrap().to_string(), "2027-04-27");
            assert_eq!(feed.last_day.unwrap().to_string(), "2027-05-10");
        }
    }
}

/// HEIFER-GUIDE: MGA for 14 days, PG 19 days after the last feeding, on day 33; feeding starts
/// 34 days before heat breeding begins.
#[test]
fn mga_counts_back_as_published() {
    let (_, plan) = plan_of(&season(
        "America/Chicago",
        "heifer",
        "heifer-mga-pg-detect",
        "2027-04-01T07:00",
    ));
    let feed = plan
        .passes
        .iter()
        .find(|p| p.work == Work::Feeding)
        .unwrap();
    let (first, last) = (feed.first_day.unwrap(), feed.last_day.unwrap());
    assert_eq!((last - first).num_days() + 1, 14);
    let pg = step(&plan, "pg").start.date_naive();
    assert_eq!((pg - last).num_days(), 19);
    assert_eq!((pg - first).num_days() + 1, 33);
}

/// LATER-FTAI: 14-day insert with insert on day -33, out on day -19, PG on day -3, AI on day 0.
/// 7 & 7 Synch: PG and insert on day -17, `GnRH` on day -10, PG and insert out on day -3.
#[test]
fn negative_days_as_published() {
    let days = |class: &str, protocol: &str, steps: &[&str]| -> Vec<i64> {
        let (_, plan) = plan_of(&season(
            "America/Chicago",
            class,
            protocol,
            "2027-04-01T14:00",
        ));
        let ai = plan
            .passes
            .iter()
            .find(|p| p.work == Work::Breeding)
            .unwrap();
        let ai = ai.hours.as_ref().unwrap().aim.date_naive();
        steps
            .iter()
            .map(|s| (step(&plan, s).start.date_naive() - ai).num_days())
            .collect()
    };
    assert_eq!(
        days(
            "heifer",
            "heifer-14-day-insert-pg",
            &["insert-in", "insert-out", "pg"]
        ),
        [-33, -19, -3]
    );
    let seven = LIBRARY.get("cow-7-and-7-synch").unwrap();
    let chute: Vec<&str> = seven
        .steps
        .iter()
        .filter(|s| s.is_chute_work() && !s.is_timed_breeding())
        .map(|s| s.id.as_str())
        .collect();
    assert_eq!(days("cow", "cow-7-and-7-synch", &chute), [-17, -10, -3]);
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

/// Zones whose rules have stood for years: the two implementations carry zone data of different
/// ages, and some countries change theirs from one year to the next.
const ZONES: &[&str] = &[
    "America/Denver",
    "America/New_York",
    "America/Phoenix",
    "America/St_Johns",
    "America/Sao_Paulo",
    "Europe/Dublin",
    "Europe/Berlin",
    "Australia/Sydney",
    "Australia/Lord_Howe",
    "Pacific/Auckland",
    "Asia/Kolkata",
];

proptest! {
    #![proptest_config(ProptestConfig::with_cases(400))]

    /// Random starts over years, most of them near a change of the clocks.
    #[test]
    fn every_pass_is_dated_as_a_second_implementation_dates_it(
        zone in proptest::sample::select(ZONES),
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
        let (_, plan) = plan_of(&season(zone, class, protocol.id.as_str(), &start));
        let expected = by_jiff(protocol, zone, &start);
        for (s, at) in protocol.steps.iter().zip(expected) {
            let pass = step(&plan, s.id.as_str());
            prop_assert_eq!(pass.start.timestamp(), at.timestamp().as_second(), "{} in {}", s.id.as_str(), zone);
            prop_assert_eq!(pass.start.offset().local_minus_utc(), at.offset().seconds());
        }
    }
}
