//! `cover` for groups that are bred as they are seen in heat, half-day by half-day.

use thawline::plan::Plan;
use thawline::progress::NoProgress;
use thawline::season::Season;
use thawline::staffing::{Assessment, Crew, Question, Staffing, assess};
use thawline::{pipeline, season};

use crate::support::LIBRARY;

fn read(text: &str) -> Season {
    season::read("season.yaml", text.as_bytes(), &LIBRARY)
        .unwrap_or_else(|e| panic!("{e}\n{text}"))
        .0
}

/// Heifers of which most are seen in heat on two half-days, for people who work six hours a day.
fn by_heat(head: u32) -> String {
    format!(
        "format: thawline.season/1
name: By heat (invented)
zone: America/Phoenix
sites: [{{id: s, injections_head_per_hour: 1000, breeding_boxes: 2}}]
groups:
  - {{id: g, site: s, class: heifer, head: {head}, protocol: heifer-14-day-insert-pg-timed, start: \"2027-04-12T06:00\", bulls: [b], heat_mean_hours: 60, heat_spread_hours: 14}}
crew:
  - {{id: a, minutes_per_cow: 5, minutes_spread: 0, helper: true, shifts: [{{from: \"06:00\", to: \"10:00\"}}, {{from: \"16:00\", to: \"20:00\"}}]}}
  - {{id: c, minutes_per_cow: 5, minutes_spread: 0, helper: true}}
semen: [{{bull: b, straws: 900}}]
rules: {{late_straw_risk_percent: 50}}
"
    )
}

fn asked(text: &str, session: Option<&str>) -> Assessment {
    let question = Question {
        crew: Crew::Named(vec!["a".into()]),
        session: session.map(str::to_owned),
        ..Question::default()
    };
    assess(&read(text), &LIBRARY, &question, &NoProgress).unwrap()
}

fn left_of(plan: &Plan, session: &str) -> u32 {
    let mine = plan.uncovered.iter().filter(|u| u.session == session);
    mine.map(|u| u.head).sum()
}

fn kinds(answer: &Staffing) -> Vec<String> {
    let all = answer.remedies[0].covering.iter();
    all.map(|r| r.kinds.join("+")).collect()
}

/// The figures of each half-day are the plan's, and their heads add up.
#[test]
fn half_days_are_told_one_by_one() {
    let found = asked(&by_heat(200), None);
    let plan = pipeline::plan(&found.season, &[]).unwrap();
    let verdict = &found.answer.verdict;
    let due: u32 = found.answer.sessions.iter().map(|s| s.due_head).sum();
    assert_eq!(
        (due, verdict.uncovered_head),
        (plan.verdict.due_head, plan.verdict.uncovered_head)
    );
    let by_heat: u32 = plan
        .sessions
        .iter()
        .flat_map(|s| &s.pens)
        .filter(|p| p.by_heat.is_some())
        .map(|p| p.head)
        .sum();
    assert!(by_heat > 80 && verdict.by_heat_head == by_heat);
    // The clean-up is at set hours, and no part of these.
    assert!(verdict.due_head > by_heat);
    for s in &found.answer.sessions {
        let of_plan = plan.sessions.iter().find(|p| p.id == s.id).unwrap();
        assert_eq!(s.due_head - s.bred_head, left_of(&plan, &s.id));
        for (mine, pen) in s.pens.iter().zip(&of_plan.pens) {
            assert_eq!(
                mine.counted_from_what == "being first seen in heat",
                pen.by_heat.is_some()
            );
        }
    }
}

/// What is asked about is the half-day that falls short and not its neighbours: somebody sent there or
/// hired for it covers it, in the plan of the season changed so.
#[test]
fn a_half_day_that_falls_short_is_remedied_by_itself() {
    let (mut several, mut hired) = (0, 0);
    for head in [150, 200, 250, 300, 350, 400] {
        // All are bred as they are seen.
        let text = by_heat(head).replace("heifer-14-day-insert-pg-timed", "heifer-mga-pg-detect");
        let found = asked(&text, None);
        let plan = pipeline::plan(&found.season, &[]).unwrap();
        let Some(remedies) = found.answer.remedies.first() else {
            continue;
        };
        let short = plan
            .sessions
            .iter()
            .filter(|s| left_of(&plan, &s.id) > 0)
            .count();
        assert!(
            remedies.session.contains("-am@") || remedies.session.contains("-pm@"),
            "{}",
            remedies.session
        );
        assert_eq!(remedies.uncovered_head, left_of(&plan, &remedies.session));
        assert_eq!(
            remedies.uncovered_head + remedies.elsewhere_uncovered_head,
            plan.verdict.uncovered_head
        );
        for (at, remedy) in remedies.covering.iter().enumerate() {
            if remedy.kinds != ["technician"] && remedy.kinds != ["left-out-technician"] {
                continue;
            }
            let then = pipeline::plan(&found.changed[0][at], &[]).unwrap();
            assert_eq!(
                (remedy.uncovered_head, left_of(&then, &remedies.session)),
                (0, 0)
            );
            assert_eq!(remedy.elsewhere_uncovered_head, then.verdict.uncovered_head);
            if remedy.kinds == ["technician"] {
                hired += 1;
                // For these hours only: where other half-days fall short, they still do.
                several += u32::from(short > 1);
                assert!(short == 1 || then.verdict.uncovered_head > 0);
            }
        }
        println!("{head}: {short} short, {:?}", kinds(&found.answer));
    }
    assert!(hired > 1 && several > 0, "{hired} {several}");
}

/// Where the whole group begins at another time, its half-days are others: all of them count.
#[test]
fn a_start_moved_must_serve_every_half_day() {
    let found = asked(&by_heat(300), None);
    for (remedy, changed) in found.answer.remedies[0]
        .covering
        .iter()
        .zip(&found.changed[0])
    {
        if remedy.kinds.iter().any(|k| k.starts_with("start-")) {
            let then = pipeline::plan(changed, &[]).unwrap();
            assert_eq!(then.verdict.uncovered_head, 0, "{:?}", remedy.asks);
        }
    }
}
