//! Readiness by the published thresholds and examples.

use super::*;
use crate::trade::protocol::Library;
use proptest::prelude::*;

fn day(text: &str) -> NaiveDate {
    text.parse().unwrap()
}

/// An animal of whom nothing is known.
fn blank(class: Class) -> Animal {
    let (mut herd, _) = crate::trade::herd::read("h.csv", b"animal\nx\n", class, None).unwrap();
    herd.animals.remove(0)
}

fn course(protocol: &str, start: &str) -> Course {
    let library = Library::built_in();
    Course::from_start(library.get(protocol).unwrap(), start.parse().unwrap())
}

/// Insert on 3 May, AI 7 days and 63 hours later.
fn cows() -> Course {
    course("cow-7-day-co-synch-insert", "2027-05-03T20:00:00")
}

/// First MGA 32 days before PG, AI 72 hours after it.
fn heifers() -> Course {
    course("heifer-mga-pg", "2027-04-12T08:00:00")
}

/// By the usual rules, when the course of her class begins.
fn usual(animal: &Animal) -> Judged {
    let course = match animal.class {
        Class::Cow => cows(),
        _ => heifers(),
    };
    judge(animal, animal.class, &course, &ReadyRules::default())
}

fn cow(calved: &str, condition: f64) -> Judged {
    usual(&Animal {
        calved: Some(day(calved)),
        body_condition: Some(condition),
        ..blank(Class::Cow)
    })
}

#[test]
fn the_course_of_a_protocol() {
    let c = cows();
    assert_eq!(c.breeding_day, day("2027-05-13"));
    assert_eq!(c.insert_day, Some(day("2027-05-03")));
    assert!(c.progestin);
    assert!(!course("cow-co-synch", "2027-05-03T20:00:00").progestin);
    let heifers = heifers();
    assert_eq!(heifers.breeding_day, day("2027-05-17"));
    assert!(heifers.progestin && heifers.insert_day.is_none());
}

/// 50 days (COWS-2015), 45 days (SEXED-CALV), 20 days at the insert (CFR-1940).
#[test]
fn days_since_calving() {
    assert_eq!(cow("2027-03-24", 5.0).answer, Readiness::Ready);
    let late = cow("2027-03-25", 5.0);
    assert_eq!(late.answer, Readiness::WithProgestin);
    assert_eq!(late.reasons, [Reason::CalvedLate]);
    assert_eq!(late.days_since_calving, Some([39, 49]));
    assert_eq!(cow("2027-03-29", 5.0).answer, Readiness::WithProgestin);
    let wait = cow("2027-03-30", 5.0);
    assert_eq!(wait.answer, Readiness::Wait);
    // 30 March + 45 days - 10 days from the start to breeding: late then, and not too late.
    assert_eq!(wait.ready_from, Some(day("2027-05-04")));
    assert_eq!(wait.answer_then, Some(Readiness::WithProgestin));
    assert_eq!(cow("2027-04-13", 5.0).reasons, [Reason::CalvedTooLate]);
    let label = cow("2027-04-14", 5.0);
    let both = [Reason::InsertTooSoon, Reason::CalvedTooLate];
    assert_eq!(label.reasons, both);
    assert_eq!(label.ready_from, Some(day("2027-05-19")));
    let after = cow("2027-05-04", 5.0);
    assert_eq!(after.answer, Readiness::NotNow);
    assert_eq!(after.reasons, [Reason::CalvesAfterStart]);
}

#[test]
fn thin_and_young_cows_need_a_progestin() {
    let thin = cow("2027-02-01", 4.5);
    assert_eq!(thin.reasons, [Reason::Thin]);
    assert_eq!(thin.ready_from, None);
    let animal = Animal {
        born: Some(day("2025-02-01")),
        calved: Some(day("2027-02-01")),
        body_condition: Some(6.0),
        ..blank(Class::Cow)
    };
    let young = usual(&animal);
    assert_eq!(young.answer, Readiness::WithProgestin);
    assert_eq!(young.reasons, [Reason::FirstCalf]);
    assert_eq!(young.months, Some(27));
}

#[test]
fn blank_cells_are_named_unless_the_rest_decides() {
    let unknown = usual(&blank(Class::Cow));
    assert_eq!(unknown.answer, Readiness::Unknown);
    assert_eq!(unknown.blank, ["last_calving_date", "body_condition"]);
    let animal = Animal {
        calved: Some(day("2027-04-20")),
        ..blank(Class::Cow)
    };
    let wait = usual(&animal);
    assert_eq!(wait.answer, Readiness::Wait);
    assert_eq!(wait.ready_from, Some(day("2027-05-25")));
    let heifer = usual(&blank(Class::Heifer));
    let weights = ["weight_lb", "mature_weight_lb or frame_score"];
    assert_eq!(heifer.blank, [&["tract_score"], &weights[..]].concat());
}

fn heifer(weight: f64, tract: Option<u8>, rules: &ReadyRules) -> Judged {
    let animal = Animal {
        born: Some(day("2026-03-01")),
        weight_lb: Some(weight),
        mature_lb: Some(1000.0),
        tract_score: tract,
        ..blank(Class::Heifer)
    };
    judge(&animal, Class::Heifer, &heifers(), rules)
}

/// 60 to 65 % (PATT12), scores 1-2 prepubertal, 3 peripubertal, 4-5 pubertal (RTS-COX).
#[test]
fn heifers_by_weight_and_tract_score() {
    let rules = ReadyRules::default();
    let answer = |w, t| heifer(w, t, &rules).answer;
    assert_eq!(answer(650.0, None), Readiness::Ready);
    assert_eq!(answer(649.0, None), Readiness::WithProgestin);
    assert_eq!(answer(600.0, None), Readiness::WithProgestin);
    assert_eq!(answer(649.0, Some(4)), Readiness::Ready);
    assert_eq!(answer(599.0, Some(5)), Readiness::Wait);
    assert_eq!(answer(700.0, Some(3)), Readiness::WithProgestin);
    assert_eq!(answer(700.0, Some(2)), Readiness::Wait);
    assert_eq!(answer(700.0, Some(1)), Readiness::NotNow);
    // With a gain of 1.5 lb a day, 35 days to breeding make 52.5 lb.
    let gaining = ReadyRules {
        gain_lb_per_day: Some(1.5),
        ..rules
    };
    assert_eq!(heifer(598.0, None, &gaining).answer, Readiness::Ready);
    let light = heifer(540.0, None, &gaining);
    assert_eq!(light.answer, Readiness::Wait);
    // Whenever she is asked for, she is taken as weighed on that day.
    assert_eq!(light.ready_from, None);
}

/// 60 lb to 60 % of 1000 lb take 40 days at 1.5 lb: 22 May, less 35 days to breeding. She scores
/// 4, or is light and has a progestin.
#[test]
fn a_heifer_too_light_is_ready_at_the_least_weight() {
    let then = [Readiness::Ready, Readiness::WithProgestin];
    for (tract, answer) in [Some(4), None].into_iter().zip(then) {
        let animal = Animal {
            weight_lb: Some(540.0),
            weighed: Some(day("2027-04-12")),
            mature_lb: Some(1000.0),
            tract_score: tract,
            ..blank(Class::Heifer)
        };
        let rules = ReadyRules {
            gain_lb_per_day: Some(1.5),
            ..ReadyRules::default()
        };
        let light = judge(&animal, Class::Heifer, &heifers(), &rules);
        assert_eq!(light.answer, Readiness::Wait);
        assert_eq!(light.ready_from, Some(day("2027-04-17")));
        assert_eq!(light.answer_then, Some(answer));
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(2000))]

    /// Asked for the day told, the answer is the one told, and not to wait; asked for any day
    /// before, it is to wait.
    #[test]
    fn ready_from_is_the_answer_at_that_start(
        (heifer, at) in (any::<bool>(), 0usize..3),
        (born, calved, weighed) in (200u64..900, proptest::option::of(0u64..150), proptest::option::of(0u64..120)),
        (condition, tract) in (proptest::option::of(3u8..8), proptest::option::of(1u8..6)),
        (weight, mature) in (400.0..900.0, 900.0..1500.0),
        (gain, percent, days) in (proptest::option::of(0.0..3.0), 50.0..75.0, 30i64..90),
    ) {
        let first = day("2027-05-03");
        let before = |days: u64| first.checked_sub_days(Days::new(days)).unwrap();
        let class = if heifer { Class::Heifer } else { Class::Cow };
        let animal = Animal {
            born: Some(before(born)),
            // Some calve after the first day.
            calved: calved.map(|d| before(d) + chrono::TimeDelta::days(30)),
            body_condition: condition.map(f64::from),
            weight_lb: Some(weight),
            weighed: weighed.map(before),
            mature_lb: Some(mature),
            tract_score: tract,
            ..blank(class)
        };
        let rules = ReadyRules {
            days_since_calving: days,
            mature_percent: percent,
            gain_lb_per_day: gain,
            ..ReadyRules::default()
        };
        let protocol = match (heifer, at) {
            (true, 0) => "heifer-mga-pg",
            (true, _) => "heifer-14-day-insert-pg",
            (false, 0) => "cow-co-synch",
            (false, _) => "cow-7-day-co-synch-insert",
        };
        let at = |day: NaiveDate| {
            let start = format!("{day}T08:00:00");
            judge(&animal, class, &course(protocol, &start), &rules)
        };
        let now = at(first);
        if now.answer < Readiness::Wait {
            prop_assert_eq!(now.ready_from, None);
        }
        if let Some(from) = now.ready_from {
            let then = at(from);
            prop_assert_eq!(Some(then.answer), now.answer_then);
            prop_assert!(then.answer < Readiness::Wait);
            for n in 1..=(from - first).num_days().min(40) {
                let day = from - chrono::TimeDelta::days(n);
                prop_assert!(at(day).answer >= Readiness::Wait, "{} of {}", day, from);
            }
        }
    }
}

/// 12 months (VT-302).
#[test]
fn heifers_too_young() {
    let animal = Animal {
        born: Some(day("2026-05-19")),
        tract_score: Some(4),
        ..blank(Class::Heifer)
    };
    let young = usual(&animal);
    assert_eq!(young.answer, Readiness::Wait);
    assert_eq!(young.ready_from, Some(day("2027-04-14")));
}

/// W19 of the published examples (NDSU-APR01): 734 lb on 3 April, 831 lb (70 %) wanted by
/// 14 May: 97 lb in 41 days, printed as 2.3 lb a day, 2.37 exactly.
#[test]
fn gain_needed_by_breeding() {
    let gain = gain_needed(734.0, 831.0, 41).unwrap();
    assert!((gain - 2.37).abs() < 0.005, "{gain}");
    assert_eq!(gain_needed(900.0, 831.0, 41), None);
    assert_eq!(gain_needed(734.0, 831.0, 0), None);
    // The same from a herd file: 1188 lb mature as published, 70 %.
    let animal = Animal {
        weight_lb: Some(734.0),
        weighed: Some(day("2001-04-03")),
        mature_lb: Some(1188.0),
        ..blank(Class::Heifer)
    };
    let c = Course {
        first_day: day("2001-04-10"),
        breeding_day: day("2001-05-14"),
        insert_day: None,
        progestin: true,
    };
    let rules = ReadyRules {
        mature_percent: 70.0,
        ..ReadyRules::default()
    };
    let judged = judge(&animal, Class::Heifer, &c, &rules);
    // 70 % of 1188 is 831.6, printed as 831.
    assert!((judged.gain_needed_lb_per_day.unwrap() - 2.37).abs() < 0.02);
    assert!((judged.mature_percent.unwrap() - 61.8).abs() < 0.05);
}
