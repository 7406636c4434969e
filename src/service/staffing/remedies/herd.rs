//! What is done with the animals: order, pens, and when each pen begins.

use chrono::{NaiveDateTime, TimeDelta};

use super::{Ladder, Neighborhood};
use crate::base::progress::NoProgress;
use crate::planning::crew::starts::days::Days;
use crate::service::staffing::change::{Change, OfGroup, may_begin};
use crate::trade::season::{Group, Order, PenStarts, Season};

/// Pens beyond those there are, and at the most.
const MOST_PENS: u32 = 8;
/// Pens that an offset is looked for, each.
const MOST_STAGGERED: usize = 6;
/// The latest that a pen may begin after the group's start, on the same day.
const MOST_HOURS: i64 = 12;
/// Days over which a group is spread, at the most.
const MOST_SPREAD: u32 = 7;

pub(super) fn keep(field: &Neighborhood<'_>, season: &Season) -> Vec<Ladder> {
    let groups = field.movable().into_iter();
    groups
        .filter(|g| season.groups[*g].order == Order::Mixed)
        .map(|group| vec![Change::Group(group, OfGroup::Keep)])
        .collect()
}

pub(super) fn pens(field: &Neighborhood<'_>, season: &Season) -> Vec<Ladder> {
    let of = |g: &usize| {
        let group = &season.groups[*g];
        let now = group.pens.len() as u32;
        let most = MOST_PENS.max(now + 2).min(group.head().0);
        let more = (now + 1)..=most;
        let fewer = (1..now).rev();
        more.chain(fewer)
            .map(|pens| Change::Group(*g, OfGroup::Pens(pens)))
            .collect()
    };
    field.groups().iter().map(of).collect()
}

/// When the pens begin now, by local clocks.
fn starts_now(season: &Season, g: usize) -> Vec<NaiveDateTime> {
    let group = &season.groups[g];
    if let PenStarts::Given(starts) = &group.pen_starts {
        return starts.clone();
    }
    // As the plan dates them: one after the other through the first pass.
    let dated = crate::planning::dating::date_groups(season, std::slice::from_ref(group));
    let first = dated.passes.iter().map(|p| p.step).min().unwrap_or(0);
    (0..group.pens.len())
        .map(|pen| {
            let of = |p: &&crate::planning::dating::Pass| p.pen == pen && p.step == first;
            let pass = dated.passes.iter().find(of);
            let at = pass.map_or(group.start, |p| season.zone.local(p.start));
            at.max(group.start)
        })
        .collect()
}

/// Pens of which each later one begins so much later than the one before than it does now.
fn spread(group: &Group, now: &[NaiveDateTime], by: &[TimeDelta]) -> Option<Vec<NaiveDateTime>> {
    // A pen that waits begins at a full quarter of an hour.
    let later = |s: &NaiveDateTime, b: &TimeDelta| {
        let at = *s + *b;
        let over = at.and_utc().timestamp().rem_euclid(900);
        if *b > TimeDelta::zero() && over > 0 {
            at + TimeDelta::seconds(900 - over)
        } else {
            at
        }
    };
    let starts: Vec<NaiveDateTime> = now.iter().zip(by).map(|(s, b)| later(s, b)).collect();
    may_begin(group, &starts).then_some(starts)
}

/// Offsets in whole slots: first the same pause after each pen, then a pause at one place only, then
/// one pen after the other as far as it helps.
pub(super) fn stagger(field: &Neighborhood<'_>, season: &Season) -> Vec<Ladder> {
    let mut found = Vec::new();
    for g in field.groups() {
        let group = &season.groups[*g];
        let pens = group.pens.len();
        if pens < 2 {
            continue;
        }
        let now = starts_now(season, *g);
        let slot = season.rules.slot.max(TimeDelta::minutes(15));
        let steps = (MOST_HOURS * 60 / slot.num_minutes()) as i32;
        let change = |by: &[TimeDelta]| {
            let starts = spread(group, &now, by)?;
            Some(Change::Group(*g, OfGroup::PenStarts(starts)))
        };
        let even = (1..=steps).filter_map(|k| {
            let by: Vec<TimeDelta> = (0..pens).map(|p| slot * k * p as i32).collect();
            // The last pen within the day's work.
            (by[pens - 1] <= TimeDelta::hours(MOST_HOURS)).then(|| change(&by))?
        });
        found.push(even.collect());
        if pens > 2 && pens <= MOST_STAGGERED {
            for at in 1..pens {
                let gap = (1..=steps).filter_map(|k| {
                    let later = |p| if p >= at { slot * k } else { TimeDelta::zero() };
                    change(&(0..pens).map(later).collect::<Vec<_>>())
                });
                found.push(gap.collect());
            }
        }
        if pens <= MOST_STAGGERED {
            let mut one_by_one = climb(field, season, *g, &now, slot, steps);
            one_by_one.sort_by_key(|c| c.effort(season));
            found.push(one_by_one);
        }
    }
    found
}

/// From the pens as they are, the pen and pause that leave the fewest, again and again.
fn climb(
    field: &Neighborhood<'_>,
    season: &Season,
    g: usize,
    now: &[NaiveDateTime],
    slot: TimeDelta,
    steps: i32,
) -> Ladder {
    let group = &season.groups[g];
    let mut by = vec![TimeDelta::zero(); now.len()];
    let mut least = field.evaluator.left_about(season);
    let mut found = Vec::new();
    for _ in 0..now.len() {
        let mut best: Option<(u32, Vec<TimeDelta>, Change)> = None;
        for pen in 1..now.len() {
            // Coarse pauses, so that all pens are looked at; the even ladder has the fine ones.
            for k in (1..=steps).step_by(2) {
                let mut trial = by.clone();
                trial[pen] = slot * k;
                let Some(starts) = spread(group, now, &trial) else {
                    continue;
                };
                let change = Change::Group(g, OfGroup::PenStarts(starts));
                let Some(changed) = change.applied(season) else {
                    continue;
                };
                let left = field.evaluator.left_about(&changed);
                if best.as_ref().is_none_or(|(b, _, _)| left < *b) {
                    best = Some((left, trial, change));
                }
            }
        }
        match best {
            Some((left, trial, change)) if left < least => {
                (least, by) = (left, trial);
                found.push(change);
            }
            _ => break,
        }
    }
    found
}

/// A group spread over two days, then three, and so on: about even lots on days that follow each other, or
/// the days and lots for which there is most room. Pens are kept whole.
pub(super) fn days(field: &Neighborhood<'_>, season: &Season) -> Vec<Ladder> {
    let season = &*field.evaluator.workday.assumed(season);
    let of = |g: usize| -> Option<Ladder> {
        let whole = season.groups[g].pens.len() > 1;
        let mut days = Days::new(season, g, whole, &NoProgress).ok()?;
        let mut ladder = Vec::new();
        for n in 2..=MOST_SPREAD {
            ladder.extend(days.ways(n).ok()?.into_iter().map(|way| {
                let pens = way.pens.iter().map(|h| h.0).collect();
                Change::Group(g, OfGroup::Days(pens, way.starts))
            }));
        }
        Some(ladder)
    };
    field.groups().iter().copied().filter_map(of).collect()
}
