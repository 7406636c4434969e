//! How well the crew covers a choice, and what it does to other groups: by the same sessions, crew
//! and choices as in a plan.
//!
//! Whole sessions are counted, without a technician's day divided between sites. That is fast, and a plan never
//! covers fewer. A group with `days` that one start does not serve is spread by the plan's own search.

use std::collections::{BTreeMap, BTreeSet};

use chrono::TimeDelta;
use schemars::JsonSchema;
use serde::{Serialize, Serializer};

use super::judge::SPARE;
use crate::base::progress::{Budget, NoProgress, Progress};
use crate::base::time::Instant;
use crate::base::units::Id;
use crate::planning::crew::starts::days::Spread;
use crate::planning::crew::starts::{self, spread};
use crate::planning::crew::{self, Counted, Fault};
use crate::planning::dating::{self, DatedSeason, Due, Work};
use crate::trade::season::{Group, Season};

/// A chute in a quarter of an hour: the site, and quarters since the epoch.
pub(super) type Quarter = (usize, i64);

/// What the crew can do for a choice.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, JsonSchema)]
pub struct Cover {
    /// Head of the group that the crew cannot breed in its hours.
    #[serde(rename = "head_not_bred")]
    pub not_bred: u32,
    /// Why, in words; null where all are bred.
    #[serde(rename = "why_not_bred")]
    pub why: Option<String>,
    /// Head of other groups that can then not be bred.
    #[serde(rename = "other_head_not_bred")]
    pub other_head: u32,
    /// Quarter hours in which another group needs the same chute.
    pub chute_quarters: u32,
    /// Minutes that the crew could begin later and still breed all.
    #[serde(rename = "spare_minutes", serialize_with = "minutes")]
    #[schemars(with = "i64")]
    pub spare: TimeDelta,
}

fn minutes<S: Serializer>(time: &TimeDelta, to: S) -> Result<S::Ok, S::Error> {
    to.serialize_i64(time.num_minutes())
}

impl Cover {
    /// Minutes by which the crew has less than an hour to spare.
    pub(super) fn short_minutes(&self) -> f64 {
        (SPARE - self.spare).num_minutes().max(0) as f64
    }
}

/// Groups as they stand, against which choices are held.
pub(super) struct Scene<'a> {
    season: &'a Season,
    /// A copy whose groups change.
    trial: Season,
    fixed: Vec<Group>,
    hours: Vec<Vec<(Instant, Instant)>>,
    chute: BTreeSet<Quarter>,
    /// What is not bred of some of the fixed groups alone.
    known: BTreeMap<Vec<usize>, u32>,
    /// Work left for spreading over days, by group and protocol.
    spreading: BTreeMap<(usize, Id), i64>,
    share: i64,
    /// Work left for counting to the minute.
    counting: i64,
}

/// Work for counting to the minute, in about microseconds: what is counted later is counted by plain rules.
const COUNT_WORK: i64 = 8_000_000;

/// Work for spreading over days all starts of a protocol, of all groups together, in about microseconds: what
/// is counted later stays on one day.
const SPREAD_WORK: i64 = 3_000_000;

fn hours(dues: &[Due]) -> Vec<(Instant, Instant)> {
    dues.iter().map(Due::span).collect()
}

fn near(a: &[(Instant, Instant)], b: &[(Instant, Instant)]) -> bool {
    a.iter().any(|x| {
        b.iter()
            .any(|y| x.0 < y.1 + crew::NEAR && y.0 < x.1 + crew::NEAR)
    })
}

/// The quarters of an hour in which a group is in its chute.
pub(super) fn quarters(site: usize, dated: &DatedSeason) -> BTreeSet<Quarter> {
    let mut found = BTreeSet::new();
    for p in dated.passes.iter().filter(|p| p.work == Work::Chute) {
        let (a, b) = (p.start.timestamp(), p.end.timestamp());
        found.extend((a.div_euclid(900)..(b + 899).div_euclid(900)).map(|q| (site, q)));
    }
    found
}

fn not_bred(counted: &[Counted]) -> u32 {
    counted.iter().map(|c| c.head - c.covered).sum()
}

impl<'a> Scene<'a> {
    /// What the plan is to settle of the groups is settled.
    pub(super) fn new(
        season: &'a Season,
        fixed: Vec<Group>,
        wanting: usize,
    ) -> Result<Self, Fault> {
        let mut trial = season.clone();
        trial.groups = fixed;
        trial.open = Vec::new();
        if trial.has_open_pens() {
            trial = starts::apart(&trial, &NoProgress)?.0;
        }
        let fixed = std::mem::take(&mut trial.groups);
        let mut all_hours = Vec::new();
        let mut chute = BTreeSet::new();
        for group in &fixed {
            let dated = dating::date_groups(season, std::slice::from_ref(group));
            all_hours.push(hours(&dated.dues));
            chute.extend(quarters(group.site, &dated));
        }
        Ok(Self {
            season,
            trial,
            fixed,
            hours: all_hours,
            chute,
            known: BTreeMap::new(),
            spreading: BTreeMap::new(),
            share: SPREAD_WORK / wanting.max(1) as i64,
            counting: COUNT_WORK,
        })
    }

    /// True if a fixed group is in that chute then.
    pub(super) fn taken(&self, quarter: &Quarter) -> bool {
        self.chute.contains(quarter)
    }

    fn count(&mut self, groups: Vec<Group>) -> Result<Vec<Counted>, Fault> {
        self.trial.groups = groups;
        let dated = dating::date_groups(self.season, &self.trial.groups);
        let budget = Budget::new(&NoProgress, self.counting);
        let counted = crew::count(&self.trial, &dated, &budget);
        self.counting = budget.left();
        counted
    }

    /// Fixed groups that are bred about the same days.
    fn near(&self, dated: &DatedSeason) -> Vec<usize> {
        let mine = hours(&dated.dues);
        (0..self.fixed.len())
            .filter(|n| near(&mine, &self.hours[*n]))
            .collect()
    }

    /// Head of these groups, and of the fixed ones near them, that cannot be bred; less those of
    /// the fixed ones that cannot be bred anyway.
    pub(super) fn not_bred(&mut self, groups: &[Group]) -> Result<u32, Fault> {
        let (all, before) = self.with_near(groups)?;
        Ok(not_bred(&self.count(all)?).saturating_sub(before))
    }

    /// The same, without asking the solver: at the least, and at the most.
    pub(super) fn not_bred_about(&mut self, groups: &[Group]) -> Result<(u32, u32), Fault> {
        let (all, before) = self.with_near(groups)?;
        self.trial.groups = all;
        let dated = dating::date_groups(self.season, &self.trial.groups);
        let head: u32 = dated.dues.iter().map(|d| d.head.0).sum();
        let (by_rule, most) = crew::covered_about(&self.trial, &dated);
        let left = |covered: u32| head.saturating_sub(covered).saturating_sub(before);
        Ok((left(most), left(by_rule)))
    }

    /// These groups with the fixed ones near them, and what of those cannot be bred anyway.
    fn with_near(&mut self, groups: &[Group]) -> Result<(Vec<Group>, u32), Fault> {
        if self.fixed.is_empty() {
            return Ok((groups.to_vec(), 0));
        }
        let near = self.near(&dating::date_groups(self.season, groups));
        let others: Vec<Group> = near.iter().map(|n| self.fixed[*n].clone()).collect();
        let before = match self.known.get(&near) {
            Some(known) => *known,
            None if near.is_empty() => 0,
            None => {
                let count = not_bred(&self.count(others.clone())?);
                self.known.insert(near, count);
                count
            }
        };
        let all = others.into_iter().chain(groups.iter().cloned()).collect();
        Ok((all, before))
    }

    /// Why some of a group cannot be bred in time, in words: as a plan says it.
    pub(super) fn why(&mut self, group: &Group) -> Result<Option<String>, Fault> {
        self.trial.groups = vec![group.clone()];
        let dated = dating::date_groups(self.season, &self.trial.groups);
        let plan = crew::assign(&self.trial, &dated)?;
        let left = || plan.sessions.iter().flat_map(|s| &s.uncovered);
        let most = left().reduce(|most, u| if u.head > most.head { u } else { most });
        Ok(most.map(|u| {
            let why = u.why.join("; ");
            match left().count() {
                1 => why,
                // Each pen has reasons of its own: those of the one that falls shortest.
                _ => format!("of {} of them, in one pen, {why}", u.head),
            }
        }))
    }

    /// How a group is covered, and how it is spread over days for it.
    pub(super) fn cover(&mut self, group: &Group) -> Result<(Cover, Option<Spread>), Fault> {
        let one = self.covered(group)?;
        let short = one.not_bred + one.other_head > 0;
        let key = (group.nth, group.protocol.id.clone());
        let left = self.spreading.get(&key).copied().unwrap_or(self.share);
        if group.days < 2 || !short || left == 0 {
            return Ok((one, None));
        }
        let budget = Budget::new(&NoProgress, left);
        let spread = self.spread(group, &budget)?;
        self.spreading.insert(key, budget.left());
        let cover = match &spread {
            Some(spread) => self.covered(&spread.of(group))?,
            None => one,
        };
        Ok((cover, spread))
    }

    pub(super) fn spread(
        &mut self,
        group: &Group,
        progress: &dyn Progress,
    ) -> Result<Option<Spread>, Fault> {
        if group.days < 2 {
            return Ok(None);
        }
        spread::chosen(&self.fixed, group, &mut self.trial, progress)
    }

    fn covered(&mut self, group: &Group) -> Result<Cover, Fault> {
        let dated = dating::date_groups(self.season, std::slice::from_ref(group));
        let alone = self.count(vec![group.clone()])?;
        let own = not_bred(&alone);
        let spare = alone.iter().map(|c| c.spare).min();
        let together = if self.near(&dated).is_empty() {
            own
        } else {
            self.not_bred(std::slice::from_ref(group))?
        };
        let quarters = quarters(group.site, &dated);
        Ok(Cover {
            not_bred: own,
            why: None,
            other_head: together.saturating_sub(own),
            chute_quarters: quarters.intersection(&self.chute).count() as u32,
            // Nobody is due, as nobody says how many come in heat on which day.
            spare: spare.unwrap_or_default(),
        })
    }
}
