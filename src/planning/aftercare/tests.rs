//! Days against published ones and plain counting.

use chrono::Days;

use super::*;
use crate::base::time::parse_date;
use crate::trade::protocol::Library;
use crate::trade::season::Season;

fn day(text: &str) -> NaiveDate {
    parse_date(text).unwrap()
}

fn season(more: &str) -> Season {
    let text = format!(
        "format: thawline.season/1\nname: Small\nzone: America/Denver\n\
         sites: [{{id: yard, injections_head_per_hour: 60, breeding_boxes: 2}}]\n\
         groups:\n  - {{id: cows, site: yard, class: cow, head: 20, protocol: cow-7-day-co-synch-insert, \
         start: 2027-05-03T20:00, bulls: [Ash 1]{more}}}\n\
         crew: [{{id: ana, minutes_per_cow: 3, helper: true}}]\nsemen: [{{bull: Ash 1, straws: 40}}]\n"
    );
    crate::trade::season::read("season.yaml", text.as_bytes(), &Library::built_in())
        .unwrap()
        .0
}

/// Events as `kind first last`.
fn words_of(more: &str, first: &str, last: &str, treated: &[(Drug, &str)]) -> Vec<String> {
    let done = Done {
        bred: Some((day(first), day(last))),
        treated: treated.iter().map(|(d, t)| (*d, day(t))).collect(),
    };
    let found = follow_up(&season(more).groups[0], "US", &done);
    let until = |f: &FollowUp| f.last_day.map_or("open".to_owned(), |d| d.to_string());
    found
        .events
        .iter()
        .map(|f| format!("{} {} {}", f.kind.as_str(), f.first_day, until(f)))
        .collect()
}

#[test]
fn days_after_one_day_of_breeding() {
    // ANDERSON-RESYNC: AI on 21 May, the twenty-first day is 11 June; calves by TORELL after 283 days.
    assert_eq!(
        words_of("", "2027-05-21", "2027-05-21", &[]),
        [
            "return-heat 2027-06-08 2027-06-14",
            "ultrasound 2027-06-18 2027-08-19",
            "blood-test 2027-06-20 open",
            "palpation 2027-07-05 open",
            "first-calving 2028-02-16 2028-02-16",
            "mean-calving 2028-02-28 2028-02-28",
        ]
    );
}

#[test]
fn bulls_and_breed() {
    let more = ", calves: {breed: angus, clean_up: {in: 2027-06-04, out: 2027-07-19, head: 2}}";
    let found = words_of(more, "2027-05-20", "2027-05-22", &[]);
    for wanted in [
        "return-heat 2027-06-07 2027-06-15",
        "bulls-in 2027-06-04 2027-06-04",
        "bulls-out 2027-07-19 2027-07-19",
        // 30 days after the bulls go in, and 90 after AI.
        "ai-or-bull 2027-07-04 2027-08-18",
        // 45 days (PREG-COLUMN) after the bulls come out.
        "last-check 2027-09-02 open",
        // 279 days (278.6, ANGUS-GL), 12 before and after (TORELL).
        "first-calving 2028-02-11 2028-02-11",
        "mean-calving 2028-02-23 2028-02-25",
        "bull-calving 2028-02-26 2028-05-05",
    ] {
        assert!(found.contains(&wanted.to_owned()), "{wanted}: {found:#?}");
    }
}

/// NDSU-AUG: turned out on 1 August 2012 and 2013, the first calves came on 28 and 27 April, 270
/// and 269 days later: a day or two before the day that is looked for.
#[test]
fn first_calves_of_bulls_come_about_when_looked_for() {
    let more = ", calves: {clean_up: {in: 2027-08-01, out: 2027-09-15, head: 1}}";
    let found = words_of(more, "2027-05-20", "2027-05-20", &[]);
    let looked_for = day("2027-08-01") + Days::new(283 - 12);
    let last = day("2027-09-15") + Days::new(283 + 12);
    assert!(found.contains(&format!("bull-calving {looked_for} {last}")));
    assert!((looked_for - day("2027-08-01")).num_days() - 270 <= 2);
}

/// NOAH-PG, NOAH-CLO2, NOAH-CLOPROSTENOL and NOAH-INSERT in the United Kingdom, CFIA in Canada, MGA-MAKER in the
/// United States; nothing elsewhere.
#[test]
fn withdrawal_is_what_is_listed_for_the_country_and_no_more() {
    let treated = [
        (Drug::Gnrh, "2027-05-13"),
        (Drug::Pg, "2027-05-12"),
        (Drug::Insert, "2027-05-12"),
    ];
    let done = |treated: &[(Drug, &str)]| Done {
        bred: Some((day("2027-05-13"), day("2027-05-13"))),
        treated: treated.iter().map(|(d, t)| (*d, day(t))).collect(),
    };
    let season = season("");
    let of = |country: &str, treated: &[(Drug, &str)]| {
        let all = follow_up(&season.groups[0], country, &done(treated)).events;
        all.into_iter().find(|f| f.kind == Kind::Withdrawal)
    };
    let found = of("GB", &treated).unwrap();
    assert_eq!(found.first_day, day("2027-05-14"));
    // Of GnRH nothing is listed: no title says that the time is over.
    assert_eq!(found.what, "slaughter withdrawal: read the labels");
    let listed = of("GB", &treated[1..]).unwrap();
    assert!(listed.what.starts_with("slaughter withdrawal ends"));
    let last =
        "Times differ by product and country: the label in hand and your veterinarian decide.";
    assert_eq!(
        found.words,
        [
            "GnRH, last given Thu 13 May 2027: see the label.",
            "PG, last given Wed 12 May 2027: in GB 2 days (dinoprost, NOAH-PG); 2 days (cloprostenol, \
             NOAH-CLO2); 1 day (d-cloprostenol, NOAH-CLOPROSTENOL).",
            "Insert, last given Wed 12 May 2027: in GB 0 days (progesterone insert, NOAH-INSERT).",
            last,
        ]
    );
    for elsewhere in ["US", "CA", "BR", ""] {
        let found = of(elsewhere, &treated).unwrap();
        assert_eq!(found.first_day, day("2027-05-13"), "{elsewhere}");
        assert_eq!(
            found.words[1],
            "PG, last given Wed 12 May 2027: see the label."
        );
        assert!(found.sources.is_empty());
    }
    // MGA: 24 hours in Canada (CFIA), none in the United States (MGA-MAKER).
    let mga = [(Drug::Mga, "2027-04-25")];
    let ends = |country| of(country, &mga).unwrap().first_day;
    assert_eq!(
        [ends("CA"), ends("US")],
        [day("2027-04-26"), day("2027-04-25")]
    );
    assert_eq!(of("GB", &[]), None);
}

#[test]
fn every_tag_is_a_listed_publication() {
    let more = ", calves: {clean_up: {in: 2027-06-04, out: 2027-07-19, head: 1}}";
    let done = Done {
        bred: Some((day("2027-05-20"), day("2027-05-20"))),
        treated: Drug::ALL.iter().map(|d| (*d, day("2027-05-19"))).collect(),
    };
    for event in follow_up(&season(more).groups[0], "GB", &done).events {
        for tag in &event.sources {
            assert!(crate::trade::sources::find(tag).is_some(), "{tag}");
        }
        assert!(
            event.kind == Kind::BullsOut || !event.sources.is_empty(),
            "{event:?}"
        );
    }
}

#[test]
fn a_group_that_is_not_bred_has_nothing_to_follow() {
    let none = follow_up(&season("").groups[0], "US", &Done::default());
    assert_eq!((none.first_bred, none.last_bred), (None, None));
    assert!(none.events.is_empty());
}
