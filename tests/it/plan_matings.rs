//! One truth about straws: plan, tank, thaw rounds and matings name the same ones.

use std::collections::BTreeMap;
use std::fmt::Write as _;

use proptest::prelude::*;
use serde_json::Value;
use thawline::error::Code;
use thawline::herd::{self, Herd};
use thawline::matings::{Input, Matings};
use thawline::output::answer::Answer as _;
use thawline::pipeline::Options;
use thawline::plan::{Plan, Remark};
use thawline::season::{self, Season};
use thawline::thaw::{SessionThaw, of_session};
use thawline::{pipeline, tank, verify};

use crate::bad_input::{Folder, at_demo};
use crate::support::{Dice, LIBRARY, crew_season, small};

/// Where a straw is: bull, tank, canister, cane.
type At = (String, Option<String>, Option<u64>, Option<String>);

/// A plan is made with straws as in these matings.
fn as_in(matings: &Matings) -> Options<'_> {
    Options {
        matings: Some(matings),
        ..Options::default()
    }
}

fn json(args: &[&str]) -> Value {
    at_demo(&[args, &["--json"]].concat()).json()
}

fn text(v: &Value) -> Option<String> {
    v.as_str().map(str::to_owned)
}

fn at(s: &Value, tank: &Value) -> At {
    let bull = s["bull"].as_str().unwrap().to_owned();
    (bull, text(tank), s["canister"].as_u64(), text(&s["cane"]))
}

/// The four commands on the demo season, read from outside: each group with a herd has the straws of
/// its matings in the plan, on the canes of the tank, and in the rounds.
#[test]
fn four_commands_name_the_same_straws() {
    let season = "demo/season.yaml";
    let matings = json(&["matings", season]);
    let plan = json(&["plan", season]);
    let tank = json(&["tank", season]);
    for id in ["first-calf", "heifers"] {
        let of = |v: &Value, key: &str| -> Value {
            let all = v["groups"].as_array().unwrap();
            all.iter().find(|g| g[key] == id).unwrap().clone()
        };
        let group = of(&matings, "group");
        let mut numbers: BTreeMap<String, u64> = BTreeMap::new();
        for c in group["by_bull"].as_array().unwrap() {
            let bull = text(&c["bull"]).unwrap();
            let head = c["head"].as_u64().unwrap();
            numbers.extend((head > 0).then_some((bull, head)));
        }
        let straws = of(&plan, "id")["straws"].clone();
        let planned: BTreeMap<String, u64> = straws
            .as_array()
            .unwrap()
            .iter()
            .map(|s| (text(&s["bull"]).unwrap(), s["straws"].as_u64().unwrap()))
            .collect();
        assert_eq!(numbers, planned);
        let mut own: BTreeMap<At, u64> = BTreeMap::new();
        for a in group["animals"].as_array().unwrap() {
            *own.entry(at(&a["straw"], &a["straw"]["tank"])).or_default() += 1;
        }
        // Each of these groups has a session for itself.
        let session = plan["sessions"].as_array().unwrap().iter();
        let mut session = session.filter(|s| s["pens"][0]["group"] == id);
        let session = session.next().unwrap()["id"].as_str().unwrap();
        let mut taken: BTreeMap<At, u64> = BTreeMap::new();
        for t in tank["tanks"].as_array().unwrap() {
            let here = t["sessions"].as_array().unwrap().iter();
            for s in here.filter(|s| s["session"] == session) {
                for lot in s["taken"].as_array().unwrap() {
                    let of = taken.entry(at(lot, &t["id"])).or_default();
                    *of += lot["straws"].as_u64().unwrap();
                }
            }
        }
        assert_eq!(own, taken, "tank and matings of {id}");
        let thaw = json(&["thaw", season, "--session", session]);
        let mut thawed: BTreeMap<At, u64> = BTreeMap::new();
        for t in thaw["session"]["technicians"].as_array().unwrap() {
            for r in t["rounds"].as_array().unwrap() {
                for s in r["straws"].as_array().unwrap() {
                    *thawed.entry(at(s, &s["tank"])).or_default() += 1;
                }
            }
        }
        assert_eq!(own, thawed, "rounds and matings of {id}");
    }
}

struct Made {
    season: Season,
    herds: BTreeMap<usize, Herd>,
}

struct All {
    matings: Matings,
    plan: Plan,
    rounds: Vec<SessionThaw>,
}

impl Made {
    fn of(season: &str, herds: &[&str]) -> Self {
        let (season, _) = season::read("s.yaml", season.as_bytes(), &LIBRARY)
            .unwrap_or_else(|e| panic!("{e}\n{season}"));
        let herds = season.groups.iter().zip(herds);
        let herds = herds.filter(|(_, text)| !text.is_empty());
        let herds = herds
            .map(|(g, text)| {
                let (herd, _) = herd::read("h.csv", text.as_bytes(), g.class, None).unwrap();
                (g.nth, herd)
            })
            .collect();
        Self { season, herds }
    }

    fn with<T>(&self, ask: impl FnOnce(&Input<'_>) -> T) -> T {
        let own = BTreeMap::new();
        ask(&Input::of(&self.season, &self.herds, &own, None))
    }

    /// Matings, plan and rounds, each of them verified.
    fn all(&self) -> All {
        self.with(|input| {
            let mut matings = pipeline::matings(input, &[]).unwrap();
            let plan = pipeline::plan_with(&self.season, &[], as_in(&matings)).unwrap();
            pipeline::locate_straws(&mut matings, input, &plan).unwrap();
            let sessions = plan.sessions.iter();
            let rounds: Vec<SessionThaw> = sessions
                .filter_map(|s| of_session(&self.season, &plan, s))
                .collect();
            let told: Vec<&SessionThaw> = rounds.iter().collect();
            let wrong = verify::thaw::check_all(&self.season, &plan, &told);
            assert!(wrong.is_empty(), "{wrong:#?}");
            All {
                matings,
                plan,
                rounds,
            }
        })
    }
}

/// Six cows in kept order, with straws of two bulls in two canisters; one bull has both sorts.
fn six() -> String {
    let crew = "[{id: ana, minutes_per_cow: 3, minutes_spread: 0, straws_at_once: 3}]";
    let semen = "[{bull: Ash 1, straws: 3, tank: T, canister: 1, cane: a, goblet: top}, {bull: Ash 1, straws: 2, tank: T, canister: 2, cane: s, sort: sexed}, {bull: Elm 2, straws: 5, tank: T, canister: 3, cane: e}]";
    let text = crew_season(6, crew, "{}").replace("[Ash 1]}", "[Ash 1, Elm 2], herd: h.csv}");
    let (before, rest) = text.split_once("semen: ").unwrap();
    let (_, rules) = rest.split_once('\n').unwrap();
    format!("{before}semen: {semen}\n{rules}")
}

/// By hand: C is a daughter of Ash 1, and B and E are marked. The order at the chute is F to A.
const SIX: &str =
    "animal,sire,sexed,chute_order\nA,x,,6\nB,x,yes,5\nC,Ash 1,,4\nD,x,,3\nE,x,yes,2\nF,x,,1\n";

#[test]
fn rounds_name_the_animals_and_take_their_straws() {
    let made = Made::of(&six(), &[SIX]);
    let All {
        matings,
        plan,
        rounds,
    } = made.all();
    let straws = &plan.groups[0].straws;
    assert_eq!((straws[0].straws, straws[0].sexed_straws), (5, Some(2)));
    assert_eq!((straws[1].straws, straws[1].sexed_straws), (1, None));
    let thawed = rounds[0].technicians[0]
        .rounds
        .iter()
        .flat_map(|r| &r.straws);
    let named: Vec<(&str, &str)> = thawed
        .clone()
        .map(|s| (s.tag.as_deref().unwrap(), s.cane.as_deref().unwrap()))
        .collect();
    let expected = [
        ("F", "a"),
        ("E", "s"),
        ("D", "a"),
        ("C", "e"),
        ("B", "s"),
        ("A", "a"),
    ];
    assert_eq!(named, expected);
    // Three straws of three canes a round: as many lifts, counted.
    let lifts: u32 = rounds[0].canisters.iter().map(|c| c.lifts).sum();
    assert_eq!(lifts, 5);
    for a in &matings.groups[0].animals {
        let (_, cane) = named.iter().find(|(tag, _)| *tag == a.animal).unwrap();
        let straw = a.straw.as_ref().unwrap();
        assert_eq!(straw.cane.as_deref(), Some(*cane), "{}", a.animal);
        let top = (*cane == "a").then_some("top");
        assert_eq!(straw.goblet.as_deref(), top);
    }
    let thaw = thawline::thaw::of_plan(&made.season, &plan, Some(&plan.sessions[0].id));
    let shown = thaw.text();
    let whose = "F (Ash 1, a), E (Ash 1, s), D (Ash 1, a)";
    let words = shown.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(words.contains(whose), "{shown}");
    assert!(shown.lines().all(|l| l.chars().count() <= 80), "{shown}");
    let page = thawline::output::thaw_page::page(&thaw, thaw.session.as_ref().unwrap());
    assert!(page.contains(whose), "{page}");
    let printed = thawline::output::text::plan(&plan);
    assert!(
        printed.contains("5 x Ash 1 (2 sexed), 1 x Elm 2"),
        "{printed}"
    );
}

/// F, the first at the chute, is a half-sister of both bulls. She is bred all the same, with a straw
/// that nobody is mated with, though those of the others are thawed after hers.
#[test]
fn who_has_no_mating_takes_nobodys_straw() {
    let bulls = "bulls: [{id: Ash 1, sire: x}, {id: Elm 2, sire: x}]\nsemen: [{bull: Ash 1, straws: 5, tank: T, canister: 1, cane: a}, {bull: Elm 2, straws: 3, tank: T, canister: 2, cane: e}]";
    let text = six();
    let (before, rest) = text.split_once("semen: ").unwrap();
    let (_, rules) = rest.split_once('\n').unwrap();
    let text = format!("{before}{bulls}\n{rules}");
    let herd = "animal,sire,chute_order\nA,y,6\nB,y,5\nC,y,4\nD,y,3\nE,y,2\nF,x,1\n";
    let All { plan, rounds, .. } = Made::of(&text, &[herd]).all();
    assert_eq!(
        plan.findings
            .iter()
            .filter(|f| f.code.as_str() == "W114")
            .count(),
        1
    );
    let straws = rounds[0].technicians[0]
        .rounds
        .iter()
        .flat_map(|r| &r.straws);
    let told: Vec<(&str, &str)> = straws
        .map(|s| (s.tag.as_deref().unwrap(), s.bull.as_str()))
        .collect();
    assert_eq!(told[0], ("F", "Elm 2"));
    assert!(told[1..].iter().all(|t| t.1 == "Ash 1"), "{told:?}");
}

/// A bull that the user gives to one animal is planned for her, though he is not of her group.
#[test]
fn a_bull_given_is_planned_though_he_is_not_of_the_group() {
    let text = six().replace("[Ash 1, Elm 2]", "[Ash 1]");
    let herd = "animal,sire,sexed,mating\nA,x,,Elm 2\nB,x,yes,\nC,x,yes,\nD,x,,\nE,x,,\nF,x,,\n";
    let made = Made::of(&text, &[herd]);
    made.with(|input| {
        let matings = pipeline::matings(input, &[]).unwrap();
        let season = pipeline::with_given(&made.season, &matings);
        let plan = pipeline::plan_with(&season, &[], as_in(&matings)).unwrap();
        let straws: Vec<(&str, u32)> = plan.groups[0]
            .straws
            .iter()
            .map(|s| (s.bull.as_str(), s.straws))
            .collect();
        assert_eq!(straws, [("Ash 1", 5), ("Elm 2", 1)]);
        assert!(plan.verdict.covered && plan.findings.iter().all(|f| f.code.as_str() != "W114"));
    });
    // Every command plans the same season: nothing is short, though the group's own bull has five straws.
    let folder = Folder::with("s.yaml", &text);
    folder.write("h.csv", herd);
    let run = |command: &str| {
        let told = folder.run(&[command, "s.yaml", "--json"]);
        assert_eq!(told.code, 0, "{command}: {}{}", told.out, told.err);
        told.json()
    };
    let plan = run("plan");
    let mut findings = plan["findings"].as_array().unwrap().iter();
    assert!(findings.all(|f| f["code"] != "S115"), "{plan}");
    assert_eq!(run("chance")["sessions"][0]["head"], 6);
    assert_eq!(run("cover")["verdict"]["uncovered_head"], 0);
}

/// Without the order nobody is named, and no bull's straws come in a block.
#[test]
fn without_the_order_nobody_is_named() {
    let part = SIX.replace("F,x,,1", "F,x,,");
    let all = Made::of(&six(), &[&part]).all();
    assert_eq!(all.plan.groups[0].animals_in_order, None);
    let straws = |r: &SessionThaw| -> Vec<String> {
        let rounds = r.technicians[0].rounds.iter().flat_map(|r| &r.straws);
        rounds.map(|s| s.cane.clone().unwrap()).collect()
    };
    // Each kind's share, in no block: which of them is whose, the tags say.
    assert_eq!(straws(&all.rounds[0]), ["a", "s", "a", "e", "s", "a"]);
    assert!(all.rounds[0].technicians[0].rounds.iter().all(|r| r.by_tag));
    assert!(
        all.rounds[0]
            .findings
            .iter()
            .any(|f| f.code.as_str() == "T114")
    );
    let mixed = six().replace("order: kept", "order: mixed");
    assert_eq!(
        Made::of(&mixed, &[SIX]).all().plan.groups[0].animals_in_order,
        None
    );
}

#[test]
fn damage_between_plan_and_matings_is_seen() {
    let made = Made::of(&six(), &[SIX]);
    let good = made.all();
    let wrong = |plan: &Plan, m: &Matings| verify::plan_matings(&made.season, plan, m).len();
    assert_eq!(wrong(&good.plan, &good.matings), 0);
    let harm: [fn(&mut Plan); 6] = [
        |p| p.groups[0].straws[0].sexed_straws = Some(1),
        |p| p.groups[0].straws[1].straws += 1,
        |p| p.groups[0].animals_in_order.as_mut().unwrap()[0].swap(0, 1),
        |p| p.groups[0].animals_in_order.as_mut().unwrap()[0][0].bull = Some("Elm 2".into()),
        |p| p.groups[0].animals_in_order.as_mut().unwrap()[0][0].sexed = true,
        |p| {
            p.groups[0].animals_in_order.as_mut().unwrap()[0].pop();
        },
    ];
    for (n, harm) in harm.iter().enumerate() {
        let mut plan = good.plan.clone();
        harm(&mut plan);
        assert!(wrong(&plan, &good.matings) > 0, "{n}");
    }
    // Other places than the tank's.
    let placed = |m: &Matings| verify::straw_places(&made.season, &good.plan, m).len();
    assert_eq!(placed(&good.matings), 0);
    let mut bad = good.matings.clone();
    bad.groups[0].animals[0].straw.as_mut().unwrap().cane = Some("b".into());
    assert!(placed(&bad) > 0);
    // Rounds: another animal's name, or another animal's straw.
    let thaw = |told: &SessionThaw| {
        let told = [told];
        verify::thaw::check_all(&made.season, &good.plan, &told).len()
    };
    let mut bad = good.rounds[0].clone();
    bad.technicians[0].rounds[0].straws[0].tag = Some("E".into());
    assert!(thaw(&bad) > 0);
    let mut bad = good.rounds[0].clone();
    let straws = &mut bad.technicians[0].rounds[0].straws;
    let (tag, animal) = (straws[0].tag.clone(), straws[0].animal);
    (straws[0].tag, straws[0].animal) = (straws[1].tag.clone(), straws[1].animal);
    (straws[1].tag, straws[1].animal) = (tag, animal);
    let moments = (straws[0].bred_at, straws[1].bred_at);
    (straws[1].bred_at, straws[0].bred_at) = moments;
    assert!(thaw(&bad) > 0);
}

/// What the plan says of straws that the matings do not give.
fn beyond(plan: &Plan) -> Option<&Remark> {
    plan.findings.iter().find(|f| f.code == Code::BeyondMatings)
}

/// Seven head and six animals: the seventh has a straw that is left, and the plan says so.
#[test]
fn animals_that_are_not_in_the_herd_file_have_what_is_left() {
    let text = six().replace("head: 6", "head: 7");
    let all = Made::of(&text, &[SIX]).all();
    let said = beyond(&all.plan).unwrap();
    assert!(said.what.starts_with("1 head of `cows`"), "{}", said.what);
    let season = Made::of(&text, &[SIX]).season;
    let faults = |plan: &Plan| verify::plan_matings(&season, plan, &all.matings).len();
    assert_eq!(faults(&all.plan), 0);
    let mut other = all.plan.clone();
    other.findings.retain(|f| f.code != Code::BeyondMatings);
    assert!(faults(&other) > 0);
    // Nor may it say so of fewer.
    let mut fewer = all.plan.clone();
    for f in &mut fewer.findings {
        f.what = f.what.replace("1 head of `cows`", "0 head of `cows`");
    }
    assert!(faults(&fewer) > 0);
}

/// Three straws and no herd file: one group's heat takes them in the matings, and the plan breeds the
/// other's one head at her set hour. It says that it counts by head alone.
#[test]
fn matings_without_a_herd_file_are_not_kept_either() {
    let text = "format: thawline.season/1
name: Three straws (invented)
zone: America/Denver
sites: [{id: yard, injections_head_per_hour: 60, breeding_boxes: 2}]
groups:
  - {id: seen, site: yard, class: cow, head: 3, bulls: [Ash 1, Elm 2], protocol: cow-select-synch, start: 2027-02-28T11:00, heat_mean_hours: 400}
  - {id: timed, site: yard, class: heifer, head: 1, bulls: [Ash 1, Elm 2], protocol: heifer-mga-pg-timed, start: 2027-02-02T09:30}
crew: [{id: ana, cows_per_hour: 8.8}]
semen: [{bull: Ash 1, straws: 3}, {bull: Elm 2, straws: 0}]
";
    let all = Made::of(text, &["", ""]).all();
    let said = beyond(&all.plan).unwrap();
    assert!(
        said.what.starts_with("the matings leave some"),
        "{}",
        said.what
    );
    assert_eq!(said.place, None);
}

/// Kin may leave straws that only another group could use: the matings cannot be kept, and the plan
/// says so, and breeds all.
#[test]
fn matings_that_leave_some_without_are_not_kept() {
    let more = "  - {id: late, site: yard, class: cow, head: 2, protocol: cow-7-day-co-synch-insert, start: 2027-06-03T14:00, order: kept, bulls: [Oak 3, Elm 2]}\ncrew:";
    let text = six().replace("crew:", more);
    let text = text.replace("[Ash 1, Elm 2]", "[Elm 2, Ash 1]");
    let text = text.replace("semen: [", "semen: [{bull: Oak 3, straws: 0}, ");
    let text = text.replace("straws: 3, tank", "straws: 2, tank").replace(
        "straws: 2, tank: T, canister: 2, cane: s, sort: sexed",
        "straws: 4, tank: T, canister: 2, cane: s",
    );
    let text = text.replace("straws: 5, tank", "straws: 2, tank");
    // None of the six may have Ash 1: two have Elm 2, whom they want more than the late ones do, and
    // for whom nobody else is left.
    let herd = "animal,sire\nA,Ash 1\nB,Ash 1\nC,Ash 1\nD,Ash 1\nE,Ash 1\nF,Ash 1\n";
    let all = Made::of(&text, &[herd, ""]).all();
    let said = beyond(&all.plan).unwrap();
    assert!(
        said.what.starts_with("the matings leave some"),
        "{}",
        said.what
    );
    assert!(all.plan.verdict.covered);
}

/// A herd file that cannot be read stops no plan, and is told of.
#[test]
fn a_plan_is_made_without_a_herd_that_cannot_be_read() {
    let folder = Folder::with("s.yaml", six());
    for command in ["plan", "tank", "thaw"] {
        let told = folder.run(&[command, "s.yaml"]);
        assert!(matches!(told.code, 0 | 1), "{command}: {}", told.code);
        let said = told.out;
        assert!(command != "plan" || said.contains("W115 s.yaml:"), "{said}");
    }
    assert_eq!(folder.run(&["matings", "s.yaml"]).code, 2);
    folder.write("h.csv", SIX);
    let told = folder.run(&["plan", "s.yaml"]);
    assert!(told.code == 0 && !told.out.contains("W115"), "{}", told.out);
}

/// A random season with herds: sires among the bulls, marks, orders; straws of both sorts on canes.
fn random(seed: u64) -> (String, Vec<String>) {
    let text = small(seed);
    let mut dice = Dice(seed ^ 0x5eed);
    let (before, rest) = text.split_once("semen:\n").unwrap();
    let (_, rules) = rest.split_once("rules:").unwrap();
    let mut semen = String::from("semen:\n");
    for n in 0..dice.from(3, 12) {
        let (bull, straws) = (n % 3, dice.below(120));
        let sort = dice.pick(&["conventional", "conventional", "sexed"]);
        let _ = writeln!(
            semen,
            "  - {{bull: b{bull}, straws: {straws}, sort: {sort}, tank: t{}, canister: {}, cane: c{n}}}",
            dice.below(2),
            dice.from(1, 3)
        );
    }
    let mut season = format!("{before}{semen}rules:{rules}");
    let (read, _) = season::read("s.yaml", season.as_bytes(), &LIBRARY).unwrap();
    let mut herds = Vec::new();
    for g in &read.groups {
        if dice.below(5) == 0 {
            herds.push(String::new());
            continue;
        }
        season = season.replace(
            &format!("{{id: {},", g.id),
            &format!("{{id: {}, herd: h.csv,", g.id),
        );
        let ordered = dice.below(3) > 0;
        let mut herd = String::from("animal,sire,sexed,pen,chute_order\n");
        for (pen, head) in g.pens.iter().enumerate() {
            let less = u32::from(dice.below(9) == 0 && head.0 > 3);
            for n in less..head.0 {
                let sire = dice.pick(&["b0", "b1", "b2", "x", "x", "x"]);
                let sexed = dice.pick(&["yes", "", ""]);
                let at = if ordered {
                    (n + 1).to_string()
                } else {
                    String::new()
                };
                let _ = writeln!(herd, "{}-{pen}-{n},{sire},{sexed},{},{at}", g.id, pen + 1);
            }
        }
        herds.push(herd);
    }
    (season, herds)
}

proptest! {
    #![proptest_config(crate::support::config(20, 80))]

    /// Whatever herds, sorts and orders: where the matings are kept, rounds thaw the straws that they
    /// name, each of them.
    #[test]
    fn random_seasons_have_one_truth(seed in any::<u64>()) {
        let (text, herds) = random(seed);
        let herds: Vec<&str> = herds.iter().map(String::as_str).collect();
        let made = Made::of(&text, &herds);
        let all = made.all();
        let looked = tank::look(&made.season, &all.plan);
        prop_assert_eq!(looked.short_straws, 0);
        let kept = !all.plan.findings.iter().any(|f| f.code.as_str() == "W114");
        for (g, of) in all.plan.groups.iter().zip(&all.matings.groups) {
            let straws = all.rounds.iter().flat_map(|s| &s.technicians);
            let straws = straws.flat_map(|t| &t.rounds).flat_map(|r| &r.straws);
            let mine: Vec<_> = straws.filter(|s| s.group == g.id).collect();
            // Groups planned whole for two breedings take straws twice.
            let pens = all.plan.sessions.iter().flat_map(|s| &s.pens);
            let due: u32 = pens.filter(|p| p.group == g.id).map(|p| p.head).sum();
            if !kept || due != of.head || due as usize != mine.len() {
                continue;
            }
            let mut sorts: BTreeMap<(&str, bool), u32> = BTreeMap::new();
            for s in &mine {
                let bull = made.season.bulls.iter().find(|b| b.id.as_str() == s.bull).unwrap();
                let sexed = bull.is_sexed(&bull.places[s.place as usize - 1]);
                *sorts.entry((&s.bull, sexed)).or_default() += 1;
            }
            let counts = of.by_bull.iter().filter(|c| c.head > 0);
            let counts: BTreeMap<_, _> = counts.map(|c| ((c.bull.as_str(), c.sexed), c.head)).collect();
            prop_assert_eq!(sorts, counts);
            if of.animals.len() != mine.len() {
                continue;
            }
            let mut thawed: Vec<_> = mine.iter().map(|s| (&s.bull, &s.tank, s.canister, &s.cane)).collect();
            let own = of.animals.iter().map(|a| a.straw.as_ref().unwrap());
            let mut own: Vec<_> = own.map(|s| (&s.bull, &s.tank, s.canister, &s.cane)).collect();
            thawed.sort();
            own.sort();
            prop_assert_eq!(thawed, own);
            for s in mine.iter().filter(|s| s.tag.is_some()) {
                let her = of.animals.iter().find(|a| Some(&a.animal) == s.tag.as_ref()).unwrap();
                let straw = her.straw.as_ref().unwrap();
                prop_assert_eq!((&straw.bull, &straw.cane), (&s.bull, &s.cane));
            }
        }
    }
}
