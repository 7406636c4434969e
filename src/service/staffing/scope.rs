//! The breeding asked about, as steps and half-days of groups: which of a plan's passes are of it, and
//! which dues are near it, in hours and in sessions.
//!
//! A half-day is asked about by itself: a crew falls short on the half-day on which most are seen in
//! heat, and somebody sent for that one helps. Where a change moves the group's start, the half-days
//! are others, and all of them must be bred.

use std::collections::BTreeSet;

use chrono::TimeDelta;

use crate::base::time::Instant;
use crate::planning::dating::{Due, Half};
use crate::planning::plan::{Plan, Session};
use crate::trade::season::Season;

/// The breeding asked about: steps of groups. Where a group is on another protocol, all of its
/// steps.
#[derive(Clone, Debug)]
pub(super) struct Target {
    /// Groups, by their place in the season.
    pub(super) groups: Vec<usize>,
    /// Group and step, by their places.
    pub(super) steps: BTreeSet<(usize, usize)>,
    /// Of groups bred as heat is seen: the half-days.
    pub(super) halves: BTreeSet<(usize, Half)>,
}

impl Target {
    pub(super) fn of(season: &Season, plan: &Plan, session: &Session) -> Self {
        let mut found = Self {
            groups: Vec::new(),
            steps: BTreeSet::new(),
            halves: BTreeSet::new(),
        };
        for pen in &session.pens {
            let place = place(season, plan, &pen.group, &pen.pass);
            let Some((group, step, half)) = place else {
                continue;
            };
            found.halves.extend(half.map(|h| (group, h)));
            if !found.groups.contains(&group) {
                found.groups.push(group);
            }
            found.steps.insert((group, step));
        }
        found
    }

    /// Leaves what is not of a group.
    pub(super) fn keep(&mut self, group: usize) {
        self.groups.retain(|g| *g == group);
        self.steps.retain(|(g, _)| *g == group);
        self.halves.retain(|(g, _)| *g == group);
    }

    /// True if a breeding of a season is what is asked about. Where a group that is bred as heat is seen
    /// begins at another time, its half-days are others: then all of them are.
    pub(super) fn holds(
        &self,
        before: &Season,
        now: &Season,
        (group, step, half): (usize, usize, Option<Half>),
    ) -> bool {
        let (was, is) = (&before.groups[group], &now.groups[group]);
        let other = was.protocol.id != is.protocol.id;
        let moved = other || was.start != is.start || was.pen_starts != is.pen_starts;
        self.groups.contains(&group)
            && (other || self.steps.contains(&(group, step)))
            && half.is_none_or(|h| moved || self.halves.contains(&(group, h)))
    }
}

/// A pass of a plan, as places of its group and step in the season, and its half-day.
pub(super) fn place(
    season: &Season,
    plan: &Plan,
    group: &str,
    pass: &str,
) -> Option<(usize, usize, Option<Half>)> {
    let g = season.groups.iter().position(|g| g.id.as_str() == group)?;
    let step = &plan.passes.iter().find(|p| p.id == pass)?.step;
    let steps = &season.groups[g].protocol.steps;
    let heat = plan.group(group).and_then(|g| g.heat.as_ref());
    let mut half_days = heat.iter().flat_map(|h| &h.half_days);
    let half = half_days.find(|h| h.pass.as_deref() == Some(pass));
    let half = half.map(|h| Half {
        seen: h.seen_day,
        part: h.seen,
    });
    let step = steps.iter().position(|s| s.id.as_str() == step)?;
    Some((g, step, half))
}

pub(super) fn within(a: (Instant, Instant), b: (Instant, Instant), far: TimeDelta) -> bool {
    a.0 < b.1 + far && b.0 < a.1 + far
}

/// Dues chosen, those whose hours are within `far` of theirs, so many times over, and those of
/// the same sessions.
pub(super) fn grown(all: &[Due], mut chosen: Vec<bool>, far: TimeDelta, times: usize) -> Vec<bool> {
    let hours: Vec<_> = all.iter().map(Due::span).collect();
    let mut new: Vec<usize> = (0..all.len()).filter(|n| chosen[*n]).collect();
    let mut every = new.clone();
    for _ in 0..times {
        let near = |n: &usize| !chosen[*n] && new.iter().any(|m| within(hours[*n], hours[*m], far));
        let more: Vec<usize> = (0..all.len()).filter(near).collect();
        if more.is_empty() {
            break;
        }
        for n in &more {
            chosen[*n] = true;
        }
        every.extend(&more);
        new = more;
    }
    // Hours of one site that touch are of one session.
    new = every;
    while !new.is_empty() {
        let touches = |n: &usize| {
            let same = |m: &&usize| {
                let (a, b) = (hours[*n], hours[**m]);
                all[*n].site == all[**m].site && a.0 <= b.1 && b.0 <= a.1
            };
            !chosen[*n] && new.iter().any(|m| same(&m))
        };
        let more: Vec<usize> = (0..all.len()).filter(touches).collect();
        for n in &more {
            chosen[*n] = true;
        }
        new = more;
    }
    chosen
}
