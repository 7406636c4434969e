//! Herd files through the program, and what holds of any herd file and any cow.

use std::fmt::Write as _;

use chrono::{Days, NaiveDate};
use proptest::prelude::*;
use thawline::herd::readiness::{Course, Readiness, judge};
use thawline::herd::{self, Animal};
use thawline::protocol::Class;
use thawline::season::ReadyRules;

use crate::bad_input::Folder;
use crate::support::{Dice, HERD_HEAD, LIBRARY, herd_row, herd_season};

/// A season in a folder below, named from above, with a herd file beside it.
fn with_herd(herd: Option<&str>) -> Folder {
    let folder = Folder::new();
    folder.write("spring/s.yaml", herd_season(2, "cows.csv"));
    if let Some(herd) = herd {
        folder.write("spring/cows.csv", herd);
    }
    folder
}

const TWO: &str = "animal,last_calving_date,body_condition\n1,2027-03-01,5\n2,2027-04-20,5.5\n";

#[test]
fn a_herd_file_is_named_from_the_folder_of_its_season() {
    let folder = with_herd(Some(TWO));
    let told = folder.run(&["herd", "spring/s.yaml", "--json"]);
    assert_eq!((told.code, told.err.as_str()), (0, ""));
    let json = told.json();
    assert_eq!(json["format"], "thawline.herd/1");
    let group = &json["groups"][0];
    assert_eq!(group["answers"][0]["head"], 1);
    assert_eq!(group["animals"][1]["answer"], "wait");
    // 20 April + 45 days - 10 days from the start to breeding: late then, and not too late.
    assert_eq!(group["animals"][1]["ready_from"], "2027-05-25");
    let told = folder.run(&["herd", "spring/s.yaml", "--group", "cows", "--all"]);
    assert_eq!(told.code, 0);
    let words = "Of 2 cows, 1 is ready; 1 should wait for a later group.";
    assert!(told.out.contains(words));
    assert!(told.out.lines().all(|l| l.chars().count() <= 80));
}

#[test]
fn check_reads_herd_files_too() {
    let folder = with_herd(Some(TWO));
    assert_eq!(folder.run(&["check", "spring/s.yaml", "--strict"]).code, 0);
    let folder = with_herd(Some(&TWO.replace("5.5", "12")));
    let told = folder.run(&["check", "spring/s.yaml"]);
    told.refused(&["K104 spring/cows.csv:3:14 body_condition"]);
    // A plan needs no herd.
    assert!(folder.run(&["plan", "spring/s.yaml"]).code < 2);
}

#[test]
fn files_that_are_not_there_are_said_where_they_are_named() {
    let folder = with_herd(None);
    let words = [
        "F101 spring/s.yaml:6:",
        "groups[0].herd",
        "spring/cows.csv",
        "folder of the season",
    ];
    folder.run(&["herd", "spring/s.yaml"]).refused(&words);
    std::fs::create_dir(folder.path().join("spring/cows.csv")).unwrap();
    let err = folder.run(&["check", "spring/s.yaml"]).err;
    assert!(err.contains("name a file, not a folder"), "{err}");
}

#[test]
fn groups_that_are_not_there() {
    let folder = with_herd(Some(TWO));
    let told = folder.run(&["herd", "spring/s.yaml", "--group", "cosw"]);
    told.refused(&["did you mean `cows`?"]);
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
        let season = herd_season(4, "cows.csv").replacen("head: 4", pens, 1);
        let folder = Folder::with("s.yaml", season);
        folder.write("cows.csv", herd);
        let told = folder.run(&["check", "s.yaml"]);
        let all = format!("{}{}", told.out, told.err).replace("\n    ", " ");
        let all = all.replace("\n  ", " ");
        let mut lines = all.lines();
        let line = lines.find(|l| l.contains("H119"));
        line.map_or(String::new(), |l| {
            l.split_once("is not complete: ").unwrap().1.to_owned()
        })
    };
    let (one, two) = ("head: 4", "head: 4, pens: 2");
    // Rows of the herd, and what is said of them.
    for (pens, case) in [
        (one, "a,1 b,2 c, d,3: 3 of 4 animals have a number"),
        (
            one,
            "a,1 b,2 c,4 d,5: in pen 1 no animal is number 3, but one is number 4",
        ),
        (one, "a,4 b,2 c,3 d,1: "),
        (two, "a,1,1 b,1,2 c,2,1 d,,2: 3 of 4 animals have a pen"),
        (
            two,
            "a,1,1 b,1,2 c,1,3 d,2,1: pen 1 has 3 animals in the file, and 2 head in the season",
        ),
        (two, "a,1,1 b,1,2 c,2,1 d,2,2: "),
    ] {
        let (rows, expected) = case.split_once(": ").unwrap();
        let heading = ["animal,chute_order", "animal,pen,chute_order"][usize::from(pens == two)];
        let got = said(pens, &format!("{heading}\n{}\n", rows.replace(' ', "\n")));
        assert!(got.starts_with(expected), "{expected}: {got}");
        assert_eq!(got.is_empty(), expected.is_empty(), "{got}");
    }
}
