//! One group's animals: bred to AI, back in heat, settled by bulls, open; at given percentages.

use std::collections::BTreeMap;

use chrono::{Days, NaiveDate};

use super::answer::Expected;
use crate::base::time::Zone;
use crate::planning::plan::Plan;
use crate::trade::figures::GestationLaw;
use crate::trade::figures::cycle::{Bulls, ByDay, Settling, any_day, next_heats, settle};
use crate::trade::figures::heat::band;
use crate::trade::season::{Group, OwnGestation};

/// A group's animals as they are planned.
#[derive(Clone, Debug)]
pub(super) struct Herd {
    pub(super) head: u32,
    /// Bred to AI, by local day.
    pub(super) bred: ByDay,
    /// The same as it stands in the plan: whole head, where some are planned for twice.
    pub(super) days_bred: BTreeMap<NaiveDate, u32>,
    /// Due and not bred for want of a crew: in heat about these days.
    pub(super) missed: ByDay,
    /// Not seen in heat, or not due at all.
    pub(super) unseen: f64,
    /// Mean gestation of AI calves, and of clean-up bull calves.
    pub(super) laws: [GestationLaw; 2],
    /// First and last day of clean-up bulls.
    pub(super) bulls: Option<(NaiveDate, NaiveDate)>,
}

/// What they come to at given percentages.
#[derive(Clone, Debug)]
pub(super) struct Run {
    /// Pregnant to AI, by day.
    pub(super) ai: ByDay,
    pub(super) bulls: Settling,
}

pub(super) fn law(own: &OwnGestation) -> GestationLaw {
    GestationLaw::for_breed(own.breed).with_own(own.days, own.spread_days)
}

impl Herd {
    pub(super) fn of(group: &Group, plan: &Plan, zone: Zone) -> Self {
        let id = group.id.as_str();
        let head = group.head().0;
        let mut days_bred = BTreeMap::new();
        for session in &plan.sessions {
            for slot in session.slots.iter().filter(|s| s.group == id) {
                for day in slot.bred_at().map(|at| zone.date(at)) {
                    *days_bred.entry(day).or_default() += 1;
                }
            }
        }
        let bred = days_bred.iter();
        let mut bred: ByDay = bred.map(|(day, head)| (*day, f64::from(*head))).collect();
        let mut missed = ByDay::new();
        for u in plan.uncovered.iter().filter(|u| u.group == id) {
            *missed.entry(u.hours.aim.date_naive()).or_default() += f64::from(u.head);
        }
        // Where nobody knows the share in heat, the group is planned whole for both breedings.
        let all: f64 = bred.values().chain(missed.values()).sum();
        if all > f64::from(head) {
            let by = f64::from(head) / all;
            for part in bred.values_mut().chain(missed.values_mut()) {
                *part *= by;
            }
        }
        let unseen = (f64::from(head) - all).max(0.0);
        let clean_up = group.calves.clean_up.as_ref();
        let own = clean_up.map_or(&group.calves.gestation, |c| &c.gestation);
        Self {
            head,
            bred,
            days_bred,
            missed,
            unseen,
            laws: [law(&group.calves.gestation), law(own)],
            bulls: clean_up.map(|c| (c.first, c.last)),
        }
    }

    /// True if somebody knows on which days it is bred.
    pub(super) fn is_counted(&self) -> bool {
        !self.bred.is_empty() || !self.missed.is_empty()
    }

    pub(super) fn bred_head(&self) -> f64 {
        self.bred.values().sum()
    }

    /// The first day on which any of them is bred, or should be where none is.
    pub(super) fn first_ai(&self) -> Option<NaiveDate> {
        let first = self.bred.keys().next().or(self.missed.keys().next());
        first.copied()
    }

    /// The first and the last day on which any of them is bred, or should be.
    pub(super) fn days(&self) -> Option<(NaiveDate, NaiveDate)> {
        let all = || self.bred.keys().chain(self.missed.keys());
        Some((*all().min()?, *all().max()?))
    }

    /// At a share pregnant to AI and a share of heats that bulls settle, both of 1.
    pub(super) fn run(&self, pregnant: f64, settled: f64) -> Run {
        let times = |by: f64| -> ByDay { self.bred.iter().map(|(d, h)| (*d, h * by)).collect() };
        let mut open = times(1.0 - pregnant);
        for (day, head) in &self.missed {
            *open.entry(*day).or_default() += head;
        }
        let mut next = next_heats(&open);
        let after = self.days().and_then(|d| d.1.checked_add_days(Days::new(1)));
        if let Some(from) = after.filter(|_| self.unseen > 0.0) {
            // In heat on none of the days before, as far as anybody saw.
            for (day, head) in any_day(from, self.unseen) {
                *next.entry(day).or_default() += head;
            }
        }
        let bulls = self.bulls.map(|(first, last)| Bulls {
            first,
            last,
            settled,
        });
        Run {
            ai: times(pregnant),
            bulls: settle(&next, bulls.as_ref()),
        }
    }

    /// The same animals with bulls alone from the first day of AI until `last`: as many in heat on
    /// each of 21 days.
    pub(super) fn natural(&self, last: NaiveDate, settled: f64) -> Settling {
        let Some(first) = self.first_ai() else {
            return Settling::default();
        };
        let bulls = Bulls {
            first,
            last,
            settled,
        };
        settle(&any_day(first, f64::from(self.head)), Some(&bulls))
    }
}

/// To the ten-thousandth.
pub(super) fn rounded(x: f64) -> f64 {
    crate::base::units::rounded(x, 4)
}

/// A number of `of` animals with its spread; the least and the most of all that are given.
pub(super) fn expected(of: f64, head: f64, others: &[f64]) -> Expected {
    let low = others.iter().copied().fold(head, f64::min);
    let high = others.iter().copied().fold(head, f64::max);
    spread(of, head, low, high)
}

pub(super) fn spread(of: f64, head: f64, low: f64, high: f64) -> Expected {
    let all = of.round().max(0.0) as u32;
    let chance = |x: f64| if of > 0.0 { x / of } else { 0.0 };
    Expected {
        head: rounded(head),
        low_head: rounded(low),
        high_head: rounded(high),
        least_head: band(all, chance(low)).0,
        most_head: band(all, chance(high)).1,
    }
}
