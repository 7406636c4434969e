//! The days that follow-up counts from, read from the finished passes and sessions.

use std::collections::BTreeMap;

use chrono::NaiveDate;

use super::{Pass, Session, Work};
use crate::error::{Code, Finding};
use crate::follow::{self, Done, GroupFollowUp};
use crate::protocol::Action;
use crate::protocol::dose::Drug;
use crate::season::{Group, Season};
use crate::time::human_date;

/// What follows for each group that is bred, in their order.
pub(super) fn follow_up(
    season: &Season,
    passes: &[Pass],
    sessions: &[Session],
) -> Vec<GroupFollowUp> {
    season
        .groups
        .iter()
        .filter_map(|g| follow::follow_up(g, &done(season, g, passes, sessions)))
        .collect()
}

/// Bulls that go in while their group is still bred.
pub(super) fn findings(season: &Season, follow_up: &[GroupFollowUp]) -> Vec<Finding> {
    let mut found = Vec::new();
    for f in follow_up {
        let group = season.groups.iter().find(|g| g.id.as_str() == f.group);
        let bulls = group.and_then(|g| g.after.bulls.as_ref());
        let Some(bulls) = bulls.filter(|b| b.turned_out <= f.last_bred) else {
            continue;
        };
        found.push(
            Finding::warning(
                Code::BullsEarly,
                format!(
                    "the clean-up bulls go in on {}, and `{}` is bred until {}",
                    human_date(bulls.turned_out),
                    f.group,
                    human_date(f.last_bred)
                ),
            )
            .at(bulls.place.clone())
            .expected("bulls after the last AI; published gaps are 7 to 14 days (77-70H, ANDERSON, SEXED-CALV)")
            .hint("turn the bulls out later, or start the group earlier"),
        );
    }
    found
}

fn done(season: &Season, group: &Group, passes: &[Pass], sessions: &[Session]) -> Done {
    let mine = || passes.iter().filter(|p| p.group == group.id.as_str());
    let mut bred: Vec<NaiveDate> = Vec::new();
    let mut treated: BTreeMap<Drug, NaiveDate> = BTreeMap::new();
    for pass in mine() {
        let days = match pass.work {
            Work::Breeding => bred_days(pass, sessions),
            _ => pass.last_day.unwrap_or(pass.end.date_naive()).into(),
        };
        if pass.work == Work::Breeding {
            bred.extend(days.all());
        }
        for action in Action::ALL {
            let drug = match action {
                Action::InsertOut => Some(Drug::Insert),
                _ => Drug::given_by(action).map(|(drug, _)| drug),
            };
            if let Some(drug) = drug.filter(|_| pass.actions.iter().any(|a| a == action.as_str())) {
                let last = treated.entry(drug).or_insert(days.last);
                *last = (*last).max(days.last);
            }
        }
    }
    // A watch whose daily number is not planned: from what the first check finds to what the last does.
    let planned = mine().any(|p| p.work == Work::Breeding && p.pen.is_none());
    for watch in mine().filter(|p| breeds(p) && !planned) {
        bred.extend(watched_days(season, watch));
    }
    Done {
        bred: bred.iter().min().copied().zip(bred.iter().max().copied()),
        treated,
    }
}

/// A stretch of days.
struct Days {
    first: NaiveDate,
    last: NaiveDate,
}

impl Days {
    fn all(&self) -> [NaiveDate; 2] {
        [self.first, self.last]
    }
}

impl From<NaiveDate> for Days {
    fn from(day: NaiveDate) -> Self {
        Self {
            first: day,
            last: day,
        }
    }
}

/// The days on which the animals of a pass are bred; that of the aim where nobody is.
fn bred_days(pass: &Pass, sessions: &[Session]) -> Days {
    let slots = sessions.iter().flat_map(|s| &s.slots);
    let starts = slots
        .filter(|slot| slot.pass == pass.id)
        .map(|slot| slot.start);
    let (first, last) = (starts.clone().min(), starts.max());
    match first.zip(last) {
        Some((first, last)) => Days {
            first: first.date_naive(),
            last: last.date_naive(),
        },
        None => pass.start.date_naive().into(),
    }
}

fn breeds(pass: &Pass) -> bool {
    pass.work == Work::HeatWatch
        && pass
            .actions
            .iter()
            .any(|a| a == Action::InseminateInHeat.as_str())
}

fn watched_days(season: &Season, watch: &Pass) -> Vec<NaiveDate> {
    let heat = &season.rules.heat;
    let (Some(first), Some(last)) = (watch.first_day, watch.last_day) else {
        return Vec::new();
    };
    let at = |day: NaiveDate, check: Option<&chrono::NaiveTime>| {
        let seen = day.and_time(check.copied().unwrap_or_default());
        (seen + heat.breeding.aim).date()
    };
    vec![at(first, heat.checks.first()), at(last, heat.checks.last())]
}
