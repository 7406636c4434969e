//! One group: its pregnancies and calves.

use chrono::Days;
use itertools::iproduct;

use super::answer::{AiDay, CleanUp, GroupCalves, Heat, Outcome, Rate, Returns};
use super::births::Births;
use super::model::{Herd, Run, Shares, expected, rounded};
use super::rates;
use crate::analysis::tank::allocation::Allocation;
use crate::base::error::Finding;
use crate::planning::aftercare::RETURN_HEAT_DAYS;
use crate::planning::plan::Plan;
use crate::trade::figures::cycle::{ByDay, CYCLE_DAYS};
use crate::trade::season::{Group, Season};

/// A group as it is answered, and what money is counted from.
pub(super) struct GroupForecast {
    pub(super) calves: GroupCalves,
    pub(super) herd: Herd,
    pub(super) births: Births,
    /// What is counted with, at low, expected and high percent pregnant to AI.
    pub(super) rates: [Shares; 3],
    /// Share of pregnancies that end in a calf.
    pub(super) kept: f64,
}

impl GroupForecast {
    pub(super) fn of(
        season: &Season,
        group: &Group,
        planned: &crate::planning::plan::Group,
        plan: &Plan,
        allocation: &Allocation,
        findings: &mut Vec<Finding>,
    ) -> Self {
        let herd = Herd::of(group, plan, season.zone);
        let sexed = rates::sexed_share(season, plan, planned, allocation);
        let ai_rate = rates::to_ai(group, sexed, findings);
        let clean_up = group.calves.clean_up.as_ref();
        let settled_rate = rates::settled(clean_up.and_then(|c| c.settled.as_ref()));
        let of_one = |r: &Rate| [r.low_percent, r.percent, r.high_percent].map(|p| p / 100.0);
        let not_cycling = rates::not_cycling(group.calves.not_cycling.as_ref());
        let lost = rates::lost(group.calves.lost);
        let ends = [&ai_rate, &settled_rate, &not_cycling].map(of_one);
        let rates = [0, 1, 2].map(|end| Shares {
            pregnant: ends[0][end],
            settled: ends[1][1],
            not_cycling: ends[2][1],
        });
        let kept = 1.0 - lost.percent / 100.0;
        let counted = herd.is_counted();
        let run = herd.run(rates[1]);
        let births = if counted {
            births(&herd, &run, kept)
        } else {
            Births::default()
        };
        let returning = herd.returning_head(rates[1]);
        let [gestation, bulls_gestation] = herd.laws.clone();
        let calves = GroupCalves {
            group: group.id.as_str().to_owned(),
            name: group.name.clone(),
            protocol: group.protocol.id.as_str().to_owned(),
            counted,
            outcome: outcome(&herd, ends, kept),
            ai_days: ai_days(&herd),
            returns: (returning > 0.0)
                .then(|| returns(&herd.bred, returning))
                .flatten(),
            clean_up: clean_up.filter(|_| counted).map(|c| CleanUp {
                turned_in: c.first,
                taken_out: c.last,
                days: (c.last - c.first).num_days() + 1,
                bulls_head: c.head.0,
                head_a_bull: rounded(f64::from(herd.head) / f64::from(c.head.0.max(1))),
                settled: settled_rate,
                heats: run.bulls.heats.iter().map(heat).collect(),
            }),
            ai_rate: Rate {
                low_percent: rounded(ai_rate.low_percent),
                percent: rounded(ai_rate.percent),
                high_percent: rounded(ai_rate.high_percent),
                ..ai_rate
            },
            sexed_percent: rounded(100.0 * sexed),
            not_cycling,
            lost,
            bulls_gestation: (clean_up.is_some() && bulls_gestation != gestation)
                .then_some(bulls_gestation),
            gestation,
            calving: births.calving(),
        };
        Self {
            calves,
            herd,
            births,
            rates,
            kept,
        }
    }
}

pub(super) fn births(herd: &Herd, run: &Run, kept: f64) -> Births {
    let times = |by: &ByDay| -> ByDay { by.iter().map(|(d, h)| (*d, h * kept)).collect() };
    // The bulls' first calves may be the first of all, where nobody is bred to AI.
    let first_bred = herd.bred.keys().next().map(|d| herd.laws[0].due(*d));
    let first_settled = run.bulls.by_day.iter().find(|(_, head)| **head > 0.0);
    let first_settled = first_settled.map(|(d, _)| herd.laws[1].due(*d));
    Births {
        ai: herd.laws[0].born(&times(&run.ai)),
        bulls: herd.laws[1].born(&times(&run.bulls.by_day)),
        first_due: first_bred.into_iter().chain(first_settled).min(),
    }
}

/// Of low, expected and high percent pregnant to AI, settled by bulls and not cycling.
fn outcome(herd: &Herd, ends: [[f64; 3]; 3], kept: f64) -> Outcome {
    let (head, bred) = (herd.head_due(), herd.bred_head());
    if !herd.is_counted() {
        return Outcome {
            head: herd.head,
            ..Outcome::default()
        };
    }
    let at = |a: usize, s: usize, n: usize| {
        let run = herd.run(Shares {
            pregnant: ends[0][a],
            settled: ends[1][s],
            not_cycling: ends[2][n],
        });
        let ai = run.ai.values().sum::<f64>();
        (ai, run.bulls.settled(), run.bulls.open)
    };
    let mean = at(1, 1, 1);
    let ends: Vec<_> = iproduct!([0, 2], [0, 2], [0, 2])
        .map(|(a, s, n)| at(a, s, n))
        .collect();
    let of = |pick: fn(&(f64, f64, f64)) -> f64| ends.iter().map(pick).collect::<Vec<_>>();
    Outcome {
        head: herd.head,
        bred_head: bred.round() as u32,
        ai: expected(bred, mean.0, &of(|e| e.0)),
        bulls: expected(head, mean.1, &of(|e| e.1)),
        pregnant: expected(head, mean.0 + mean.1, &of(|e| e.0 + e.1)),
        open: expected(head, mean.2, &of(|e| e.2)),
        pregnant_before_head: rounded(herd.before),
        ai_calves_head: rounded(mean.0 * kept),
        bull_calves_head: rounded(mean.1 * kept),
    }
}

fn ai_days(herd: &Herd) -> Vec<AiDay> {
    let days = herd.days_bred.iter();
    days.map(|(date, head)| AiDay {
        date: *date,
        head: *head,
    })
    .collect()
}

fn returns(bred: &ByDay, head: f64) -> Option<Returns> {
    let (first, days) = crate::trade::figures::curve::mean_days(bred)?;
    let (last, _) = bred.last_key_value()?;
    let [soonest, latest] = RETURN_HEAT_DAYS.map(u64::from);
    let mean = u64::from(CYCLE_DAYS) + days.round() as u64;
    Some(Returns {
        from: first.checked_add_days(Days::new(soonest))?,
        mean: first.checked_add_days(Days::new(mean))?,
        to: last.checked_add_days(Days::new(latest))?,
        head: rounded(head),
    })
}

fn heat(h: &crate::trade::figures::cycle::BullHeat) -> Heat {
    Heat {
        mean: h.mean,
        in_heat_head: rounded(h.in_heat),
        settled_head: rounded(h.settled),
    }
}
