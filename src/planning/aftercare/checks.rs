//! Pregnancy checks: from which day after breeding each method can tell, as published.

use super::{FollowUp, Kind, Maker, event};
use crate::base::time::human_date;
use crate::trade::figures::later;
use crate::trade::protocol::Class;

/// Days after breeding from which ultrasound can tell (PREG-METHODS; 25 to 30 days in PREG-EARLY).
pub(super) const ULTRASOUND_DAYS: u32 = 28;

/// Days after breeding until which a pregnancy's age is read well (PREG-METHODS; computed there
/// from how well ultrasound tells age).
pub(super) const AGED_UNTIL_DAYS: u32 = 90;

/// Days after breeding from which a blood test can tell (UK-BLOOD; 28 days by BLOOD-TEST).
pub(super) const BLOOD_DAYS: u32 = 30;

/// Days after breeding from which palpation can tell (PREG-COLUMN; 35 to 45 days in PREG-EARLY).
pub(super) const PALPATION_DAYS: u32 = 45;

/// The least age at which a pregnancy by a bull can be told from one by AI.
pub(super) const BULL_PREGNANCY_DAYS: u32 = 30;

pub(super) fn of(m: &Maker<'_>) -> Vec<FollowUp> {
    let after = m.breeding();
    let (from, to) = (
        later(m.last, ULTRASOUND_DAYS),
        later(m.first, AGED_UNTIL_DAYS),
    );
    let until = (from <= to).then_some(to);
    let mut scan = vec![format!(
        "From day {ULTRASOUND_DAYS} after {after}; other sources say 25 to 30."
    )];
    if until.is_some() {
        scan.push(format!(
            "Fetal age is reliable to about day {AGED_UNTIL_DAYS} (computed)."
        ));
    }
    let mut blood = vec![format!(
        "From day {BLOOD_DAYS} after {after}; a test maker says 28."
    )];
    if m.group.class == Class::Cow {
        blood.push(
            "A cow must have calved at least 90 days before; a test maker says 73.".to_owned(),
        );
    }
    let hand = vec![format!(
        "From day {PALPATION_DAYS} after {after}; from day 35 to 40 by skilled hands, and in some \
         advice from 6 to 8 weeks."
    )];
    let check = |kind, by: &str, days, words, sources: &[&str]| {
        let what = format!("pregnancy check by {by}");
        event(m.group, kind, &what, days, words, sources)
    };
    let (blood_from, hand_from) = (later(m.last, BLOOD_DAYS), later(m.last, PALPATION_DAYS));
    let by_hand = ["PREG-COLUMN", "PREG-EARLY", "PREG-METHODS", "CLEMSON"];
    let mut found = vec![
        check(
            Kind::Ultrasound,
            "ultrasound",
            (from, until),
            scan,
            &["PREG-METHODS", "PREG-EARLY"],
        ),
        check(
            Kind::BloodTest,
            "blood test",
            (blood_from, None),
            blood,
            &["UK-BLOOD", "BLOOD-TEST"],
        ),
        check(
            Kind::Palpation,
            "palpation",
            (hand_from, None),
            hand,
            &by_hand,
        ),
    ];
    found.extend(ai_or_bull(m));
    found
}

/// Where bulls follow AI: a pregnancy by a bull is then old enough to be seen, and one by AI not
/// yet too old to be aged.
fn ai_or_bull(m: &Maker<'_>) -> Option<FollowUp> {
    let bulls = m.group.after.bulls.as_ref()?;
    let from = later(bulls.turned_out, BULL_PREGNANCY_DAYS).max(later(m.last, BULL_PREGNANCY_DAYS));
    let to = later(m.first, AGED_UNTIL_DAYS);
    let words = vec![
        format!(
            "The oldest bull pregnancies are at least {BULL_PREGNANCY_DAYS} days and AI pregnancies no more \
             than about {AGED_UNTIL_DAYS}, so fetal age tells them apart (computed)."
        ),
        format!(
            "The bulls go in on {}: later bull pregnancies will not show yet, so recheck open animals.",
            human_date(bulls.turned_out)
        ),
    ];
    (from <= to).then(|| {
        let what = "pregnancy check to sort AI from bull pregnancies";
        event(
            m.group,
            Kind::AiOrBull,
            what,
            (from, Some(to)),
            words,
            &["PREG-METHODS"],
        )
    })
}
