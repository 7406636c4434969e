//! Territories: many sites and roads, and people shared by all. Every plan holds, whatever the roads and
//! the rules of rest and of the longest day.

use std::fmt::Write as _;
use std::sync::atomic::{AtomicUsize, Ordering};

use thawline::pipeline::Options;
use thawline::plan::Plan;
use thawline::progress::Progress;
use thawline::season::{self, Season};
use thawline::{pipeline, verify};

use crate::support::{Dice, LIBRARY, plan_of};

/// What a territory is like: head of numbers, each from so many to so many.
struct Kind {
    groups: (u64, u64),
    sites: (u64, u64),
    people: (u64, u64),
    /// Days on which groups start.
    days: u64,
    /// Rules of rest and of the longest day, and heats.
    ruled: bool,
}

/// Sites 15 to 90 minutes apart: as somebody typed them, so that a way over another site may be shorter,
/// and some roads not given at all; or by coordinates, so that none is.
fn roads(dice: &mut Dice, sites: u64) -> Vec<String> {
    let typed = dice.below(2) == 0;
    let at: Vec<(i64, i64)> = (0..sites)
        .map(|_| (dice.below(50) as i64, dice.below(50) as i64))
        .collect();
    let mut all = Vec::new();
    for (n, a) in at.iter().enumerate() {
        let mut to = Vec::new();
        for (m, b) in at.iter().enumerate().skip(n + 1) {
            let far = 15 + (a.0 - b.0).abs().max((a.1 - b.1).abs());
            let minutes = match dice.below(8) {
                0 if typed => continue,
                1 if typed => 0,
                2 if typed => dice.from(90, 240) as i64,
                _ if typed => dice.from(15, 90) as i64,
                _ => far,
            };
            to.push(format!("s{m}: {minutes}"));
        }
        all.push(to.join(", "));
    }
    all
}

fn territory(seed: u64, kind: &Kind) -> String {
    let mut dice = Dice(seed);
    let sites = dice.from(kind.sites.0, kind.sites.1);
    let mut y = String::from(
        "format: thawline.season/1\nname: Territory (invented)\nzone: America/Denver\nsites:\n",
    );
    for (s, to) in roads(&mut dice, sites).iter().enumerate() {
        let _ = writeln!(
            y,
            "  - {{id: s{s}, injections_head_per_hour: {}, breeding_boxes: {}, minutes_to: {{{to}}}}}",
            dice.from(3, 10) * 10,
            dice.from(1, 4),
        );
    }
    y.push_str("groups:\n");
    for g in 0..dice.from(kind.groups.0, kind.groups.1) {
        let timed = ["cow-7-day-co-synch-insert", "cow-5-day-co-synch-insert"];
        let protocol = match dice.below(4) {
            0 if kind.ruled => "cow-select-synch-insert",
            n => timed[n as usize % 2],
        };
        let _ = writeln!(
            y,
            "  - {{id: g{g}, site: s{}, class: cow, head: {}, protocol: {protocol}, start: \"2027-05-{:02}T{:02}:00\", order: {}, pens: {}, bulls: [b]}}",
            dice.below(sites),
            dice.from(10, 90),
            dice.from(1, kind.days),
            dice.below(24),
            dice.pick(&["kept", "mixed"]),
            dice.from(1, 3),
        );
    }
    y.push_str("crew:\n");
    let shifts = [
        "",
        ", shifts: [{from: \"05:00\", to: \"17:00\"}]",
        ", shifts: [{from: \"04:00\", to: \"11:00\"}, {from: \"12:30\", to: \"21:00\"}]",
    ];
    for t in 0..dice.from(kind.people.0, kind.people.1) {
        let home = dice.below(sites);
        let longest = dice.from(6, 14);
        let _ = writeln!(
            y,
            "  - {{id: t{t}, minutes_per_cow: {}, helper: {}{}{}{}}}",
            dice.from(2, 5),
            dice.pick(&["true", "false"]),
            dice.pick(&shifts),
            if dice.below(3) > 0 {
                format!(", home_site: s{home}")
            } else {
                String::new()
            },
            if kind.ruled && dice.below(4) == 0 {
                format!(", longest_day_hours: {longest}")
            } else {
                String::new()
            },
        );
    }
    y.push_str("semen: [{bull: b, straws: 9999}]\nrules: {road_minutes: 60");
    if kind.ruled {
        if dice.below(3) > 0 {
            let _ = write!(
                y,
                ", rest_after_hours: {}, rest_minutes: {}",
                dice.from(1, 6),
                dice.from(1, 40) * 15
            );
        }
        if dice.below(3) > 0 {
            let _ = write!(y, ", longest_day_hours: {}", dice.from(4, 16));
        }
    }
    y.push_str("}\n");
    y
}

/// Plans it, which fails unless the plan holds; no road is longer than one over another stated one.
fn planned(seed: u64, kind: &Kind) -> (Season, Plan) {
    let (season, plan) = plan_of(&territory(seed, kind));
    for (a, site) in season.sites.iter().enumerate() {
        for (b, there) in site.road.iter().enumerate() {
            assert_eq!(*there, season.sites[b].road[a]);
            for (over, first) in site.stated.iter().enumerate() {
                if let (Some(first), Some(then)) = (first, season.sites[over].stated[b]) {
                    assert!(*there <= *first + then, "{a} {over} {b}");
                }
            }
        }
    }
    (season, plan)
}

#[test]
fn a_territory_is_planned() {
    for seed in 0..4 {
        let kind = Kind {
            groups: (20, 60),
            sites: (10, 20),
            people: (3, 6),
            days: 20,
            ruled: false,
        };
        planned(seed, &kind);
    }
}

#[test]
fn rests_and_longest_days_hold_over_many_sessions() {
    for seed in 0..10 {
        let kind = Kind {
            groups: (3, 6),
            sites: (1, 4),
            people: (1, 2),
            days: 2,
            ruled: true,
        };
        planned(seed, &kind);
    }
}

/// Adds up the work of a plan, in about microseconds.
#[derive(Default)]
struct Sum(AtomicUsize);

impl Progress for Sum {
    fn worked(&self, work: usize) {
        self.0.fetch_add(work, Ordering::Relaxed);
    }
}

/// Each search has so much work and no more, so a season with far too much to search is still planned in
/// the end, and what was not counted is told. Work is counted by steps: it is the same on any machine.
#[test]
fn a_season_with_too_much_to_search_ends_and_says_what_was_not_counted() {
    let kind = Kind {
        groups: (12, 12),
        sites: (5, 5),
        people: (2, 2),
        days: 2,
        ruled: true,
    };
    let (season, found) =
        season::read("season.yaml", territory(3, &kind).as_bytes(), &LIBRARY).unwrap();
    let sum = Sum::default();
    let plan = pipeline::plan_with(
        &season,
        &found,
        Options {
            progress: &sum,
            ..Options::default()
        },
    )
    .unwrap();
    assert_eq!(verify::verify(&season, &plan), []);
    let work = sum.0.into_inner();
    assert!(
        plan.search.proven < plan.search.parts && work < 16_000_000,
        "{work}"
    );
    let mut said = plan.findings.iter().filter(|f| f.code.as_str() == "W104");
    assert!(said.any(|f| f.what.contains("was not counted")));
}

/// Four pens bred for half an hour each, three and a half hours apart, by one who is away for 8 hours at
/// the most: the first and the last are a night apart, but not where another is bred between.
#[test]
fn a_session_between_two_leaves_no_night() {
    let pens = |rules: &str| {
        let (_, plan) = plan_of(&format!(
            "format: thawline.season/1
name: One after the other (invented)
zone: America/Denver
sites: [{{id: yard, injections_head_per_hour: 10, breeding_boxes: 1}}]
groups:
  - {{id: a, site: yard, class: heifer, head: 140, protocol: heifer-7-day-co-synch-insert, start: \"2027-05-17T04:00\", pens: 4, order: mixed, bulls: [b]}}
crew: [{{id: ana, minutes_per_cow: 2}}]
semen: [{{bull: b, straws: 200}}]
rules: {{{rules}}}
"
        ));
        plan.verdict.covered_head
    };
    let all = pens("");
    // Three in a row, the first or the last three.
    assert_eq!(pens("longest_day_hours: 8") * 4, all * 3);
    assert!(pens("rest_after_hours: 8, rest_minutes: 400") < all);
}

/// A heifer more than planned for leaves no more than herself.
#[test]
fn a_half_day_leaves_no_more_than_may_come() {
    let (_, plan) = plan_of(
        "format: thawline.season/1
name: A short day (invented)
zone: UTC
sites: [{id: yard, injections_head_per_hour: 1, breeding_boxes: 1}]
groups:
  - {id: a, site: yard, class: heifer, head: 2, protocol: heifer-7-day-insert-pg-label, start: \"2007-10-17T02:30\", bulls: [b]}
crew: [{id: ana, minutes_per_cow: 1, longest_day_hours: 1}]
semen: [{bull: b, straws: 9}]
rules: {heat_breeding_hours: {earliest: 1, aim: 1, latest: 13}}
",
    );
    assert!(plan.findings.iter().any(|f| f.code.as_str() == "W107"));
}
