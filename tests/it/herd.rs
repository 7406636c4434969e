//! Herd files through the program, and what holds of any herd file and any cow.

use std::fmt::Write as _;

use chrono::{Days, NaiveDate};
use proptest::prelude::*;
use thawline::herd::readiness::{Course, Readiness, judge};
use thawline::herd::{self, Animal};
use thawline::protocol::Class;
use thawline::season::ReadyRules;

use crate::bad_input::{Folder, thawline};
use crate::support::{Dice, HERD_HEAD, LIBRARY, herd_row, herd_season};

fn run(folder: &Folder, args: &[&str]) -> (i32, String, String) {
    let out = thawline()
        .current_dir(folder.path())
        .args(args)
        .output()
        .unwrap();
    (
        out.status.code().unwrap(),
        String::from_utf8(out.stdout).unwrap(),
        String::from_utf8(out.stderr).unwrap(),
    )
}

/// A season in a folder below, named from above, with a herd file beside it.
fn with_herd(herd: Option<&str>) -> Folder {
    let folder = Folder::new();
    let inner = folder.path().join("spring");
    std::fs::create_dir(&inner).unwrap();
    std::fs::write(inner.join("s.yaml"), herd_season(2, "cows.csv")).unwrap();
    if let Some(herd) = herd {
        std::fs::write(inner.join("cows.csv"), herd).unwrap();
    }
    folder
}

const TWO: &str = "animal,last_calving_date,body_condition\n1,2027-03-01,5\n2,2027-04-20,5.5\n";

#[test]
fn a_herd_file_is_named_from_the_folder_of_its_season() {
    let folder = with_herd(Some(TWO));
    let (code, out, err) = run(&folder, &["herd", "spring/s.yaml", "--json"]);
    assert_eq!((code, err.as_str()), (0, ""));
    let json: serde_json::Value = serde_json::from_str(&out).unwrap();
    assert_eq!(json["format"], "thawline.herd/1");
    let group = &json["groups"][0];
    assert_eq!(group["answers"][0]["head"], 1);
    assert_eq!(group["animals"][1]["answer"], "wait");
    // 20 April + 45 days - 10 days from the start to breeding: late then, and not too late.
    assert_eq!(group["animals"][1]["ready_from"], "2027-05-25");
    let (code, out, _) = run(
        &folder,
        &["herd", "spring/s.yaml", "--group", "cows", "--all"],
    );
    assert_eq!(code, 0);
    assert!(out.contains("Of 2 cows, 1 is ready; 1 should wait for a later group."));
    assert!(out.lines().all(|l| l.chars().count() <= 80));
}

#[test]
fn check_reads_herd_files_too() {
    let folder = with_herd(Some(TWO));
    assert_eq!(run(&folder, &["check", "spring/s.yaml", "--strict"]).0, 0);
    let folder = with_herd(Some(&TWO.replace("5.5", "12")));
    let (code, _, err) = run(&folder, &["check", "spring/s.yaml"]);
    assert_eq!(code, 2);
    assert!(
        err.contains("K104 spring/cows.csv:3:14 body_condition"),
        "{err}"
    );
    // A plan needs no herd.
    assert!(run(&folder, &["plan", "spring/s.yaml"]).0 < 2);
}

#[test]
fn files_that_are_not_there_are_said_where_they_are_named() {
    let folder = with_herd(None);
    let (code, _, err) = run(&folder, &["herd", "spring/s.yaml"]);
    assert_eq!(code, 2);
    assert!(err.contains("F101 spring/s.yaml:6:"), "{err}");
    assert!(
        err.contains("groups[0].herd") && err.contains("spring/cows.csv"),
        "{err}"
    );
    assert!(err.contains("folder of the season"), "{err}");
    std::fs::create_dir(folder.path().join("spring/cows.csv")).unwrap();
    let (_, _, err) = run(&folder, &["check", "spring/s.yaml"]);
    assert!(err.contains("name a file, not a folder"), "{err}");
}

#[test]
fn groups_that_are_not_there() {
    let folder = with_herd(Some(TWO));
    let (code, _, err) = run(&folder, &["herd", "spring/s.yaml", "--group", "cosw"]);
    assert_eq!(code, 2);
    assert!(err.contains("did you mean `cows`?"), "{err}");
}

#[test]
fn one_animal_in_two_herds_is_said_at_the_second() {
    let text = "animal,dam,birth_date\n7,,2020-03-01\n8,7,2020-09-01\n";
    let read = |file| {
        herd::read(file, text.as_bytes(), Class::Cow, None)
            .unwrap()
            .0
    };
    let (one, two) = (read("one.csv"), read("two.csv"));
    let place = thawline::error::Place {
        file: "s.yaml".to_owned(),
        line: 1,
        column: 1,
        field: String::new(),
    };
    let member = |group, herd| herd::Member {
        group,
        head: 2,
        pens: &[thawline::units::Head(2)],
        place: &place,
        herd,
    };
    let found: Vec<String> = herd::compare(&[member("a", &one), member("b", &two)])
        .iter()
        .map(|f| format!("{} {}", f.code, f.place.as_ref().unwrap()))
        .collect();
    assert_eq!(
        found,
        [
            "H113 one.csv:3:3 dam",
            "H111 two.csv:2:1 animal",
            "H111 two.csv:3:1 animal",
            "H113 two.csv:3:3 dam",
        ]
    );
}

#[test]
fn a_herd_file_may_be_larger_than_a_season() {
    let mut dice = Dice(5);
    let mut text = String::from(HERD_HEAD);
    for n in 0..100_000 {
        text.push_str(&herd_row(n, &mut dice));
    }
    assert!(text.len() as u64 > thawline::document::MOST_BYTES);
    let (herd, _) = herd::read("h.csv", text.as_bytes(), Class::Cow, None).unwrap();
    assert_eq!(herd.animals.len(), 100_000);
    assert_eq!(herd.animals[99_999].spot.line, 100_001);
    let large = vec![b','; herd::MOST_BYTES as usize + 1];
    let error = herd::read("h.csv", &large, Class::Cow, None).unwrap_err();
    assert!(error.to_string().contains("F102 h.csv:1:1"));
}

fn demo_herd(dice: &mut Dice) -> Vec<u8> {
    match dice.below(3) {
        0 => include_bytes!("../../demo/first-calf.csv").to_vec(),
        1 => include_bytes!("../../demo/heifers.csv").to_vec(),
        _ => {
            let mut text = String::from(HERD_HEAD);
            for n in 0..dice.from(0, 20) {
                let _ = write!(text, "{}", herd_row(n, dice));
            }
            text.into_bytes()
        }
    }
}

/// What breaks tables and texts.
const ODD: &[&[u8]] = &[
    b",",
    b"\"",
    b"\n",
    b"\r",
    b"\r\n",
    b";",
    b"\t",
    b"\xff",
    b"\xef\xbb\xbf",
    b"\0",
    b"-",
    b"9",
    b"\xc3\xa9",
    b"\xe2\x80\xae",
    b" ",
    b"E+14",
    b"/",
    b"=1+1",
];

proptest! {
    #![proptest_config(ProptestConfig::with_cases(2000))]

    /// Bytes changed, taken out, put in and repeated: read or refused, every finding inside the
    /// file, and never a panic.
    #[test]
    fn reading_never_panics(seed in any::<u64>()) {
        let mut dice = Dice(seed);
        let mut bytes = demo_herd(&mut dice);
        for _ in 0..dice.from(1, 12) {
            let at = dice.below(bytes.len() as u64 + 1) as usize;
            let odd = *dice.pick(ODD);
            match dice.below(4) {
                0 if at < bytes.len() => { bytes.remove(at); }
                1 if at < bytes.len() => bytes[at] = odd[0],
                2 => bytes.truncate(at),
                _ => { bytes.splice(at..at, odd.iter().copied()); }
            }
        }
        let class = *dice.pick(&[Class::Cow, Class::Heifer]);
        let found = match herd::read("h.csv", &bytes, class, NaiveDate::from_ymd_opt(2027, 3, 5)) {
            Ok((_, found)) => found,
            Err(e) => e.findings().to_vec(),
        };
        prop_assert!(found.len() <= 201);
        let lines = String::from_utf8_lossy(&bytes).split(['\n', '\r']).count() as u32;
        for f in found {
            let place = f.place.unwrap();
            prop_assert!((1..=lines).contains(&place.line), "{place}");
            prop_assert!(place.column as usize <= bytes.len() + 1, "{place}");
        }
    }

    /// With a later start a cow is never less ready, and on the day she is told to wait for she
    /// need not wait.
    #[test]
    fn a_later_start_never_makes_a_cow_less_ready(
        calved in -30_i64..120,
        born in 600_u64..5000,
        condition in proptest::option::of(2_u8..=18),
        later in 0_u64..90,
        hour in 0_u32..24,
        wanted in 20_i64..100,
        n in 0_usize..7,
    ) {
        let first = NaiveDate::from_ymd_opt(2027, 4, 1).unwrap();
        let protocols: Vec<_> = LIBRARY.iter().filter(|p| p.class.serves(Class::Cow)).collect();
        let protocol = protocols[n % protocols.len()];
        let animal = Animal {
            born: first.checked_sub_days(Days::new(born)),
            calved: first.checked_sub_signed(chrono::TimeDelta::days(calved)),
            body_condition: condition.map(|c| f64::from(c) / 2.0),
            ..a_cow()
        };
        let rules = ReadyRules { days_since_calving: wanted, ..ReadyRules::default() };
        let on = |day: NaiveDate| {
            let course = Course::from_start(protocol, day.and_hms_opt(hour, 0, 0).unwrap());
            judge(&animal, Class::Cow, &course, &rules)
        };
        let now = on(first);
        let then = on(first + Days::new(later));
        prop_assert!(then.answer <= now.answer, "{now:?} {then:?}");
        if let Some(day) = now.ready_from {
            prop_assert!(on(day).answer < Readiness::Wait, "{now:?}");
        }
    }
}

fn a_cow() -> Animal {
    let (herd, _) = herd::read("one.csv", b"animal\nx\n", Class::Cow, None).unwrap();
    herd.animals.into_iter().next().unwrap()
}

/// What is wrong with an order of animals is told as it is; an order that is whole is no finding.
#[test]
fn an_order_that_is_not_complete_says_what_is_lacking() {
    let said = |pens: &str, herd: &str| {
        let folder = Folder::new();
        let season = herd_season(4, "cows.csv").replacen("head: 4", pens, 1);
        std::fs::write(folder.path().join("s.yaml"), season).unwrap();
        std::fs::write(folder.path().join("cows.csv"), herd).unwrap();
        let (_, out, err) = run(&folder, &["check", "s.yaml"]);
        let all = format!("{out}{err}").replace("\n    ", " ");
        let all = all.replace("\n  ", " ");
        let mut lines = all.lines();
        let line = lines.find(|l| l.contains("H119"));
        line.map_or(String::new(), |l| {
            l.split_once("is not complete: ").unwrap().1.to_owned()
        })
    };
    let (one, two) = ("head: 4", "head: 4, pens: 2");
    for (pens, herd, expected) in [
        (
            one,
            "animal,chute_order\na,1\nb,2\nc,\nd,3\n",
            "3 of 4 animals have a number",
        ),
        (
            one,
            "animal,chute_order\na,1\nb,2\nc,4\nd,5\n",
            "in pen 1 no animal is number 3, but one is number 4",
        ),
        (
            two,
            "animal,pen,chute_order\na,1,1\nb,1,2\nc,2,1\nd,,2\n",
            "3 of 4 animals have a pen",
        ),
        (
            two,
            "animal,pen,chute_order\na,1,1\nb,1,2\nc,1,3\nd,2,1\n",
            "pen 1 has 3 animals in the file, and 2 head in the season",
        ),
    ] {
        let got = said(pens, herd);
        assert!(got.starts_with(expected), "{expected}: {got}");
    }
    for (pens, herd) in [
        (one, "animal,chute_order\na,4\nb,2\nc,3\nd,1\n"),
        (two, "animal,pen,chute_order\na,1,1\nb,1,2\nc,2,1\nd,2,2\n"),
    ] {
        assert_eq!(said(pens, herd), "", "{herd}");
    }
}
