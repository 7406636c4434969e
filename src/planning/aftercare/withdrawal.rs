//! Slaughter withdrawal: only what a listed publication states. The label in hand decides.

use std::collections::BTreeMap;

use chrono::NaiveDate;

use super::{FollowUp, Kind, event};
use crate::base::time::human_date;
use crate::base::units::count;
use crate::trade::figures::later;
use crate::trade::protocol::dose::Drug;
use crate::trade::season::Group;

/// What a publication states for a class of drug.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Stated {
    /// The class.
    pub drug: Drug,
    /// Which substance, and where, in words.
    pub of: &'static str,
    /// Days for meat after the last treatment.
    pub days: u32,
    /// Source tag.
    pub source: &'static str,
}

const fn stated(drug: Drug, of: &'static str, days: u32, source: &'static str) -> Stated {
    Stated {
        drug,
        of,
        days,
        source,
    }
}

/// Every statement, the longest of a class first. None is listed for `GnRH` and estradiol.
pub const WITHDRAWALS: &[Stated] = &[
    stated(Drug::Pg, "dinoprost, United Kingdom", 2, "NOAH-PG"),
    stated(
        Drug::Pg,
        "d-cloprostenol, United Kingdom",
        1,
        "NOAH-CLOPROSTENOL",
    ),
    stated(
        Drug::Insert,
        "progesterone insert, European Union",
        0,
        "NOAH-INSERT",
    ),
    // 24 hours.
    stated(Drug::Mga, "in feedlots, Canada", 1, "CFIA"),
    stated(Drug::Mga, "United States", 0, "MGA-MAKER"),
];

/// One entry for a group: the day by which the longest statement of every class has passed.
pub(super) fn of(group: &Group, treated: &BTreeMap<Drug, NaiveDate>) -> Option<FollowUp> {
    let mut end: Option<NaiveDate> = None;
    // A reminder that says that the time is over must hold for all that was given.
    let mut unlisted = false;
    let (mut words, mut sources) = (Vec::new(), Vec::new());
    for (drug, day) in treated {
        let all: Vec<&Stated> = WITHDRAWALS.iter().filter(|s| s.drug == *drug).collect();
        let lead = format!("{}, last given {}", drug.words(), human_date(*day));
        if all.is_empty() {
            words.push(format!("{lead}: no time is listed here. Read the label."));
            unlisted = true;
            continue;
        }
        let parts: Vec<String> = all
            .iter()
            .map(|s| format!("{} ({}, {})", count(s.days, "day", "days"), s.of, s.source))
            .collect();
        words.push(format!("{lead}: {}.", parts.join("; ")));
        sources.extend(all.iter().map(|s| s.source));
        let longest = all.iter().map(|s| s.days).max().unwrap_or(0);
        end = end.max(Some(later(*day, longest)));
    }
    let last = *treated.values().max()?;
    words.push(
        "Times differ by product and country: the label in hand and your veterinarian decide."
            .to_owned(),
    );
    // Where nothing is listed for any of them, the day of the last treatment stands for the reminder.
    let (what, day) = match end {
        Some(end) if unlisted => ("slaughter withdrawal: read the labels", end.max(last)),
        Some(end) => (
            "slaughter withdrawal ends by the times listed: read the labels",
            end.max(last),
        ),
        None => ("slaughter withdrawal: read the labels", last),
    };
    Some(event(
        group,
        Kind::Withdrawal,
        what,
        (day, Some(day)),
        words,
        &sources,
    ))
}
