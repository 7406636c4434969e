//! Tanks that are wanted at several sites: one place at a time, with the drive between.

use std::collections::BTreeMap;
use std::fmt::Write as _;

use chrono::{DateTime, TimeDelta, Utc};
use proptest::prelude::*;
use thawline::matings::Input;
use thawline::pipeline::Options;
use thawline::plan::{Plan, Uncovered};
use thawline::season::{self, Season};
use thawline::thaw::{SessionThaw, of_session};
use thawline::{pipeline, tank, verify};

use crate::oracle;
use crate::support::{Dice, LIBRARY};

/// Plan, rounds and matings, held against the season.
struct All {
    season: Season,
    plan: Plan,
    rounds: Vec<SessionThaw>,
    matings: thawline::matings::Matings,
}

fn all(text: &str) -> All {
    let (season, _) = season::read("s.yaml", text.as_bytes(), &LIBRARY).unwrap();
    let (herds, own) = (BTreeMap::new(), BTreeMap::new());
    let input = Input::of(&season, &herds, &own, None);
    let mut matings = pipeline::matings(&input, &[]).unwrap();
    let plan = pipeline::plan_with(
        &season,
        &[],
        Options {
            matings: Some(&matings),
            ..Options::default()
        },
    )
    .unwrap();
    pipeline::locate_straws(&mut matings, &input, &plan).unwrap();
    let sessions = plan.sessions.iter();
    let rounds = sessions.filter_map(|s| of_session(&season, &plan, s));
    let rounds: Vec<SessionThaw> = rounds.collect();
    assert_eq!(oracle::thaw::check_all(&season, &plan, &rounds), []);
    let misplaced = oracle::places::misplaced(&season, &plan, &matings);
    assert_eq!(misplaced, [""; 0]);
    All {
        season,
        plan,
        rounds,
        matings,
    }
}

/// From when to when.
type Span = (DateTime<Utc>, DateTime<Utc>);

/// From the first to the last lift of a tank at a session, and the site.
type Up = (DateTime<Utc>, DateTime<Utc>, usize);

/// By tank, in order.
fn lifted(all: &All) -> BTreeMap<String, Vec<Up>> {
    let mut found: BTreeMap<String, Vec<Up>> = BTreeMap::new();
    for told in &all.rounds {
        let sites = &all.season.sites;
        let site = sites
            .iter()
            .position(|s| s.id.as_str() == told.site)
            .unwrap();
        let mut here: BTreeMap<&str, Span> = BTreeMap::new();
        let rounds = told.technicians.iter().flat_map(|t| &t.rounds);
        for lift in rounds.flat_map(|r| &r.lifts) {
            let Some(tank) = &lift.tank else { continue };
            let (at, down) = (lift.at.to_utc(), lift.down.to_utc());
            let span = here.entry(tank).or_insert((at, down));
            *span = (span.0.min(at), span.1.max(down));
        }
        for (tank, (at, down)) in here {
            found
                .entry(tank.to_owned())
                .or_default()
                .push((at, down, site));
        }
    }
    for spans in found.values_mut() {
        spans.sort_unstable();
    }
    found
}

/// The first two stays between which a tank would have to fly.
fn flies(all: &All) -> Option<(String, Up, Up)> {
    for (tank, spans) in lifted(all) {
        for w in spans.windows(2) {
            let road = all.season.sites[w[0].2].road[w[1].2];
            if w[0].1 + road > w[1].0 {
                return Some((tank, w[0], w[1]));
            }
        }
    }
    None
}

fn covered(plan: &Plan) -> u32 {
    plan.sessions.iter().map(|s| s.head).sum()
}

/// Two groups an hour apart, due in the same hours, with straws as given.
fn two_sites(tanks: &str, semen: &str) -> String {
    format!(
        "format: thawline.season/1
name: Two sites (invented)
zone: America/Denver
sites:
  - {{id: n, injections_head_per_hour: 80, inserts_head_per_hour: 50, breeding_boxes: 2, minutes_to: {{m: 60}}}}
  - {{id: m, injections_head_per_hour: 80, inserts_head_per_hour: 50, breeding_boxes: 2}}
groups:
  - {{id: a, site: n, class: cow, head: 60, protocol: cow-7-day-co-synch-insert, start: 2027-05-03T16:00, bulls: [A]}}
  - {{id: b, site: m, class: cow, head: 60, protocol: cow-7-day-co-synch-insert, start: 2027-05-03T16:00, bulls: [A]}}
crew:
  - {{id: p, home_site: n, minutes_per_cow: 3, helper: true}}
  - {{id: q, home_site: m, minutes_per_cow: 3, helper: true}}
tanks: [{tanks}]
semen: [{semen}]
"
    )
}

fn for_the_tank(left: &Uncovered) -> bool {
    left.why[0].contains("if the tank were at both sites")
}

fn codes(plan: &Plan) -> Vec<&str> {
    let all = plan.findings.iter().map(|f| f.code.as_str());
    all.filter(|c| c.starts_with("T2") || *c == "W102")
        .collect()
}

#[test]
fn a_tank_goes_from_one_site_to_the_other() {
    let made = all(&two_sites(
        "{id: t, canisters: 6}",
        "{bull: A, straws: 140, tank: t, canister: 1}",
    ));
    assert_eq!(flies(&made), None);
    let expected = (120, vec!["T204"]);
    assert_eq!((covered(&made.plan), codes(&made.plan)), expected);
    // Both at the same time are refused.
    let mut bad = made.plan.clone();
    let other = all(&two_sites(
        "{id: t, canisters: 6, places_at_once: 2}",
        "{bull: A, straws: 140, tank: t, canister: 1}",
    ));
    assert_eq!(codes(&other.plan), ["T205"]);
    assert!(flies(&other).is_some());
    bad.clone_from(&other.plan);
    let faults = verify::verify(&made.season, &bad);
    assert!(
        faults.iter().any(|f| f.what.starts_with("tank t")),
        "{faults:?}"
    );
}

/// With straws of the bull in two tanks each site has one, and nobody waits.
#[test]
fn two_tanks_serve_two_sites() {
    let made = all(&two_sites(
        "{id: t, canisters: 6}, {id: u, canisters: 6}",
        "{bull: A, straws: 70, tank: t, canister: 1}, {bull: A, straws: 70, tank: u, canister: 1}",
    ));
    assert_eq!((flies(&made), codes(&made.plan)), (None, Vec::new()));
    let used = tank::look(&made.season, &made.plan);
    let taken: Vec<u32> = used
        .tanks
        .iter()
        .map(|t| t.straws - t.left_straws)
        .collect();
    assert_eq!(taken, [60, 60]);
}

/// Of straws of no tank nobody knows where they are.
#[test]
fn straws_of_no_tank_clash_with_nothing() {
    let text = two_sites("", "{bull: A, straws: 140}");
    let made = all(&text.replace("tanks: []\n", ""));
    assert_eq!(codes(&made.plan), Vec::<&str>::new());
    let starts: Vec<_> = made.plan.sessions.iter().map(|s| s.first_cow).collect();
    assert_eq!(starts[0], starts[1]);
}

/// Three hours of road leave no time for both: who is left is left for the tank, and is bred with two.
#[test]
fn what_a_tank_cannot_reach_is_told() {
    let text = two_sites(
        "{id: t, canisters: 6}",
        "{bull: A, straws: 140, tank: t, canister: 1}",
    )
    .replace("{m: 60}", "{m: 240}");
    let made = all(&text);
    assert_eq!(flies(&made), None);
    let left = &made.plan.uncovered;
    assert!(covered(&made.plan) >= 60 && !left.is_empty(), "{left:?}");
    assert!(left.iter().all(for_the_tank), "{left:?}");
    assert!(left[0].why[0].contains("the tank `t` is at"), "{left:?}");
    let two = all(&text.replace("canisters: 6", "canisters: 6, places_at_once: 2"));
    assert_eq!(covered(&two.plan), 120);
}

/// A random season of two or three sites whose groups are due at about one time.
fn random(seed: u64) -> String {
    let mut dice = Dice(seed);
    let mut text = String::from(
        "format: thawline.season/1\nname: Tanks (invented)\nzone: America/Denver\nsites:\n",
    );
    let sites = dice.from(2, 3);
    for n in 0..sites {
        let _ = writeln!(
            text,
            "  - {{id: s{n}, injections_head_per_hour: 80, inserts_head_per_hour: 60, breeding_boxes: {}}}",
            dice.from(1, 3)
        );
    }
    text += "groups:\n";
    let split = dice.below(4) == 0;
    for n in 0..dice.from(2, 5) {
        let protocol = match dice.below(3) {
            0 if split => "cow-7-day-co-synch-insert-split",
            _ => "cow-7-day-co-synch-insert",
        };
        let _ = writeln!(
            text,
            "  - {{id: g{n}, site: s{}, class: cow, head: {}, pens: {}, protocol: {protocol}, start: 2027-05-0{}T{}:{}0, order: {}, bulls: [{}]}}",
            dice.below(sites),
            dice.from(2, 60),
            dice.from(1, 2),
            dice.from(3, 4),
            dice.from(12, 18),
            dice.below(6),
            dice.pick(&["kept", "mixed"]),
            dice.pick(&["b0", "b1", "b0, b1", "b1, b0"]),
        );
    }
    text += "crew:\n";
    for n in 0..dice.from(1, 4) {
        let _ = writeln!(
            text,
            "  - {{id: t{n}, minutes_per_cow: {}, helper: {}, home_site: s{}}}",
            dice.pick(&["2", "3", "4.5"]),
            dice.pick(&["true", "false"]),
            dice.below(sites)
        );
    }
    text += "semen:\n";
    for bull in 0..2 {
        for tank in 0..2 {
            if dice.below(3) == 0 && tank == 1 {
                continue;
            }
            let _ = writeln!(
                text,
                "  - {{bull: b{bull}, straws: {}, sort: {}, tank: k{tank}, canister: {}, cane: c{bull}{tank}}}",
                dice.from(20, 220),
                dice.pick(&["conventional", "conventional", "sexed"]),
                bull + 1
            );
        }
    }
    let _ = writeln!(
        text,
        "rules: {{road_minutes: {}, lift_seconds: {}, straws_a_lift: {}, slot_minutes: {}}}",
        dice.from(5, 100),
        dice.from(1, 10),
        dice.from(1, 3),
        dice.pick(&["10", "15", "30"]),
    );
    text
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(60))]

    /// At no second is a tank at two places, the drive included; plan, tank, rounds and matings name
    /// the same straws.
    #[test]
    fn no_tank_is_at_two_places(seed in any::<u64>()) {
        let text = random(seed);
        let made = all(&text);
        prop_assert!(!made.plan.findings.iter().any(|f| f.code.as_str() == "T205"), "{}", text);
        prop_assert_eq!(flies(&made), None, "{}", text);
        let tanks = tank::look(&made.season, &made.plan);
        prop_assert_eq!(tanks.short_straws, 0);
        // Straws by session, bull, tank and cane.
        let mut taken: BTreeMap<(&str, &str, &str, Option<&str>), u32> = BTreeMap::new();
        for view in &tanks.tanks {
            for (s, t) in view.sessions.iter().flat_map(|s| s.taken.iter().map(move |t| (s, t))) {
                *taken.entry((&s.session, &t.bull, &view.id, t.cane.as_deref())).or_default() += t.straws;
            }
        }
        let mut thawed: BTreeMap<(&str, &str, &str, Option<&str>), u32> = BTreeMap::new();
        for told in &made.rounds {
            let rounds = told.technicians.iter().flat_map(|t| &t.rounds);
            for s in rounds.flat_map(|r| &r.straws) {
                let tank = s.tank.as_deref().unwrap_or_default();
                *thawed.entry((&told.session, &s.bull, tank, s.cane.as_deref())).or_default() += 1;
            }
        }
        prop_assert_eq!(taken, thawed);
        let kept = !made.plan.findings.iter().any(|f| f.code.as_str() == "W114");
        for (g, m) in made.plan.groups.iter().zip(&made.matings.groups) {
            for s in g.straws.iter().filter(|_| kept) {
                let of = |sexed| -> u32 {
                    let mine = m.by_bull.iter().filter(|c| c.bull == s.bull && c.sexed == sexed);
                    mine.map(|c| c.head).sum()
                };
                match s.sexed_straws {
                    Some(n) => prop_assert!(n <= of(true) && s.straws - n <= of(false)),
                    None => prop_assert!(s.straws <= of(true) + of(false)),
                }
            }
        }
        // The reason is true: with the tanks everywhere at once more of them are bred.
        let left = |plan: &Plan| -> u32 { plan.uncovered.iter().map(|u| u.head).sum() };
        if made.plan.uncovered.iter().any(for_the_tank) {
            let many = "tanks: [{id: k0, canisters: 2, places_at_once: 9}, {id: k1, canisters: 2, places_at_once: 9}]\nsemen:";
            let many = all(&text.replace("semen:", many));
            prop_assert!(left(&many.plan) < left(&made.plan), "{}", text);
        }
        // No lift of a tank while another of it lasts.
        let mut lifts: BTreeMap<&str, Vec<Span>> = BTreeMap::new();
        for told in &made.rounds {
            let rounds = told.technicians.iter().flat_map(|t| &t.rounds);
            for l in rounds.flat_map(|r| &r.lifts) {
                let tank = l.tank.as_deref().unwrap_or_default();
                lifts.entry(tank).or_default().push((l.at.to_utc(), l.down.to_utc()));
            }
        }
        for all in lifts.values_mut() {
            all.sort_unstable();
            prop_assert!(all.windows(2).all(|w| w[1].0 >= w[0].1));
            prop_assert!(all.iter().all(|(a, b)| *b - *a <= TimeDelta::seconds(10)));
        }
    }
}
