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
    /// Taken to be pregnant to the service before: not seen in heat after a second-service protocol.
    pub(super) before: f64,
    /// Mean gestation of AI calves, and of clean-up bull calves.
    pub(super) laws: [GestationLaw; 2],
    /// First and last day of clean-up bulls.
    pub(super) bulls: Option<(NaiveDate, NaiveDate)>,
}

/// What is counted with, each of 1.
#[derive(Clone, Copy, Debug)]
pub(super) struct Shares {
    /// Pregnant of those bred to AI.
    pub(super) pregnant: f64,
    /// Heats that bulls settle.
    pub(super) settled: f64,
    /// Head that do not cycle.
    pub(super) not_cycling: f64,
}

/// Pregnant to AI of those that do not come in heat, to those that do: 33 against 62 % (STEV18).
const NOT_CYCLING_PREGNANT: f64 = 33.0 / 62.0;

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
        let (unseen, before) = if group.protocol.second_service {
            (0.0, unseen)
        } else {
            (unseen, 0.0)
        };
        let clean_up = group.calves.clean_up.as_ref();
        let own = clean_up.map_or(&group.calves.gestation, |c| &c.gestation);
        Self {
            head,
            bred,
            days_bred,
            missed,
            unseen,
            before,
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

    /// All that may be open.
    pub(super) fn head_due(&self) -> f64 {
        f64::from(self.head) - self.before
    }

    /// Of those bred to AI, the share that is open and in heat again, at a share pregnant and a share that does not
    /// cycle; of those that were missed; and head not seen in heat that will be.
    fn returning(&self, pregnant: f64, not_cycling: f64) -> (f64, f64, f64) {
        let idle = not_cycling * self.head_due();
        // Who does not cycle is first among those not seen in heat.
        let unseen = idle.min(self.unseen);
        let due = self.head_due() - self.unseen;
        let idle = if due > 0.0 {
            (idle - unseen) / due
        } else {
            0.0
        };
        let open_idle = idle * (1.0 - pregnant * NOT_CYCLING_PREGNANT);
        (
            (1.0 - pregnant - open_idle).max(0.0),
            1.0 - idle,
            self.unseen - unseen,
        )
    }

    /// Head bred to AI that come back in heat.
    pub(super) fn returning_head(&self, rates: Shares) -> f64 {
        self.bred_head() * self.returning(rates.pregnant, rates.not_cycling).0
    }

    /// At given shares.
    pub(super) fn run(&self, rates: Shares) -> Run {
        let Shares {
            pregnant,
            settled,
            not_cycling,
        } = rates;
        let times = |by: f64| -> ByDay { self.bred.iter().map(|(d, h)| (*d, h * by)).collect() };
        let (back, missed_back, unseen) = self.returning(pregnant, not_cycling);
        let mut open = times(back);
        for (day, head) in &self.missed {
            *open.entry(*day).or_default() += head * missed_back;
        }
        let mut next = next_heats(&open);
        let after = self.days().and_then(|d| d.1.checked_add_days(Days::new(1)));
        if let Some(from) = after.filter(|_| unseen > 0.0) {
            // In heat on none of the days before, as far as anybody saw.
            for (day, head) in any_day(from, unseen) {
                *next.entry(day).or_default() += head;
            }
        }
        let bulls = self.bulls.map(|(first, last)| Bulls {
            first,
            last,
            settled,
        });
        let mut found = settle(&next, bulls.as_ref());
        let pregnant_head = self.bred_head() * pregnant + found.settled();
        found.open = (self.head_due() - pregnant_head).max(0.0);
        Run {
            ai: times(pregnant),
            bulls: found,
        }
    }

    /// The same animals with bulls alone from the first day of AI until `last`: as many in heat on
    /// each of 21 days.
    pub(super) fn natural(&self, last: NaiveDate, settled: f64, not_cycling: f64) -> Settling {
        let Some(first) = self.first_ai() else {
            return Settling::default();
        };
        let bulls = Bulls {
            first,
            last,
            settled,
        };
        let cycling = self.head_due() * (1.0 - not_cycling);
        settle(&any_day(first, cycling), Some(&bulls))
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
