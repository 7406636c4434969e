//! A plan with its lists indexed by id, so that long seasons stay quick to write out.

use std::collections::BTreeMap;

use chrono::NaiveDate;

use crate::analysis::forecast::Forecast;
use crate::analysis::tank::TankReport;
use crate::analysis::thaw::SessionThaw;
use crate::output::document::{Line, Style, words};
use crate::output::times::{OnDay, on_day};
use crate::planning::plan::{Bull, Group, Pass, Plan, Site, Technician};

type ById<'a, T> = BTreeMap<&'a str, &'a T>;

fn by_id<T>(all: &[T], id: fn(&T) -> &String) -> ById<'_, T> {
    all.iter().map(|t| (id(t).as_str(), t)).collect()
}

/// A plan and where to find things in it.
pub(super) struct Book<'a> {
    /// The plan.
    pub(super) plan: &'a Plan,
    /// For the map of the tanks, where the season names any.
    pub(super) tanks: Option<&'a TankReport>,
    /// For the calves expected.
    pub(super) forecast: Option<&'a Forecast>,
    groups: ById<'a, Group>,
    sites: ById<'a, Site>,
    technicians: ById<'a, Technician>,
    bulls: ById<'a, Bull>,
    passes: ById<'a, Pass>,
    sessions: BTreeMap<&'a str, u32>,
    /// Thaw rounds of sessions, which paper shows beside the work.
    rounds: ById<'a, SessionThaw>,
}

impl<'a> Book<'a> {
    pub(super) fn new(
        plan: &'a Plan,
        tanks: Option<&'a TankReport>,
        forecast: Option<&'a Forecast>,
        rounds: &'a [SessionThaw],
    ) -> Self {
        let sessions = plan.sessions.iter().zip(1..);
        Self {
            plan,
            tanks,
            forecast,
            groups: by_id(&plan.groups, |g| &g.id),
            sites: by_id(&plan.sites, |s| &s.id),
            technicians: by_id(&plan.technicians, |t| &t.id),
            bulls: by_id(&plan.bulls, |b| &b.id),
            passes: by_id(&plan.passes, |p| &p.id),
            sessions: sessions.map(|(s, n)| (s.id.as_str(), n)).collect(),
            rounds: by_id(rounds, |s| &s.session),
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
        self.sessions.get(id).map(|n| format!("session-{n}"))
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
    let short = (name != id).then(|| words![" ", Style::Short.of(words!["(", id, ")"])]);
    words![name, short]
}
