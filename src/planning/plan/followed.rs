//! The days that follow-up counts from, read from the finished passes and sessions.

use std::collections::BTreeMap;

use chrono::NaiveDate;

use super::{Pass, Session, Work};
use crate::base::error::{Code, Finding};
use crate::base::time::human_date;
use crate::planning::aftercare::{self, Done, GroupFollowUp};
use crate::trade::protocol::Action;
use crate::trade::protocol::dose::Drug;
use crate::trade::season::Season;

/// What follows for each group that is bred, in their order.
pub(super) fn follow_up(
    season: &Season,
    passes: &[Pass],
    sessions: &[Session],
) -> Vec<GroupFollowUp> {
    let mut of_group: BTreeMap<&str, Vec<&Pass>> = BTreeMap::new();
    for pass in passes {
        of_group.entry(&pass.group).or_default().push(pass);
    }
    let mut bred: BTreeMap<&str, Days> = BTreeMap::new();
    for slot in sessions.iter().flat_map(|s| &s.slots) {
        for day in slot.bred_at().map(|at| season.zone.date(at)) {
            let days = bred.entry(&slot.pass).or_insert_with(|| day.into());
            (days.first, days.last) = (days.first.min(day), days.last.max(day));
        }
    }
    season
        .groups
        .iter()
        .filter_map(|g| {
            let passes = of_group.get(g.id.as_str())?;
            let done = done(season, passes, &bred);
            Some(aftercare::follow_up(g, season.country.code(), &done))
        })
        .collect()
}

/// Bulls that go in while their group is still bred.
pub(super) fn findings(season: &Season, follow_up: &[GroupFollowUp]) -> Vec<Finding> {
    let mut found = Vec::new();
    for f in follow_up {
        let group = season.groups.iter().find(|g| g.id.as_str() == f.group);
        let bulls = group.and_then(|g| g.after.bulls.as_ref());
        let early = |last| bulls.filter(|b| b.turned_out <= last).zip(Some(last));
        let Some((bulls, last)) = f.last_bred.and_then(early) else {
            continue;
        };
        found.push(
            Finding::warning(
                Code::BullsEarly,
                format!(
                    "the clean-up bulls go in on {}, and `{}` is bred until {}",
                    human_date(bulls.turned_out),
                    f.group,
                    human_date(last)
                ),
            )
            .at(bulls.place.clone())
            .expected("bulls after the last AI; published gaps are 2 to 14 days (77-70H, ANDERSON, SEXED-CALV, NDSU-SEP00)")
            .hint("turn the bulls out later, or start the group earlier; with bulls in at once 5 to 15 in 100 calves of the first 14 days were theirs (BULLS-AT-ONCE), which no forecast counts"),
        );
    }
    found
}

fn done(season: &Season, passes: &[&Pass], bred_days: &BTreeMap<&str, Days>) -> Done {
    let mut bred: Vec<NaiveDate> = Vec::new();
    let mut treated: BTreeMap<Drug, NaiveDate> = BTreeMap::new();
    for pass in passes {
        let days = match pass.work {
            // Where nobody is bred, what goes with breeding is done on the day of the aim at the latest.
            Work::Breeding => bred_days
                .get(pass.id.as_str())
                .copied()
                .unwrap_or_else(|| pass.start.date_naive().into()),
            _ => pass.last_day.unwrap_or(pass.end.date_naive()).into(),
        };
        if bred_days.contains_key(pass.id.as_str()) {
            bred.extend([days.first, days.last]);
        }
        for &action in Action::ALL {
            let drug = match action {
                Action::InsertOut => Some(Drug::Insert),
                _ => Drug::given_by(action).map(|(drug, _)| drug),
            };
            if let Some(drug) = drug.filter(|_| pass.actions.contains(&action)) {
                let last = treated.entry(drug).or_insert(days.last);
                *last = (*last).max(days.last);
            }
        }
    }
    // A watch whose daily number is not planned: from what the first check finds to what the last does.
    let planned = passes
        .iter()
        .any(|p| p.work == Work::Breeding && p.pen.is_none());
    for watch in passes.iter().filter(|p| breeds(p) && !planned) {
        bred.extend(watched_days(season, watch));
    }
    Done {
        bred: bred.iter().min().copied().zip(bred.iter().max().copied()),
        treated,
    }
}

/// A stretch of days.
#[derive(Clone, Copy)]
struct Days {
    first: NaiveDate,
    last: NaiveDate,
}

impl From<NaiveDate> for Days {
    fn from(day: NaiveDate) -> Self {
        Self {
            first: day,
            last: day,
        }
    }
}

fn breeds(pass: &Pass) -> bool {
    pass.work == Work::HeatWatch && pass.actions.contains(&Action::InseminateInHeat)
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
