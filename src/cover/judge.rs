//! What a changed season leaves: at the least, by counting near the sessions asked about; and in
//! truth, by a plan that is verified.

use std::collections::{BTreeMap, BTreeSet};

use chrono::TimeDelta;

use super::MANY_GROUPS;
use super::largest::at_fault;
use crate::error::Error;
use crate::expand::{self, Due, Expanded};
use crate::plan::{Moment, Plan, Remark, Session};
use crate::season::Season;
use crate::time::Instant;
use crate::{pipeline, workload};

/// From the first straws in the bath to the first cow, at the most.
const LEAD: TimeDelta = TimeDelta::hours(1);

/// The breeding asked about: steps of groups. Where a group is on another protocol, all of its
/// steps.
#[derive(Clone, Debug)]
pub(super) struct Target {
    /// Groups, by their place in the season.
    pub(super) groups: Vec<usize>,
    /// Group and step, by their places.
    pub(super) steps: BTreeSet<(usize, usize)>,
}

/// Remarks, each with whether it is a warning.
pub(super) type Brings = Vec<(bool, String)>;

/// What a plan leaves of what is asked about, and elsewhere.
#[derive(Clone, Debug)]
pub(super) struct Outlook {
    pub(super) left: u32,
    pub(super) elsewhere: u32,
    pub(super) margin_head: u32,
    pub(super) margin_minutes: i64,
    pub(super) binding: String,
    pub(super) first_cow: Option<Moment>,
    pub(super) last_cow: Option<Moment>,
    /// Warnings and night work that the plan before did not have.
    pub(super) brings: Brings,
}

pub(super) struct Judge<'a> {
    pub(super) season: &'a Season,
    pub(super) plan: &'a Plan,
    pub(super) target: Target,
    /// Minutes by which the crew must be able to start later.
    pub(super) margin: i64,
    /// Head left of each group in the plan as it is, what is asked about not counted.
    others: BTreeMap<usize, u32>,
    /// Head left of what is asked about in the plan as it is.
    pub(super) left: u32,
    /// True if straws of any bull run short in the plan as it is.
    straws_short: bool,
    /// What is noticed of the dates as they are.
    dated: Vec<Remark>,
}

impl Target {
    /// What a session of a plan breeds.
    pub(super) fn of(season: &Season, plan: &Plan, session: &Session) -> Self {
        let mut found = Self {
            groups: Vec::new(),
            steps: BTreeSet::new(),
        };
        for pen in &session.pens {
            let place = place(season, plan, &pen.group, &pen.pass);
            let Some((group, step)) = place else { continue };
            if !found.groups.contains(&group) {
                found.groups.push(group);
            }
            found.steps.insert((group, step));
        }
        found
    }

    pub(super) fn holds(&self, before: &Season, now: &Season, group: usize, step: usize) -> bool {
        self.groups.contains(&group)
            && (self.steps.contains(&(group, step))
                || before.groups[group].protocol.id != now.groups[group].protocol.id)
    }
}

/// A pass of a plan, as places of its group and step in the season.
fn place(season: &Season, plan: &Plan, group: &str, pass: &str) -> Option<(usize, usize)> {
    let g = season.groups.iter().position(|g| g.id.as_str() == group)?;
    let step = &plan.passes.iter().find(|p| p.id == pass)?.step;
    let steps = &season.groups[g].protocol.steps;
    Some((g, steps.iter().position(|s| s.id.as_str() == step)?))
}

/// The hours of a pen, whichever comes first.
fn hours(due: &Due) -> (Instant, Instant) {
    let h = due.safe_hours();
    (h.earliest.min(h.latest), h.earliest.max(h.latest))
}

impl<'a> Judge<'a> {
    pub(super) fn new(season: &'a Season, plan: &'a Plan, target: Target, margin: i64) -> Self {
        let mut others: BTreeMap<usize, u32> = BTreeMap::new();
        let mut left = 0;
        for u in &plan.uncovered {
            if let Some((group, step)) = place(season, plan, &u.group, &u.pass) {
                if target.holds(season, season, group, step) {
                    left += u.head;
                } else {
                    *others.entry(group).or_default() += u.head;
                }
            }
        }
        Self {
            season,
            plan,
            target,
            margin,
            others,
            left,
            straws_short: plan.findings.iter().any(|f| f.code == "W103"),
            dated: expand::expand(season)
                .findings
                .iter()
                .map(Remark::from)
                .collect(),
        }
    }

    /// Head left elsewhere in the plan as it is.
    pub(super) fn elsewhere(&self) -> u32 {
        self.others.values().sum()
    }

    /// The dues asked about in a changed season.
    pub(super) fn dues(&self, now: &Season) -> Vec<Due> {
        let mine: Vec<_> = self
            .target
            .groups
            .iter()
            .map(|g| now.groups[*g].clone())
            .collect();
        let dated = expand::dates(now, &mine);
        let held = |d: &Due| {
            self.target
                .holds(self.season, now, self.target.groups[d.group], d.step)
        };
        dated.dues.into_iter().filter(held).collect()
    }

    /// The groups asked about and those that are bred about the same hours, by their places.
    fn near(&self, now: &Season) -> (Vec<usize>, Expanded) {
        let dated = expand::dates(now, &now.groups);
        let mine: Vec<(Instant, Instant)> = dated
            .dues
            .iter()
            .filter(|d| self.target.groups.contains(&d.group))
            .map(hours)
            .collect();
        // Breeding farther from these hours takes nobody from them.
        let roads = now.sites.iter().flat_map(|s| &s.road).max();
        let far = LEAD + roads.copied().unwrap_or_default();
        let close = |d: &Due| {
            let (a, b) = hours(d);
            mine.iter().any(|m| a < m.1 + far && m.0 < b + far)
        };
        let groups: BTreeSet<usize> = dated
            .dues
            .iter()
            .filter(|d| self.target.groups.contains(&d.group) || close(d))
            .map(|d| d.group)
            .chain(self.target.groups.iter().copied())
            .collect();
        (groups.into_iter().collect(), dated)
    }

    fn only(now: &Season, groups: &[usize]) -> Season {
        let mut some = now.clone();
        some.groups = groups.iter().map(|g| now.groups[*g].clone()).collect();
        some.open.clear();
        some
    }

    /// True if what is ruled out by counting is ruled out for certain; in a season of many groups it
    /// is for everybody at whole sessions.
    pub(super) fn is_proof(&self) -> bool {
        self.season.groups.len() <= MANY_GROUPS
    }

    fn others_of(&self, groups: &[usize]) -> u32 {
        groups.iter().filter_map(|g| self.others.get(g)).sum()
    }

    /// Head that any plan of the changed season leaves of what is asked about at the least, unless
    /// it leaves more elsewhere than now; with many groups, any plan with everybody at whole sessions.
    /// Straws of bulls are not counted.
    pub(super) fn left_at_least(&self, now: &Season) -> u32 {
        self.left_by(now, !self.is_proof())
    }

    /// About the head that is left: with everybody at whole sessions.
    pub(super) fn left_about(&self, now: &Season) -> u32 {
        self.left_by(now, true)
    }

    fn left_by(&self, now: &Season, whole_sessions: bool) -> u32 {
        let (groups, _) = self.near(now);
        let some = Self::only(now, &groups);
        let dated = expand::dates(&some, &some.groups);
        let others = self.others_of(&groups);
        // With everybody everywhere at once is soon counted, and often says enough.
        let (due, bred) = workload::covered_by_all(&some, &dated);
        if due - bred > others {
            return due - bred - others;
        }
        // At one site nobody divides a day.
        let one_site = some.groups.windows(2).all(|w| w[0].site == w[1].site);
        if !one_site && !whole_sessions {
            return 0;
        }
        let left = due - workload::covered_at_most(&some, &dated);
        left.saturating_sub(others)
    }

    /// The head that is left of what is asked about in truth; and, where that is nobody and it
    /// suffices, what the change brings.
    ///
    /// # Errors
    /// An internal error of the plan.
    pub(super) fn trial(&self, now: &Season) -> Result<(u32, Option<Brings>), Error> {
        let (groups, _) = self.near(now);
        let some = Self::only(now, &groups);
        let dated = expand::dates(&some, &some.groups);
        // With many groups the plan of the whole season decides.
        if self.is_proof() {
            let counted = workload::count_as_planned(&some, &dated).map_err(|f| at_fault(&f))?;
            let left: u32 = counted.iter().map(|c| c.head - c.covered).sum();
            let left = left.saturating_sub(self.others_of(&groups));
            if left > 0 {
                return Ok((left, None));
            }
        }
        // Straws and margins are a plan's; warnings of dates need none.
        if self.straws_short || self.margin > 0 {
            let plan = pipeline::plan(&some, &[])?;
            let outlook = self.outlook(now, &plan);
            if !self.suffices(&outlook, self.others_of(&groups)) {
                return Ok((outlook.left, None));
            }
        }
        let found: Vec<Remark> = expand::expand(now)
            .findings
            .iter()
            .map(Remark::from)
            .collect();
        Ok((0, Some(new_remarks(&self.dated, &found))))
    }

    /// The whole changed season planned and verified: what it leaves, and whether that suffices.
    ///
    /// # Errors
    /// An internal error of the plan.
    pub(super) fn whole(&self, now: &Season) -> Result<(bool, Outlook), Error> {
        let plan = pipeline::plan(now, &[])?;
        let outlook = self.outlook(now, &plan);
        let good = self.suffices(&outlook, self.elsewhere());
        Ok((good, outlook))
    }

    fn suffices(&self, outlook: &Outlook, elsewhere: u32) -> bool {
        outlook.left == 0 && outlook.elsewhere <= elsewhere && outlook.margin_minutes >= self.margin
    }

    fn outlook(&self, now: &Season, plan: &Plan) -> Outlook {
        let mine = |group: &str, pass: &str| {
            place(now, plan, group, pass)
                .is_some_and(|(g, step)| self.target.holds(self.season, now, g, step))
        };
        let (mut left, mut elsewhere) = (0, 0);
        for u in &plan.uncovered {
            if mine(&u.group, &u.pass) {
                left += u.head;
            } else {
                elsewhere += u.head;
            }
        }
        let sessions: Vec<&Session> = plan
            .sessions
            .iter()
            .filter(|s| s.pens.iter().any(|p| mine(&p.group, &p.pass)))
            .collect();
        let tightest = sessions
            .iter()
            .min_by_key(|s| (s.margin_minutes, s.margin_head));
        Outlook {
            left,
            elsewhere,
            margin_head: tightest.map_or(0, |s| s.margin_head),
            margin_minutes: tightest.map_or(0, |s| s.margin_minutes),
            binding: tightest.map_or_else(String::new, |s| s.binding.clone()),
            first_cow: sessions.iter().filter_map(|s| s.first_cow).min(),
            last_cow: sessions.iter().filter_map(|s| s.last_cow).max(),
            brings: new_remarks(&self.plan.findings, &plan.findings),
        }
    }
}

/// Warnings and night work beyond those there were, each with whether it is a warning. Head left is
/// told apart.
fn new_remarks(before: &[Remark], now: &[Remark]) -> Brings {
    const TOLD_APART: [&str; 3] = ["W102", "W103", "W104"];
    const NIGHT: [&str; 2] = ["D109", "D112"];
    let counts = |all: &[Remark], code: &str| all.iter().filter(|f| f.code == code).count();
    let mut found = Vec::new();
    let mut seen: BTreeMap<&str, usize> = BTreeMap::new();
    for f in now {
        let warning = f.severity == "warning";
        let told = TOLD_APART.contains(&f.code.as_str());
        if told || !(warning || NIGHT.contains(&f.code.as_str())) {
            continue;
        }
        let known = |o: &Remark| o.code == f.code && o.what == f.what;
        if before.iter().any(known) {
            continue;
        }
        // A remark that was there before with another time in it is nothing new.
        let more = counts(now, &f.code).saturating_sub(counts(before, &f.code));
        let so_far = seen.entry(&f.code).or_default();
        if *so_far < more {
            *so_far += 1;
            found.push((warning, f.what.clone()));
        }
    }
    found
}
