//! Slaughter withdrawal: only what a listed publication states. The label in hand decides.

use std::collections::BTreeMap;

use chrono::NaiveDate;

use super::{FollowUp, Kind, event};
use crate::base::time::human_date;
use crate::base::units::count;
use crate::trade::figures::later;
use crate::trade::protocol::dose::Drug;
use crate::trade::season::Group;

/// Every statement, the longest of a class first: which substance and where, days for meat after the last
/// treatment, and the source tag. None is listed for `GnRH` and estradiol.
const WITHDRAWALS: [(Drug, &str, u32, &str); 5] = [
    (Drug::Pg, "dinoprost, United Kingdom", 2, "NOAH-PG"),
    (
        Drug::Pg,
        "d-cloprostenol, United Kingdom",
        1,
        "NOAH-CLOPROSTENOL",
    ),
    (
        Drug::Insert,
        "progesterone insert, European Union",
        0,
        "NOAH-INSERT",
    ),
    // 24 hours.
    (Drug::Mga, "in feedlots, Canada", 1, "CFIA"),
    (Drug::Mga, "United States", 0, "MGA-MAKER"),
];

/// One entry for a group: the day by which the longest statement of every class has passed.
pub(super) fn of(group: &Group, treated: &BTreeMap<Drug, NaiveDate>) -> Option<FollowUp> {
    let mut end: Option<NaiveDate> = None;
    // A reminder that says that the time is over must hold for all that was given.
    let mut unlisted = false;
    let (mut words, mut sources) = (Vec::new(), Vec::new());
    for (drug, day) in treated {
        let all = WITHDRAWALS.iter().filter(|s| s.0 == *drug);
        let lead = format!("{}, last given {}", drug.words(), human_date(*day));
        let Some(longest) = all.clone().map(|s| s.2).max() else {
            words.push(format!("{lead}: no time is listed here. Read the label."));
            unlisted = true;
            continue;
        };
        let part = |(_, of, days, source): &(_, _, _, _)| {
            format!("{} ({of}, {source})", count(*days, "day", "days"))
        };
        let parts: Vec<String> = all.clone().map(part).collect();
        words.push(format!("{lead}: {}.", parts.join("; ")));
        sources.extend(all.map(|s| s.3));
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
