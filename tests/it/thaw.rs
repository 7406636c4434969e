//! Thaw rounds by the minute: against the plan, against the verifier under damage, on random
//! seasons, and by hand where a round can be worked by hand.

use chrono::TimeDelta;
use proptest::prelude::*;
use thawline::output::answer::Answer as _;
use thawline::plan::Plan;
use thawline::season::Season;
use thawline::thaw::{self, SessionThaw, of_session};
use thawline::verify::thaw::check_all;

use crate::bad_input::{Folder, at_demo};
use crate::support::{crew_season, demo, plan_of, small};

fn all(season: &Season, plan: &Plan) -> Vec<SessionThaw> {
    let sessions = plan.sessions.iter();
    sessions
        .filter_map(|s| of_session(season, plan, s))
        .collect()
}

fn wrong(season: &Season, plan: &Plan, told: &[SessionThaw]) -> Vec<String> {
    let told: Vec<&SessionThaw> = told.iter().collect();
    let found = check_all(season, plan, &told);
    found.iter().map(ToString::to_string).collect()
}

fn one(text: &str) -> SessionThaw {
    let (season, plan) = plan_of(text);
    let mut told = all(&season, &plan);
    assert_eq!(told.len(), 1);
    assert_eq!(wrong(&season, &plan, &told), [""; 0]);
    told.remove(0)
}

/// The rules' codes in the findings.
fn codes(s: &SessionThaw) -> Vec<&str> {
    s.findings.iter().map(|f| f.code.as_str()).collect()
}

const ALONE: &str = "[{id: ana, minutes_per_cow: 3, minutes_spread: 0, straws_at_once: 3}]";

#[test]
fn the_demo_has_sound_rounds() {
    let (season, plan) = plan_of(&demo());
    let told = all(&season, &plan);
    assert_eq!(told.len(), 4);
    assert_eq!(wrong(&season, &plan, &told), [""; 0]);
    for (s, p) in told.iter().zip(&plan.sessions) {
        assert_eq!(s.head, p.head);
        let finds = codes(s);
        // Its herd files have no order at the chute, and two groups have straws of two bulls.
        assert!(
            finds.iter().all(|c| ["W111", "T114"].contains(c)),
            "{finds:?}"
        );
    }
}

/// By hand: 45 s in the bath, three guns of 30 s, cows of 3 min. Alone the first cow is bred 45 + 90 +
/// 180 = 315 s after the bath, the last 315 + 360 = 675 s, 11.25 min; the next round begins 60 s later.
#[test]
fn a_round_by_hand() {
    let s = one(&crew_season(6, ALONE, "{}"));
    let rounds = &s.technicians[0].rounds;
    assert_eq!(rounds.len(), 2);
    for r in rounds {
        let after = |at: thawline::plan::Moment| (at - r.bath_at).num_seconds();
        assert_eq!(after(r.earliest_out), 45);
        assert_eq!(after(r.first_gun), 75);
        assert_eq!(after(r.cow_by), 900);
        let bred: Vec<i64> = r.straws.iter().map(|s| after(s.bred_at)).collect();
        assert_eq!(bred, [315, 495, 675]);
        assert!((r.last_straw_minutes - 11.25).abs() < 1e-9);
        // Two straws a lift: the first two at the bath's moment, the third 5 s later.
        let lifts: Vec<i64> = r.lifts.iter().map(|l| after(l.at)).collect();
        assert_eq!(lifts, [-5, 0]);
        let put_in: Vec<i64> = r.straws.iter().map(|s| after(s.in_at)).collect();
        assert_eq!(put_in, [0, 0, 5]);
        let out: Vec<i64> = r.straws.iter().map(|s| after(s.out_at)).collect();
        assert_eq!(out, [45, 75, 105]);
    }
    assert_eq!((rounds[1].bath_at - rounds[0].bath_at).num_seconds(), 735);
    // Four lifts of 5 s, and the pace of the plan in the table.
    assert_eq!((s.canisters[0].lifts, s.canisters[0].straws), (4, 6));
    assert!((s.canisters[0].seconds - 20.0).abs() < 1e-9);
    let row = &s.technicians[0].alone[2];
    assert!(row.planned && row.safe && (row.last_straw_minutes - 11.25).abs() < 1e-9);
    // Three cows in 735 s.
    assert!((row.head_per_hour - 14.69).abs() < 0.005);
    assert!(s.technicians[0].helped.iter().all(|r| !r.planned));
}

fn with_semen(text: &str, semen: &str) -> String {
    let (before, rest) = text.split_once("semen: ").unwrap();
    let (_, rules) = rest.split_once('\n').unwrap();
    format!("{before}semen: {semen}\n{rules}")
}

/// Straws of two canisters: one is finished before the other, and only one round has both.
#[test]
fn a_canister_is_finished_before_the_next() {
    let semen = "[{bull: Ash 1, straws: 20, tank: a, canister: 2, cane: x}, {bull: Ash 1, straws: 10, tank: a, canister: 1, cane: y}]";
    let s = one(&with_semen(
        &crew_season(20, ALONE, "{straws_a_lift: 10}"),
        semen,
    ));
    let straws = s.technicians[0].rounds.iter().flat_map(|r| &r.straws);
    let canisters: Vec<u32> = straws.map(|x| x.canister.unwrap()).collect();
    let changes = canisters.windows(2).filter(|w| w[0] != w[1]).count();
    assert_eq!((canisters[0], changes), (1, 1));
    // Seven rounds; the one with both canisters needs two lifts.
    let lifts: Vec<u32> = s.canisters.iter().map(|c| c.lifts).collect();
    assert_eq!(lifts, [4, 4]);
}

/// Ten percent of the straws thawed are wasted: 20 used are 90 % of 22.2, so three are set aside.
#[test]
fn waste_is_set_aside_or_told_of() {
    let text = crew_season(20, ALONE, "{straws_wasted_percent: 10}");
    let s = one(&text);
    assert_eq!((s.waste[0].straws, s.waste[0].lacking_straws), (3, 3));
    assert!(codes(&s).contains(&"W108"));
    let two = with_semen(&text, "[{bull: Ash 1, straws: 22}]");
    let s = one(&two);
    assert_eq!((s.waste[0].straws, s.waste[0].lacking_straws), (3, 1));
    // The plan brings the two that are there, and says of the third that it is lacking.
    let (season, mut plan) = plan_of(&two);
    assert_eq!(plan.sessions[0].spare_straws[0].straws, 2);
    let given = (plan.bulls[0].left_straws, plan.bulls[0].spare_straws);
    assert_eq!(given, (2, 2));
    assert_eq!(
        plan.findings
            .iter()
            .filter(|f| f.code.as_str() == "W108")
            .count(),
        1
    );
    let words = thawline::output::text::plan(&plan);
    assert!(words.contains("20 x Ash 1 and 2 to spare"), "{words}");
    assert!(thawline::output::page::page(&plan).contains("to spare for cows that never come"));
    plan.sessions[0].spare_straws[0].straws = 1;
    assert!(!thawline::verify::verify(&season, &plan).is_empty());
    let s = one(&with_semen(&text, "[{bull: Ash 1, straws: 23}]"));
    assert_eq!((s.waste[0].straws, s.waste[0].lacking_straws), (3, 0));
    assert!(!codes(&s).contains(&"W108"));
}

/// A group planned whole for two breedings takes the same straws twice: waste is counted once, 10 % of
/// 44.4 thawed for 40 cows.
#[test]
fn waste_of_a_group_planned_twice_is_counted_once() {
    let text = crew_season(40, ALONE, "{straws_wasted_percent: 10}")
        .replace("class: cow", "class: heifer")
        .replace("cow-7-day-co-synch-insert", "heifer-mga-pg-split")
        .replace("order: kept", "order: mixed");
    let (_, plan) = plan_of(&with_semen(&text, "[{bull: Ash 1, straws: 48}]"));
    let brought: u32 = plan
        .sessions
        .iter()
        .flat_map(|s| &s.straws)
        .map(|b| b.straws)
        .sum();
    assert!(brought > plan.bulls[0].planned_straws, "{brought}");
    let wasted = (f64::from(plan.bulls[0].planned_straws) / 9.0).ceil() as u32;
    assert_eq!(plan.bulls[0].spare_straws, wasted);
    assert!(plan.findings.iter().all(|f| f.code.as_str() != "W108"));
}

/// The limits of each size of straw: 45 s and 10 s for 0.5 mL, 30 s and 8 s for 0.25 mL.
#[test]
fn limits_go_by_the_size_of_the_straw() {
    for (ml, thaw, lift, expected) in [
        (0.5, 45, 10, &[][..]),
        (0.5, 44, 10, &["W109"]),
        (0.5, 45, 11, &["W110"]),
        (0.25, 30, 8, &[]),
        (0.25, 29, 9, &["W109", "W110"]),
    ] {
        let rules = format!("{{thaw_seconds: {thaw}, lift_seconds: {lift}, straws_a_lift: 10}}");
        let semen = format!("[{{bull: Ash 1, straws: 20, straw_ml: {ml}, canister: 1}}]");
        let s = one(&with_semen(&crew_season(6, ALONE, &rules), &semen));
        assert_eq!(codes(&s), expected, "{ml} {thaw} {lift}");
    }
}

/// Three straws at once want 3 / 18.46 = 0.163 L without heat.
#[test]
fn a_bath_that_cools_is_told_of() {
    let text = with_semen(
        &crew_season(6, ALONE, "{}"),
        "[{bull: Ash 1, straws: 9, canister: 1}]",
    );
    for (bath, cools) in [
        ("bath_liters: 0.16", true),
        ("bath_liters: 0.17", false),
        ("bath_liters: 0.16, bath_heater_watts: 300", false),
        ("bath_liters: 0.16, bath_heater_watts: 1", true),
    ] {
        let s = one(&text.replace("breeding_boxes: 2", &format!("breeding_boxes: 2, {bath}")));
        assert_eq!(codes(&s).contains(&"W112"), cools, "{bath}");
    }
    let hot = |key: &str| {
        let s = one(&text.replace(
            "breeding_boxes: 2",
            &format!("breeding_boxes: 2, bath_liters: 1, {key}"),
        ));
        s.bath.volumes[0].add_liters
    };
    // 140 F is 60 C, 25 C above 95 F: 1.667 / 25 of a litre.
    assert_eq!(hot("hot_water_f: 140"), Some(0.067));
    assert_eq!(hot("hot_water_c: 60"), Some(0.067));
}

type Damage = (&'static str, fn(&mut SessionThaw));

/// Each does one thing wrong, as a faulty program might.
const DAMAGE: &[Damage] = &[
    ("a straw too old", |s| {
        s.technicians[0].rounds[1].bath_at -= TimeDelta::minutes(8);
    }),
    ("a round too early", |s| {
        s.technicians[1].rounds[1].bath_at -= TimeDelta::seconds(30);
    }),
    ("a straw out too soon", |s| {
        s.technicians[0].rounds[0].straws[0].out_at -= TimeDelta::seconds(10);
    }),
    ("a limit that is too far off", |s| {
        s.technicians[0].rounds[0].cow_by += TimeDelta::minutes(1);
    }),
    ("a straw from a canister where it is not", |s| {
        s.technicians[0].rounds[0].straws[0].canister = Some(9);
    }),
    ("a straw from another cane", |s| {
        s.technicians[0].rounds[0].straws[0].cane = Some("zz".into());
    }),
    ("a bull the group may not use", |s| {
        for t in &mut s.technicians {
            for straw in t.rounds.iter_mut().flat_map(|r| &mut r.straws) {
                straw.bull = "Quartz 9".into();
            }
        }
    }),
    ("a place with fewer straws", |s| {
        for t in &mut s.technicians {
            for straw in t.rounds.iter_mut().flat_map(|r| &mut r.straws) {
                if straw.bull == "Dry Fork 12" {
                    straw.place = 7;
                    straw.canister = Some(3);
                    straw.cane = Some("DF12-7".into());
                }
            }
        }
    }),
    ("a cow without a straw", |s| {
        s.technicians[0].rounds[0].straws.pop();
    }),
    ("a cow with two straws", |s| {
        let straw = s.technicians[0].rounds[0].straws[0].clone();
        s.technicians[0].rounds[0].straws.push(straw);
    }),
    ("two rounds in one", |s| {
        let next = s.technicians[0].rounds.remove(1);
        s.technicians[0].rounds[0].straws.extend(next.straws);
    }),
    ("two animals that change places", |s| {
        let animal = s.technicians[0].rounds[0].straws[0].animal;
        s.technicians[0].rounds[0].straws[0].animal = s.technicians[0].rounds[1].straws[0].animal;
        s.technicians[0].rounds[1].straws[0].animal = animal;
    }),
    ("a lift that takes too long", |s| {
        s.technicians[0].rounds[0].lifts[0].at -= TimeDelta::seconds(20);
    }),
    ("more straws a lift than the rule says", |s| {
        s.technicians[0].rounds[0].lifts[0].straws = 3;
    }),
    ("two canisters up at once", |s| {
        let (at, down) = (
            s.technicians[1].rounds[0].lifts[0].at,
            s.technicians[1].rounds[0].lifts[0].down,
        );
        let lift = &mut s.technicians[0].rounds[0].lifts[0];
        (lift.at, lift.down) = (at, down);
        let tank = s.technicians[1].rounds[0].lifts[0].tank.clone();
        s.technicians[0].rounds[0].lifts[0].tank = tank;
    }),
    ("a lift that is not counted", |s| {
        s.canisters[0].lifts -= 1;
    }),
    ("seconds in the neck left out", |s| {
        s.canisters[0].seconds -= 5.0;
    }),
    ("a technician left out", |s| {
        s.technicians.pop();
    }),
    ("waste that nobody asked for", |s| {
        s.waste.push(thaw::Waste {
            bull: "Dry Fork 12".into(),
            straws: 1,
            lacking_straws: 0,
            places: Vec::new(),
        });
    }),
    ("a gun late that is not told", |s| {
        s.technicians[0].rounds[0].gun_late_seconds += 60;
    }),
    ("a pace that is not the plan's", |s| {
        for row in &mut s.technicians[0].helped {
            row.last_straw_minutes -= 1.0;
        }
    }),
    ("a bath that is too full", |s| {
        for t in &mut s.technicians {
            for straw in t.rounds.iter_mut().flat_map(|r| &mut r.straws) {
                straw.out_at += TimeDelta::minutes(60);
            }
        }
    }),
];

#[test]
fn damage_to_rounds_is_seen() {
    let (season, plan) = plan_of(&demo());
    let good = all(&season, &plan);
    for (what, damage) in DAMAGE {
        let mut told = good.clone();
        // Of two bulls.
        damage(&mut told[1]);
        assert!(!wrong(&season, &plan, &told).is_empty(), "{what}");
    }
}

/// Nobody else's damage: the bath's places are counted by themselves.
#[test]
fn a_full_bath_is_seen_by_itself() {
    let (mut season, plan) = plan_of(&demo());
    let told = all(&season, &plan);
    for site in &mut season.sites {
        site.thaw_bath.0 = 1;
    }
    let found = wrong(&season, &plan, &told);
    assert!(
        found.iter().any(|f| f.contains("straws in it")),
        "{found:?}"
    );
}

#[test]
fn sessions_are_listed_and_unknown_ones_answered() {
    let told = at_demo(&["thaw", "demo/season.yaml"]);
    assert_eq!(told.code, 0);
    assert!(told.out.contains("first-calf/1/ai@creek"), "{}", told.out);
    for (args, said) in [
        ("late/1/ai@crek", "did you mean `late/1/ai@creek`?"),
        ("late/1/ai@creek --technician coe", "breeds no cow for"),
        ("late/1/ai@creek --technician anna", "did you mean `ana`?"),
    ] {
        let args = ["thaw", "demo/season.yaml", "--session"]
            .into_iter()
            .chain(args.split(' '));
        at_demo(&args.collect::<Vec<_>>()).refused(&[said]);
    }
}

#[test]
fn the_page_has_a_sheet_for_each_technician() {
    let folder = Folder::new();
    let file = folder.path().join("wall.html");
    let words = "thaw demo/season.yaml --session first-calf/1/ai@creek --page";
    let args = words.split(' ').chain(file.to_str());
    assert_eq!(at_demo(&args.collect::<Vec<_>>()).code, 0);
    let page = std::fs::read_to_string(&file).unwrap();
    assert_eq!(page.matches("<section class=\"sheet\"").count(), 2);
    assert!(!page.contains("<script") && !page.contains("http"));
    // A box to tick for each round, beside those of the checklist.
    assert!(page.matches("class=\"clock bath\"").count() >= 60 / 3);
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(60))]

    #[test]
    fn random_seasons_have_sound_rounds(seed in any::<u64>(), wasted in 0u32..20, lift in 1u32..12, few in 1u32..5) {
        let rules = format!("rules: {{straws_wasted_percent: {wasted}, lift_seconds: {lift}, straws_a_lift: {few}, ");
        let text = small(seed).replace("rules: {", &rules);
        let text = text.replace("bull: b0,", "bull: b0, tank: t, canister: 1,").replace("bull: b1,", "bull: b1, tank: t, canister: 2,");
        let (season, plan) = plan_of(&text);
        let told = all(&season, &plan);
        let found = wrong(&season, &plan, &told);
        prop_assert!(found.is_empty(), "{:#?}", found);
        for s in told {
            let thaw = thaw::of_plan(&season, &plan, Some(&s.session));
            for line in thaw.text().lines() {
                prop_assert!(line.chars().count() <= 80, "{}", line);
            }
        }
    }
}
