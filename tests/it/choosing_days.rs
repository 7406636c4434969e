//! Choosing for groups that may be spread over days: the plan of a choice keeps what the choice says.

use std::fmt::Write as _;

use thawline::choose::{Chosen, Limits, Row, choose, write};
use thawline::crew::{self, starts};
use thawline::dating;
use thawline::output::answer::Answer as _;
use thawline::plan::Plan;
use thawline::progress::NoProgress;
use thawline::season::{self, Season};

use crate::choosing::broken_in_plan;
use crate::support::{Dice, LIBRARY, cases, plan_of};

const FEW: Limits = Limits {
    rows: 4,
    rows_a_protocol: 2,
    candidates: 6,
};

fn read(text: &str) -> Season {
    season::read("season.yaml", text.as_bytes(), &LIBRARY)
        .unwrap_or_else(|e| panic!("{e}\n{text}"))
        .0
}

/// What is chosen, and the plan of it.
fn planned(text: &str, chosen: &Chosen, nth: Option<usize>) -> (Season, Plan) {
    let picked = chosen.picked(nth).unwrap_or_else(|e| panic!("{e}\n{text}"));
    plan_of(&write("season.yaml", text.as_bytes(), &picked).unwrap().0)
}

/// One technician, who breeds 60 of these cows in the hours of one morning.
fn many(wishes: &str) -> String {
    format!(
        "format: thawline.season/1
name: Days (invented)
zone: America/Denver
sites: [{{id: home, injections_head_per_hour: 60, breeding_boxes: 1}}]
groups: [{{id: cows, site: home, class: cow, head: 180, days: up to 3, wishes: {{protocols: [cow-co-synch], {wishes}}}, order: mixed, bulls: [b]}}]
crew: [{{id: joe, cows_per_hour: 12}}]
semen: [{{bull: b, straws: 250}}]
"
    )
}

fn of_many(wishes: &str) -> (Chosen, Plan) {
    let text = many(wishes);
    let season = read(&text);
    let chosen = choose(&season, &LIBRARY, None, FEW, &NoProgress).unwrap();
    let (_, plan) = planned(&text, &chosen, None);
    (chosen, plan)
}

#[test]
fn a_choice_over_days_is_what_the_plan_does() {
    let (chosen, plan) = of_many("breed_from: 2027-05-20, breed_to: 2027-05-26");
    let row = &chosen.groups[0].rows[0];
    assert_eq!((row.cover.not_bred, plan.verdict.uncovered_head), (0, 0));
    assert!(chosen.is_well() && row.cover.why.is_none());
    let spread = row.spread.as_ref().unwrap();
    assert_eq!(
        plan.groups[0].pen_starts.as_ref().unwrap().len(),
        spread.starts.len()
    );
    let told =
        "over 3 days: 60 head on Mon 10 May 2027, 60 on Tue 11 May 2027, 60 on Wed 12 May 2027";
    assert_eq!(spread.words(), told);
    let d117 = plan
        .findings
        .iter()
        .find(|f| f.code.as_str() == "D117")
        .unwrap();
    assert!(d117.what.contains(told), "{}", d117.what);
    // Half of the calves come a day later than those of the first day's cows.
    assert_eq!(row.mean_calving.to_string(), "2028-02-28");
    let text = chosen.text();
    let flat = text.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(flat.contains(told), "{text}");
    let json = chosen.json();
    let json: serde_json::Value = serde_json::from_str(&json).unwrap();
    let lots = json["groups"][0]["rows"][0]["lots"].as_array().unwrap();
    let heads: Vec<_> = lots.iter().map(|l| l["head"].as_u64().unwrap()).collect();
    assert_eq!(heads, [60, 60, 60]);
    assert_eq!(lots[1]["start"], "2027-05-11T08:00:00-06:00");
    let csv = chosen.tables()[0].of(&chosen);
    let column = csv.lines().next().unwrap().split(',');
    let column = column.clone().position(|c| c == "start_days").unwrap();
    assert_eq!(
        csv.lines().nth(1).unwrap().split(',').nth(column),
        Some("3")
    );
}

/// What no wish allows is not done, and who is left for it is told.
#[test]
fn a_group_is_not_spread_past_the_last_wished_day() {
    for (to, days, left) in [("2027-05-20", 1, 143), ("2027-05-21", 2, 70)] {
        let (chosen, plan) = of_many(&format!("breed_from: 2027-05-20, breed_to: {to}"));
        let row = &chosen.groups[0].rows[0];
        assert_eq!(row.spread.as_ref().map_or(1, |s| s.lots().len()), days);
        assert_eq!(row.cover.not_bred, left);
        assert_eq!(plan.verdict.uncovered_head, left);
        assert!(!chosen.is_well() && row.cover.why.is_some());
        let last = plan.follow_up[0].last_bred.unwrap();
        assert!(last <= to.parse().unwrap(), "{last}");
    }
    // A wish that may be broken does not hold the lots.
    let soft = "breed_from: 2027-05-20, breed_to: 2027-05-20, may_break: [breed_to]";
    let (chosen, plan) = of_many(soft);
    let row = &chosen.groups[0].rows[0];
    assert_eq!((row.cover.not_bred, plan.verdict.uncovered_head), (0, 0));
    assert_eq!(row.broken_wishes, ["no breeding after Thu 20 May 2027"]);
}

/// A small season: groups with wishes that may be spread, and here and there one that stands.
fn season_of(seed: u64) -> String {
    let mut dice = Dice(seed);
    let mut y = String::from(
        "format: thawline.season/1\nname: Days (invented)\nzone: America/Denver\nsites:\n  - {id: s0, injections_head_per_hour: 60, breeding_boxes: 1, minutes_to: {s1: 30}}\n  - {id: s1, injections_head_per_hour: 40, breeding_boxes: 2}\ngroups:\n",
    );
    let all = [
        "cow-co-synch",
        "cow-7-day-co-synch-insert",
        "cow-5-day-co-synch-insert",
        "cow-7-day-co-synch-insert-split",
    ];
    let groups = dice.from(1, 2);
    let stands = dice.below(3) == 0;
    for g in 0..groups + u64::from(stands) {
        let more = match dice.below(3) {
            0 => format!(", pens: {}", dice.from(2, 4)),
            _ => String::new(),
        };
        let from = dice.from(18, 22);
        let chosen = if g == 0 && stands {
            format!(
                "protocol: cow-co-synch, start: \"2027-05-{:02}T08:00\"",
                from - 9
            )
        } else {
            let mut wishes = vec![
                format!("breed_from: 2027-05-{from}"),
                format!("breed_to: 2027-05-{}", from + dice.from(0, 4)),
                format!("protocols: [{}]", dice.pick(&all)),
            ];
            match dice.below(4) {
                0 => wishes.push("work_hours: {from: \"06:00\", to: \"11:00\"}".into()),
                1 => wishes.push("may_break: [breed_to]".into()),
                2 => wishes.push("no_work: [{weekday: sun}]".into()),
                _ => {}
            }
            format!("wishes: {{{}}}", wishes.join(", "))
        };
        let _ = writeln!(
            y,
            "  - {{id: g{g}, site: s{}, class: cow, head: {}, days: {}, bulls: [b], order: {}, {chosen}{more}}}",
            dice.below(2),
            dice.from(40, 180),
            dice.pick(&["up to 1", "up to 2", "up to 3", "up to 3"]),
            dice.pick(&["kept", "mixed"]),
        );
    }
    y += "crew:\n";
    for t in 0..dice.from(1, 2) {
        let shifts = match dice.below(3) {
            0 => "",
            1 => ", shifts: [{from: \"05:00\", to: \"15:00\"}]",
            _ => ", shifts: [{from: \"09:00\", to: \"20:00\"}]",
        };
        let pace = dice.from(8, 20);
        let _ = writeln!(y, "  - {{id: t{t}, cows_per_hour: {pace}{shifts}}}");
    }
    y + "semen: [{bull: b, straws: 1000}]\n"
}

/// Head that the crew leaves of the groups that stand, when none is there but they.
fn left_of_those_that_stand(season: &Season) -> u32 {
    let mut fixed = season.clone();
    fixed.open.clear();
    let (fixed, _) = starts::apart(&fixed, &NoProgress).unwrap();
    let counted = crew::count(&fixed, &dating::date(&fixed), &NoProgress).unwrap();
    counted.iter().map(|c| c.head - c.covered).sum()
}

/// Whatever is chosen: its plan leaves no more than the choice says, and breeds nobody on a day that a wish
/// keeps out.
#[test]
fn no_plan_of_a_choice_leaves_more_than_the_choice_says() {
    let leaves = |row: &Row| row.cover.not_bred + row.cover.other_head;
    let (mut spread, mut short, mut plans) = (0, 0, 0);
    let seeds = cases(6, 40);
    for seed in 0..u64::from(seeds) {
        let text = season_of(seed);
        let season = read(&text);
        let anyway = left_of_those_that_stand(&season);
        let chosen = choose(&season, &LIBRARY, None, FEW, &NoProgress).unwrap();
        if chosen.groups.iter().any(|g| g.rows.is_empty()) {
            continue;
        }
        let picks: Vec<(Option<usize>, u32, Vec<&Row>)> = if let Some(t) = &chosen.together {
            let rows: Vec<&Row> = t.rows().collect();
            let told = rows.iter().map(|r| leaves(r)).sum::<u32>();
            vec![(None, told + t.picked.head_not_bred, rows)]
        } else {
            let rows = chosen.groups[0].rows.iter().enumerate();
            rows.map(|(n, r)| (Some(n), leaves(r), vec![r])).collect()
        };
        for (nth, told, rows) in picks {
            let (season, plan) = planned(&text, &chosen, nth);
            let left = plan.verdict.uncovered_head;
            assert!(
                left <= told + anyway,
                "seed {seed}, row {nth:?}: {left} left, {told} and {anyway} told\n{text}"
            );
            let soft = |b: &String| !b.starts_with("too late") || !text.contains("may_break");
            let broken: Vec<_> = broken_in_plan(&season, &plan)
                .into_iter()
                .filter(soft)
                .collect();
            assert_eq!(broken, [""; 0], "seed {seed}, row {nth:?}\n{text}");
            spread += u32::from(rows.iter().any(|r| r.spread.is_some()));
            short += u32::from(told > 0);
            plans += 1;
        }
    }
    assert!(
        spread > seeds / 4 && short > seeds / 4 && plans > seeds * 5 / 8,
        "{spread} {short} {plans}"
    );
}

/// Whoever leaves as the hours open may breed one cow at that moment, if a box is free for her.
#[test]
fn one_who_leaves_as_the_hours_open_needs_a_box() {
    let text = "format: thawline.season/1
name: A box (invented)
zone: America/Denver
sites: [{id: home, injections_head_per_hour: 60, breeding_boxes: 1}]
groups: [{id: cows, site: home, class: cow, head: 59, protocol: cow-7-day-co-synch-insert-split, start: \"2027-05-08T22:00\", order: mixed, bulls: [b]}]
crew:
  - {id: ana, cows_per_hour: 14, shifts: [{from: \"09:00\", to: \"20:00\"}]}
  - {id: burt, cows_per_hour: 12, shifts: [{from: \"05:00\", to: \"15:00\"}]}
semen: [{bull: b, straws: 1000}]
";
    let (season, plan) = plan_of(text);
    let counted = crew::count(&season, &dating::date(&season), &NoProgress).unwrap();
    let counted: u32 = counted.iter().map(|c| c.head - c.covered).sum();
    assert_eq!(counted, plan.verdict.uncovered_head);
}
