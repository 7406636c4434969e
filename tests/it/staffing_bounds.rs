//! What `cover` rules out is out: no plan of small random seasons of several sites beats its bounds,
//! and where nothing helps, no change that is tried here does.

use std::fmt::Write as _;
use std::mem::discriminant;

use chrono::TimeDelta;
use proptest::prelude::*;
use thawline::progress::NoProgress;
use thawline::season::Season;
use thawline::staffing::{Change, OfGroup, Question, assess};
use thawline::{crew, dating, pipeline, season};

use crate::support::{Dice, LIBRARY, cases};

fn read(text: &str) -> Season {
    season::read("season.yaml", text.as_bytes(), &LIBRARY)
        .unwrap_or_else(|e| panic!("{e}\n{text}"))
        .0
}

/// Two or three sites near each other, groups bred on one day or two, and few people, so that days
/// are divided and some animals are left.
fn neighbours(seed: u64) -> String {
    let mut dice = Dice(seed);
    let sites = dice.from(2, 3);
    let mut y = String::from(
        "format: thawline.season/1\nname: Neighbours (invented)\nzone: America/Denver\nsites:\n",
    );
    for s in 0..sites {
        let road: Vec<String> = (s + 1..sites)
            .map(|o| format!("s{o}: {}", 5 * dice.from(1, 12)))
            .collect();
        let _ = writeln!(
            y,
            "  - {{id: s{s}, injections_head_per_hour: {}, inserts_head_per_hour: {}, breeding_boxes: {}, thaw_bath_straws: {}, minutes_to: {{{}}}}}",
            dice.from(4, 9) * 10,
            dice.from(4, 9) * 10,
            dice.from(1, 2),
            dice.from(2, 20),
            road.join(", ")
        );
    }
    y.push_str("groups:\n");
    for g in 0..dice.from(2, 4) {
        let (protocol, class) = *dice.pick(&[
            ("cow-7-day-co-synch-insert", "cow"),
            ("heifer-7-day-co-synch-insert", "heifer"),
        ]);
        let _ = writeln!(
            y,
            "  - {{id: g{g}, site: s{}, class: {class}, head: {}, protocol: {protocol}, start: \"2027-05-1{}T{:02}:{:02}\", pens: {}, order: {}, bulls: [b]}}",
            g % sites,
            dice.from(15, 70),
            dice.from(0, 1),
            dice.from(6, 16),
            15 * dice.from(0, 3),
            dice.from(1, 2),
            dice.pick(&["kept", "mixed"]),
        );
    }
    y.push_str("crew:\n");
    for t in 0..dice.from(1, 3) {
        let home = dice.pick(&["", ", home_site: s0", ", home_site: s1"]);
        let longest = dice.pick(&["", "", ", longest_day_hours: 5"]);
        let shifts = dice.pick(&[
            "",
            ", shifts: [{from: \"06:00\", to: \"19:00\"}]",
            ", shifts: [{from: \"05:30\", to: \"11:50\"}, {from: \"12:40\", to: \"20:00\"}]",
        ]);
        let _ = writeln!(
            y,
            "  - {{id: t{t}, minutes_per_cow: {}, minutes_spread: 0.{}, helper: {}{home}{longest}{shifts}}}",
            dice.pick(&["3", "3.5", "4.2", "5", "7"]),
            dice.from(0, 9),
            dice.pick(&["true", "false"]),
        );
    }
    let rules = dice.pick(&[
        "",
        ", rest_after_hours: 2, rest_minutes: 30",
        ", rest_after_hours: 4, rest_minutes: 45",
        ", slot_minutes: 5",
        ", reset_seconds: 240",
    ]);
    let _ = writeln!(
        y,
        "semen: [{{bull: b, straws: 900}}]\nrules: {{road_minutes: 30, late_straw_risk_percent: 20{rules}}}"
    );
    y
}

fn left_and_bound(season: &Season) -> (u32, u32) {
    let mut season = season.clone();
    season.rules.grain = Some(season.rules.slot);
    let season = &season;
    let plan = pipeline::plan(season, &[]).unwrap();
    let dated = dating::date_groups(season, &season.groups);
    let (due, most) = crew::bound_by_slot(season, &dated);
    assert_eq!(due, plan.verdict.due_head);
    (plan.verdict.uncovered_head, due - most)
}

/// The bound by hours is not beaten, and yet near: it rules most out of what a plan leaves.
#[test]
fn no_plan_beats_the_bound_by_hours() {
    let (mut left, mut bound, mut divided) = (0, 0, 0);
    let seeds = cases(20, 120);
    for seed in 0..u64::from(seeds) {
        let text = neighbours(seed);
        let season = read(&text);
        let (uncovered, least) = left_and_bound(&season);
        assert!(least <= uncovered, "{least} > {uncovered}\n{text}");
        left += uncovered;
        bound += least;
        divided += u32::from(season.sites.len() > 1 && uncovered > 0);
    }
    println!("{divided} seasons fall short by {left} head; by hours at least {bound}");
    assert!(divided > seeds / 3, "{divided}");
    assert!(bound * 10 > left * 6, "{bound} of {left}");
}

/// Changes of many kinds, the greatest of each.
fn changes(season: &Season) -> Vec<Change> {
    let mut all = Vec::new();
    for (g, group) in season.groups.iter().enumerate() {
        all.push(Change::Group(g, OfGroup::Keep));
        all.push(Change::Group(g, OfGroup::Pens(3)));
        for hours in [-3, -1, 2, 4, -48, 48] {
            let start = group.start + TimeDelta::hours(hours);
            all.push(Change::Group(g, OfGroup::Start(start)));
        }
        if group.pens.len() == 2 {
            let starts = vec![group.start, group.start + TimeDelta::hours(3)];
            all.push(Change::Group(g, OfGroup::PenStarts(starts)));
        }
    }
    for s in 0..season.sites.len() {
        all.push(Change::Boxes(s, season.sites[s].breeding_boxes + 1));
    }
    all
}

proptest! {
    #![proptest_config(crate::support::config(2, 6))]

    /// Where it is proven that nothing covers a session, none of these changes does, alone or two.
    #[test]
    fn where_nothing_helps_nothing_does(seed in any::<u64>()) {
        let text = neighbours(seed);
        let season = read(&text);
        let found = assess(&season, &LIBRARY, &Question::default(), &NoProgress).unwrap();
        for remedies in found.answer.remedies.iter().filter(|r| r.nothing_covers && r.proven) {
            let groups: Vec<usize> = (0..season.groups.len())
                .filter(|g| remedies.groups.iter().any(|id| *id == season.groups[*g].id.as_str()))
                .collect();
            prop_assert!(remedies.every_pair_counted && remedies.undecided == 0);
            let all = changes(&season);
            let mut dice = Dice(seed);
            let mut seen = 0;
            while seen < 12 {
                seen += 1;
                let (a, b) = (dice.pick(&all), dice.pick(&all));
                let group_of = |c: &Change| match c {
                    Change::Group(group, _) => Some(*group),
                    _ => None,
                };
                let alike = match (a, b) {
                    (Change::Group(_, a), Change::Group(_, b)) => discriminant(a) == discriminant(b),
                    _ => discriminant(a) == discriminant(b),
                };
                if [a, b].into_iter().filter_map(group_of).any(|g| !groups.contains(&g))
                    || alike {
                    continue;
                }
                let Some(changed) = a.applied(&season).and_then(|s| b.applied(&s)) else { continue };
                let plan = pipeline::plan(&changed, &[]).unwrap();
                let left: u32 = plan.verdict.uncovered_head;
                prop_assert!(left > remedies.elsewhere_uncovered_head, "{a:?}\n{b:?}\n{text}");
            }
        }
    }
}
