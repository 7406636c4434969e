//! Candidates of several groups, with what each takes up and what some leave together.

use std::collections::{BTreeMap, BTreeSet};

use chrono::{NaiveDate, TimeDelta};

use super::cover::{Quarter, Scene, quarters};
use super::hours::{Asked, Hours, Pen, pens};
use super::pool::Pool;
use super::shortlist::Judged;
use crate::base::progress::NoProgress;
use crate::planning::crew::{Fault, MostBetween};
use crate::planning::dating;
use crate::trade::season::{Group, Season, Weights};

/// Points that nobody could tell apart.
pub(super) const SAME: f64 = 1e-6;

/// A candidate of a group, with what it takes up.
pub(super) struct Entry {
    pub(super) group: Group,
    pub(super) points: f64,
    /// Head that cannot be bred with none of the other groups there: counted in `points`.
    pub(super) base: u32,
    /// Quarters of an hour in the chute in which no fixed group is.
    pub(super) quarters: BTreeSet<Quarter>,
    pub(super) dues: Vec<Pen>,
    /// Days that its breeding touches, a road before and after included.
    pub(super) touched: BTreeSet<NaiveDate>,
}

/// A group and one of its candidates, by their places.
pub(super) type At = (usize, usize);

/// Work for proposals of the model, in about microseconds.
pub(super) const SEARCH_WORK: i64 = 3_000_000;

/// Groups, over all sets that the crew is counted for, beyond those of proposals.
const MOST_IN_SETS: usize = 20_000;

/// Groups, over all days that the crew is counted for one by one.
const MOST_BY_DAY: usize = 40_000;

/// Pairs and threes of candidates that are counted.
const MOST_FEW: usize = 40_000;

/// Hours on the road and with the straws, before and after breeding, that could keep a technician
/// from the breeding of another day.
const ROAD: TimeDelta = TimeDelta::hours(3);

impl Entry {
    pub(super) fn new(season: &Season, scene: &Scene<'_>, group: Group, judged: &Judged) -> Self {
        let dated = dating::date_groups(season, std::slice::from_ref(&group));
        let mut quarters = quarters(group.site, &dated);
        quarters.retain(|q| !scene.taken(q));
        let dues = pens(season, &dated);
        let touched = dues.iter().flat_map(|d| {
            let from = season.zone.date(d.earliest.min(d.latest) - ROAD);
            let to = season.zone.date(d.earliest.max(d.latest) + ROAD);
            from.iter_days().take_while(move |day| *day <= to)
        });
        Self {
            touched: touched.collect(),
            points: judged.points,
            base: judged.cover.not_bred + judged.cover.other_head,
            quarters,
            dues,
            group,
        }
    }

    pub(super) fn asked(&self) -> Asked<'_> {
        Asked {
            dues: &self.dues,
            base: self.base,
        }
    }

    pub(super) fn days(&self) -> BTreeSet<NaiveDate> {
        self.dues.iter().map(|d| d.day).collect()
    }
}

pub(super) struct Table<'s, 'a> {
    pub(super) season: &'a Season,
    pub(super) weights: Weights,
    pub(super) groups: Vec<Vec<Entry>>,
    pub(super) scene: &'s mut Scene<'a>,
    pub(super) crew: MostBetween<'a>,
    /// Hours in which the crew could not breed all.
    pub(super) hours: Vec<Hours>,
    /// Work left for proposals of the model, in about microseconds.
    pub(super) searching: i64,
    /// Pairs and threes of candidates that may still be counted.
    pub(super) few_left: usize,
    /// Groups of sets that the crew may still be counted for, to make choices better and to learn from them.
    pub(super) sets_left: usize,
    /// Groups of days that the crew may still be counted for.
    pub(super) by_day_left: usize,
    known: BTreeMap<Vec<At>, u32>,
    about: BTreeMap<Vec<At>, (u32, u32)>,
}

impl<'s, 'a> Table<'s, 'a> {
    pub(super) fn new(
        season: &'a Season,
        weights: Weights,
        scene: &'s mut Scene<'a>,
        pools: &[Pool<'_, 'a>],
    ) -> Self {
        let mut table = Self {
            season,
            weights,
            groups: pools.iter().map(|_| Vec::new()).collect(),
            scene,
            crew: MostBetween::new(season),
            hours: Vec::new(),
            searching: SEARCH_WORK,
            few_left: MOST_FEW,
            sets_left: MOST_IN_SETS,
            by_day_left: MOST_BY_DAY,
            known: BTreeMap::new(),
            about: BTreeMap::new(),
        };
        for (g, pool) in pools.iter().enumerate() {
            table.take_in(g, pool);
        }
        table
    }

    /// Takes in what a pool has taken in.
    pub(super) fn take_in(&mut self, g: usize, pool: &Pool<'_, 'a>) {
        for judged in &pool.judged[self.groups[g].len()..] {
            let group = pool.field.decided(judged);
            let entry = Entry::new(self.season, self.scene, group, judged);
            self.groups[g].push(entry);
        }
    }

    pub(super) fn entry(&self, at: At) -> &Entry {
        &self.groups[at.0][at.1]
    }

    /// The days on which any of these is bred.
    pub(super) fn days(&self, set: &[At]) -> BTreeSet<NaiveDate> {
        set.iter().flat_map(|at| self.entry(*at).days()).collect()
    }

    /// Head that cannot be bred for these being chosen together, beyond what each alone leaves.
    pub(super) fn extra(&mut self, set: &[At]) -> Result<u32, Fault> {
        if set.len() < 2 {
            return Ok(0);
        }
        if let Some(known) = self.known.get(set) {
            return Ok(*known);
        }
        self.sets_left = self.sets_left.saturating_sub(set.len());
        let (groups, base) = self.groups_of(set);
        let extra = self.scene.not_bred(&groups)?.saturating_sub(base);
        self.known.insert(set.to_vec(), extra);
        Ok(extra)
    }

    /// The same with what was left on one day, for want of work, spread as the plan spreads it.
    pub(super) fn extra_as_spread(&mut self, set: &[At]) -> Result<u32, Fault> {
        let (mut groups, base) = self.groups_of(set);
        if groups.len() < 2 || groups.iter().all(|g| g.days < 2) {
            return Ok(0);
        }
        for group in &mut groups {
            if let Some(spread) = self.scene.spread(group, &NoProgress)? {
                *group = spread.of(group);
            }
        }
        Ok(self.scene.not_bred(&groups)?.saturating_sub(base))
    }

    /// As `extra`, counted faster: at the least, and at the most.
    pub(super) fn extra_about(&mut self, set: &[At]) -> Result<(u32, u32), Fault> {
        if let Some(known) = self.known.get(set) {
            return Ok((*known, *known));
        }
        if let Some(about) = self.about.get(set) {
            return Ok(*about);
        }
        let (groups, base) = self.groups_of(set);
        let (least, most) = self.scene.not_bred_about(&groups)?;
        let about = (least.saturating_sub(base), most.saturating_sub(base));
        self.about.insert(set.to_vec(), about);
        Ok(about)
    }

    /// As `extra`, or a little less.
    pub(super) fn extra_at_least(&mut self, set: &[At]) -> Result<u32, Fault> {
        Ok(self.extra_about(set)?.0)
    }

    fn groups_of(&self, set: &[At]) -> (Vec<Group>, u32) {
        let groups = set.iter().map(|at| self.entry(*at).group.clone());
        let base = set.iter().map(|at| self.entry(*at).base).sum();
        (groups.collect(), base)
    }

    /// How many groups of a choice want each chute in each quarter of an hour.
    pub(super) fn wanted(&self, picks: &[At]) -> BTreeMap<Quarter, u32> {
        let mut wanted = BTreeMap::new();
        for at in picks {
            for q in &self.entry(*at).quarters {
                *wanted.entry(*q).or_default() += 1;
            }
        }
        wanted
    }

    /// Sets of a choice that are bred on common days, and so may want the same people.
    pub(super) fn bred_together(&self, picks: &[At]) -> Vec<Vec<At>> {
        let mut sets: Vec<(BTreeSet<NaiveDate>, Vec<At>)> = Vec::new();
        for at in picks {
            let (mut all, mut set) = (self.entry(*at).touched.clone(), vec![*at]);
            sets.retain(|(other, members)| {
                let apart = all.is_disjoint(other);
                if !apart {
                    set.extend(members);
                    all.extend(other);
                }
                apart
            });
            set.sort_unstable();
            sets.push((all, set));
        }
        sets.into_iter().map(|(_, set)| set).collect()
    }
}
