//! What is asked of the crew there is: hours of work, a helper, those who were left out.

use chrono::{NaiveDate, NaiveTime, TimeDelta};

use super::{Field, Ladder, Scene};
use crate::base::units::Seconds;
use crate::service::staffing::change::{Change, NewShift};
use crate::service::staffing::ordinary::Ordinary;
use crate::trade::season::pace::rounds_at;
use crate::trade::season::{Pace, Season, Shift, Technician};

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
    let fits = Ordinary::may_change(season, who, (was, &new), at.date);
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
pub(super) fn shifts(field: &Field<'_>, season: &Season) -> Vec<Ladder> {
    let Some(scene) = field.scene(season) else {
        return Vec::new();
    };
    let (begin, end) = near(season, &scene);
    let mut found: Vec<Ladder> = Vec::new();
    for (list, change) in [
        (&begin, earlier as fn(&Season, &Near, i64) -> _),
        (&end, later as fn(&Season, &Near, i64) -> _),
    ] {
        for at in list {
            let rungs = (1..=MOST_QUARTERS).filter_map(|q| {
                let new = vec![change(season, at, q)?];
                Some(Change::Shifts { date: at.date, new })
            });
            found.push(rungs.collect());
        }
        let Some(date) = list.first().map(|n| n.date) else {
            continue;
        };
        let same: Vec<&Near> = list.iter().filter(|n| n.date == date).collect();
        let people: std::collections::BTreeSet<usize> = same.iter().map(|n| n.technician).collect();
        // Two shifts of one technician are not changed at once.
        if people.len() > 1 && people.len() == same.len() {
            let rungs = (1..=MOST_QUARTERS).filter_map(|q| {
                let new: Vec<_> = same.iter().filter_map(|n| change(season, n, q)).collect();
                (new.len() == same.len()).then_some(Change::Shifts { date, new })
            });
            found.push(rungs.collect());
        }
    }
    found
}

/// A pace at the cow that goes with a helper, to the hundredth of a minute upwards: an overall pace
/// of one who works alone holds thawing and loading.
pub(super) fn cow_pace(season: &Season, technician: &Technician, site: usize) -> Option<Seconds> {
    let exact = match technician.pace {
        Pace::AtTheCow(cow) => return Some(cow),
        Pace::Overall(_) => rounds_at(season, technician, &season.sites[site])?.cow,
    };
    Some(Seconds((exact.0 / 0.6 - 1e-9).ceil() * 0.6))
}

pub(super) fn helper(field: &Field<'_>, season: &Season) -> Vec<Ladder> {
    let Some(scene) = field.scene(season) else {
        return Vec::new();
    };
    let alone = season.crew.iter().enumerate().filter(|(_, t)| !t.helper);
    alone
        .filter_map(|(n, t)| {
            let cow = cow_pace(season, t, scene.site)?;
            Some(vec![Change::Helper { technician: n, cow }])
        })
        .collect()
}

pub(super) fn send(field: &Field<'_>, _: &Season) -> Vec<Ladder> {
    let each = field.left_out.iter().map(|t| Change::Send {
        technician: Box::new(t.clone()),
    });
    each.map(|c| vec![c]).collect()
}
