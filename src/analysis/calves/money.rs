//! What AI costs a head, a pregnancy and a calf, and what bulls cost. All prices are the user's; what
//! has none is named and in no sum.

use chrono::NaiveDate;
use serde::{Deserialize, Serialize};

use super::answer::{Expected, First21Days, Rate};
use super::natural::natural;
use super::{Told, words};
use crate::base::error::Finding;
use crate::base::units::hundredths;
use crate::planning::choose::cost_of_group;
use crate::planning::plan::Plan;
use crate::trade::forecast::{Line, Money};
use crate::trade::season::{MoneyFacts, Season};

/// What the season's AI and bulls cost, and what they bring.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct MoneyAnswer {
    /// The currency, if the season names one.
    pub currency: Option<String>,
    /// What synchronization and AI cost, group by group; empty where the season has no `prices`.
    pub groups: Vec<GroupCost>,
    /// The same of all groups, and their bulls.
    pub spent: Spent,
    /// Natural service in the place of AI, where it is to be held against.
    pub natural: Option<Natural>,
    /// Keys of the season file that are needed and not given, each with what it leaves out.
    pub missing: Vec<String>,
}

/// An amount: units x price.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Entry {
    /// For what.
    pub what: String,
    /// How many units, to as many digits as the amount needs.
    pub units: f64,
    /// The unit.
    pub unit: String,
    /// Price of a unit, to as many digits as the amount needs.
    pub price: f64,
    /// Units x price, to the cent.
    pub amount: Money,
}

/// What synchronization and AI cost in a group.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct GroupCost {
    /// Group id.
    pub group: String,
    /// Animals.
    pub head: u32,
    /// What it is made of, a head.
    pub entries: Vec<Entry>,
    /// For each of them. While anything is missing it is the least.
    pub a_head: Money,
    /// For each expected pregnancy to AI.
    pub a_pregnancy: Option<Money>,
    /// For each expected calf of AI.
    pub an_ai_calf: Option<Money>,
    /// Percent seen in heat that it was counted with, where that matters.
    pub in_heat_percent: Option<f64>,
    /// Where that comes from.
    pub in_heat_source: Option<String>,
    /// Prices that are needed and not given.
    pub missing: Vec<String>,
}

/// What the season costs.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Spent {
    /// Synchronization and AI of all groups; absent without `prices`.
    pub ai: Option<Money>,
    /// The technicians' road, as in the plan; absent without a price.
    pub road: Option<Money>,
    /// Both, for each head.
    pub a_head: Option<Money>,
    /// Both, for each expected pregnancy to AI.
    pub a_pregnancy: Option<Money>,
    /// Both, for each expected calf of AI.
    pub an_ai_calf: Option<Money>,
    /// Clean-up bulls that are needed at one time.
    pub bulls_head: u32,
    /// A bull's cost a year; absent without `money.bull`.
    pub bull_a_year: Option<Money>,
    /// These bulls, for a year.
    pub bulls: Option<Money>,
    /// They, for each expected pregnancy to bulls.
    pub a_bull_pregnancy: Option<Money>,
    /// AI, road and bulls, as far as there are prices, for each expected pregnancy of either.
    pub any_pregnancy: Option<Money>,
}

/// Natural service: bulls alone from each group's first day of AI.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Natural {
    /// Bulls that are needed at one time.
    pub bulls_head: u32,
    /// Heats that they settle.
    pub settled: Rate,
    /// Pregnant.
    pub pregnant: Expected,
    /// Calves.
    pub calves_head: f64,
    /// Mean day of calving.
    pub mean_calving: Option<NaiveDate>,
    /// The first 21 days, each group counted by itself; absent without calves.
    pub first_21_days: Option<First21Days>,
    /// These bulls for a year.
    pub bulls: Option<Money>,
    /// They, for each expected pregnancy.
    pub a_pregnancy: Option<Money>,
    /// AI with clean-up bulls in its place.
    pub budget: Budget,
}

/// A partial budget of the change from natural service to AI.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Budget {
    /// Returns that the change adds.
    pub added_returns: Vec<Entry>,
    /// Costs that it saves.
    pub reduced_costs: Vec<Entry>,
    /// Costs that it adds.
    pub added_costs: Vec<Entry>,
    /// Returns that it loses.
    pub reduced_returns: Vec<Entry>,
    /// What is left of the gains.
    pub net: Money,
    /// The same at the lowest percentage pregnant to AI.
    pub net_low: Money,
    /// The same at the highest.
    pub net_high: Money,
    /// For each head.
    pub net_a_head: Option<Money>,
}

pub(super) fn look(
    season: &Season,
    plan: &Plan,
    groups: &[Told],
    findings: &mut Vec<Finding>,
) -> Option<MoneyAnswer> {
    if season.prices.is_none() && season.money.is_none() {
        return None;
    }
    let facts = season.money.clone().unwrap_or_default();
    let counted: Vec<&Told> = groups.iter().filter(|t| t.group.counted).collect();
    let costs: Vec<GroupCost> = counted
        .iter()
        .filter_map(|t| group_cost(season, plan, t))
        .collect();
    let mut missing: Vec<String> = Vec::new();
    for key in costs.iter().flat_map(|c| &c.missing) {
        let full = words::cost_key(key);
        if !missing.contains(&full) {
            missing.push(full);
        }
    }
    if season.prices.is_none() {
        missing.push("prices: synchronization and AI".to_owned());
    }
    let spent = spent(plan, &facts, &counted, &costs, &mut missing);
    let natural = facts
        .natural
        .and_then(|n| natural(&facts, n, &counted, &spent, &mut missing));
    words::lacking(season, &missing, findings);
    Some(MoneyAnswer {
        currency: season.prices.as_ref().and_then(|p| p.currency.clone()),
        groups: costs,
        spent,
        natural,
        missing,
    })
}

pub(super) fn cents(m: Money) -> Money {
    Money(hundredths(m.0))
}

pub(super) fn over(cost: Money, head: f64) -> Option<Money> {
    (head > 0.0).then(|| cents(cost * (1.0 / head)))
}

/// Most digits behind the point that are told of units and prices.
const DIGITS: i32 = 9;

/// An amount with its units and price told to as many digits as the amount needs: what is told of
/// them, multiplied, is the amount to the cent.
pub(super) fn entry(what: &str, units: f64, unit: &str, price: f64) -> Entry {
    let to = |x: f64, digits: i32| {
        let by = 10_f64.powi(digits);
        // Adding zero turns -0 into 0.
        (x * by).round() / by + 0.0
    };
    // Rounded first: a product between two cents must not hang on digits that nobody is told.
    let (units, price) = (to(units, DIGITS), to(price, DIGITS));
    let amount = cents(Money(units * price));
    let enough = |d: &i32| cents(Money(units * to(price, *d))) == amount;
    let price = (2..DIGITS).find(enough).map_or(price, |d| to(price, d));
    let whole = |d: &i32| cents(Money(to(units, *d) * price)) == amount;
    Entry {
        what: what.to_owned(),
        units: (2..DIGITS).find(whole).map_or(units, |d| to(units, d)),
        unit: unit.to_owned(),
        price,
        amount,
    }
}

/// To the hundredth of a percent.
fn share_percent(part: u32, all: u32) -> f64 {
    hundredths(100.0 * f64::from(part) / f64::from(all.max(1)))
}

impl Entry {
    /// The same by another unit, of which one of its own holds so many.
    pub(crate) fn sold_by(&self, unit: &str, held: f64) -> Self {
        entry(&self.what, self.units * held, unit, self.price / held)
    }
}

fn group_cost(season: &Season, plan: &Plan, told: &Told) -> Option<GroupCost> {
    let group = season
        .groups
        .iter()
        .find(|g| g.id.as_str() == told.group.group)?;
    let planned = plan.group(group.id.as_str()).and_then(|g| g.heat.as_ref());
    let planned = planned.map(|h| share_percent(h.bred_head, group.head().0));
    let cost = cost_of_group(season, group, planned)?;
    let outcome = &told.group.outcome;
    // Straws and the technician are for those who are bred; the rest of the work is done to all.
    let bred = f64::from(outcome.bred_head) / f64::from(outcome.head.max(1));
    let units = |l: &Line| match l.what {
        "semen" | "technician" if outcome.bred_head < outcome.head => l.units.min(bred),
        _ => l.units,
    };
    let total: Money = cost.lines.iter().map(|l| l.price.times(units(l))).sum();
    let all = total * f64::from(outcome.head);
    let line = |l: &Line| entry(l.what, units(l), l.unit, l.price.into());
    let entries = cost.lines.iter().map(line);
    Some(GroupCost {
        group: told.group.group.clone(),
        head: outcome.head,
        entries: entries.collect(),
        a_head: cents(total),
        a_pregnancy: over(all, outcome.ai.head),
        an_ai_calf: over(all, outcome.ai_calves_head),
        in_heat_percent: cost.in_heat.as_ref().map(|h| h.percent),
        in_heat_source: cost.in_heat.map(|h| h.source),
        // Without a price for all else, nothing else is paid for.
        missing: cost
            .missing
            .iter()
            .filter(|m| **m != "other_per_head")
            .map(|m| (*m).to_owned())
            .collect(),
    })
}

/// Bulls that are needed at one time: those of groups that do not overlap are the same ones.
pub(super) fn at_one_time(stays: &[(NaiveDate, NaiveDate, u32)]) -> u32 {
    let at = |day: NaiveDate| -> u32 {
        let there = stays.iter().filter(|s| s.0 <= day && day <= s.1);
        there.map(|s| s.2).sum()
    };
    stays.iter().map(|s| at(s.0)).max().unwrap_or(0)
}

fn spent(
    plan: &Plan,
    facts: &MoneyFacts,
    counted: &[&Told],
    costs: &[GroupCost],
    missing: &mut Vec<String>,
) -> Spent {
    let sum = |pick: fn(&super::Outcome) -> f64| -> f64 {
        counted.iter().map(|t| pick(&t.group.outcome)).sum()
    };
    let (pregnant_ai, pregnant_bulls) = (sum(|o| o.ai.head), sum(|o| o.bulls.head));
    let ai = (!costs.is_empty()).then(|| {
        let each = costs.iter().map(|c| c.a_head * f64::from(c.head));
        cents(each.sum())
    });
    let road = plan.road.as_ref().and_then(|r| r.cost);
    if plan.road.as_ref().is_some_and(|r| r.hours > 0.0) && road.is_none() {
        missing.push("prices.road_per_hour: hours on the road".to_owned());
    }
    let of_ai = ai.map(|m| m + road.unwrap_or_default());
    let stays: Vec<_> = counted
        .iter()
        .filter_map(|t| {
            let c = t.group.clean_up.as_ref()?;
            Some((c.turned_in, c.taken_out, c.bulls_head))
        })
        .collect();
    let bulls_head = at_one_time(&stays);
    let bull_a_year = facts.bull.and_then(|b| b.cost()).map(|c| cents(c.a_year));
    if bulls_head > 0 && bull_a_year.is_none() {
        missing.push("money.bull: clean-up bulls".to_owned());
    }
    let bulls = bull_a_year
        .filter(|_| bulls_head > 0)
        .map(|m| cents(m * f64::from(bulls_head)));
    let all = [of_ai, bulls];
    let any = all.iter().flatten().next().is_some();
    Spent {
        ai,
        road,
        a_head: of_ai.and_then(|m| over(m, sum(|o| f64::from(o.head)))),
        a_pregnancy: of_ai.and_then(|m| over(m, pregnant_ai)),
        an_ai_calf: of_ai.and_then(|m| over(m, sum(|o| o.ai_calves_head))),
        bulls_head,
        bull_a_year,
        bulls,
        a_bull_pregnancy: bulls.and_then(|m| over(m, pregnant_bulls)),
        any_pregnancy: any
            .then(|| {
                let cost = all.into_iter().flatten().sum();
                over(cost, pregnant_ai + pregnant_bulls)
            })
            .flatten(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// What is told, multiplied, is the amount to the cent: by hand 175.457 x 35 = 6140.995, between two
    /// cents, whichever side of it the units are on by a hair.
    #[test]
    fn units_times_price_is_the_amount() {
        for off in [-1e-12, -3e-14, 0.0, 3e-14, 1e-12] {
            for (units, price) in [(175.457, 35.0), (0.096_153_8, 20.0), (344.0, 47.427_384_1)] {
                let e = entry("calves", units + off, "calf", price);
                assert_eq!(cents(Money(e.units * e.price)), e.amount, "{e:?}");
                assert!((e.amount.0 - units * price).abs() < 0.005_001, "{e:?}");
            }
        }
    }
}
