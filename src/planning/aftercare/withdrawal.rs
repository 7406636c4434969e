//! Slaughter withdrawal: only what a listed publication states for the season's country. The label in hand
//! decides.

use std::collections::BTreeMap;

use chrono::NaiveDate;

use super::{FollowUp, Kind, event};
use crate::base::time::human_date;
use crate::base::units::count;
use crate::trade::figures::later;
use crate::trade::protocol::dose::Drug;
use crate::trade::protocol::law::{Stated, WITHDRAWALS};
use crate::trade::season::Group;

/// One entry for a group: the day by which the longest statement of the country for every class has passed.
pub(super) fn of(
    group: &Group,
    country: &str,
    treated: &BTreeMap<Drug, NaiveDate>,
) -> Option<FollowUp> {
    let mut end: Option<NaiveDate> = None;
    // A reminder that says that the time is over must hold for all that was given.
    let mut unlisted = false;
    let (mut words, mut sources) = (Vec::new(), Vec::new());
    for (drug, day) in treated {
        let there = WITHDRAWALS.iter().filter(|s| s.country == country);
        let all: Vec<&Stated> = there.filter(|s| s.drug == *drug).collect();
        let lead = format!("{}, last given {}", drug.words(), human_date(*day));
        if all.is_empty() {
            words.push(format!("{lead}: see the label."));
            unlisted = true;
            continue;
        }
        let parts: Vec<String> = all
            .iter()
            .map(|s| format!("{} ({}, {})", count(s.days, "day", "days"), s.of, s.source))
            .collect();
        words.push(format!("{lead}: in {country} {}.", parts.join("; ")));
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
