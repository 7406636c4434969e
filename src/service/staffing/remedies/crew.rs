//! What is asked of people: hours of work, a helper, those who were left out, and one technician more.

use std::collections::BTreeSet;

use chrono::{NaiveDate, NaiveTime, TimeDelta};

use super::{Ladder, Neighborhood, Scene};
use crate::base::time::Instant;
use crate::base::units::{HeadPerHour, Id, Seconds};
use crate::service::staffing::change::{Change, NewShift};
use crate::service::staffing::question::fastest_first;
use crate::service::staffing::workday::Workday;
use crate::trade::season::pace::rounds_at;
use crate::trade::season::{Pace, Season, Shift, Technician, weekday};

/// Hours that a shift is begun earlier or ended later, at the most; by quarters of an hour.
const MOST_QUARTERS: i64 = 16;

/// A shift that is near the hours: technician, its place, and the date on which it begins.
struct Near {
    technician: usize,
    nth: usize,
    date: NaiveDate,
}

/// Shifts that begin within the hours or soon after, and those that end in them or soon before.
fn near(season: &Season, scene: &Scene) -> (Vec<Near>, Vec<Near>) {
    let (mut begin, mut end) = (Vec::new(), Vec::new());
    let reach = TimeDelta::minutes(15 * MOST_QUARTERS);
    for (t, technician) in season.crew.iter().enumerate() {
        for (nth, shift) in technician.shifts.iter().enumerate() {
            let mut date = season.zone.date(scene.open) - TimeDelta::days(1);
            while date <= season.zone.date(scene.close) {
                if shift.begins_on(date) && !technician.days_off.contains(&date) {
                    let (from, to) = shift.span(season.zone, date);
                    let here = || Near {
                        technician: t,
                        nth,
                        date,
                    };
                    if from > scene.open && from < scene.close + reach {
                        begin.push(here());
                    }
                    if to < scene.close && to > scene.open - reach {
                        end.push(here());
                    }
                }
                date += TimeDelta::days(1);
            }
        }
    }
    (begin, end)
}

/// The shift with other clock times, if it is no more than an ordinary day.
fn changed(season: &Season, at: &Near, from: NaiveTime, to: NaiveTime) -> Option<NewShift> {
    let who = &season.crew[at.technician];
    let was = &who.shifts[at.nth];
    let new = Shift {
        days: was.days.clone(),
        from,
        to,
    };
    let fits = Workday::may_change(season, who, (was, &new), at.date);
    fits.then_some((at.technician, at.nth, from, to))
}

fn earlier(season: &Season, at: &Near, quarters: i64) -> Option<NewShift> {
    let shift = &season.crew[at.technician].shifts[at.nth];
    let (from, wrapped) = shift
        .from
        .overflowing_sub_signed(TimeDelta::minutes(15 * quarters));
    // Before midnight it would be another day's shift.
    (wrapped == 0).then(|| changed(season, at, from, shift.to))?
}

fn later(season: &Season, at: &Near, quarters: i64) -> Option<NewShift> {
    let shift = &season.crew[at.technician].shifts[at.nth];
    let (to, days) = shift
        .to
        .overflowing_add_signed(TimeDelta::minutes(15 * quarters));
    let over_night = shift.to <= shift.from;
    let fits = if over_night {
        days == 0 && to < shift.from
    } else {
        days == 0 || to < shift.from
    };
    fits.then(|| changed(season, at, shift.from, to))?
}

/// Each technician begins earlier, or ends later; then all who can.
pub(super) fn shifts(season: &Season, scene: &Scene) -> Vec<Ladder> {
    let (begin, end) = near(season, scene);
    let mut found: Vec<Ladder> = Vec::new();
    for (list, change) in [
        (&begin, earlier as fn(&Season, &Near, i64) -> _),
        (&end, later as fn(&Season, &Near, i64) -> _),
    ] {
        for at in list {
            let rungs = (1..=MOST_QUARTERS).filter_map(|q| {
                let new = vec![change(season, at, q)?];
                Some(Change::Shifts(at.date, new))
            });
            found.push(rungs.collect());
        }
        let Some(date) = list.first().map(|n| n.date) else {
            continue;
        };
        let same: Vec<&Near> = list.iter().filter(|n| n.date == date).collect();
        let people: BTreeSet<usize> = same.iter().map(|n| n.technician).collect();
        // Two shifts of one technician are not changed at once.
        if people.len() > 1 && people.len() == same.len() {
            let rungs = (1..=MOST_QUARTERS).filter_map(|q| {
                let new: Vec<_> = same.iter().filter_map(|n| change(season, n, q)).collect();
                (new.len() == same.len()).then_some(Change::Shifts(date, new))
            });
            found.push(rungs.collect());
        }
    }
    found
}

/// To the hundredth of a minute upwards.
fn up(s: Seconds) -> Seconds {
    Seconds((s.0 / 0.6 - 1e-9).ceil() * 0.6)
}

/// A pace at the cow that goes with a helper, to the hundredth of a minute upwards: an overall pace
/// of one who works alone holds thawing and loading.
pub(super) fn cow_pace(season: &Season, technician: &Technician, site: usize) -> Option<Seconds> {
    let exact = match technician.pace {
        Pace::AtTheCow(cow) => return Some(cow),
        Pace::Overall(_) => rounds_at(season, technician, &season.sites[site])?.cow,
    };
    Some(up(exact))
}

pub(super) fn helper(season: &Season, scene: &Scene) -> Vec<Ladder> {
    let alone = season.crew.iter().enumerate().filter(|(_, t)| !t.helper);
    alone
        .filter_map(|(n, t)| {
            let cow = cow_pace(season, t, scene.site)?;
            Some(vec![Change::Helper(n, cow)])
        })
        .collect()
}

pub(super) fn send(field: &Neighborhood<'_>) -> Vec<Ladder> {
    let each = field.left_out.iter().cloned();
    each.map(|t| vec![Change::Send(Box::new(t))]).collect()
}

/// Spans that are looked at, at the most, from each start.
const MOST_STEPS: i64 = 24;

/// Spans of hours within the session's, the shortest first; the last is the whole of it.
pub(super) fn hire(field: &Neighborhood<'_>, season: &Season, scene: &Scene) -> Vec<Ladder> {
    // The season's slowest, alone or with a helper as that one is: no better than who is known.
    let mut all = field.evaluator.season.clone();
    all.crew.extend(field.left_out.iter().cloned());
    let Some(slowest) = fastest_first(&all, Some(scene.site)).last().copied() else {
        return Vec::new();
    };
    let like = &as_written(&all.crew[slowest]);
    let Some(rounds) = rounds_at(season, like, &season.sites[scene.site]) else {
        return Vec::new();
    };
    let Some(id) = free_id(season) else {
        return Vec::new();
    };
    let slot = season.rules.slot.num_seconds().max(900);
    let first = (scene.open - rounds.to_first_cow())
        .timestamp()
        .div_euclid(900)
        * 900;
    let last = (scene.close.timestamp() + 899).div_euclid(900) * 900;
    // A long session is looked at more coarsely.
    let step = (slot.max(900) * ((last - first) / (slot * MOST_STEPS) + 1)).max(900);
    let count = (last - first + step - 1) / step;
    let at = |k: i64| {
        let seconds = (first + k * step).min(last);
        Instant::from_timestamp(seconds, 0).unwrap_or_default()
    };
    let mut ladder = Vec::new();
    for long in 1..=count {
        for from in 0..=(count - long) {
            let (a, b) = (at(from), at(from + long));
            let date = season.zone.date(a);
            if field.evaluator.workday.may_hire(season, like, date, (a, b))
                && let Some(technician) = working(season, like, &id, scene.site, a, b)
            {
                ladder.push(Change::Hire {
                    technician: Box::new(technician),
                    like: like.name.clone(),
                    date,
                });
            }
        }
    }
    vec![ladder]
}

/// Somebody as the season file would have it: pace, spread and longest day to the hundredth, none
/// better than they are.
fn as_written(like: &Technician) -> Technician {
    let mut like = like.clone();
    like.pace = match like.pace {
        Pace::AtTheCow(cow) => Pace::AtTheCow(up(cow)),
        Pace::Overall(pace) => {
            let down = ((pace.get() * 100.0 + 1e-9).floor() / 100.0).max(0.01);
            Pace::Overall(HeadPerHour::new(down).unwrap_or(pace))
        }
    };
    like.spread = like.spread.map(up);
    like.longest_day = like
        .longest_day
        .map(|l| TimeDelta::seconds(l.num_seconds() / 36 * 36));
    like
}

fn free_id(season: &Season) -> Option<Id> {
    let free = |id: &Id| season.crew.iter().all(|t| t.id != *id);
    let more = (2..100).map(|n| format!("one more {n}"));
    let all = std::iter::once("one more".to_owned()).chain(more);
    all.filter_map(|id| Id::new(&id)).find(free)
}

/// Somebody like another, with one shift from `a` to `b` on that weekday, living at the site; off
/// on the same weekday of other weeks.
fn working(
    season: &Season,
    like: &Technician,
    id: &Id,
    site: usize,
    a: Instant,
    b: Instant,
) -> Option<Technician> {
    let (from, to) = (season.zone.local(a), season.zone.local(b));
    let date = from.date();
    if b - a >= TimeDelta::hours(24) || from.time() == to.time() {
        return None;
    }
    let shift = Shift {
        days: vec![weekday(date)],
        from: from.time(),
        to: to.time(),
    };
    (shift.span(season.zone, date) == (a, b)).then(|| Technician {
        id: id.clone(),
        name: "One technician more".to_owned(),
        home: Some(site),
        shifts: vec![shift],
        days_off: other_weeks(season, date),
        ..like.clone()
    })
}

/// The same weekday in all other weeks in which the season breeds.
fn other_weeks(season: &Season, date: NaiveDate) -> Vec<NaiveDate> {
    let dated = crate::planning::dating::date_groups(season, &season.groups);
    let aims = dated.dues.iter().map(|d| d.safe_hours().aim);
    let days: BTreeSet<NaiveDate> = aims.map(|aim| season.zone.date(aim)).collect();
    let (Some(&first), Some(&last)) = (days.first(), days.last()) else {
        return Vec::new();
    };
    let weeks = |n: i64| date + TimeDelta::days(7 * n);
    let (back, on) = (
        (date - first).num_days() / 7 + 1,
        (last - date).num_days() / 7 + 1,
    );
    // Only those on which somebody could be wanted.
    let near = |d: &NaiveDate| days.iter().any(|x| (*x - *d).num_days().abs() <= 1);
    let others = (-back..=on).filter(|n| *n != 0).map(weeks);
    others.filter(near).collect()
}
