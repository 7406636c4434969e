//! When a group begins: another hour, another day. What its wishes say of dates and hours is kept, and no
//! more of its chute work falls in hours kept free.

use chrono::{NaiveDate, NaiveDateTime, TimeDelta};

use super::{Ladder, Neighborhood};
use crate::base::time::{human_date, in_range};
use crate::planning::dating::{self, Pass, Work};
use crate::service::staffing::change::{Change, OfGroup};
use crate::trade::season::{Group, Season, WishName};

/// Half hours earlier and later on the same day.
const MOST_HALVES: i64 = 24;
/// Days earlier and later.
const MOST_DAYS: i64 = 3;

/// The wishes of a group that its dates break and that must hold, in words.
fn broken(season: &Season, group: &Group) -> Vec<String> {
    let Some(wishes) = &group.wishes else {
        return Vec::new();
    };
    let must = |name: WishName| !wishes.may_break.contains(&name);
    let dated = dating::date_groups(season, std::slice::from_ref(group));
    let days = dated
        .dues
        .iter()
        .map(|d| season.zone.date(d.safe_hours().aim));
    let mut found = Vec::new();
    if let (Some(first), Some(last)) = (days.clone().min(), days.max()) {
        let wished = [
            (WishName::BreedFrom, wishes.breed_from, first, "before"),
            (
                WishName::FirstCalvesFrom,
                wishes.first_for_calves(),
                first,
                "before",
            ),
            (WishName::BreedTo, wishes.breed_to, last, "after"),
            (WishName::BullsIn, wishes.last_before_bulls(), last, "after"),
        ];
        for (name, wish, bred, side) in wished {
            let breaks = |w: &NaiveDate| {
                if side == "before" {
                    bred < *w
                } else {
                    bred > *w
                }
            };
            if let Some(wish) = wish.filter(|w| must(name) && breaks(w)) {
                let (bred, wish, id) = (human_date(bred), human_date(wish), &group.id);
                found.push(format!(
                    "`{id}` is bred on {bred}; its wishes say not {side} {wish}"
                ));
            }
        }
    }
    if let Some((from, to)) = wishes.work_hours.filter(|_| must(WishName::WorkHours)) {
        let outside = |p: &&Pass| {
            let (a, b) = (season.zone.local(p.start), season.zone.local(p.end));
            let within = a.date() == b.date() && from <= a.time() && b.time() <= to;
            p.work == Work::Chute && !within
        };
        if dated.passes.iter().any(|p| outside(&p)) {
            found.push(format!(
                "`{}` is treated outside the hours of work that its wishes give",
                group.id
            ));
        }
    }
    found
}

/// The wishes of all groups that are broken so, in words.
pub(in crate::service::staffing) fn broken_wishes(season: &Season) -> Vec<String> {
    season
        .groups
        .iter()
        .flat_map(|g| broken(season, g))
        .collect()
}

/// True if a changed group breaks no wish that it kept.
pub(super) fn keeps_wishes(before: &Season, changed: &Season, g: usize) -> bool {
    let was = broken(before, &before.groups[g]);
    broken(changed, &changed.groups[g]).len() <= was.len()
}

/// Chute work of a group in hours kept free.
fn in_free_hours(season: &Season, group: &Group) -> usize {
    let dated = dating::date_groups(season, std::slice::from_ref(group));
    let chute = dated.passes.iter().filter(|p| p.work == Work::Chute);
    chute
        .filter(|p| {
            let free = season.free_between(p.start, p.end);
            free.iter().any(|(a, b, _)| p.start < *b && *a < p.end)
        })
        .count()
}

/// True if a group may begin at a local time: not before the season does, in whose past nobody can
/// begin; with its wishes kept, and no more chute work in hours kept free.
pub(super) fn may_start(season: &Season, change: &Change, g: usize, at: NaiveDateTime) -> bool {
    let first = season.groups.iter().map(|g| g.start.date()).min();
    if !in_range(at.date()) || first.is_some_and(|f| at.date() < f) {
        return false;
    }
    change.applied(season).is_some_and(|changed| {
        keeps_wishes(season, &changed, g)
            && in_free_hours(&changed, &changed.groups[g])
                <= in_free_hours(season, &season.groups[g])
    })
}

fn start(season: &Season, g: usize, at: NaiveDateTime) -> Option<Change> {
    let change = Change::Group(g, OfGroup::Start(at));
    may_start(season, &change, g, at).then_some(change)
}

/// Half hours, the fewest first, earlier and later, on a group's own day.
pub(super) fn hours(field: &Neighborhood<'_>, season: &Season) -> Vec<Ladder> {
    let of = |g: usize| -> Ladder {
        let now = season.groups[g].start;
        (1..=MOST_HALVES)
            .flat_map(|k| [-k, k])
            .map(|k| now + TimeDelta::minutes(30 * k))
            .filter(|at| at.date() == now.date())
            .filter_map(|at| start(season, g, at))
            .collect()
    };
    field.movable().into_iter().map(of).collect()
}

/// Times within half an hour of some starts, and of the group's own: quarters of an hour first, then
/// by five minutes; those nearest to its own first.
pub(in crate::service::staffing) fn finer(season: &Season, near: &[&Change]) -> Ladder {
    let mut found: Vec<(i64, i64, Change)> = Vec::new();
    let starts = near.iter().filter_map(|c| match c {
        Change::Group(g, OfGroup::Start(start)) => Some((*g, *start)),
        _ => None,
    });
    let mut around: Vec<(usize, NaiveDateTime)> = starts.collect();
    let own = around.first().map(|(g, _)| (*g, season.groups[*g].start));
    around.extend(own);
    for (g, at) in around {
        let now = season.groups[g].start;
        for minutes in (-25..=25).step_by(5).filter(|m| *m != 0) {
            let at = at + TimeDelta::minutes(minutes);
            let change = start(season, g, at).filter(|_| at.date() == now.date());
            let known = |c: &Change| found.iter().any(|f| f.2 == *c);
            if let Some(change) = change.filter(|c| !known(c)) {
                let half_hours = ((at - now).num_minutes().abs() + 29) / 30;
                found.push((half_hours, i64::from(minutes % 15 != 0), change));
            }
        }
    }
    found.sort_by_key(|f| (f.0, f.1));
    found.into_iter().map(|f| f.2).collect()
}

/// Days, the fewest first, at the group's own clock time and then at hours around it.
pub(super) fn days(field: &Neighborhood<'_>, season: &Season) -> Vec<Ladder> {
    let of = |g: usize| -> Ladder {
        let now = season.groups[g].start;
        let mut ladder = Vec::new();
        for days in 1..=MOST_DAYS {
            for hours in [0, -2, 2, -4, 4, -6, 6] {
                for day in [days, -days] {
                    let at = now + TimeDelta::days(day) + TimeDelta::hours(hours);
                    if (at.date() - now.date()).num_days() == day {
                        ladder.extend(start(season, g, at));
                    }
                }
            }
        }
        ladder
    };
    field.groups().iter().copied().map(of).collect()
}
