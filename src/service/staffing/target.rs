//! The breeding asked about, as steps and half-days of groups; and which of a plan's passes are of it.
//!
//! A half-day is asked about by itself: a crew falls short on the half-day on which most are seen in
//! heat, and somebody sent for that one helps. Where a change moves the group's start, the half-days
//! are others, and all of them must be bred.

use std::collections::BTreeSet;

use crate::planning::dating::Half;
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
    /// What a session of a plan breeds.
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
    let half = pass.rsplit('/').next().and_then(half_of);
    let step = steps.iter().position(|s| s.id.as_str() == step)?;
    Some((g, step, half))
}

/// A half-day, from its id.
fn half_of(id: &str) -> Option<Half> {
    let (seen, late) = match (id.strip_suffix("-am"), id.strip_suffix("-pm")) {
        (Some(day), _) => (day, false),
        (_, Some(day)) => (day, true),
        _ => return None,
    };
    let seen = seen.parse().ok()?;
    Some(Half { seen, late })
}
