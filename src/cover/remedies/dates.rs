//! When the group begins: another hour, another day. What its wishes say of dates is kept.

use chrono::{NaiveDateTime, TimeDelta};

use super::{Field, Ladder};
use crate::cover::change::Change;
use crate::expand;
use crate::season::{Group, Season, WishName};
use crate::time::in_range;

/// Half hours earlier and later on the same day.
const MOST_HALVES: i64 = 24;
/// Days earlier and later.
const MOST_DAYS: i64 = 3;

/// True if a group's breeding keeps what its wishes say of dates and must hold.
pub(super) fn keeps_wishes(season: &Season, group: &Group) -> bool {
    let Some(wishes) = &group.wishes else {
        return true;
    };
    let must = |name: WishName| !wishes.may_break.contains(&name);
    let dated = expand::dates(season, std::slice::from_ref(group));
    let days = dated
        .dues
        .iter()
        .map(|d| season.zone.date(d.safe_hours().aim));
    let (Some(first), Some(last)) = (days.clone().min(), days.max()) else {
        return true;
    };
    wishes
        .breed_from
        .is_none_or(|d| !must(WishName::BreedFrom) || first >= d)
        && wishes
            .breed_to
            .is_none_or(|d| !must(WishName::BreedTo) || last <= d)
        && wishes
            .first_for_calves()
            .is_none_or(|d| !must(WishName::FirstCalvesFrom) || first >= d)
        && wishes
            .last_before_bulls()
            .is_none_or(|d| !must(WishName::BullsIn) || last <= d)
}

fn start(season: &Season, g: usize, at: NaiveDateTime) -> Option<Change> {
    let change = Change::Start {
        group: g,
        start: at,
    };
    if !in_range(at.date()) {
        return None;
    }
    let changed = change.applied(season)?;
    keeps_wishes(&changed, &changed.groups[g]).then_some(change)
}

/// Half hours, the fewest first, earlier and later, on the group's own day.
pub(super) fn hours(field: &Field<'_>, season: &Season) -> Vec<Ladder> {
    let of = |g: &usize| -> Ladder {
        let now = season.groups[*g].start;
        (1..=MOST_HALVES)
            .flat_map(|k| [-k, k])
            .map(|k| now + TimeDelta::minutes(30 * k))
            .filter(|at| at.date() == now.date())
            .filter_map(|at| start(season, *g, at))
            .collect()
    };
    let all = field.groups().iter().map(of);
    all.filter(|l| !l.is_empty()).collect()
}

/// Days, the fewest first, at the group's own clock time and then at hours around it.
pub(super) fn days(field: &Field<'_>, season: &Season) -> Vec<Ladder> {
    let of = |g: &usize| -> Ladder {
        let now = season.groups[*g].start;
        let mut ladder = Vec::new();
        for days in 1..=MOST_DAYS {
            for hours in [0, -2, 2, -4, 4, -6, 6] {
                for day in [days, -days] {
                    let at = now + TimeDelta::days(day) + TimeDelta::hours(hours);
                    if (at.date() - now.date()).num_days() == day {
                        ladder.extend(start(season, *g, at));
                    }
                }
            }
        }
        ladder
    };
    let all = field.groups().iter().map(of);
    all.filter(|l| !l.is_empty()).collect()
}
