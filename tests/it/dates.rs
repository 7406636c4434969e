//! Dates of whole plans against a second time-zone implementation.

use proptest::prelude::*;
use thawline::plan::{Pass, Plan};
use thawline::protocol::{Anchor, Class, Delay};
use thawline::time::Zone;

use crate::support::{LIBRARY, plan_of};

pub(crate) fn one_group(zone: &str, class: &str, protocol: &str, start: &str) -> String {
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
        let (_, plan) = plan_of(&one_group(zone, class, protocol.id.as_str(), &start));
        let expected = by_jiff(protocol, zone, &start);
        for (s, at) in protocol.steps.iter().zip(expected) {
            let pass = step(&plan, s.id.as_str());
            prop_assert_eq!(pass.start.timestamp(), at.timestamp().as_second(), "{} in {}", s.id.as_str(), zone);
            prop_assert_eq!(pass.start.offset().local_minus_utc(), at.offset().seconds());
        }
    }
}
