//! Matings through the program: each rule, the straws, the proof, and what is refused.

use std::collections::BTreeMap;
use std::fmt::Write as _;

use proptest::prelude::*;
use thawline::error::Error;
use thawline::herd::{self, Herd, scores};
use thawline::matings::{self, Input, Matings};
use thawline::protocol::{Class, Library};
use thawline::season::{self, Season};
use thawline::{pipeline, verify};

use crate::bad_input::Folder;
use crate::codes::SEASON;
use crate::support::{Dice, matings};

/// The small season with these bulls and straws, a group of this class and head, and facts.
fn season_of(class: &str, head: usize, straws: &[(&str, u32)], facts: &str) -> String {
    let names: Vec<&str> = straws.iter().map(|(b, _)| *b).collect();
    let semen: String = straws.iter().fold(String::new(), |mut all, (b, n)| {
        let _ = writeln!(
            all,
            "  - {{bull: {b}, straws: {n}, tank: T, canister: 1, cane: {b}-a}}"
        );
        all
    });
    let protocol = match class {
        "heifer" => "heifer-7-day-co-synch-insert",
        _ => "cow-7-day-co-synch-insert",
    };
    SEASON
        .replace("class: cow", &format!("class: {class}"))
        .replace("cow-7-day-co-synch-insert", protocol)
        .replace("head: 20", &format!("head: {head}"))
        .replace(
            "[Ash 1]\n",
            &format!("[{}]\n    herd: herd.csv\n", names.join(", ")),
        )
        .replace("  - {bull: Ash 1, straws: 40}\n", &semen)
        + facts
}

struct Made {
    season: Season,
    herds: BTreeMap<usize, Herd>,
    scores: Option<scores::Scores>,
}

impl Made {
    fn of(season: &str, herd: Option<&str>, table: Option<&str>) -> Self {
        let (season, _) = season::read("s.yaml", season.as_bytes(), &Library::built_in()).unwrap();
        let class = season.groups[0].class;
        let herds = herd.map(|h| herd::read("herd.csv", h.as_bytes(), class, None).unwrap().0);
        let scores = table.map(|t| {
            scores::read("x.csv", t.as_bytes(), &season.bulls)
                .unwrap()
                .0
        });
        Self {
            herds: herds.into_iter().map(|h| (0, h)).collect(),
            season,
            scores,
        }
    }

    fn with<T>(&self, ask: impl FnOnce(&Input<'_>) -> T) -> T {
        let own = BTreeMap::new();
        ask(&Input::of(
            &self.season,
            &self.herds,
            &own,
            self.scores.as_ref(),
        ))
    }

    fn matings(&self) -> Result<Matings, Error> {
        self.with(|input| pipeline::matings(input, &[]))
    }
}

fn bulls(m: &Matings) -> Vec<&str> {
    let animals = m.groups[0].animals.iter();
    animals
        .map(|a| a.straw.as_ref().map_or("none", |s| s.bull.as_str()))
        .collect()
}

fn codes(m: &Matings) -> Vec<&str> {
    m.findings.iter().map(|f| f.code.as_str()).collect()
}

const THREE: &[(&str, u32)] = &[("Ash 1", 9), ("Elm 2", 9), ("Oak 3", 9)];

#[test]
fn scores_before_order_and_order_where_there_is_none() {
    let season = season_of("cow", 3, THREE, "");
    let herd = "animal,sire\n1,x\n2,x\n3,x\n";
    let table = "animal,bull,score\n1,Oak 3,100\n1,Ash 1,99\n2,Ash 1,50\n";
    let made = Made::of(&season, Some(herd), Some(table))
        .matings()
        .unwrap();
    // Of three bulls the order gives 100, 66.66 and 33.33: the second goes before a stated 50.
    assert_eq!(bulls(&made), ["Oak 3", "Elm 2", "Ash 1"]);
    assert_eq!(made.groups[0].animals[1].score, Some(66.66));
    assert_eq!(made.verdict.first_choice, 3);
    assert_eq!(codes(&made), [""; 0]);
}

#[test]
fn what_is_short_is_counted() {
    let season = season_of("cow", 10, &[("Ash 1", 4), ("Elm 2", 30)], "");
    let herd: String = (0..10).fold("animal,sire\n".to_owned(), |t, n| format!("{t}{n},x\n"));
    let made = Made::of(&season, Some(&herd), None).matings().unwrap();
    let first = bulls(&made).iter().filter(|b| **b == "Ash 1").count();
    let given = (first, made.verdict.with_bull, made.verdict.first_choice);
    assert_eq!(given, (4, 10, 4));
    let why = &made.groups[0].animals[9].why;
    assert_eq!(why, "Ash 1, the first choice, is short by 6 straws");
    assert_eq!(made.bulls[0].wanted_first, 10);
    // Six backups of the four who have Ash 1 and none of the others: his straws are gone.
    assert_eq!(made.verdict.with_backup, 4);
    assert_eq!(made.bulls[1].left, 20);
    assert!(made.verdict.words[1].contains("Ash 1 is 6 straws short"));
}

#[test]
fn kin_are_never_mated() {
    let facts = "bulls:\n  - {id: Ash 1, sire: Old Thorn, dam: C7}\n  - {id: Oak 3, sire: Ash 1}\n";
    let season = season_of("cow", 5, THREE, facts)
        .replace("{bull: Elm 2,", "{bull: Elm 2, name: Elm the Second,");
    let herd = "animal,sire,dam\n1,ASH 1,\n2,old thorn,\n3,,c7\nC7,Elm the second,\n5,,C8\n";
    let made = Made::of(&season, Some(herd), None).matings().unwrap();
    // 1: daughter of Ash 1, half-sister of Oak 3. 2 and 3: half-sisters of Ash 1 by sire and by
    // dam. C7 is his dam, and a daughter of Elm 2, whose full name the herd has.
    assert_eq!(bulls(&made), ["Elm 2", "Elm 2", "Elm 2", "Oak 3", "Ash 1"]);
    let why: Vec<&str> = made.groups[0]
        .animals
        .iter()
        .map(|a| a.why.as_str())
        .collect();
    assert_eq!(
        why,
        [
            "Ash 1, the first choice, is her sire",
            "Ash 1, the first choice, has the same sire as she",
            "Ash 1, the first choice, has the same dam as she",
            "Ash 1, the first choice, is her son",
            "",
        ]
    );
    // Nobody is left as a backup for 1 and C7.
    let backups = made.groups[0].animals.iter().map(|a| a.backup.is_some());
    let expected = [false, true, true, false, true];
    assert_eq!(backups.collect::<Vec<_>>(), expected);
}

#[test]
fn calving_ease_for_heifers_before_scores() {
    let facts = "bulls: [{id: Oak 3, calving_ease: true}]\n";
    let straws = [("Ash 1", 9), ("Elm 2", 9), ("Oak 3", 2)];
    let herd = "animal,sire\n1,Oak 3\n2,x\n3,x\n4,x\n";
    let season = season_of("heifer", 4, &straws, facts);
    let made = Made::of(&season, Some(herd), None).matings().unwrap();
    assert_eq!(bulls(&made), ["Ash 1", "Oak 3", "Oak 3", "Ash 1"]);
    assert_eq!(codes(&made), ["M109"]);
    assert!(
        made.findings[0].what.contains("2 heifers of `cows`"),
        "{}",
        made.findings[0].what
    );
    // Cows do not mind.
    let season = season_of("cow", 4, &straws, facts);
    let made = Made::of(&season, Some(herd), None).matings().unwrap();
    assert_eq!(bulls(&made), ["Ash 1"; 4]);
    // Where no bull is marked, heifers do not either.
    let none = season_of("heifer", 4, &straws, "");
    let made = Made::of(&none, Some(herd), None).matings().unwrap();
    assert_eq!((bulls(&made), codes(&made)), (vec!["Ash 1"; 4], vec![]));
}

#[test]
fn sexed_straws_for_those_marked() {
    let facts = "bulls: [{id: Ash 1, sexed: true}]\n";
    let season = season_of("cow", 3, &[("Ash 1", 9), ("Elm 2", 1)], facts);
    let herd = "animal,sexed,sire\n1,,x\n2,yes,x\n3,no,x\n";
    let made = Made::of(&season, Some(herd), None).matings().unwrap();
    assert_eq!(bulls(&made), ["Elm 2", "Ash 1", "none"]);
    assert!(made.groups[0].animals[1].straw.as_ref().unwrap().sexed);
    assert_eq!(codes(&made), ["M110"]);
    assert_eq!(
        made.groups[0].animals[2].why,
        "Ash 1, the first choice, has sexed straws only, and she is not marked for them; Elm 2 has no straw left"
    );
}

/// Ash 1 has three conventional straws and two sexed ones.
fn both_sorts(head: usize) -> String {
    season_of("cow", head, &[("Ash 1", 3), ("Elm 2", 9)], "").replace(
        "semen:\n",
        "semen:\n  - {bull: Ash 1, straws: 2, sort: sexed, tank: T, canister: 2, cane: Ash-s}\n",
    )
}

fn straws(m: &Matings) -> Vec<(&str, bool)> {
    let animals = m.groups[0].animals.iter();
    let straws = animals.filter_map(|a| a.straw.as_ref());
    straws.map(|s| (s.bull.as_str(), s.sexed)).collect()
}

/// By hand: of six that want Ash 1 two are marked and have his sexed straws, three have the others,
/// and the last, not marked, goes to Elm 2.
#[test]
fn a_bull_may_have_straws_of_both_sorts() {
    let herd = "animal,sexed,sire\n1,,x\n2,yes,x\n3,no,x\n4,yes,x\n5,,x\n6,,x\n";
    let made = Made::of(&both_sorts(6), Some(herd), None);
    let made = made.matings().unwrap();
    let mut have = straws(&made);
    assert_eq!((have[1], have[3]), (("Ash 1", true), ("Ash 1", true)));
    have.sort_unstable();
    let expected = [
        ("Ash 1", false),
        ("Ash 1", false),
        ("Ash 1", false),
        ("Ash 1", true),
        ("Ash 1", true),
        ("Elm 2", false),
    ];
    assert_eq!(have, expected);
    let totals = made.bulls.iter();
    let totals: Vec<_> = totals
        .map(|b| (b.bull.as_str(), b.sexed, b.straws, b.wanted_first, b.given))
        .collect();
    assert_eq!(
        totals,
        [
            ("Ash 1", false, 3, 4, 3),
            ("Ash 1", true, 2, 2, 2),
            ("Elm 2", false, 9, 0, 1)
        ]
    );
    assert_eq!(made.groups[0].by_bull.len(), 3);
    let canes = made.groups[0]
        .animals
        .iter()
        .filter_map(|a| a.straw.as_ref());
    assert!(
        canes
            .clone()
            .all(|s| s.sexed == (s.cane.as_deref() == Some("Ash-s")))
    );
    assert!(
        made.verdict.words[1].contains("Ash 1 is 1 straw short"),
        "{:?}",
        made.verdict.words
    );
    // A third marked animal has a conventional straw of his: her score goes before the sort.
    let herd = "animal,sexed,sire\n1,yes,x\n2,yes,x\n3,yes,x\n";
    let made = Made::of(&both_sorts(3), Some(herd), None)
        .matings()
        .unwrap();
    let mut have = straws(&made);
    have.sort_unstable();
    assert_eq!(have, [("Ash 1", false), ("Ash 1", true), ("Ash 1", true)]);
}

/// Three are given Ash 1, who has two straws: the third has the next best, Elm 2, before anybody has a
/// backup, though her score for him is the least.
#[test]
fn a_bull_given_and_sold_out_leaves_her_the_next_best() {
    let season = season_of("cow", 3, &[("Ash 1", 2), ("Elm 2", 1)], "");
    let herd = "animal,sire,mating\n1,x,Ash 1\n2,x,Ash 1\n3,x,Ash 1\n";
    let table = "animal,bull,score\n1,Elm 2,90\n2,Elm 2,50\n3,Elm 2,10\n";
    let made = Made::of(&season, Some(herd), Some(table));
    let good = made.matings().unwrap();
    assert_eq!(bulls(&good), ["Ash 1", "Ash 1", "Elm 2"]);
    assert_eq!(good.verdict.with_backup, 0);
    assert_eq!(codes(&good), ["M108"]);
    let third = &good.groups[0].animals[2];
    assert!(
        third.why.contains("Elm 2 is the next best"),
        "{}",
        third.why
    );
    // Not hers as long as a straw of the bull given is left.
    let more = season_of("cow", 3, &[("Ash 1", 3), ("Elm 2", 1)], "");
    let more = Made::of(&more, Some(herd), Some(table));
    let all = more.matings().unwrap();
    assert_eq!(bulls(&all), ["Ash 1"; 3]);
    let mut bad = good.clone();
    bad.bulls.clone_from(&all.bulls);
    assert!(!more.with(|i| verify::matings(i, &bad)).is_empty());
}

/// Of a group without a herd file nobody can be marked: its bulls' straws are for all of it, the
/// conventional ones of a bull first.
#[test]
fn sexed_straws_are_for_a_group_without_a_herd() {
    let season = season_of("heifer", 15, &[("Ash 1", 20), ("Elm 2", 6)], "");
    let all = season.clone() + "bulls: [{id: Ash 1, sexed: true}]\n";
    let made = Made::of(&all, None, None).matings().unwrap();
    let counts = |m: &Matings| -> Vec<(String, bool, u32)> {
        let counts = m.groups[0].by_bull.iter().filter(|c| c.head > 0);
        counts.map(|c| (c.bull.clone(), c.sexed, c.head)).collect()
    };
    assert_eq!(counts(&made), [("Ash 1".to_owned(), true, 15)]);
    // Five of his straws are conventional: these go first.
    let made = Made::of(&both_sorts(7), None, None).matings().unwrap();
    assert!(!counts(&made)[0].1);
    assert_eq!(counts(&made).iter().map(|c| c.2).sum::<u32>(), 7);
}

/// Whoever is not marked never gets a sexed straw of a bull who has others, even if he is given to her:
/// four are given, and he has three such straws.
#[test]
fn given_a_bull_of_both_sorts() {
    let herd = "animal,sexed,sire,mating\n1,yes,x,Ash 1\n2,,x,Ash 1\n3,,x,Ash 1\n4,,x,Ash 1\n5,,x,Ash 1\n6,yes,x,Ash 1\n7,yes,x,Ash 1\n";
    let made = Made::of(&both_sorts(7), Some(herd), None);
    let good = made.matings().unwrap();
    let sorts = good.groups[0].animals.iter();
    let sorts: Vec<Option<bool>> = sorts.map(|a| Some(a.straw.as_ref()?.sexed)).collect();
    let (yes, no) = (Some(true), Some(false));
    // The fifth and the last have conventional straws of the next best.
    assert_eq!(sorts, [yes, no, no, no, no, yes, no]);
    assert_eq!(bulls(&good)[4..], ["Elm 2", "Ash 1", "Elm 2"]);
    assert_eq!(codes(&good), ["M108"]);
    let mut bad = good.clone();
    bad.groups[0].animals[0].straw.as_mut().unwrap().sexed = false;
    assert!(!made.with(|i| verify::matings(i, &bad)).is_empty());
    // Two exchange their sorts: the sums hold, and the rule does not.
    let mut bad = good.clone();
    let one = bad.groups[0].animals[0].straw.take();
    bad.groups[0].animals[0].straw = bad.groups[0].animals[1].straw.take();
    bad.groups[0].animals[1].straw = one;
    assert!(!made.with(|i| verify::matings(i, &bad)).is_empty());
}

/// All of his straws are sexed because the season says so of him, whatever his canes say.
#[test]
fn all_straws_of_a_bull_marked_sexed_are() {
    let facts = "bulls: [{id: Ash 1, sexed: true}]\n";
    let herd = "animal,sexed,sire\n1,yes,x\n2,yes,x\n3,yes,x\n4,,x\n";
    let made = Made::of(&(both_sorts(4) + facts), Some(herd), None);
    let made = made.matings().unwrap();
    let all = [
        ("Ash 1", true),
        ("Ash 1", true),
        ("Ash 1", true),
        ("Elm 2", false),
    ];
    assert_eq!(straws(&made), all);
    assert_eq!(made.bulls[0].straws, 5);
}

#[test]
fn findings_of_matings_given_are_cut_and_counted() {
    let season = season_of("cow", 250, &[("Ash 1", 250)], "");
    let rows: String = (0..250).fold(String::new(), |t, n| format!("{t}{n},Ash 1,Ash 1\n"));
    let herd = format!("animal,sire,mating\n{rows}");
    let made = Made::of(&season, Some(&herd), None).matings().unwrap();
    let rule = made
        .findings
        .iter()
        .filter(|f| f.code.as_str() == "M107")
        .count();
    assert_eq!(rule, 200);
    let more = made
        .findings
        .iter()
        .find(|f| f.what.contains("more findings"));
    assert!(more.unwrap().what.starts_with("50 more"), "{more:?}");
    let error = Made::of(
        &season,
        Some(&herd.replace(",Ash 1,Ash 1", ",x,Asch 1")),
        None,
    )
    .matings()
    .unwrap_err();
    assert_eq!(error.findings().len(), 1);
    assert!(
        error.to_string().contains("250 cells of `mating`"),
        "{error}"
    );
}

/// Seven bulls are short, each by one straw more than the one before: five are named.
#[test]
fn many_bulls_that_are_short_are_told_shortly() {
    let names: Vec<String> = (0..7).map(|n| format!("B{n}")).collect();
    let mut straws: Vec<(&str, u32)> = names.iter().map(|n| (n.as_str(), 1)).collect();
    straws.push(("Last", 99));
    let mut herd = "animal,sire\n".to_owned();
    let mut scores = "animal,bull,score\n".to_owned();
    for (b, bull) in names.iter().enumerate() {
        for n in 0..b + 2 {
            let _ = writeln!(herd, "{bull}-{n},x");
            let _ = writeln!(scores, "{bull}-{n},{bull},100");
            if b > 0 {
                let _ = writeln!(scores, "{bull}-{n},B0,1");
            }
        }
    }
    let season = season_of("cow", 35, &straws, "");
    let made = Made::of(&season, Some(&herd), Some(&scores))
        .matings()
        .unwrap();
    assert_eq!(
        made.verdict.words[1],
        "Too few straws for all first choices: B6 is 7 straws short, B5 is 6 straws short, B4 is 5 straws \
         short, B3 is 4 straws short, B2 is 3 straws short, and 2 more bulls are 3 straws short in all."
    );
}

#[test]
fn what_is_given_is_kept_and_held_against_the_rules() {
    let season = season_of("cow", 4, &[("Ash 1", 1), ("Elm 2", 9)], "");
    let herd =
        "animal,sire,mating,second_mating\n1,x,Ash 1,\n2,Elm 2,elm 2,\n3,x,Ash 1,\n4,x,,Elm 2\n";
    let made = Made::of(&season, Some(herd), None).matings().unwrap();
    assert_eq!(bulls(&made), ["Ash 1", "Elm 2", "Elm 2", "Elm 2"]);
    assert_eq!(codes(&made), ["M107", "M108"]);
    let rule = &made.findings[0];
    let expected = "the herd file gives `Elm 2` to `2`: he is her sire";
    assert_eq!(rule.what, expected);
    assert_eq!(rule.place.as_deref(), Some("herd.csv:3:9 mating"));
    let one = &made.groups[0].animals;
    let expected = "bull named in your herd file, though he is her sire";
    assert_eq!(one[1].why, expected);
    assert_eq!(
        one[2].why,
        "your herd file names Ash 1, but no straw of his is left for her: Elm 2 is the next best"
    );
    assert_eq!(one[3].backup.as_ref().unwrap().bull, "Elm 2");
    let bad = Made::of(&season, Some("animal,mating\n1,Asch 1\n"), None);
    let error = bad.matings().unwrap_err();
    assert!(
        error.to_string().contains("M106 herd.csv:2:3 mating"),
        "{error}"
    );
    assert!(
        error.to_string().contains("did you mean `Ash 1`?"),
        "{error}"
    );
}

#[test]
fn straws_are_taken_place_by_place() {
    let season = season_of("cow", 3, &[("Ash 1", 2)], "").replace(
        "semen:\n",
        "semen:\n  - {bull: Ash 1, straws: 2, tank: T, canister: 4, cane: b}\n",
    );
    let made = Made::of(&season, Some("animal,sire\n1,x\n2,x\n3,x\n"), None)
        .matings()
        .unwrap();
    let at: Vec<Option<u32>> = made.groups[0]
        .animals
        .iter()
        .map(|a| a.straw.as_ref().unwrap().canister)
        .collect();
    // As the tank's straws are taken: of two canisters with as many the lower number first.
    assert_eq!(at, [Some(1), Some(1), Some(4)]);
}

#[test]
fn a_group_without_a_herd_is_counted() {
    let season = season_of("cow", 20, &[("Ash 1", 12), ("Elm 2", 30)], "")
        .replace("    herd: herd.csv\n", "");
    let made = Made::of(&season, None, None).matings().unwrap();
    let counts: Vec<(&str, u32, u32)> = made.groups[0]
        .by_bull
        .iter()
        .map(|c| (c.bull.as_str(), c.head, c.backup_head))
        .collect();
    assert_eq!(counts, [("Ash 1", 12, 0), ("Elm 2", 8, 12)]);
    let expected = (12, vec!["M111"]);
    assert_eq!((made.verdict.first_choice, codes(&made)), expected);
}

/// Everything that could be wrong with finished matings is seen by the second reading.
#[test]
fn damage_is_seen() {
    let facts = "bulls: [{id: Oak 3, calving_ease: true}]\n";
    let season = season_of(
        "heifer",
        4,
        &[("Ash 1", 2), ("Elm 2", 9), ("Oak 3", 2)],
        facts,
    );
    let herd = "animal,sire\n1,Oak 3\n2,Ash 1\n3,x\n4,x\n";
    let made = Made::of(&season, Some(herd), None);
    let good = made.matings().unwrap();
    let faults = |bad: &Matings| made.with(|input| verify::matings(input, bad));
    assert!(faults(&good).is_empty());
    let harm: [fn(&mut Matings); 9] = [
        |m| m.groups[0].animals.swap(0, 1),
        |m| m.groups[0].animals[0].straw.as_mut().unwrap().bull = "Oak 3".into(),
        |m| m.groups[0].animals[0].straw.as_mut().unwrap().canister = Some(2),
        |m| m.groups[0].animals[2].straw = None,
        |m| m.groups[0].by_bull[0].head += 1,
        |m| m.bulls[0].left += 1,
        |m| m.bulls[2].price[0] += 1,
        |m| m.proof.bound[1] += 1,
        |m| m.groups[0].animals[0].has_first_choice ^= true,
    ];
    for (n, harm) in harm.iter().enumerate() {
        let mut bad = good.clone();
        harm(&mut bad);
        assert!(!faults(&bad).is_empty(), "{n}");
    }
    // Other scores than those it was made for.
    let table = "animal,bull,score\n3,Oak 3,90\n4,Oak 3,10\n2,Oak 3,20\n";
    let other = Made::of(&season, Some(herd), Some(table));
    assert!(!other.with(|input| verify::matings(input, &good)).is_empty());
    let mut bad = good.clone();
    bad.bulls[0].price = [0, 0, -1, 0];
    assert!(!faults(&bad).is_empty());
}

/// A bull for every way that animals may be matched, each tried.
fn best(worth: &[Vec<Option<[i64; 3]>>], left: &mut [u32]) -> [i64; 3] {
    let Some((first, rest)) = worth.split_first() else {
        return [0; 3];
    };
    let mut most = best(rest, left);
    for (j, w) in first.iter().enumerate() {
        if let Some(w) = w
            && left[j] > 0
        {
            left[j] -= 1;
            let then = best(rest, left);
            left[j] += 1;
            most = most.max(std::array::from_fn(|n| w[n] + then[n]));
        }
    }
    most
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(300))]

    /// Small herds of heifers through the whole library against every choice there is.
    #[test]
    fn small_herds_against_every_choice(seed in any::<u64>()) {
        let mut dice = Dice(seed);
        let names = ["Ash 1", "Elm 2", "Oak 3"];
        let straws: Vec<(&str, u32)> = names.iter().map(|n| (*n, dice.below(4) as u32)).collect();
        let easy = dice.below(4) as usize;
        let facts = names.get(easy).map_or(String::new(), |n| {
            format!("bulls: [{{id: {n}, calving_ease: true, sire: S}}]\n")
        });
        let head = dice.from(1, 6) as usize;
        let mut herd = "animal,sire\n".to_owned();
        let mut table = "animal,Ash 1,Elm 2,Oak 3\n".to_owned();
        let mut worth = Vec::new();
        for n in 0..head {
            let sire = *dice.pick(&["Ash 1", "Elm 2", "S", "x", ""]);
            let _ = writeln!(herd, "a{n},{sire}");
            let scores: Vec<i64> = (0..3).map(|_| dice.below(101) as i64).collect();
            let _ = writeln!(table, "a{n},{},{},{}", scores[0], scores[1], scores[2]);
            worth.push((0..3).map(|b| {
                let kin = sire == names[b] || (sire == "S" && easy == b);
                (!kin).then(|| [1, i64::from(easy == b), scores[b] * 100])
            }).collect::<Vec<_>>());
        }
        let season = season_of("heifer", head, &straws, &facts);
        let made = Made::of(&season, Some(&herd), Some(&table)).matings().unwrap();
        let mut left: Vec<u32> = straws.iter().map(|(_, n)| *n).collect();
        prop_assert_eq!(&made.proof.worth[..3], &best(&worth, &mut left)[..]);
    }
}

/// Many bulls, half of them short: every straw's price proves the whole, in the library as in the
/// second reading, which [`pipeline::matings`] asks.
#[test]
fn a_large_herd_is_proven_and_keeps_its_bytes() {
    let files = matings(1200, 20);
    let folder = Folder::new();
    for (name, text) in &files {
        folder.write(name, text);
    }
    let ask = || folder.run(&["matings", "matings.yaml", "--json"]);
    let told = ask();
    assert!(matches!(told.code, 0 | 1));
    let json = told.json();
    assert_eq!(json["proof"]["worth"], json["proof"]["bound"]);
    assert_eq!(json["backup_proof"]["worth"], json["backup_proof"]["bound"]);
    assert_eq!(ask().out, told.out);
}

#[test]
fn text_json_and_csv_of_the_command() {
    let long = "A bull whose name goes on and on 9";
    let season = season_of("cow", 3, &[("Ash 1", 1), (long, 1)], "scores: x.csv\n");
    let herd = "animal,sire\n=1+2,x\n@b,\"x, y\"\n-c,\n";
    let folder = Folder::with("s.yaml", season);
    folder.write("herd.csv", herd);
    folder.write("x.csv", "animal,bull,score\n@b,Ash 1,100\n");
    let told = folder.run(&["matings", "s.yaml"]);
    assert_eq!((told.code, told.err.as_str()), (1, ""));
    let out = told.out;
    let verdict = "2 of 3 animals get a bull; 1 gets the first choice.";
    assert!(out.contains(verdict), "{out}");
    assert!(out.lines().all(|l| l.chars().count() <= 80), "{out}");
    let told = folder.run(&["matings", "s.yaml", "--json", "--group", "cows"]);
    let json = told.json();
    assert_eq!(told.code, 1);
    assert_eq!(json["format"], "thawline.matings/1");
    assert_eq!(json["verdict"]["with_bull"], 2);
    let out = folder.run(&["matings", "s.yaml", "--csv"]).out;
    let mut table = csv::Reader::from_reader(out.as_bytes());
    let rows: Vec<csv::StringRecord> = table.records().map(Result::unwrap).collect();
    let ids: Vec<&str> = rows.iter().map(|r| &r[1]).collect();
    assert_eq!(ids, ["'=1+2", "'@b", "'-c"]);
    let told = folder.run(&["matings", "s.yaml", "--group", "cosw"]);
    told.refused(&["did you mean `cows`?"]);
    std::fs::remove_file(folder.path().join("x.csv")).unwrap();
    let told = folder.run(&["matings", "s.yaml"]);
    told.refused(&["F101 s.yaml:", "x.csv"]);
}

#[test]
fn animals_of_another_class_than_their_group_count_by_their_own() {
    let facts = "bulls: [{id: Oak 3, calving_ease: true}]\n";
    let season = season_of("cow", 2, THREE, facts);
    let made = Made::of(&season, Some("animal,sire\n1,x\n2,x\n"), None);
    assert_eq!(made.season.groups[0].class, Class::Cow);
    let given = made.with(|i| matings::propose(i, &[])).unwrap().proof.worth;
    assert_eq!(given, [2, 0, 20_000, 0]);
}
