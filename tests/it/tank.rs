//! The tanks: nitrogen by hand-worked figures, straws taken one by one, and the command.

use std::fmt::Write as _;

use chrono::{Days, NaiveDate};
use proptest::prelude::*;
use thawline::document::schema_of;
use thawline::pipeline;
use thawline::plan::Plan;
use thawline::protocol::Library;
use thawline::season::{self, LevelUnit, Nitrogen, Reading, Season};
use thawline::sources;
use thawline::tank::nitrogen::{MINIMUMS, Outlook, USUAL_INCHES, fit, stretches};
use thawline::tank::{self, allocation};

use crate::bad_input::Folder;
use crate::codes::SEASON;

fn day(n: u64) -> NaiveDate {
    NaiveDate::from_ymd_opt(2027, 3, 1).unwrap() + Days::new(n)
}

/// A tank of 20 inches, and of as many liters.
fn nitrogen(filled: &[u64], readings: &[(u64, f64)]) -> Nitrogen {
    Nitrogen {
        full: Some((20.0, LevelUnit::Inches)),
        full_inches: Some(20.0),
        filled: filled.iter().map(|n| day(*n)).collect(),
        readings: readings
            .iter()
            .map(|(n, inches)| Reading {
                date: day(*n),
                share: inches / 20.0,
            })
            .collect(),
        limit: None,
        opening: None,
        margin_days: 7,
    }
}

fn near(a: f64, b: f64) {
    assert!((a - b).abs() < 5e-4, "{a} is not {b}");
}

/// By hand: 20, 18 and 17 in. on days 0, 10 and 20. Means 10 days and 18.3333 in.; the squares of
/// the days are 200, the products -30: 0.15 in. a day. What is left over is 0.1667, -0.3333 and
/// 0.1667 in., squares 0.16667, on one degree of freedom: standard error sqrt(0.16667 / 200) =
/// 0.02887. Student's t for one degree is 12.706: at most 0.15 + 0.3668 = 0.5168 in. a day.
#[test]
fn loss_of_one_filling_by_hand() {
    let (levels, rises) = stretches(&nitrogen(&[0], &[(10, 18.0), (20, 17.0)]));
    assert!(rises.is_empty());
    let fit = fit(&levels).unwrap();
    near(fit.a_day * 20.0, 0.15);
    near(fit.error.unwrap() * 20.0, 0.028_87);
    near(fit.at_most().unwrap() * 20.0, 0.5168);
    assert_eq!((fit.levels, fit.spare), (3, 1));
}

/// By hand: two fillings, on days 0 and 30; 18 in. on day 10 and 19 in. on day 40. The stretches
/// lose 0.2 and 0.1 in. a day over as many days: 0.15 together. Each level is 0.25 in. off; squares
/// 0.25 on 4 - 2 - 1 = 1 degree of freedom; standard error sqrt(0.25 / 100) = 0.05.
#[test]
fn loss_over_two_fillings_by_hand() {
    let (levels, _) = stretches(&nitrogen(&[0, 30], &[(10, 18.0), (40, 19.0)]));
    assert_eq!(levels.len(), 2);
    let fit = fit(&levels).unwrap();
    near(fit.a_day * 20.0, 0.15);
    near(fit.error.unwrap() * 20.0, 0.05);
    assert_eq!((fit.levels, fit.spare), (4, 1));
}

/// A level that is read on the day of a filling takes the filling's place; one that rises begins
/// anew; and a tank that loses nothing, or was read once, tells nothing.
#[test]
fn fillings_and_rises_part_the_stretches() {
    let (levels, rises) = stretches(&nitrogen(&[0], &[(0, 19.0), (10, 18.0), (20, 19.5)]));
    assert_eq!(rises, [day(20)]);
    let lengths: Vec<usize> = levels.iter().map(Vec::len).collect();
    assert_eq!(lengths, [2, 1]);
    near(levels[0][0].share * 20.0, 19.0);
    // Half an inch of twenty is the dipstick.
    assert!(
        stretches(&nitrogen(&[], &[(0, 18.0), (5, 18.5)]))
            .1
            .is_empty()
    );
    assert_eq!(fit(&stretches(&nitrogen(&[], &[(0, 18.0)])).0), None);
    let still = Outlook::of(&nitrogen(&[], &[(0, 18.0), (9, 18.0)]), &[], None);
    assert_eq!((still.fit, still.below_on), (None, None));
}

/// By hand: 13 in. on day 0, 12 in. on day 10: 0.1 in. a day, and nothing left over to tell how
/// sure. The limit is 6 in. (KSU-BT): 60 days later the tank is at it, on day 71 below. A week
/// before its last good day, day 70, is day 63.
#[test]
fn the_day_to_refill_by_hand() {
    let n = nitrogen(&[], &[(0, 13.0), (10, 12.0)]);
    let o = Outlook::of(&n, &[], Some(day(70)));
    assert_eq!(o.below_on, Some(day(71)));
    assert_eq!(o.earliest, o.below_on);
    assert_eq!(o.refill_by, Some(day(63)));
    assert!(!o.runs_low);
    near(o.days.last().unwrap().share * 20.0, 6.0);
    assert!(Outlook::of(&n, &[], Some(day(71))).runs_low);
    // The user's own value decides: at 10 in. it is day 31.
    let own = Nitrogen {
        limit: Some(0.5),
        ..n.clone()
    };
    assert_eq!(Outlook::of(&own, &[], None).below_on, Some(day(31)));
    // A filling on day 40 begins anew: 14 in. above the limit are 140 days.
    let filled = Nitrogen {
        filled: vec![day(40)],
        ..n
    };
    assert_eq!(Outlook::of(&filled, &[], None).below_on, Some(day(181)));
}

#[test]
fn a_filling_after_a_low_reading_counts() {
    // By hand: 7 in. on day 0, 5 in. on day 20, 0.1 in. a day; full again on day 21. At the limit of
    // 6 in. 140 days later, day 161, below on 162; a week before its last good day is day 154.
    let n = nitrogen(&[21], &[(0, 7.0), (20, 5.0)]);
    let o = Outlook::of(&n, &[], Some(day(100)));
    assert_eq!(o.filled_since, Some(day(21)));
    assert_eq!((o.below_on, o.refill_by), (Some(day(162)), Some(day(154))));
    assert!(!o.runs_low && !o.may_run_low);
    // A filling to come too, as long as the nitrogen lasts: 5 in. are gone on day 70.
    let late = |filled| Outlook::of(&nitrogen(&[filled], &[(0, 7.0), (20, 5.0)]), &[], None);
    assert_eq!(late(69).filled_since, Some(day(69)));
    assert_eq!(late(69).refill_by, Some(day(69 + 133)));
    assert_eq!(late(75).filled_since, None);
    let expected = (Some(day(20)), Some(day(20)));
    assert_eq!((late(75).below_on, late(75).refill_by), expected);
    // A reading above the limit, and a filling that comes too late: refill before it.
    let n = nitrogen(&[60], &[(0, 9.0), (20, 7.0)]);
    let o = Outlook::of(&n, &[], None);
    assert_eq!((o.filled_since, o.below_on), (None, Some(day(31))));
}

/// By hand: the same tank with half an inch gone at each opening. Four openings after the last
/// reading are 2 in., or 20 days of standing: below on day 51 in place of 71. An opening on the day
/// of the last reading, or before, is in the reading.
#[test]
fn openings_count_after_the_last_reading() {
    let n = Nitrogen {
        opening: Some(0.5 / 20.0),
        ..nitrogen(&[], &[(0, 13.0), (10, 12.0)])
    };
    let openings = [5, 10, 20, 20, 21, 22].map(day);
    let o = Outlook::of(&n, &openings, Some(day(60)));
    assert_eq!(o.below_on, Some(day(51)));
    let twice = o.days.iter().find(|d| d.date == day(20)).unwrap();
    assert_eq!(twice.openings, 2);
    near(twice.share * 20.0, 12.0 - 1.0 - 1.0);
    assert!(o.runs_low);
}

/// The published least levels: 3 to 6 in. (WISC-TANK), 6 in. (KSU-BT), 15 cm (IASRI), about 10 in.
/// (CF-DALTON).
#[test]
fn published_minimum_levels() {
    let told: Vec<(f64, Option<f64>)> = MINIMUMS.iter().map(|m| (m.0, m.1)).collect();
    let iasri = (15.0_f64 / 2.54 * 10.0).round() / 10.0;
    let expected = [(3.0, Some(6.0)), (6.0, None), (iasri, None), (10.0, None)];
    assert_eq!(told, expected);
    assert!(MINIMUMS.iter().all(|m| sources::find(m.2).is_some()));
    assert!((USUAL_INCHES - 6.0).abs() < 1e-12);
}

fn planned(text: &str) -> (Season, Plan) {
    let (season, found) = season::read("s.yaml", text.as_bytes(), &Library::built_in()).unwrap();
    let plan = pipeline::plan(&season, &found).unwrap();
    (season, plan)
}

fn with_semen(semen: &str) -> String {
    SEASON.replacen("  - {bull: Ash 1, straws: 40}\n", semen, 1)
}

/// The canister with the fewest straws of the bull is finished first, its cane with the fewest
/// straws before the others, and the top goblet before the bottom one; sexed straws come last.
#[test]
fn straws_are_taken_in_the_order_told() {
    let (season, plan) = planned(&with_semen(
        "  - {bull: Ash 1, straws: 10, tank: t, canister: 1, cane: a}
  - {bull: Ash 1, straws: 5, tank: t, canister: 1, cane: b}
  - {bull: Ash 1, straws: 5, tank: t, canister: 2, cane: c, goblet: bottom}
  - {bull: Ash 1, straws: 5, tank: t, canister: 2, cane: c, goblet: top}
  - {bull: Ash 1, straws: 2, tank: t, canister: 2, cane: d}
  - {bull: Ash 1, straws: 1, tank: t, canister: 3, cane: e, sort: sexed}
",
    ));
    assert_eq!(plan.sessions.len(), 1);
    let allocation = allocation::allocate(&season, &plan);
    let drawn: Vec<(usize, u32)> = allocation.drawn[0]
        .iter()
        .map(|d| (d.stock, d.straws))
        .collect();
    assert_eq!(drawn, [(4, 2), (3, 5), (2, 5), (1, 5), (0, 3)]);
    let answer = tank::look(&season, &plan);
    let t = &answer.tanks[0];
    assert_eq!((t.straws, t.left_straws, answer.short_straws), (28, 8, 0));
    assert_eq!(t.sessions[0].lifted_canisters, [1, 2]);
    // Nobody listed the tank: it has the canisters that are named.
    assert_eq!((t.listed, t.canisters.len()), (false, 3));
}

/// A table of straws stands in the place of `semen`: the plan is the same, and faults are found in
/// the table's own line and column.
#[test]
fn a_table_of_straws_is_as_good_as_the_list() {
    let list = with_semen(
        "  - {bull: Ash 1, straws: 20, straw_ml: 0.25, tank: t, canister: 1, cane: a, goblet: top, sort: sexed}
  - {bull: Ash 1, straws: 20, cane: b}
",
    );
    let table = "Straws;bull;straw ml;tank;canister;cane;goblet;sort\n\
                 20;Ash 1;0,25;t;1;a;TOP;sexed\n\n20;Ash 1;;;;b;;\n";
    let named = SEASON.replacen(
        "semen:\n  - {bull: Ash 1, straws: 40}\n",
        "semen_file: straws.csv\n",
        1,
    );
    let read = |table: &str| {
        let load = |_: &season::StrawFile| Ok(("straws.csv".to_owned(), table.as_bytes().to_vec()));
        season::read_with("s.yaml", named.as_bytes(), &Library::built_in(), &load)
    };
    let (of_table, _) = read(table).unwrap();
    let (season, _) = planned(&list);
    assert_eq!(of_table.bulls, season.bulls);
    // A rule of the list, broken in the table.
    let error = read("bull,straws,cane,straw_ml\nAsh 1,20,a,0.5\nAsh 1,20,a,0.25\n").unwrap_err();
    let place = error.findings()[0].place.clone().unwrap();
    assert_eq!(place.to_string(), "straws.csv:3:12 straw_ml");
    // Without the file at hand, and without either.
    let error = season::read("s.yaml", named.as_bytes(), &Library::built_in()).unwrap_err();
    assert_eq!(error.findings()[0].code.as_str(), "F101");
    let none = named.replacen("semen_file: straws.csv\n", "", 1);
    let (assumed, _) = season::read("s.yaml", none.as_bytes(), &Library::built_in()).unwrap();
    assert!(assumed.bulls.iter().all(|b| b.assumed));
}

const LOW: &str = "tanks:
  - id: big
    canisters: 6
    full_inches: 18
    readings: [{date: 2027-03-01, inches: 13}, {date: 2027-03-11, inches: 12}]
semen:
  - {bull: Ash 1, straws: 10, tank: big, canister: 2, cane: a1}
  - {bull: Ash 1, straws: 10, tank: big, canister: 2, cane: a2}
";

/// As in the worked example: 12 in. on 11 March, 0.1 in. a day, 6 in. on 10 May; below on the 11th,
/// and the cows are bred on the 13th.
#[test]
fn the_command_says_when_a_tank_runs_low() {
    let season = SEASON.replacen("semen:\n  - {bull: Ash 1, straws: 40}\n", LOW, 1);
    let folder = Folder::with("s.yaml", &season);
    let told = folder.run(&["tank", "s.yaml"]);
    let text = told.out;
    assert_eq!(told.code, 1, "{text}");
    assert!(text.lines().all(|l| l.chars().count() <= 80), "{text}");
    for words in ["REFILL BY Mon 3 May 2027", "T203", "gloves"] {
        assert!(text.contains(words), "{words}: {text}");
    }
    // Canister 2: straws before and after.
    let words = |l: &str| l.split_whitespace().map(str::to_owned).collect::<Vec<_>>();
    assert!(text.lines().any(|l| words(l) == ["2", "20", "0"]), "{text}");
    // The plan says it too, once, and the page.
    let (_, plan) = planned(&season);
    let low = plan.findings.iter().filter(|f| f.code.as_str() == "T203");
    assert_eq!((low.count(), plan.verdict.rules_broken), (1, true));
    let told = folder.run(&["tank", "s.yaml", "--json", "--tank", "big"]);
    assert_eq!(told.code, 1);
    let answer: tank::TankReport = serde_json::from_str(&told.out).unwrap();
    let n = answer.tanks[0].nitrogen.as_ref().unwrap();
    assert_eq!(n.below_on, NaiveDate::from_ymd_opt(2027, 5, 11));
    assert_eq!(answer.findings.len(), 1);
    let judge = jsonschema::validator_for(&schema_of::<tank::TankReport>()).unwrap();
    assert!(judge.is_valid(&told.json()));
    let told = folder.run(&["tank", "s.yaml", "--tank", "bg"]);
    told.refused(&["did you mean `big`"]);
    // Filled in time it is well.
    let filled = LOW.replacen("readings", "filled: [2027-05-01]\n    readings", 1);
    let text = SEASON.replacen("semen:\n  - {bull: Ash 1, straws: 40}\n", &filled, 1);
    folder.write("s.yaml", &text);
    let told = folder.run(&["tank", "s.yaml"]);
    assert_eq!(told.code, 0, "{}", told.out);
    let (_, plan) = planned(&text);
    assert!(plan.findings.iter().all(|f| f.code.as_str() != "T203") && plan.is_well());
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(60))]

    /// Levels on lines of one slope give that slope back, whatever the fillings; and the day below
    /// the limit is where plain arithmetic puts it.
    #[test]
    fn a_straight_loss_is_found(
        loss in 0.02..0.3_f64,
        gaps in prop::collection::vec(1..15_u64, 2..8),
        refill in 0..6_usize,
    ) {
        let (mut at, mut since) = (0, 0);
        let (mut filled, mut readings) = (vec![0], Vec::new());
        for (k, gap) in gaps.iter().enumerate() {
            at += gap;
            if k == refill {
                filled.push(at);
                since = at;
            } else {
                readings.push((at, 20.0 - loss * (at - since) as f64));
            }
        }
        prop_assume!(!readings.is_empty() && readings.iter().all(|r| r.1 > 6.5));
        let n = nitrogen(&filled, &readings);
        let o = Outlook::of(&n, &[], None);
        let found = o.fit.unwrap();
        prop_assert!((found.a_day * 20.0 - loss).abs() < 1e-9);
        prop_assert!(found.error.is_none_or(|e| e < 1e-9));
        let (last, inches) = *readings.last().unwrap();
        let late = filled.iter().find(|d| **d > last);
        // Low before a filling to come is low all the same, and another case.
        prop_assume!(late.is_none_or(|d| inches - loss * (*d - last) as f64 > 6.5));
        let (from, inches) = late.map_or((last, inches), |d| (*d, 20.0));
        let expected = day(from + ((inches - 6.0) / loss + 1e-6).floor() as u64 + 1);
        let off = (o.below_on.unwrap() - expected).num_days();
        prop_assert!(off.abs() <= 1, "{off}");
        prop_assert!(o.earliest <= o.below_on);
    }

    /// More openings never make a tank last longer, and a smaller limit never makes it shorter.
    #[test]
    fn openings_and_limits_pull_one_way(
        opened in prop::collection::vec(11..60_u64, 0..8),
        limit in 0.1..0.4_f64,
    ) {
        let n = Nitrogen {
            opening: Some(0.01),
            limit: Some(limit),
            ..nitrogen(&[0], &[(5, 19.0), (10, 18.2)])
        };
        let days: Vec<NaiveDate> = opened.iter().map(|d| day(*d)).collect();
        let with = Outlook::of(&n, &days, None);
        let without = Outlook::of(&n, &[], None);
        prop_assert!(with.below_on <= without.below_on);
        prop_assert!(with.refill_by <= without.refill_by);
        let lower = Nitrogen { limit: Some(limit - 0.05), ..n };
        prop_assert!(with.below_on <= Outlook::of(&lower, &days, None).below_on);
    }

    /// Every straw of the plan comes out of one place, no place gives more than it has, and a
    /// session comes back to no canister that it has left.
    #[test]
    fn straws_add_up(
        canes in prop::collection::vec((1..4_u32, 0..9_u32, 0..2_usize), 1..9),
    ) {
        let mut semen = String::new();
        for (n, (canister, straws, goblet)) in canes.iter().enumerate() {
            let goblet = ["top", "bottom"][*goblet];
            let _ = writeln!(
                semen,
                "  - {{bull: Ash 1, straws: {straws}, tank: t, canister: {canister}, cane: c{n}, goblet: {goblet}}}"
            );
        }
        let (season, plan) = planned(&with_semen(&semen));
        let allocation = allocation::allocate(&season, &plan);
        let wanted: u32 = plan.sessions.iter().flat_map(|s| &s.straws).map(|s| s.straws).sum();
        let had: u32 = canes.iter().map(|c| c.1).sum();
        prop_assert_eq!(wanted, had.min(20));
        let taken: u32 = allocation.drawn.iter().flatten().map(|d| d.straws).sum();
        prop_assert_eq!((taken, allocation.short), (wanted, 0));
        let left: u32 = allocation.stocks.iter().map(|s| s.left).sum();
        prop_assert_eq!(left + taken, had);
        for drawn in &allocation.drawn {
            let mut order: Vec<Option<u32>> =
                drawn.iter().map(|d| allocation.stocks[d.stock].place.canister).collect();
            order.dedup();
            let mut once = order.clone();
            once.sort();
            once.dedup();
            prop_assert_eq!(order.len(), once.len());
        }
    }
}

/// A bull is one bull in any writing, so two writings of one are an error before any plan.
#[test]
fn a_bull_in_two_writings_is_an_error() {
    for (first, then) in [
        ("Ash 1", "ASH 1"),
        ("840003123456789", "840 003 123 456 789"),
    ] {
        let semen = format!("{{bull: {first}, straws: 30}}\n  - {{bull: {then}, straws: 20}}");
        let text = SEASON
            .replace("[Ash 1]", &format!("[\"{first}\"]"))
            .replace(
                "{bull: Ash 1, straws: 40}",
                &semen
                    .replace("bull: 840", "bull: \"840")
                    .replace("789,", "789\","),
            );
        let error = season::read("s.yaml", text.as_bytes(), &Library::built_in()).unwrap_err();
        let found = &error.findings()[0];
        assert_eq!(found.code.as_str(), "S104", "{found:?}");
        assert_eq!(found.place.as_ref().unwrap().field, "semen[1].bull");
    }
}
