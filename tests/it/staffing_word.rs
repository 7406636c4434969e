//! Remedies taken at their word: written into the file as told, they give what was promised, ask for no
//! more than an ordinary day, and begin nothing in the past.

use std::fmt::Write as _;

use chrono::{TimeDelta, Timelike};
use thawline::pipeline;
use thawline::plan::Plan;
use thawline::progress::NoProgress;
use thawline::season::{self, Season};
use thawline::staffing::{Question, assess};

use crate::staffing::written;
use crate::support::{Dice, LIBRARY, cases, plan_of};

fn read(text: &str) -> Season {
    season::read("season.yaml", text.as_bytes(), &LIBRARY)
        .unwrap_or_else(|e| panic!("{e}\n{text}"))
        .0
}

/// A season of a group or two that one or two technicians can hardly breed.
fn tight(seed: u64) -> String {
    let mut dice = Dice(seed);
    let zone = *dice.pick(&["America/Denver", "America/Phoenix", "Australia/Sydney"]);
    let sites = dice.from(1, 2);
    let mut y =
        format!("format: thawline.season/1\nname: Tight {seed} (invented)\nzone: {zone}\nsites:\n");
    for s in 0..sites {
        let _ = writeln!(
            y,
            "  - {{id: s{s}, injections_head_per_hour: {}, inserts_head_per_hour: {}, breeding_boxes: {}}}",
            dice.from(40, 90),
            dice.from(30, 60),
            dice.from(1, 3)
        );
    }
    y.push_str("groups:\n");
    let protocols = [
        ("cow-7-day-co-synch-insert", "cow", 17),
        ("cow-5-day-co-synch-insert", "cow", 8),
        ("cow-co-synch", "cow", 13),
        ("heifer-7-day-co-synch-insert", "heifer", 8),
    ];
    for g in 0..dice.from(1, 2) {
        let (protocol, class, hour) = *dice.pick(&protocols);
        let (hour, minute) = (hour - 2 + dice.below(5), dice.below(4) * 15);
        let pens = dice
            .pick(&["", "", ", pens: 2", ", days: up to 3"])
            .to_string();
        let _ = writeln!(
            y,
            "  - {{id: g{g}, site: s{}, class: {class}, head: {}, protocol: {protocol}, start: \"2027-05-{:02}T{hour:02}:{minute:02}\", order: {}, bulls: [b]{pens}}}",
            dice.below(sites),
            dice.from(30, 130),
            10 + dice.below(5),
            dice.pick(&["kept", "mixed"]),
        );
    }
    y.push_str("crew:\n");
    for t in 0..dice.from(1, 2) {
        let more = match dice.below(5) {
            0 => ", shifts: [{from: \"06:00\", to: \"18:30\"}]",
            1 => {
                ", shifts: [{days: [mon, tue, wed, thu, fri], from: \"05:00\", to: \"15:00\"}], longest_day_hours: 9"
            }
            2 => ", days_off: [2027-05-19, 2027-05-20, 2027-05-23]",
            _ => "",
        };
        let _ = writeln!(
            y,
            "  - {{id: t{t}, cows_per_hour: {}.{}, helper: {}{more}}}",
            dice.from(8, 16),
            dice.below(10),
            dice.below(2) == 0
        );
    }
    let _ = writeln!(
        y,
        "semen:\n  - {{bull: b, straws: {}}}",
        dice.pick(&[600, 600, 600, 90])
    );
    if dice.below(3) == 0 {
        y.push_str("rules: {no_chute_work: [{weekday: sun}]}\n");
    }
    y
}

/// From the first straws to the last cow of everybody's each day: where less than 8 hours lie between,
/// it is one day.
fn longest_days(plan: &Plan) -> Vec<(String, TimeDelta)> {
    let mut all: Vec<_> = plan
        .sessions
        .iter()
        .flat_map(|s| &s.technicians)
        .map(|t| (t.id.clone(), t.begins, t.last_cow))
        .collect();
    all.sort_by(|a, b| (&a.0, a.1).cmp(&(&b.0, b.1)));
    let mut days: Vec<(String, thawline::plan::Moment, thawline::plan::Moment)> = Vec::new();
    for (id, from, to) in all {
        match days.last_mut() {
            Some(day) if day.0 == id && from - day.2 < TimeDelta::hours(8) => day.2 = day.2.max(to),
            _ => days.push((id, from, to)),
        }
    }
    days.into_iter().map(|(id, a, b)| (id, b - a)).collect()
}

/// True if it fell short, and how many remedies were held at their word.
fn holds(seed: u64) -> usize {
    let text = tight(seed);
    let season = read(&text);
    let before = pipeline::plan(&season, &[]).unwrap();
    let longest = longest_days(&before).into_iter().map(|d| d.1).max();
    let longest = longest.unwrap_or_default().max(TimeDelta::hours(14));
    let first = season.groups.iter().map(|g| g.start.date()).min().unwrap();
    let found = assess(&season, &LIBRARY, &Question::default(), &NoProgress)
        .unwrap_or_else(|e| panic!("{e}\n{text}"));
    let mut held = 0;
    for remedies in &found.answer.remedies {
        for (n, remedy) in remedies
            .covering
            .iter()
            .chain(&remedies.lessening)
            .enumerate()
        {
            let told = format!("{:?}\n{text}", remedy.write);
            let (anew, plan) = plan_of(&written(&text, &found.season, remedy));
            let all = remedy.uncovered_head + remedy.elsewhere_uncovered_head;
            assert!(all < before.verdict.uncovered_head, "{told}");
            assert!(plan.verdict.uncovered_head <= all, "{told}");
            if n < remedies.covering.len() {
                assert_eq!(remedy.uncovered_head, 0, "{told}");
            }
            for (id, long) in longest_days(&plan) {
                assert!(long <= longest, "{id} works {long}: {told}");
            }
            for group in &anew.groups {
                assert!(group.start.date() >= first, "{told}");
            }
            for t in plan.sessions.iter().flat_map(|s| &s.technicians) {
                let who = season.crew.iter().find(|x| x.id.as_str() == t.id);
                let open = who.is_some_and(|x| x.shifts.is_empty());
                let night = |p: &Plan| {
                    let mine = p.sessions.iter().flat_map(|s| &s.technicians);
                    mine.filter(|x| x.id == t.id).any(|x| {
                        x.begins.hour() * 60 + x.begins.minute() < 150 || x.last_cow.hour() >= 22
                    })
                };
                assert!(!open || night(&before) || !night(&plan), "{told}");
            }
            held += 1;
        }
    }
    held
}

#[test]
fn remedies_are_held_at_their_word() {
    let (mut short, mut held) = (0, 0);
    let seeds = cases(4, 40);
    for seed in 0..u64::from(seeds) {
        let n = holds(seed);
        held += n;
        short += u32::from(n > 0);
    }
    assert!(
        short > seeds / 4 && held > short as usize,
        "{short}, {held}"
    );
}
