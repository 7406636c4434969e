//! What AI costs a head, a pregnancy and a calf, and what bulls cost. All prices are the user's; what
//! has none is named and left out of totals.

use super::amounts::{at_one_time, cents, entry, over};
use super::answer::{GroupCost, MoneyAnswer, Spent};
use super::group::GroupForecast;
use super::natural::natural;
use super::words::{self, Lacking};
use crate::base::error::Finding;
use crate::base::units::hundredths;
use crate::planning::choose::cost_of_group;
use crate::planning::plan::Plan;
use crate::trade::figures::{Line, Money};
use crate::trade::season::{MoneyFacts, Season};

pub(super) fn look(
    season: &Season,
    plan: &Plan,
    groups: &[GroupForecast],
    findings: &mut Vec<Finding>,
) -> Option<MoneyAnswer> {
    if season.prices.is_none() && season.money.is_none() {
        return None;
    }
    let facts = season.money.clone().unwrap_or_default();
    let counted: Vec<&GroupForecast> = groups.iter().filter(|t| t.calves.counted).collect();
    let costs = counted.iter();
    let costs: Vec<GroupCost> = costs.filter_map(|t| group_cost(season, plan, t)).collect();
    let mut missing: Vec<Lacking> = Vec::new();
    for key in costs.iter().flat_map(|c| &c.missing) {
        let lacking = Lacking::of_cost(key);
        if !missing.contains(&lacking) {
            missing.push(lacking);
        }
    }
    if season.prices.is_none() {
        missing.push(Lacking::of("prices", "synchronization and AI"));
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
        missing: missing.iter().map(Lacking::words).collect(),
    })
}

/// To the hundredth of a percent.
fn share_percent(part: u32, all: u32) -> f64 {
    hundredths(100.0 * f64::from(part) / f64::from(all.max(1)))
}

fn group_cost(season: &Season, plan: &Plan, forecast: &GroupForecast) -> Option<GroupCost> {
    let mut groups = season.groups.iter();
    let group = groups.find(|g| g.id.as_str() == forecast.calves.group)?;
    let planned = plan.group(group.id.as_str()).and_then(|g| g.heat.as_ref());
    let planned = planned.map(|h| share_percent(h.bred_head, group.head().0));
    let cost = cost_of_group(season, group, planned)?;
    let outcome = &forecast.calves.outcome;
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
        group: forecast.calves.group.clone(),
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

fn spent(
    plan: &Plan,
    facts: &MoneyFacts,
    counted: &[&GroupForecast],
    costs: &[GroupCost],
    missing: &mut Vec<Lacking>,
) -> Spent {
    let sum = |pick: fn(&super::Outcome) -> f64| -> f64 {
        counted.iter().map(|t| pick(&t.calves.outcome)).sum()
    };
    let (pregnant_ai, pregnant_bulls) = (sum(|o| o.ai.head), sum(|o| o.bulls.head));
    let ai = (!costs.is_empty()).then(|| {
        let each = costs.iter().map(|c| c.a_head * f64::from(c.head));
        cents(each.sum())
    });
    let road = plan.road.as_ref().and_then(|r| r.cost);
    if plan.road.as_ref().is_some_and(|r| r.hours > 0.0) && road.is_none() {
        missing.push(Lacking::of("prices.road_per_hour", "hours on the road"));
    }
    let of_ai = ai.map(|m| m + road.unwrap_or_default());
    let stays = counted.iter().filter_map(|t| {
        let c = t.calves.clean_up.as_ref()?;
        Some((c.turned_in, c.taken_out, c.bulls_head))
    });
    let stays: Vec<_> = stays.collect();
    let bulls_head = at_one_time(&stays);
    let bull_a_year = facts.bull.and_then(|b| b.cost()).map(|c| cents(c.a_year));
    if bulls_head > 0 && bull_a_year.is_none() {
        missing.push(Lacking::of("money.bull", "clean-up bulls"));
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
