//! A plan with its lists indexed by id, so that long seasons stay quick to write out.

use std::collections::BTreeMap;

use chrono::NaiveDate;

use crate::analysis::thaw::SessionThaw;
use crate::output::document::{Line, Span, words};
use crate::output::times::{OnDay, on_day};
use crate::planning::plan::{Bull, Group, Pass, Plan, Site, Technician};

/// A plan and where to find things in it.
pub(super) struct Book<'a> {
    /// The plan.
    pub(super) plan: &'a Plan,
    groups: BTreeMap<&'a str, &'a Group>,
    sites: BTreeMap<&'a str, &'a Site>,
    technicians: BTreeMap<&'a str, &'a Technician>,
    bulls: BTreeMap<&'a str, &'a Bull>,
    passes: BTreeMap<&'a str, &'a Pass>,
    sessions: BTreeMap<&'a str, usize>,
    rounds: BTreeMap<&'a str, &'a SessionThaw>,
}

impl<'a> Book<'a> {
    pub(super) fn new(plan: &'a Plan) -> Self {
        Self {
            plan,
            groups: plan.groups.iter().map(|g| (g.id.as_str(), g)).collect(),
            sites: plan.sites.iter().map(|s| (s.id.as_str(), s)).collect(),
            technicians: plan
                .technicians
                .iter()
                .map(|t| (t.id.as_str(), t))
                .collect(),
            bulls: plan.bulls.iter().map(|b| (b.id.as_str(), b)).collect(),
            passes: plan.passes.iter().map(|p| (p.id.as_str(), p)).collect(),
            sessions: plan
                .sessions
                .iter()
                .enumerate()
                .map(|(n, s)| (s.id.as_str(), n))
                .collect(),
            rounds: BTreeMap::new(),
        }
    }

    /// The same with thaw rounds of sessions, which paper shows beside the work.
    pub(super) fn with_rounds(plan: &'a Plan, rounds: &'a [SessionThaw]) -> Self {
        Self {
            rounds: rounds.iter().map(|s| (s.session.as_str(), s)).collect(),
            ..Self::new(plan)
        }
    }

    /// A day, for times on the plan's clock.
    pub(super) fn on(&self, day: NaiveDate) -> OnDay {
        on_day(self.plan.units.clock, day)
    }

    /// The thaw rounds of a session, where they are to be shown.
    pub(super) fn rounds(&self, session: &str) -> Option<&'a SessionThaw> {
        self.rounds.get(session).copied()
    }

    pub(super) fn group(&self, id: &str) -> Option<&'a Group> {
        self.groups.get(id).copied()
    }

    pub(super) fn group_name(&self, id: &'a str) -> &'a str {
        self.groups.get(id).map_or(id, |g| &g.name)
    }

    pub(super) fn site_name(&self, id: &'a str) -> &'a str {
        self.sites.get(id).map_or(id, |s| &s.name)
    }

    pub(super) fn technician(&self, id: &str) -> Option<&'a Technician> {
        self.technicians.get(id).copied()
    }

    pub(super) fn technician_name(&self, id: &'a str) -> &'a str {
        self.technicians.get(id).map_or(id, |t| &t.name)
    }

    pub(super) fn bull_name(&self, id: &'a str) -> &'a str {
        self.bulls.get(id).map_or(id, |b| &b.name)
    }

    pub(super) fn pass(&self, id: &str) -> Option<&'a Pass> {
        self.passes.get(id).copied()
    }

    /// The anchor of a session.
    pub(super) fn session_anchor(&self, id: &str) -> Option<String> {
        self.sessions.get(id).map(|n| format!("session-{}", n + 1))
    }

    /// True if the group is split, so that the pen has to be named.
    pub(super) fn has_pens(&self, group: &str) -> bool {
        self.group(group).is_none_or(|g| g.pen_head.len() > 1)
    }

    /// `pen 2`, or nothing for a group that is one pen or where the whole group is meant.
    pub(super) fn pen(&self, group: &str, pen: impl Into<Option<u32>>) -> Option<String> {
        let pen = pen.into().filter(|_| self.has_pens(group))?;
        Some(format!("pen {pen}"))
    }

    /// The group's name, and the pen where there are several.
    pub(super) fn pen_of(&self, group: &'a str, pen: impl Into<Option<u32>>) -> String {
        match self.pen(group, pen) {
            Some(pen) => format!("{}, {pen}", self.group_name(group)),
            None => self.group_name(group).to_owned(),
        }
    }
}

/// A name, with the short name that sentences use where it differs.
pub(super) fn named(name: &str, id: &str) -> Line {
    let short = (name != id).then(|| words![" ", Span::Short(words!["(", id, ")"])]);
    words![name, short]
}
