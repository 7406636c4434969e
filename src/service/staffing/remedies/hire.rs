//! A technician whom the season does not have: from when to when.

use chrono::{NaiveDate, TimeDelta};

use super::{Field, Ladder};
use crate::base::time::Instant;
use crate::base::units::{HeadPerHour, Id, Seconds};
use crate::service::staffing::change::Change;
use crate::service::staffing::question::fastest_first;
use crate::trade::season::pace::rounds_at;
use crate::trade::season::{Pace, Season, Shift, Technician, weekday};

/// Spans that are looked at, at the most, from each start.
const MOST_STEPS: i64 = 24;

/// Spans of hours within the session's, the shortest first; the last is the whole of it.
pub(super) fn hire(field: &Field<'_>, season: &Season) -> Vec<Ladder> {
    let Some(scene) = field.scene(season) else {
        return Vec::new();
    };
    // The season's slowest, alone or with a helper as that one is: no better than who is known.
    let mut all = field.judge.season.clone();
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
    let lead = rounds.lead.0.ceil() as i64;
    let first = (scene.open.timestamp() - lead).div_euclid(900) * 900;
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
            if field.judge.ordinary.may_hire(season, like, date, (a, b))
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
    let up = |s: Seconds| Seconds((s.0 / 0.6 - 1e-9).ceil() * 0.6);
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
    (1..100)
        .filter_map(|n| {
            Id::new(&if n == 1 {
                "one more".to_owned()
            } else {
                format!("one more {n}")
            })
        })
        .find(free)
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
    let days = dated
        .dues
        .iter()
        .map(|d| season.zone.date(d.safe_hours().aim));
    let (Some(first), Some(last)) = (days.clone().min(), days.max()) else {
        return Vec::new();
    };
    let weeks = |n: i64| date + TimeDelta::days(7 * n);
    let (back, on) = (
        (date - first).num_days() / 7 + 1,
        (last - date).num_days() / 7 + 1,
    );
    // Only those on which somebody could be wanted.
    let near = |d: &NaiveDate| {
        let mut aims = dated
            .dues
            .iter()
            .map(|x| season.zone.date(x.safe_hours().aim));
        aims.any(|x| (x - *d).num_days().abs() <= 1)
    };
    let others = (-back..=on).filter(|n| *n != 0).map(weeks);
    others.filter(near).collect()
}
