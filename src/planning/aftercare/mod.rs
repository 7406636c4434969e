//! What follows AI: return heats, clean-up bulls, pregnancy checks, calving and withdrawal.
//!
//! Plain date arithmetic on a group's days of breeding and treatment, with published days. Days
//! after breeding count from the day after it as day 1.

mod checks;
mod event;
mod withdrawal;

use std::collections::BTreeMap;

use chrono::NaiveDate;
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

pub use event::{FollowUp, Kind};
use event::{Maker, event};

use crate::base::time::human_date;
use crate::base::units::count;
use crate::trade::figures::{COMMON_PRACTICE, Calving, CalvingSpan, later};
use crate::trade::protocol::dose::Drug;
use crate::trade::season::{BULLS_GAP_DAYS, CleanupBulls, Group};

/// Days after AI on which a return heat is watched for, the first and the last: 21 days
/// (TIMED-2010, ANDERSON-RESYNC), and three either side (common practice, no source). Cycles of 17
/// days are published too ([`crate::trade::figures::cycle::CYCLE_RANGE`]): calves are counted with them, but
/// few are so short, and nobody is sent out to watch for them.
pub const RETURN_HEAT_DAYS: [u32; 2] = [18, 24];

/// What follows the AI of a group, by day.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct GroupFollowUp {
    /// Group id.
    pub group: String,
    /// The first day on which cows of it are bred; absent where none is.
    pub first_bred: Option<NaiveDate>,
    /// The last of these days.
    pub last_bred: Option<NaiveDate>,
    /// What follows, by first day.
    pub events: Vec<FollowUp>,
}

/// Days on which a group is bred, and on which it last has each class of drug.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Done {
    /// First and last day of breeding.
    pub bred: Option<(NaiveDate, NaiveDate)>,
    /// The last day of each class of drug in the animals' treatment or feed.
    pub treated: BTreeMap<Drug, NaiveDate>,
}

/// What follows for a group in a country. Of one of which no cow is bred: its bulls, their calves, and
/// withdrawal.
#[must_use]
pub fn follow_up(group: &Group, country: &str, done: &Done) -> GroupFollowUp {
    let mut events = Vec::new();
    if let Some((first, last)) = done.bred {
        let maker = Maker { group, first, last };
        events.push(maker.return_heat());
        events.extend(checks::of(&maker));
        events.extend(maker.calving());
    }
    if let Some(bulls) = &group.after.bulls {
        events.extend(bulls_of(group, bulls, done.bred.map(|d| d.1)));
    }
    events.extend(withdrawal::of(group, country, &done.treated));
    events.sort_by_key(|e| (e.first_day, e.kind));
    GroupFollowUp {
        group: group.id.to_string(),
        first_bred: done.bred.map(|d| d.0),
        last_bred: done.bred.map(|d| d.1),
        events,
    }
}

impl Maker<'_> {
    fn event(
        &self,
        kind: Kind,
        what: &str,
        days: (NaiveDate, Option<NaiveDate>),
        words: Vec<String>,
        sources: &[&str],
    ) -> FollowUp {
        event(self.group, kind, what, days, words, sources)
    }

    /// `breeding on Mon 17 May`, or `breeding from ... to ...`.
    fn breeding(&self) -> String {
        if self.first == self.last {
            format!("breeding on {}", human_date(self.first))
        } else {
            format!(
                "breeding from {} to {}",
                human_date(self.first),
                human_date(self.last)
            )
        }
    }

    fn return_heat(&self) -> FollowUp {
        let [from, to] = RETURN_HEAT_DAYS;
        self.event(
            Kind::ReturnHeat,
            "watch for return heat",
            (later(self.first, from), Some(later(self.last, to))),
            vec![format!(
                "Animals that did not conceive come in heat again about 21 days after AI: \
                 days {from} to {to} after {} (the days either side of 21: {COMMON_PRACTICE}).",
                self.breeding()
            )],
            &["TIMED-2010", "ANDERSON-RESYNC"],
        )
    }

    fn calving(&self) -> Vec<FollowUp> {
        let g = &self.group.after.gestation;
        let (start, end) = (
            Calving::from_breeding(self.first, g),
            Calving::from_breeding(self.last, g),
        );
        let mut because = vec![format!(
            "{} days after {}, give or take {}: {}.",
            g.days,
            self.breeding(),
            g.early_days,
            g.source
        )];
        because.extend(
            g.disagreement
                .iter()
                .map(|d| format!("Sources differ: {d}.")),
        );
        vec![
            self.event(
                Kind::FirstCalving,
                "earliest AI calves due",
                (start.first, Some(start.first)),
                because.clone(),
                &g.tags,
            ),
            self.event(
                Kind::MeanCalving,
                "average due date of AI calves",
                (start.mean, Some(end.mean)),
                because,
                &g.tags,
            ),
        ]
    }
}

/// Bulls in and out, and their calves.
fn bulls_of(group: &Group, bulls: &CleanupBulls, last_bred: Option<NaiveDate>) -> Vec<FollowUp> {
    let many = bulls.head.map_or("Clean-up bulls".to_owned(), |n| {
        count(n, "clean-up bull", "clean-up bulls")
    });
    let day = bulls.turned_out;
    let gap = last_bred.map(|last| (day - last).num_days());
    let mut words = vec![match gap {
        Some(gap) => format!(
            "{many}, {} after the last AI; published gaps are 2 to 14 days.",
            count(gap.max(0) as u32, "day", "days")
        ),
        None => format!("{many}; no cow is bred to AI in this plan."),
    }];
    if gap.is_some_and(|gap| gap < i64::from(BULLS_GAP_DAYS)) {
        words.push(format!(
            "With less than {BULLS_GAP_DAYS} days between, AI calves and bull calves \
             cannot be told apart by their dates ({BULLS_GAP_DAYS} days: ANDERSON; why: common \
             practice, no source)."
        ));
    }
    let mut found = vec![event(
        group,
        Kind::BullsIn,
        "clean-up bulls in",
        (day, Some(day)),
        words,
        &["77-70H", "ANDERSON", "SEXED-CALV", "NDSU-SEP00"],
    )];
    if let Some(out) = bulls.out {
        let long = (out - day).num_days() as u32 + 1;
        let words = vec![format!(
            "The last of {} with the group.",
            count(long, "day", "days")
        )];
        let days = (out, Some(out));
        found.push(event(
            group,
            Kind::BullsOut,
            "clean-up bulls out",
            days,
            words,
            &[],
        ));
    }
    let g = &bulls.gestation;
    let span = CalvingSpan::from_stay(day, bulls.out.unwrap_or(day), g);
    found.extend(span.map(|s| {
        let words = vec![format!(
            "Bulls in on {}, {} days of gestation, give or take {}: {}.",
            human_date(day),
            g.days,
            g.early_days,
            g.source
        )];
        let until = bulls.out.map(|_| s.last);
        let what = "clean-up bull calves due";
        event(
            group,
            Kind::BullCalving,
            what,
            (s.first, until),
            words,
            &g.tags,
        )
    }));
    found
}

#[cfg(test)]
mod tests;
