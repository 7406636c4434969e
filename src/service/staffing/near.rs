//! What of a changed season is looked at, and how many head it leaves at the least, by counting.
//!
//! Counting goes before planning only to save time, and rules out by bounds that no plan beats: groups
//! left out can only take people away. Where nobody could divide a day the count is exact. Elsewhere
//! rounds begin anew with each visit, and `crew::bounds::by_slot` counts stretches of hours in place of
//! slots. Straws are counted for each group alone.

use std::collections::BTreeSet;

use chrono::TimeDelta;

use super::evaluate::Evaluator;
use super::scope::{grown, within};
use crate::base::time::Instant;
use crate::planning::crew;
use crate::planning::dating::{DatedSeason, Due};
use crate::trade::season::Season;

/// From the first straws in the bath to the first cow, at the most.
const LEAD: TimeDelta = TimeDelta::hours(1);

/// Work at another site within this of the hours may be of the same day of somebody's.
const DAY: TimeDelta = TimeDelta::hours(24);

/// Other groups that are moved as well, one by one.
const MOST_BESIDE: usize = 2;

/// The breeding asked about and what is bred about the same hours.
pub(super) struct Near {
    pub(super) groups: BTreeSet<usize>,
    pub(super) dues: Vec<Due>,
    /// What is asked about.
    target: Vec<Due>,
    /// True if there is work at another site on such a day that somebody might divide it.
    pub(super) may_divide: bool,
}

fn picked(all: &[Due], chosen: &[bool]) -> Vec<Due> {
    let mine = all.iter().zip(chosen).filter(|(_, yes)| **yes);
    mine.map(|(d, _)| d.clone()).collect()
}

impl Evaluator<'_> {
    /// Other groups that are bred about the hours asked about, the first few.
    pub(super) fn beside(&self) -> Vec<usize> {
        let near = self.near(self.season);
        let mut found: Vec<usize> = near.groups.into_iter().collect();
        found.retain(|g| !self.target.groups.contains(g));
        found.truncate(MOST_BESIDE);
        found
    }

    pub(super) fn near(&self, now: &Season) -> Near {
        let all: Vec<Due> = self.dated(now).into_iter().flatten().collect();
        let held = |d: &Due| self.is_asked(now, d);
        let mine: Vec<(usize, (Instant, Instant))> = all
            .iter()
            .filter(|d| held(d))
            .map(|d| (d.site, d.span()))
            .collect();
        let roads = now.sites.iter().flat_map(|s| &s.road).max();
        let roads = roads.copied().unwrap_or_default();
        // Breeding farther from these hours takes nobody from them.
        let chosen = grown(&all, all.iter().map(held).collect(), LEAD + roads, 1);
        let may_divide = all.iter().any(|d| {
            let other = |(site, h): &(usize, (Instant, Instant))| {
                *site != d.site && within(d.span(), *h, DAY + roads)
            };
            mine.iter().any(other)
        });
        let target = all.iter().map(held).collect::<Vec<bool>>();
        let groups = |dues: &[Due]| dues.iter().map(|d| d.group).collect::<BTreeSet<usize>>();
        let dues = picked(&all, &chosen);
        Near {
            groups: groups(&dues),
            dues,
            target: picked(&all, &target),
            may_divide,
        }
    }

    /// What is asked about and all breeding of the days that hang together with it: whoever may divide
    /// a day with some may do so with those near these.
    pub(super) fn whole_days(&self, now: &Season) -> Vec<Due> {
        let all: Vec<Due> = self.dated(now).into_iter().flatten().collect();
        let target = all.iter().map(|d| self.is_asked(now, d)).collect();
        let roads = now.sites.iter().flat_map(|s| &s.road).max();
        let far = DAY + roads.copied().unwrap_or_default();
        picked(&all, &grown(&all, target, far, all.len()))
    }

    fn is_asked(&self, now: &Season, due: &Due) -> bool {
        let place = (due.group, due.step, due.half_day);
        self.target.holds(self.season, now, place)
    }

    /// Head that any plan of the changed season leaves of what is asked about at the least, unless
    /// it leaves more elsewhere than now. Straws are counted for each group alone.
    pub(super) fn left_at_least(&self, now: &Season) -> u32 {
        let lacking = self.straws_lacking(now);
        if lacking > 0 {
            return lacking;
        }
        let now = &*self.workday.assumed(now);
        let near = self.near(now);
        self.left_by(&near, |some| {
            if near.may_divide {
                crew::bound_by_slot(now, some)
            } else {
                Self::at_whole_sessions(now, some)
            }
        })
    }

    /// Head that are left for want of straws at the least, unless more is left elsewhere than now:
    /// whatever else changes brings no straws.
    fn straws_lacking(&self, now: &Season) -> u32 {
        if !self.straws_short {
            return 0;
        }
        let all = self.dated(now);
        let lacks = self.target.groups.iter().map(|g| {
            let due: u32 = all[*g].iter().map(|d| d.head.0).sum();
            let bulls = now.groups[*g].bulls.iter();
            let straws: u32 = bulls.map(|b| now.bulls[*b].straws().0).sum();
            due.saturating_sub(straws)
        });
        lacks.max().unwrap_or(0).saturating_sub(self.elsewhere())
    }

    /// The same by a bound that never falls where somebody comes or works longer; by what is asked
    /// about alone, where that is enough.
    pub(super) fn left_by_hours(&self, now: &Season) -> u32 {
        let lacking = self.straws_lacking(now);
        if lacking > 0 {
            return lacking;
        }
        let now = &*self.workday.assumed(now);
        let (due, bred) = crew::bound_by_slot(now, &DatedSeason::of(self.dues(now)));
        if due > bred {
            return due - bred;
        }
        self.left_by(&self.near(now), |some| crew::bound_by_slot(now, some))
    }

    /// About the head that is left: with everybody at whole sessions.
    pub(super) fn left_about(&self, now: &Season) -> u32 {
        let now = &*self.workday.assumed(now);
        self.left_by(&self.near(now), |some| Self::at_whole_sessions(now, some))
    }

    /// With everybody everywhere at once is soon counted, and often says enough.
    fn at_whole_sessions(now: &Season, some: &DatedSeason) -> (u32, u32) {
        let (due, bred) = crew::bound_by_session(now, some);
        if due > bred {
            return (due, bred);
        }
        (due, crew::covered_about(now, some).1)
    }

    /// What is left of those asked about, were they alone; or with all who are near, less what these
    /// others leave now.
    fn left_by(&self, near: &Near, count: impl Fn(&DatedSeason) -> (u32, u32)) -> u32 {
        let left = |some: &[Due]| {
            let (due, bred) = count(&DatedSeason::of(some.to_vec()));
            due - bred
        };
        let others = self.others_of(&near.groups);
        let together = left(&near.dues).saturating_sub(others);
        if others == 0 {
            return together;
        }
        together.max(left(&near.target))
    }
}
