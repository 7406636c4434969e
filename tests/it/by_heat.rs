//! Groups bred by detected heat: every animal once, half-days by the published spread, and what
//! the crew could do if more came.

use chrono::TimeDelta;
use statrs::distribution::{ContinuousCDF, Normal};
use thawline::plan::{Plan, Work};
use thawline::verify::verify;

use crate::support::plan_of;

/// The season of the golden plan.
pub(crate) const SEASON: &str = include_str!("../golden/by-heat.yaml");

/// One group of 200 heifers, through the chute in a few minutes, and its plan.
fn one_group(more: &str) -> Plan {
    let text = format!(
        "format: thawline.season/1\nname: One group\nzone: America/Phoenix\nsites:\n  - {{id: s, injections_head_per_hour: 1000, breeding_boxes: 2}}\ngroups:\n  - id: g\n    site: s\n    class: heifer\n    head: 200\n    protocol: heifer-14-day-insert-pg-timed\n    start: 2027-04-12T06:00\n    bulls: [B]\n    heat_mean_hours: 60\n    heat_spread_hours: 14\n{more}crew:\n  - {{id: a, minutes_per_cow: 3, helper: true}}\nsemen:\n  - {{bull: B, straws: 200}}\n"
    );
    let (season, plan) = plan_of(&text);
    assert_eq!(verify(&season, &plan), []);
    plan
}

fn heat(plan: &Plan, group: usize) -> &thawline::plan::GroupHeat {
    plan.groups[group].heat.as_ref().unwrap()
}

/// Number to breed by hour `t` = N x F(t - 12): an animal is bred 12 h after the check that first
/// sees her.
#[test]
fn half_days_follow_the_normal_of_the_hours() {
    let plan = one_group("");
    let pg = plan.passes.iter().find(|p| p.step == "pg").unwrap();
    let middle = pg.start + (pg.end - pg.start) / 2;
    let normal = Normal::new(60.0, 14.0).unwrap();
    let mut bred = 0;
    for day in &heat(&plan, 0).half_days {
        bred += day.head;
        let seen = (day.aim - middle - TimeDelta::hours(12)).num_minutes() as f64 / 60.0;
        // 92 percent show heat (TIMED-2010).
        let wanted = 200.0 * 0.92 * normal.cdf(seen);
        // Each half-day is rounded, and the pen took 12 minutes.
        assert!((f64::from(bred) - wanted).abs() < 1.5, "{bred} {wanted}");
    }
    // The clean-up is 78 h after PG: the last check is the one at 60 h, 30 days after 06:00.
    let last = heat(&plan, 0).half_days.last().unwrap();
    assert_eq!((last.aim - pg.start).num_hours(), 72);
    let clean_up = plan.passes.iter().find(|p| p.step == "clean-up").unwrap();
    assert_eq!(bred + clean_up.head, 200);
    assert_eq!(heat(&plan, 0).left_head, clean_up.head);
}

/// Whoever is bred by heat is not bred again, and each animal has one straw.
#[test]
fn every_animal_is_planned_once() {
    let (season, plan) = plan_of(SEASON);
    assert_eq!(verify(&season, &plan), []);
    for (n, group) in plan.groups.iter().enumerate() {
        let all: u32 = group.pen_head.iter().sum();
        let breeding = || {
            let passes = plan.passes.iter();
            passes.filter(|p| p.group == group.id && p.work == Work::Breeding)
        };
        let by_heat: u32 = breeding().filter(|p| p.pen.is_none()).map(|p| p.head).sum();
        let timed: u32 = breeding().filter(|p| p.pen.is_some()).map(|p| p.head).sum();
        assert_eq!(by_heat, heat(&plan, n).bred_head);
        assert_eq!(by_heat + heat(&plan, n).left_head, all);
        if timed > 0 {
            assert_eq!(by_heat + timed, all);
        }
        let straws: u32 = group.straws.iter().map(|s| s.straws).sum();
        assert_eq!(straws, all);
        for day in &heat(&plan, n).half_days {
            assert!(day.low_head <= day.head && day.head <= day.high_head);
            assert!(day.high_head <= all);
        }
    }
    let in_sessions: u32 = plan.sessions.iter().map(|s| s.head).sum();
    assert_eq!(in_sessions, plan.verdict.covered_head);
    let expected = plan.verdict.season_head;
    assert_eq!(plan.verdict.due_head + plan.verdict.not_seen_head, expected);
}

/// A percentage of one's own is the sum over the half-days, to the head.
#[test]
fn your_own_percentage_is_the_sum() {
    for (percent, bred) in [("0", 0), ("33.3", 67), ("66.25", 133), ("100", 200)] {
        let plan = one_group(&format!("    in_heat_percent: {percent}\n"));
        assert_eq!(heat(&plan, 0).bred_head, bred, "{percent}");
        let sum: u32 = heat(&plan, 0).half_days.iter().map(|d| d.head).sum();
        assert_eq!(sum, bred);
        assert_eq!(plan.verdict.due_head, 200);
    }
}

/// More checks see no fewer heats; one check a day misses those that are over by then.
#[test]
fn rare_checks_miss_heats() {
    let with = |checks: &str| {
        let plan = one_group(&format!("rules: {{heat_checks: [{checks}]}}\n"));
        heat(&plan, 0).bred_head
    };
    let two = with("\"06:00\", \"18:00\"");
    assert_eq!(with("\"06:00\", \"12:00\", \"18:00\""), two);
    assert!(with("\"06:00\"") * 3 < two * 2);
}

/// Where the crew is away for half of the half-days, more could not be bred, and the plan says so.
#[test]
fn the_95_percent_head_is_held_against_the_crew() {
    let plan = one_group("");
    assert!(
        heat(&plan, 0)
            .half_days
            .iter()
            .all(|d| d.high_uncovered_head == 0)
    );
    assert!(!plan.findings.iter().any(|f| f.code.as_str() == "W107"));
    let (season, plan) = plan_of(SEASON);
    assert_eq!(verify(&season, &plan), []);
    let full = |p: &Plan| -> Vec<u32> {
        let days = p.groups.iter().filter_map(|g| g.heat.as_ref());
        days.flat_map(|h| &h.half_days)
            .map(|d| d.high_uncovered_head)
            .filter(|n| *n > 0)
            .collect()
    };
    let told = plan
        .findings
        .iter()
        .filter(|f| f.code.as_str() == "W107")
        .count();
    assert!(told > 0);
    assert_eq!(told, full(&plan).len());
    // With as many planned as may come, as many are left.
    let day = plan.groups[0].heat.as_ref().unwrap().half_days.iter();
    let day = day.max_by_key(|d| d.high_uncovered_head).unwrap();
    assert!(day.high_uncovered_head <= day.high_head - day.head + plan.verdict.uncovered_head);
}

/// Without a word of when heat comes, the watch is dated as before and the number not planned.
#[test]
fn without_hours_to_heat_nothing_is_made_up() {
    let protocol = "id: own\nname: Our own\nclass: heifer\nkind: estrus-detection\nsuits: Anyone.\nsources: [{cite: our notes, supports: all, unverified: true}]\nsteps:\n  - {id: pg, after: start, days: 0, do: [pg]}\n  - {id: watch, after: pg, days: 1, lasts_days: 5, do: [detect-estrus, inseminate-in-heat]}\n";
    let files = [("own.yaml", protocol.as_bytes())];
    let (library, _) = thawline::Library::with_files(files).unwrap();
    let season = |numbers: &str| {
        let text = SEASON.replace("heifer-14-day-insert-pg-timed", "own");
        let text = text.replace("    pens: 2\n", numbers);
        let (season, found) = thawline::season::read("s.yaml", text.as_bytes(), &library).unwrap();
        thawline::pipeline::plan(&season, &found).unwrap()
    };
    let plan = season("    pens: 2\n");
    assert!(plan.groups[0].heat.is_none());
    assert_eq!(plan.verdict.unplanned_head, 88);
    let plan = season("    heat_mean_hours: 64\n    heat_spread_hours: 16\n");
    assert_eq!(plan.verdict.unplanned_head, 0);
    // 88.5 percent show heat (TIMED-2010, 85 to 92), and nearly all of them in the watch.
    assert!((76..=78).contains(&plan.groups[0].heat.as_ref().unwrap().bred_head));
}

/// Numbers of heat that cannot be, or that nothing uses, are told where they stand.
#[test]
fn numbers_of_heat_are_checked() {
    let library = thawline::Library::built_in();
    let found = |text: &str| -> Vec<(String, String)> {
        let read = thawline::season::read("s.yaml", text.as_bytes(), &library);
        let found = match read {
            Ok((_, found)) => found,
            Err(error) => error.findings().to_vec(),
        };
        found
            .iter()
            .filter(|f| f.code.as_str() != "S117")
            .map(|f| {
                let field = f.place.as_ref().map_or(String::new(), |p| p.field.clone());
                (f.code.to_string(), field)
            })
            .collect()
    };
    assert_eq!(found(SEASON), []);
    let one = |from: &str, to: &str| {
        assert!(SEASON.contains(from));
        found(&SEASON.replacen(from, to, 1))
    };
    let is = |code: &str, field: &str| vec![(code.to_owned(), field.to_owned())];
    let expected = is("S103", "rules.heat_checks[1]");
    assert_eq!(one("\"12:00\"", "\"noon\""), expected);
    assert_eq!(one("\"12:00\"", "\"24:00\""), expected);
    let narrow = "heat_breeding_hours: {earliest: 12, aim: 12, latest: 12}\n  heat_checks:";
    let expected = is("S124", "rules.heat_breeding_hours");
    assert_eq!(one("heat_checks:", narrow), expected);
    // A fixed time has no use for hours to heat: a note, no fault.
    let given = one("cow-select-synch-insert", "cow-7-day-co-synch-insert");
    assert_eq!(given, is("S124", "groups[1].heat_mean_hours"));
    let given = one("heat_spread_hours: 13", "heat_spread_hours: 0.5");
    assert_eq!(given, is("K104", "groups[1].heat_spread_hours"));
}

/// One cow in one minute: a beginning goes up and an end down, but never past each other.
#[test]
fn the_first_cow_is_never_read_after_the_last() {
    let (_, mut plan) = plan_of(SEASON);
    let s = plan.sessions.iter_mut().find(|s| s.is_by_heat()).unwrap();
    let first = s.first_cow.unwrap();
    let at = first - TimeDelta::seconds(first.timestamp().rem_euclid(60) - 45);
    (s.first_cow, s.last_cow) = (Some(at), Some(at));
    // Up to the minute, both.
    let clock = (at + TimeDelta::seconds(15)).format("%H:%M").to_string();
    let text = thawline::output::text::plan(&plan);
    assert!(text.contains(&format!("{clock}-{clock}")), "{text}");
    let page = thawline::output::page::page(&plan);
    let told = page.matches(&format!(">{clock}</time>")).count();
    assert!(told >= 2, "{clock} {told}");
    assert!(page.contains("Breed about "), "{clock}");
}

/// One heifer and hundreds, through the chute in seconds and in weeks, with narrow and wide
/// spreads: planner and verifier have the same ends.
#[test]
fn ends_hold_for_any_pen_and_pace() {
    let mut dice = crate::support::Dice(3);
    for _ in 0..40 {
        let heads = [1, 2, 3, 17, 90, 400u32];
        let pens: Vec<u32> = (0..dice.from(1, 3)).map(|_| *dice.pick(&heads)).collect();
        let all: u32 = pens.iter().sum();
        if all > 100_000 {
            continue;
        }
        let text = format!(
            "format: thawline.season/1\nname: One group\nzone: America/Phoenix\nsites:\n  - {{id: s, injections_head_per_hour: {}, breeding_boxes: 1}}\ngroups:\n  - {{id: g, site: s, class: heifer, head: {all}, pen_head: {pens:?}, protocol: heifer-2-shot-pg, start: 2027-04-12T06:00, bulls: [B], heat_mean_hours: {}, heat_spread_hours: {}}}\ncrew:\n  - {{id: a, minutes_per_cow: 3, shifts: [{{from: \"06:00\", to: \"06:30\"}}]}}\nsemen:\n  - {{bull: B, straws: 20}}\n",
            dice.pick(&["2", "60", "1000"]),
            dice.from(30, 80),
            dice.pick(&["2", "14", "30"]),
        );
        let (season, plan) = plan_of(&text);
        assert_eq!(verify(&season, &plan), [], "{text}");
    }
}
