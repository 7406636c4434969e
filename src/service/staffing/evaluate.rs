//! What a changed season leaves in truth, by a plan that is verified.
//!
//! A change is put into a clone of the valid season and planned by the one pipeline there is, so
//! nothing is shown that a plan would not bear out.

use std::collections::{BTreeMap, BTreeSet};

use super::answer::Remedy;
use super::change::Change;
use super::remedies::broken_wishes;
pub(super) use super::scope::Target;
use super::scope::place;
use super::workday::Workday;
use crate::base::error::{Code, Error, Severity};
use crate::base::progress::{Budget, OnlyStop, Progress, Stage};
use crate::planning::crew;
use crate::planning::dating::{self, DatedSeason, Due};
use crate::planning::plan::{Plan, Remark, Session};
use crate::service::pipeline::{self, Options};
use crate::trade::season::{Group, Season};

/// Dues of days that hang together, which are planned to prove what a change leaves, at the most.
const MOST_TOGETHER: usize = 16;

/// Remarks, each with whether it is a warning.
pub(super) type Brings = Vec<(bool, String)>;

/// What a plan leaves of what is asked about, and elsewhere.
#[derive(Clone, Debug)]
pub(super) struct Outlook {
    /// With the figures of the plan, to be filled in with what it asks.
    pub(super) remedy: Remedy,
    /// Warnings and night work that the plan before did not have.
    pub(super) brings: Brings,
    /// True if no plan leaves less.
    pub(super) certain: bool,
}

pub(super) struct Whole {
    pub(super) good: bool,
    pub(super) outlook: Outlook,
    /// With what must be stated.
    pub(super) season: Season,
    /// Workday days that must be stated.
    pub(super) stated: Vec<Change>,
}

/// What a plan of the groups near comes to.
pub(super) struct Trial {
    pub(super) left: u32,
    /// False if it does not suffice, and another plan might.
    pub(super) certain: bool,
    /// What it brings, if it suffices.
    pub(super) brings: Option<Brings>,
}

/// Dues of a group, by its place in the season.
fn dues_of(season: &Season, group: usize) -> Vec<Due> {
    let alone = std::slice::from_ref(&season.groups[group]);
    let dues = dating::date_groups(season, alone).dues.into_iter();
    dues.map(|d| Due { group, ..d }).collect()
}

/// What is noticed of the dates of a season.
fn remarks(season: &Season) -> Vec<Remark> {
    let dated = dating::date(season);
    dated.findings.iter().map(Remark::from).collect()
}

/// True if each part of a plan is as good as can be.
fn is_best(plan: &Plan) -> bool {
    plan.search.proven == plan.search.parts
}

pub(super) struct Evaluator<'a> {
    pub(super) season: &'a Season,
    pub(super) plan: &'a Plan,
    pub(super) target: Target,
    /// Minutes by which the crew must be able to start later.
    pub(super) margin: i64,
    /// Head left of each group in the plan as it is, what is asked about not counted.
    pub(super) others: BTreeMap<usize, u32>,
    /// Head left of what is asked about in the plan as it is.
    pub(super) left: u32,
    progress: &'a dyn Progress,
    /// Work left for seasons that are only tried.
    trying: Budget<'a>,
    /// True if straws of any bull run short in the plan as it is.
    pub(super) straws_short: bool,
    /// What is noticed of the dates as they are.
    dated: Vec<Remark>,
    /// Dues of each group as it is.
    dates: Vec<Vec<Due>>,
    /// What may be asked of those who state no shifts.
    pub(super) workday: Workday,
    /// Wishes of groups that the season as it is does not keep.
    broken: Vec<String>,
}

/// Work for seasons that are only tried, in about microseconds.
const TRIAL_WORK: i64 = 5_000_000;

impl<'a> Evaluator<'a> {
    pub(super) fn new(
        season: &'a Season,
        plan: &'a Plan,
        target: Target,
        margin: i64,
        progress: &'a dyn Progress,
    ) -> Self {
        let mut others: BTreeMap<usize, u32> = BTreeMap::new();
        let mut left = 0;
        for u in &plan.uncovered {
            if let Some(place) = place(season, plan, &u.group, &u.pass) {
                let group = place.0;
                if target.holds(season, season, place) {
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
            progress,
            trying: Budget::new(progress, TRIAL_WORK),
            straws_short: plan.findings.iter().any(|f| f.code == Code::StrawsShort),
            dated: remarks(season),
            dates: (0..season.groups.len())
                .map(|g| dues_of(season, g))
                .collect(),
            workday: Workday::new(season, plan),
            broken: broken_wishes(season),
        }
    }

    /// True if the search is to end with what it has.
    pub(super) fn stopped(&self) -> bool {
        self.progress.stop()
    }

    /// True if the work for seasons that are only tried is used up.
    pub(super) fn has_tried_enough(&self) -> bool {
        self.trying.used_up()
    }

    /// True if the search is to end, as [`Self::stopped`], where so many kinds of changes of so many are tried.
    pub(super) fn stops_at(&self, done: usize, of: usize) -> bool {
        self.progress.reached(Stage::Changes, done, of);
        self.progress.stop()
    }

    /// Head left elsewhere in the plan as it is.
    pub(super) fn elsewhere(&self) -> u32 {
        self.others.values().sum()
    }

    pub(super) fn dues(&self, now: &Season) -> Vec<Due> {
        let mine: Vec<_> = self
            .target
            .groups
            .iter()
            .map(|g| now.groups[*g].clone())
            .collect();
        let dated = dating::date_groups(now, &mine);
        let held = |d: &Due| {
            let place = (self.target.groups[d.group], d.step, d.half_day);
            self.target.holds(self.season, now, place)
        };
        dated.dues.into_iter().filter(held).collect()
    }

    /// Dues of a changed season, group by group; what did not change is dated once.
    pub(super) fn dated(&self, now: &Season) -> Vec<Vec<Due>> {
        let before = self.season;
        // A change is to a group, or to a site.
        let of = |(g, group): (usize, &Group)| {
            if before.groups[g] == *group && before.sites[group.site] == now.sites[group.site] {
                self.dates[g].clone()
            } else {
                dues_of(now, g)
            }
        };
        now.groups.iter().enumerate().map(of).collect()
    }

    fn only(now: &Season, groups: &BTreeSet<usize>) -> Season {
        let mut some = now.clone();
        some.groups = groups.iter().map(|g| now.groups[*g].clone()).collect();
        some.open.clear();
        some
    }

    pub(super) fn others_of(&self, groups: &BTreeSet<usize>) -> u32 {
        groups.iter().filter_map(|g| self.others.get(g)).sum()
    }

    /// The head that is left of what is asked about in truth; and, where that is nobody and it
    /// suffices, what the change brings.
    pub(super) fn trial(&self, now: &Season) -> Result<Trial, Error> {
        let now = &*self.workday.assumed(now);
        let near = self.near(now);
        // Days that hang together with too many others are planned in part, and prove nothing.
        let whole_days = near.may_divide.then(|| self.whole_days(now));
        let few = whole_days.as_ref().filter(|d| d.len() <= MOST_TOGETHER);
        let dues = few.unwrap_or(&near.dues);
        let groups: BTreeSet<usize> = dues.iter().map(|d| d.group).collect();
        let others = self.others_of(&groups);
        let (due, covered, most) =
            crew::planned_at_most(now, &DatedSeason::of(dues.clone()), &self.trying)?;
        let left = (due - covered).saturating_sub(others);
        if left > 0 {
            return Ok(Trial {
                left,
                certain: (due - most) > others && (few.is_some() || !near.may_divide),
                brings: None,
            });
        }
        // Straws and margins are a plan's; warnings of dates need none.
        if self.straws_short || self.margin > 0 {
            let some = Self::only(now, &groups);
            let plan = self.plan_tried(&some)?;
            let outlook = self.outlook(now, &plan);
            if !self.suffices(&outlook, others) {
                return Ok(Trial {
                    left: outlook.remedy.uncovered_head,
                    certain: is_best(&plan) && !near.may_divide,
                    brings: None,
                });
            }
        }
        let new = new_remarks(&self.dated, &remarks(now));
        Ok(Trial {
            left: 0,
            certain: true,
            brings: Some(self.with_wishes(now, new)),
        })
    }

    /// The plan of a season that is only tried: its reasons are not asked for.
    fn plan_tried(&self, season: &Season) -> Result<Plan, Error> {
        let options = Options {
            reasons: false,
            progress: &OnlyStop(self.progress),
            ..Options::default()
        };
        pipeline::plan_with(season, &[], options)
    }

    /// The whole changed season planned and verified: what it leaves, and whether that suffices. Where
    /// the plan would ask for more than an ordinary day of somebody who states no shifts, that day is
    /// stated as well; nothing, where even so it asks for more.
    pub(super) fn whole(&self, now: &Season) -> Result<Option<Whole>, Error> {
        let mut season = now.clone();
        // Finer steps are taken only to count; the season file states none.
        if season.rules.grain() != season.rules.slot {
            season.rules.grain = None;
        }
        let mut stated = Vec::new();
        loop {
            let plan = self.plan_tried(&season)?;
            let more = self.workday.to_state(&season, &plan);
            if more.is_empty() {
                let outlook = self.outlook(&season, &plan);
                return Ok(Some(Whole {
                    good: self.suffices(&outlook, self.elsewhere()),
                    outlook,
                    season,
                    stated,
                }));
            }
            for change in more {
                let Some(next) = change.applied(&season) else {
                    return Ok(None);
                };
                season = next;
                stated.push(change);
            }
        }
    }

    /// Wishes of groups that are broken as well.
    fn with_wishes(&self, now: &Season, mut brings: Brings) -> Brings {
        let new = broken_wishes(now).into_iter();
        brings.extend(new.filter(|w| !self.broken.contains(w)).map(|w| (true, w)));
        brings
    }

    fn suffices(&self, outlook: &Outlook, elsewhere: u32) -> bool {
        let left = &outlook.remedy;
        left.uncovered_head == 0
            && left.elsewhere_uncovered_head <= elsewhere
            && left.margin_minutes >= self.margin
    }

    fn outlook(&self, now: &Season, plan: &Plan) -> Outlook {
        let mine = |group: &str, pass: &str| {
            place(now, plan, group, pass)
                .is_some_and(|place| self.target.holds(self.season, now, place))
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
        let brings = self.with_wishes(now, new_remarks(&self.plan.findings, &plan.findings));
        let remedy = Remedy {
            kinds: Vec::new(),
            asks: Vec::new(),
            write: Vec::new(),
            effort_points: 0,
            uncovered_head: left,
            elsewhere_uncovered_head: elsewhere,
            margin_head: tightest.map_or(0, |s| s.margin_head),
            margin_minutes: tightest.map_or(0, |s| s.margin_minutes),
            binding: tightest.map(|s| s.binding),
            first_cow: sessions.iter().filter_map(|s| s.first_cow).min(),
            last_cow: sessions.iter().filter_map(|s| s.last_cow).max(),
            brings: brings.iter().map(|(_, words)| words.clone()).collect(),
        };
        Outlook {
            remedy,
            brings,
            certain: is_best(plan),
        }
    }
}

/// Warnings and night work beyond those there were, each with whether it is a warning. Head left is
/// told apart.
fn new_remarks(before: &[Remark], now: &[Remark]) -> Brings {
    const TOLD_APART: [Code; 3] = [Code::Uncovered, Code::StrawsShort, Code::SearchStopped];
    const NIGHT: [Code; 2] = [Code::NightWork, Code::NightTreatment];
    let counts = |all: &[Remark], code: Code| all.iter().filter(|f| f.code == code).count();
    let mut found = Vec::new();
    let mut seen: BTreeMap<Code, usize> = BTreeMap::new();
    for f in now {
        let warning = f.severity == Severity::Warning;
        let told = TOLD_APART.contains(&f.code);
        if told || !(warning || NIGHT.contains(&f.code)) {
            continue;
        }
        let known = |o: &Remark| o.code == f.code && o.what == f.what;
        if before.iter().any(known) {
            continue;
        }
        // A remark that was there before with another time in it is nothing new.
        let more = counts(now, f.code).saturating_sub(counts(before, f.code));
        let so_far = seen.entry(f.code).or_default();
        if *so_far < more {
            *so_far += 1;
            found.push((warning, f.what.clone()));
        }
    }
    found
}
