//! Animals of a herd file that are not ready wait: every command counts the others.

use std::collections::{BTreeMap, BTreeSet};
use std::fmt::Write as _;

use proptest::prelude::*;
use thawline::error::Finding;
use thawline::files::{Herds, InMemory, read_season};
use thawline::herd::readiness::Readiness;
use thawline::season::Season;

use crate::bad_input::{Folder, thawline};
use crate::support::{Dice, LIBRARY};

/// A season of ten cows (invented) on an insert protocol, bred on 13 May 2027.
fn season(keys: &str) -> String {
    crate::codes::SEASON
        .replacen("head: 20", "head: 10\n    herd: cows.csv", 1)
        .replacen("order: kept", &format!("order: kept\n    {keys}"), 1)
}

/// Two of ten calved fewer than 45 days (SEXED-CALV) before 13 May: on 5 and 20 April.
const COWS: &str = "\
animal,last_calving_date,body_condition,birth_date
C1,2027-02-20,5,2020-03-01
C2,2027-02-21,5,2020-03-01
C3,2027-04-05,5,2020-03-01
C4,2027-02-22,5,2020-03-01
C5,2027-02-23,5,2020-03-01
C6,2027-04-20,6,2020-03-01
C7,2027-02-24,5,2020-03-01
C8,2027-02-25,5,2020-03-01
C9,2027-02-26,5,2020-03-01
C10,2027-02-27,,2020-03-01
";

fn run(folder: &Folder, args: &[&str]) -> serde_json::Value {
    let out = thawline()
        .current_dir(folder.path())
        .args(args)
        .arg("--json")
        .output()
        .unwrap();
    serde_json::from_slice(&out.stdout).unwrap_or_else(|e| panic!("{e}: {out:?}"))
}

fn folder(keys: &str) -> Folder {
    let folder = Folder::with("s.yaml", season(keys));
    folder.write("cows.csv", COWS);
    folder
}

/// Head that plan, forecast, matings and order list count.
fn counted(keys: &str) -> [u64; 4] {
    let folder = folder(keys);
    let at = |command: &str, pointer: &str| {
        let answer = run(&folder, &[command, "s.yaml"]);
        answer.pointer(pointer).unwrap().as_u64().unwrap()
    };
    let order = run(&folder, &["supplies", "s.yaml"]);
    let mut items = order["items"].as_array().unwrap().iter();
    let inserts = items.find(|i| i["item"] == "inserts").unwrap();
    [
        at("plan", "/groups/0/pen_head/0"),
        at("forecast", "/all/head"),
        at("matings", "/verdict/head"),
        inserts["amount"].as_f64().unwrap() as u64,
    ]
}

#[test]
fn who_is_not_ready_is_counted_by_no_command() {
    assert_eq!(counted(""), [8; 4]);
    assert_eq!(counted("overrule: {c3: ready}"), [9; 4]);
    assert_eq!(
        counted("overrule: {C1: wait, C3: ready, C6: ready}"),
        [9; 4]
    );
}

fn in_memory(season: &str, herd: &str) -> (Season, Vec<Finding>, InMemory) {
    let files = InMemory {
        season: "s.yaml".to_owned(),
        tables: BTreeMap::from([("cows.csv".to_owned(), herd.as_bytes().to_vec())]),
    };
    let read = read_season("s.yaml", season.as_bytes(), &LIBRARY, &files);
    let (season, found) = read.unwrap_or_else(|e| panic!("{e}"));
    (season, found, files)
}

fn of_code<'a>(found: &'a [Finding], code: &str) -> Vec<&'a Finding> {
    found.iter().filter(|f| f.code.as_str() == code).collect()
}

#[test]
fn it_is_said_who_waits_why_and_when_they_can_start() {
    let (_, found, _) = in_memory(&season("overrule: {C99: ready}"), COWS);
    let [waits] = of_code(&found, "H122")[..] else {
        panic!("{found:?}");
    };
    for word in ["2 of 10 head", "counts 8", "`C3`", "`C6`", "45 days"] {
        assert!(waits.what.contains(word), "{word}: {}", waits.what);
    }
    // C6 calved on 20 April: 45 days later is 4 June; the protocol begins 10 days before.
    assert!(
        waits.hint.as_ref().unwrap().contains("25 May 2027"),
        "{waits:?}"
    );
    let [unknown] = of_code(&found, "H123")[..] else {
        panic!("{found:?}");
    };
    assert!(unknown.what.contains("C99"));
}

/// Where nobody is ready the plan counts all, and warns: a season can be looked at before calving ends.
#[test]
fn a_group_of_which_nobody_is_ready_is_planned_whole() {
    let herd = "animal,last_calving_date\nC1,2027-04-20\nC2,2027-04-21\n";
    let text = season("").replacen("head: 10", "head: 2", 1);
    let (season, found, _) = in_memory(&text, herd);
    assert_eq!(season.groups[0].head().0, 2);
    assert!(of_code(&found, "H122")[0].what.contains("0 of 2 head"));
}

/// A herd file outside the season's folder is counted, and none of its animals is named.
#[test]
fn animals_of_a_foreign_file_are_not_named() {
    let folder = Folder::new();
    std::fs::create_dir(folder.path().join("in")).unwrap();
    folder.write("cows.csv", COWS);
    folder.write(
        "in/s.yaml",
        season("").replacen("cows.csv", "../cows.csv", 1),
    );
    let out = thawline()
        .current_dir(folder.path())
        .args(["plan", "in/s.yaml"])
        .output()
        .unwrap();
    let told = String::from_utf8_lossy(&out.stdout) + String::from_utf8_lossy(&out.stderr);
    assert!(
        told.contains("2 of 10 head") && !told.contains("C3"),
        "{told}"
    );
}

/// A herd of cows in two pens with an order each (invented).
fn random(seed: u64) -> (String, String, [u32; 2]) {
    let mut dice = Dice(seed);
    let pens = [dice.from(1, 12) as u32, dice.from(1, 12) as u32];
    let mut herd =
        "animal,last_calving_date,body_condition,birth_date,pen,chute_order\n".to_owned();
    let mut words = Vec::new();
    for (pen, head) in (1..).zip(pens) {
        for at in 1..=head {
            let calved = match dice.below(4) {
                0 => String::new(),
                1 => format!("2027-04-{:02}", dice.from(1, 28)),
                _ => format!("2027-02-{:02}", dice.from(1, 28)),
            };
            let _ = writeln!(
                herd,
                "C{pen}-{at},{calved},{},2020-03-01,{pen},{at}",
                dice.from(3, 7)
            );
            match dice.below(12) {
                0 => words.push(format!("C{pen}-{at}: ready")),
                1 => words.push(format!("C{pen}-{at}: wait")),
                _ => {}
            }
        }
    }
    let keys = format!("overrule: {{{}}}", words.join(", "));
    let text = season(&keys).replacen("head: 10", &format!("head: {}", pens[0] + pens[1]), 1);
    let text = text.replacen(
        "order: kept",
        &format!("pen_head: {pens:?}\n    order: kept"),
        1,
    );
    (text, herd, pens)
}

proptest! {
    #![proptest_config(crate::support::config(60, 60))]

    /// Who is planned, who waits and who is overruled are all animals, each once, as `herd` judges them; pens
    /// lose their own; and the order of those left has no holes.
    #[test]
    fn ready_and_waiting_are_all(seed in any::<u64>()) {
        let (text, herd, pens) = random(seed);
        let (season, _, files) = in_memory(&text, &herd);
        let group = &season.groups[0];
        let read = Herds::read(&season, &files, &[0], false).unwrap();
        let reports = read.reports(&season);
        let named = group.herd.as_ref().unwrap();
        let waits: BTreeSet<usize> = reports[0].animals.iter().enumerate()
            .filter(|(_, a)| match named.overrule.get(a.animal) {
                Some(word) => *word == thawline::season::Overrule::Wait,
                None => matches!(a.answer, Readiness::Wait | Readiness::NotNow),
            })
            .map(|(n, _)| n)
            .collect();
        let all: u32 = pens.iter().sum();
        if waits.len() as u32 > all - pens.len() as u32 {
            prop_assert!(group.waiting.is_empty());
            prop_assert_eq!(group.head().0, all);
            return Ok(());
        }
        let told: BTreeSet<usize> = group.waiting.iter().map(|w| w.nth).collect();
        prop_assert_eq!(&told, &waits);
        prop_assert_eq!(group.head().0 + waits.len() as u32, all);
        prop_assert_eq!(group.stated_pens().iter().map(|p| p.0).collect::<Vec<_>>(), pens);
        prop_assert!(group.pens.iter().all(|p| p.0 > 0));
    }
}
