//! The verdict on a group in sentences.

use chrono::NaiveDate;

use super::reasons::Readiness;
use super::report::GroupReport;
use crate::base::time::human_date;

/// What is said of the group, the count by answers first.
pub(super) fn words(r: &GroupReport<'_>) -> Vec<String> {
    let kind = match (r.class, r.head) {
        (class, 1) => class.to_owned(),
        (class, _) => format!("{class}s"),
    };
    let (need, wait) = (
        r.head_of(Readiness::WithProgestin),
        r.head_of(Readiness::Wait),
    );
    let mut words = vec![format!("Of {} {kind}, {}.", r.head, counts(r).join("; "))];
    if need > 0 {
        words.push(
            "A progestin brings some animals that are not cycling into heat, but not all (COWS-2015)."
                .to_owned(),
        );
    }
    let animals = r.animals.iter().filter(|a| a.answer == Readiness::Wait);
    let dates: Vec<NaiveDate> = animals.filter_map(|a| a.ready_from).collect();
    if let Some(last) = dates.iter().max() {
        let day = human_date(*last);
        words.push(if dates.len() < wait {
            format!(
                "Of the {wait} that should wait, {} could start on {day} or later; for the others no day can be computed.",
                dates.len()
            )
        } else if wait == 1 {
            format!("The one that should wait could start on {day} or later.")
        } else {
            format!("The {wait} that should wait could all start on {day} or later.")
        });
    }
    if let Some(c) = r.cycling {
        words.push(format!(
            "{} of {} scored heifers are at tract score 4 or 5: {} %, and at least half of the group are wanted 4 to 6 weeks before breeding (PATT12).",
            c.cycling_head, c.scored_head, c.percent
        ));
    }
    if let Some(g) = r.gain {
        let (mean, unit) = r.units.pounds(g.mean_lb_per_day);
        let (most, _) = r.units.pounds(g.most_lb_per_day);
        words.push(format!(
            "To reach {} % of mature weight by breeding, {} need{} a gain of {mean} {unit} a day from weighing on, on average; the most that one needs is {most} {unit}.",
            r.thresholds.heifer_mature_weight_percent,
            heifers(g.head),
            if g.head == 1 { "s" } else { "" }
        ));
    }
    words
}

/// Head of each answer that there is, in words.
fn counts(r: &GroupReport<'_>) -> Vec<String> {
    let of = |answer| r.head_of(answer);
    let (ready, need) = (of(Readiness::Ready), of(Readiness::WithProgestin));
    let mut parts = Vec::new();
    if ready > 0 || need == 0 || !r.progestin {
        parts.push(format!("{} ready", are(ready)));
    }
    match (need, r.progestin, ready) {
        (0, ..) => {}
        (_, false, _) => parts.push(format!(
            "{} likely not cycling, and this protocol gives no progestin",
            are(need)
        )),
        (_, true, 0) => parts.push(format!(
            "{} ready with the progestin that this protocol gives",
            are(need)
        )),
        (_, true, _) => parts.push(format!(
            "{need} more with the progestin that this protocol gives"
        )),
    }
    match of(Readiness::Wait) {
        0 => {}
        wait => parts.push(format!("{wait} should wait for a later group")),
    }
    match of(Readiness::NotNow) {
        0 => {}
        n => parts.push(format!("{} not for breeding now", are(n))),
    }
    match of(Readiness::Unknown) {
        0 => {}
        n => parts.push(format!("{n} {}", Readiness::Unknown.words())),
    }
    parts
}

fn heifers(n: usize) -> String {
    format!("{n} heifer{}", if n == 1 { "" } else { "s" })
}

fn are(n: usize) -> String {
    format!("{n} {}", if n == 1 { "is" } else { "are" })
}
