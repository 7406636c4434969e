//! Pregnancy checks: from which day after breeding each method can tell, as published.

use super::{FollowUp, Kind, Maker};
use crate::base::time::human_date;
use crate::trade::figures::{COMMON_PRACTICE, later};
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
    let mut found = vec![ultrasound(m), blood(m), palpation(m)];
    found.extend(ai_or_bull(m));
    found.extend(last_check(m));
    found
}

/// What an early check cannot see, and what to do before an animal is taken for open.
fn unseen(m: &Maker<'_>, days: u32) -> String {
    const RECHECK: &str =
        "recheck an animal called open before culling her or giving PG, which ends a pregnancy";
    let Some(bulls) = m.group.after.bulls.as_ref() else {
        return format!("Some pregnancies are missed or lost: {RECHECK} ({COMMON_PRACTICE}).");
    };
    format!(
        "A pregnancy by a bull does not show until {days} days after he bred her, and bulls are with them from {}: \
         {RECHECK} ({COMMON_PRACTICE}).",
        human_date(bulls.turned_out)
    )
}

/// After the bulls are out: who is open then is open.
fn last_check(m: &Maker<'_>) -> Option<FollowUp> {
    let out = m.group.after.bulls.as_ref()?.out?;
    let words = vec![format!(
        "{PALPATION_DAYS} days or more after the bulls come out on {}, when the youngest pregnancy by a bull can be \
         felt. Animals open now are open.",
        human_date(out)
    )];
    let days = (later(out.max(m.last), PALPATION_DAYS), None);
    let what = "last pregnancy check";
    let tags = &["PREG-COLUMN", "PREG-EARLY"];
    Some(m.event(Kind::LastCheck, what, days, words, tags))
}

fn ultrasound(m: &Maker<'_>) -> FollowUp {
    let (from, to) = (
        later(m.last, ULTRASOUND_DAYS),
        later(m.first, AGED_UNTIL_DAYS),
    );
    let until = (from <= to).then_some(to);
    let mut words = vec![format!(
        "From day {ULTRASOUND_DAYS} after {}; other sources say 25 to 30.",
        m.breeding()
    )];
    words.push(unseen(m, ULTRASOUND_DAYS));
    if until.is_some() {
        words.push(format!(
            "Fetal age is reliable to about day {AGED_UNTIL_DAYS} (computed)."
        ));
    }
    m.event(
        Kind::Ultrasound,
        "pregnancy check by ultrasound",
        (from, until),
        words,
        &["PREG-METHODS", "PREG-EARLY"],
    )
}

fn blood(m: &Maker<'_>) -> FollowUp {
    let mut words = vec![format!(
        "From day {BLOOD_DAYS} after {}; a test maker says 28.",
        m.breeding()
    )];
    if m.group.class == Class::Cow {
        words.push(
            "A cow must have calved at least 90 days before; a test maker says 73.".to_owned(),
        );
    }
    words.push(unseen(m, BLOOD_DAYS));
    m.event(
        Kind::BloodTest,
        "pregnancy check by blood test",
        (later(m.last, BLOOD_DAYS), None),
        words,
        &["UK-BLOOD", "BLOOD-TEST"],
    )
}

fn palpation(m: &Maker<'_>) -> FollowUp {
    let from = format!(
        "From day {PALPATION_DAYS} after {}; from day 35 to 40 by skilled hands, and in some \
         advice from 6 to 8 weeks.",
        m.breeding()
    );
    let words = vec![from, unseen(m, PALPATION_DAYS)];
    m.event(
        Kind::Palpation,
        "pregnancy check by palpation",
        (later(m.last, PALPATION_DAYS), None),
        words,
        &["PREG-COLUMN", "PREG-EARLY", "PREG-METHODS", "CLEMSON"],
    )
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
        m.event(
            Kind::AiOrBull,
            what,
            (from, Some(to)),
            words,
            &["PREG-METHODS"],
        )
    })
}
