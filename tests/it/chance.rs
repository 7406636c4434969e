//! Sessions tried over and over: against the plan where nothing varies, against the planner's
//! formula, against each other, and on random seasons.

#![allow(clippy::float_cmp)] // None and all are exact.

use chrono::TimeDelta;
use proptest::prelude::*;
use thawline::output::answer::Answer as _;
use thawline::plan::{Moment, Plan};
use thawline::progress::NoProgress;
use thawline::season::Season;
use thawline::simulate::{
    ByStraws, Chance, Finish, Law, SeasonChance, SessionChance, Trial, of_season, of_session,
};

use crate::bad_input::{Folder, at_demo};
use crate::support::{cases, crew_season, demo, plan_of, small};

fn tried(text: &str, trial: Trial) -> (Season, Plan, SeasonChance) {
    let (season, plan) = plan_of(text);
    let told = of_season(&season, &plan, trial);
    (season, plan, told)
}

fn runs(runs: u32) -> Trial {
    Trial {
        runs,
        ..Trial::default()
    }
}

/// The one session of one technician.
fn one(crew: &str, head: u64, trial: Trial) -> SessionChance {
    let (_, _, mut told) = tried(&crew_season(head, crew, "{}"), trial);
    assert_eq!(told.sessions.len(), 1);
    told.sessions.remove(0)
}

fn alone(spread: f64) -> String {
    format!("[{{id: ana, minutes_per_cow: 3, minutes_spread: {spread}, straws_at_once: 3}}]")
}

fn helped(spread: f64) -> String {
    format!(
        "[{{id: ana, minutes_per_cow: 3, minutes_spread: {spread}, helper: true, straws_at_once: 3}}]"
    )
}

fn near(a: Moment, b: Moment) -> bool {
    (a - b).abs() <= TimeDelta::seconds(4)
}

fn all_near(f: Finish, planned: Moment) -> bool {
    near(f.by_5_percent, planned)
        && near(f.by_50_percent, planned)
        && near(f.by_95_percent, planned)
}

/// Half of a 95 % interval is this many standard errors.
fn error(c: Chance) -> f64 {
    (c.high_percent - c.low_percent) / 2.0 / 1.96
}

/// Without spread every day is the planned one: on the demo's grain and on random seasons.
#[test]
fn without_spread_the_day_is_the_plan() {
    let steady = |text: String| {
        (0..9).fold(text, |t, n| {
            t.replace(&format!("minutes_spread: 0.{n}"), "minutes_spread: 0.0")
        })
    };
    let mut seen = 0;
    let seasons = cases(20, 150);
    for seed in 0..u64::from(seasons) {
        let (_, plan, told) = tried(&steady(small(seed)), runs(2));
        for s in &told.sessions {
            let planned = plan.sessions.iter().find(|p| p.id == s.session).unwrap();
            let who = format!("season {seed}, {}", s.session);
            assert!(all_near(s.last_cow, planned.last_cow.unwrap()), "{who}");
            assert_eq!(s.any_cow_outside.percent, 0.0, "{who}");
            assert_eq!(s.last_cow_outside.percent, 0.0, "{who}");
            assert_eq!(s.any_straw_late.percent, 0.0, "{who}");
            assert_eq!(s.head, planned.head);
            for t in &s.technicians {
                let at = planned.technicians.iter().find(|a| a.id == t.id).unwrap();
                let own = t.by_straws.iter().find(|b| b.planned).unwrap();
                assert!(all_near(own.last_cow, at.last_cow), "{who} {}", t.id);
                for b in &t.by_straws {
                    let by_formula = b.late_round_formula_percent;
                    assert!(by_formula == 0.0 || by_formula == 100.0);
                    if let Some(round) = b.late_round {
                        assert_eq!(round.percent, by_formula, "{who} {} {b:?}", t.id);
                    }
                }
                seen += 1;
            }
        }
    }
    assert!(seen > 3 * seasons / 2, "{seen}");
}

/// The planner's normal law is near the gamma law where it decides.
#[test]
fn alone_a_round_is_late_about_as_often_as_the_formula_says() {
    for spread in [0.3, 0.6, 1.0] {
        let s = one(&alone(spread), 60, runs(4000));
        for b in &s.technicians[0].by_straws {
            let Some(round) = b.late_round else { continue };
            let apart = (round.percent - b.late_round_formula_percent).abs();
            // A third of the mean as spread: the two laws are 2 points apart at the most.
            assert!(apart < 2.0 + 4.0 * error(round), "{spread} {b:?}");
        }
    }
}

/// Loaded guns that wait for a slow cow are what the formula leaves out.
#[test]
fn with_a_helper_rounds_are_late_more_often_than_by_the_formula() {
    let s = one(&helped(0.8), 90, runs(4000));
    let four = &s.technicians[0].by_straws[3];
    let round = four.late_round.unwrap();
    assert!(round.percent > four.late_round_formula_percent + 4.0 * error(round));
    assert!(round.percent < four.late_round_formula_percent + 10.0);
}

#[test]
fn more_straws_at_once_are_late_more_often() {
    for crew in [alone(0.8), helped(0.8)] {
        let s = one(&crew, 60, runs(2000));
        let rows = &s.technicians[0].by_straws;
        assert_eq!(rows.len(), 10);
        for pair in rows.windows(2) {
            let [a, b] = pair else { unreachable!() };
            let session = |r: &ByStraws| r.late_session.percent;
            // The same cows take the same time in each: no room for chance is needed.
            assert!(session(b) >= session(a), "{a:?} {b:?}");
            if let (Some(x), Some(y)) = (a.late_round, b.late_round) {
                assert!(y.percent + 4.0 * (error(x) + error(y)) >= x.percent);
            }
            assert!(b.late_round_formula_percent >= a.late_round_formula_percent);
        }
        // Alone, a larger round saves a thaw and a reset; head an hour rises as long as rounds
        // are whole.
        assert!(rows[2].head_per_hour > rows[0].head_per_hour);
        assert!(rows[2].last_cow.by_50_percent < rows[0].last_cow.by_50_percent);
    }
}

#[test]
fn more_spread_is_not_safer() {
    let mut before: Option<SessionChance> = None;
    for spread in [0.0, 0.2, 0.5, 0.9, 1.4] {
        let now = one(&helped(spread), 120, runs(3000));
        if let Some(before) = before {
            for (a, b) in [
                (before.any_straw_late, now.any_straw_late),
                (before.any_cow_outside, now.any_cow_outside),
                (before.last_cow_outside, now.last_cow_outside),
            ] {
                assert!(
                    b.percent + 4.0 * (error(a) + error(b)) >= a.percent,
                    "{spread}"
                );
            }
            let wide = |f: Finish| f.by_95_percent - f.by_5_percent;
            assert!(wide(now.last_cow) > wide(before.last_cow));
        }
        before = Some(now);
    }
    assert!(before.unwrap().any_straw_late.percent > 50.0);
}

/// A crew with hardly any margin: cows are outside their hours on a share of the days, which
/// grows along the alley, and the counts hang together.
#[test]
fn where_hours_are_tight_cows_are_outside() {
    let crew = "[{id: ana, minutes_per_cow: 3.5, minutes_spread: 2.5, helper: true, shifts: [{from: \"06:00\", to: \"13:00\"}]}]";
    let text = crew_season(70, crew, "{bath_to_cow_minutes: 25}");
    let (season, mut plan) = plan_of(&text);
    let session = &mut plan.sessions[0];
    let last = session.last_cow.unwrap();
    // Hours that end with the plan's last cow.
    for pen in &mut session.pens {
        pen.hours.latest = last;
    }
    let session = plan.sessions[0].clone();
    let s = of_session(&season, &plan, &session, runs(5000), &NoProgress).unwrap();
    let (last, any) = (s.last_cow_outside.percent, s.any_cow_outside.percent);
    assert!(last > 20.0 && last < 99.0, "{last}");
    assert!(any >= last);
    assert!(s.outside.mean_head >= any / 100.0);
    assert_eq!(s.pens.len(), 1);
    assert_eq!(s.pens[0].any_cow_outside, s.any_cow_outside);
    assert_eq!(s.pens[0].outside, s.outside);
    assert!(s.words[1].contains("at least one cow is bred outside her AI window; "));
}

/// No publication says which law holds. For the demo the choice moves a finish by no more than
/// two minutes, and a late round of the plan's straws by no more than one point.
#[test]
fn another_law_changes_little() {
    let (season, plan, gamma) = tried(&demo(), runs(4000));
    let other = of_season(
        &season,
        &plan,
        Trial {
            law: Law::LogNormal,
            ..runs(4000)
        },
    );
    assert_eq!(other.minutes_law, Law::LogNormal);
    for (a, b) in gamma.sessions.iter().zip(&other.sessions) {
        for (x, y) in [
            (a.last_cow.by_5_percent, b.last_cow.by_5_percent),
            (a.last_cow.by_50_percent, b.last_cow.by_50_percent),
            (a.last_cow.by_95_percent, b.last_cow.by_95_percent),
        ] {
            assert!((x - y).abs() <= TimeDelta::minutes(2), "{x} {y}");
        }
        for (t, u) in a.technicians.iter().zip(&b.technicians) {
            for (x, y) in t.by_straws.iter().zip(&u.by_straws) {
                if let (Some(p), Some(q)) = (x.late_round, y.late_round) {
                    let bound = if x.planned { 1.0 } else { 4.0 };
                    assert!((p.percent - q.percent).abs() < bound, "{x:?} {y:?}");
                }
            }
        }
    }
}

/// A spread that is not given is a third of the mean that stands beside it, however the pace is
/// stated; one that is given is told as given.
#[test]
fn a_spread_not_given_is_a_third_of_the_mean_told() {
    for pace in [
        "minutes_per_cow: 3.2",
        "cows_per_hour: 13",
        "cows_per_hour: 11",
    ] {
        for helper in ["", ", helper: true"] {
            let crew = format!("[{{id: ana, {pace}{helper}}}]");
            let told = one(&crew, 30, runs(50));
            let t = &told.technicians[0];
            assert!(t.spread_assumed);
            assert!((t.minutes_spread - t.minutes_per_cow / 3.0).abs() < 0.006);
            let crew = format!("[{{id: ana, {pace}{helper}, minutes_spread: 0.5}}]");
            let told = one(&crew, 30, runs(50));
            assert!(!told.technicians[0].spread_assumed);
            assert_eq!(told.technicians[0].minutes_spread, 0.5);
        }
    }
}

#[test]
fn the_same_seed_tries_the_same_days_and_another_others() {
    let (season, plan, told) = tried(&demo(), runs(300));
    assert_eq!(of_season(&season, &plan, runs(300)), told);
    let other = Trial {
        seed: 2,
        ..runs(300)
    };
    assert_ne!(of_season(&season, &plan, other).sessions, told.sessions);
    // A session is tried alike whether others are or not.
    let s = plan.sessions.last().unwrap();
    let alone = of_session(&season, &plan, s, runs(300), &NoProgress).unwrap();
    assert_eq!(told.sessions.last(), Some(&alone));
}

#[test]
fn ids_that_are_not_there_are_answered_with_the_nearest() {
    for (args, said) in [
        (
            "--session late/1/ai@crek",
            "did you mean `late/1/ai@creek`?",
        ),
        ("--technician anna", "did you mean `ana`?"),
        ("--technician xyzzy", "one of `ana`, `burt`, `coe`"),
        (
            "--session heifers/1/ai@creek --technician burt",
            "one of the sessions `first-calf/1/ai@creek`",
        ),
    ] {
        let args: Vec<&str> = args.split(' ').collect();
        let args = [&["chance", "demo/season.yaml"], &args[..]].concat();
        at_demo(&args).refused(&["S105", said]);
    }
}

/// A plan that falls short is told of, with the exit code of the plan.
#[test]
fn a_plan_that_falls_short_says_so() {
    let crew = "[{id: ana, minutes_per_cow: 4, shifts: [{from: \"06:00\", to: \"09:00\"}]}]";
    let season = Folder::with("s.yaml", crew_season(100, crew, "{}"));
    let told = season.run(&["chance", "s.yaml", "--runs", "100"]);
    assert_eq!(told.code, 1);
    let short = "head that the plan cannot breed";
    assert!(told.out.contains(short), "{}", told.out);
    assert!(!told.err.is_empty());
}

fn sound(c: Chance) -> bool {
    let within = 0.0 <= c.low_percent && c.high_percent <= 100.0;
    within && c.low_percent <= c.percent && c.percent <= c.high_percent
}

fn in_turn(f: Finish) -> bool {
    f.by_5_percent <= f.by_50_percent && f.by_50_percent <= f.by_95_percent
}

proptest! {
    #![proptest_config(crate::support::config(15, 60))]

    #[test]
    fn random_plans_are_tried_without_harm(seed in any::<u64>(), days in 0u32..20, trial in any::<u64>(), lognormal in any::<bool>()) {
        let law = if lognormal { Law::LogNormal } else { Law::Gamma };
        let (_, plan, told) = tried(&small(seed), Trial { runs: days, seed: trial, law });
        let with_cows = plan.sessions.iter().filter(|s| s.head > 0).count();
        prop_assert_eq!(told.sessions.len(), with_cows);
        for s in &told.sessions {
            prop_assert!(in_turn(s.last_cow));
            prop_assert!(s.last_cow_outside.percent <= s.any_cow_outside.percent);
            for c in [s.last_cow_outside, s.any_cow_outside, s.any_straw_late] {
                prop_assert!(sound(c), "{:?}", c);
            }
            prop_assert_eq!(s.pens.iter().map(|p| p.head).sum::<u32>(), s.head);
            prop_assert_eq!(s.technicians.iter().map(|t| t.head).sum::<u32>(), s.head);
            for b in s.technicians.iter().flat_map(|t| &t.by_straws) {
                prop_assert!(in_turn(b.last_cow) && b.head_per_hour > 0.0);
                prop_assert!(sound(b.late_session) && b.late_round.is_none_or(sound));
            }
        }
        let text = told.text();
        for line in text.lines() {
            prop_assert!(line.chars().count() <= 80, "{}", line);
        }
    }
}
