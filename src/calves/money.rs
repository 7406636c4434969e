//! What AI costs a head, a pregnancy and a calf, and a partial budget against natural service: added
//! returns and reduced costs, less added costs and reduced returns (the form of SYNCH-BUDGET). All
//! prices are the user's; what has none is named and in no sum.

use chrono::{Days, NaiveDate};
use serde::{Deserialize, Serialize};

use super::answer::{Expected, Rate};
use super::births::Births;
use super::model::{rounded, spread};
use super::{Told, rates, words};
use crate::choose::cost_of_group;
use crate::error::Finding;
use crate::forecast::curve::mean_days;
use crate::forecast::cycle::{ByDay, Settling};
use crate::forecast::{Money, PartialBudget};
use crate::plan::Plan;
use crate::season::{MoneyFacts, Season};
use crate::units::{Head, hundredths};

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
    /// How many units.
    pub units: f64,
    /// The unit.
    pub unit: String,
    /// Price of a unit.
    pub price: f64,
    /// Units x price.
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
    /// Percent born in the 21 days that begin with the first day for calves, as for AI.
    pub percent_in_21_days: Option<f64>,
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

/// What calves there are, and when on average, counted in days from any fixed day.
#[derive(Clone, Copy)]
struct Crop {
    ai: f64,
    all: f64,
    mean: Option<(NaiveDate, f64)>,
}

impl Crop {
    fn of(births: &Births) -> Self {
        let all = births.all();
        Self {
            ai: births.ai.values().sum(),
            all: all.values().sum(),
            mean: mean_days(&all),
        }
    }

    /// Days by which it is born before another, on average.
    fn sooner(&self, than: &Self) -> f64 {
        match (self.mean, than.mean) {
            (Some((a, x)), Some((b, y))) => (b - a).num_days() as f64 + y - x,
            _ => 0.0,
        }
    }
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
        .filter_map(|t| group_cost(season, t))
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

fn cents(m: Money) -> Money {
    Money(hundredths(m.0))
}

fn over(cost: Money, head: f64) -> Option<Money> {
    (head > 0.0).then(|| cents(cost * (1.0 / head)))
}

fn group_cost(season: &Season, told: &Told) -> Option<GroupCost> {
    let group = season.groups.iter().find(|g| g.id.as_str() == told.group.group)?;
    let cost = cost_of_group(season, group)?;
    let outcome = &told.group.outcome;
    let all = cost.total * f64::from(outcome.head);
    let entries = cost.lines.iter().map(|l| Entry {
        what: l.what.to_owned(),
        units: rounded(l.units),
        unit: l.unit.to_owned(),
        price: l.price.into(),
        amount: cents(l.amount),
    });
    Some(GroupCost {
        group: told.group.group.clone(),
        head: outcome.head,
        entries: entries.collect(),
        a_head: cents(cost.total),
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
fn at_one_time(stays: &[(NaiveDate, NaiveDate, u32)]) -> u32 {
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
    let bulls = bull_a_year.map(|m| cents(m * f64::from(bulls_head)));
    let all = [of_ai, bulls.filter(|_| bulls_head > 0)];
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

/// Each group's bulls, calves and due dates in natural service.
struct Alone {
    stays: Vec<(NaiveDate, NaiveDate, u32)>,
    pregnant: [f64; 3],
    births: Births,
}

fn natural(
    facts: &MoneyFacts,
    asked: crate::season::Natural,
    counted: &[&Told],
    spent: &Spent,
    missing: &mut Vec<String>,
) -> Option<Natural> {
    let Some(cows) = asked.cows_a_bull else {
        missing.push("money.natural.cows_a_bull: natural service".to_owned());
        return None;
    };
    let settled = rates::settled(asked.settled.as_ref());
    let at = [settled.low_percent, settled.percent, settled.high_percent].map(|p| p / 100.0);
    let mut alone = Alone {
        stays: Vec::new(),
        pregnant: [0.0; 3],
        births: Births::default(),
    };
    for told in counted {
        let (first, _) = told.herd.days()?;
        let days = asked.days.map(|d| u64::from(d.saturating_sub(1)));
        let last = match (days, &told.group.clean_up) {
            (Some(days), _) => first.checked_add_days(Days::new(days))?,
            (None, Some(bulls)) => bulls.taken_out,
            (None, None) => {
                missing.push(
                    "money.natural.days, or clean_up of each group: natural service".to_owned(),
                );
                return None;
            }
        };
        let runs: [Settling; 3] = at.map(|s| told.herd.natural(last, s));
        for (sum, run) in alone.pregnant.iter_mut().zip(&runs) {
            *sum += run.by_day.values().sum::<f64>();
        }
        let kept = runs[1].by_day.iter().map(|(d, h)| (*d, h * told.kept));
        alone.births.add(&Births {
            ai: ByDay::new(),
            bulls: told.herd.laws[1].born(&kept.collect()),
            first_due: Some(told.herd.laws[1].due(first)),
        });
        alone.stays.push((first, last, told.herd.head.div_ceil(cows)));
    }
    let head: u32 = counted.iter().map(|t| t.herd.head).sum();
    let bulls_head = at_one_time(&alone.stays);
    let bulls = spent.bull_a_year.map(|m| cents(m * f64::from(bulls_head)));
    let calving = alone.births.calving();
    if facts.bull.is_none() && spent.bulls_head == 0 {
        missing.push("money.bull: bulls of natural service".to_owned());
    }
    Some(Natural {
        bulls_head,
        settled,
        pregnant: spread(
            f64::from(head),
            alone.pregnant[1],
            alone.pregnant[0],
            alone.pregnant[2],
        ),
        calves_head: rounded(alone.births.bulls.values().sum()),
        mean_calving: calving.as_ref().map(|c| c.mean),
        percent_in_21_days: calving.map(|c| c.percent_in_21_days),
        bulls,
        a_pregnancy: bulls.and_then(|m| over(m, alone.pregnant[1])),
        budget: budget(facts, counted, spent, &alone, bulls_head, missing),
    })
}

/// What AI and clean-up bring at a share of those pregnant to AI: low, expected or high.
fn crop(counted: &[&Told], end: usize) -> Crop {
    let mut births = Births::default();
    for told in counted {
        let run = told.herd.run(told.ai[end], told.settled);
        births.add(&super::births(&told.herd, &run, told.kept));
    }
    Crop::of(&births)
}

fn budget(
    facts: &MoneyFacts,
    counted: &[&Told],
    spent: &Spent,
    alone: &Alone,
    bulls_head: u32,
    missing: &mut Vec<String>,
) -> Budget {
    let without = Crop::of(&alone.births);
    let lacks = [
        (facts.calf_weight_lb.is_none(), "money.calf_weight_lb: calves more or fewer"),
        (
            facts.calf_price_per_lb.is_none(),
            "money.calf_price_per_lb: calves more or fewer, and their age",
        ),
        (facts.calf_gain_lb_per_day.is_none(), "money.calf_gain_lb_per_day: calves born sooner or later"),
        (facts.ai_calf_premium.is_none(), "money.ai_calf_premium: what calves of AI bring more"),
    ];
    missing.extend(lacks.iter().filter(|l| l.0).map(|l| l.1.to_owned()));
    let [low, mut made, high] = [0, 1, 2].map(|end| {
        let mut made = Budget::default();
        made.calves(facts, &crop(counted, end), &without);
        made.bulls(spent, bulls_head);
        made.ai(spent, counted);
        made.net = made.sum();
        made
    });
    made.net_low = low.net;
    made.net_high = high.net;
    let head = counted.iter().map(|t| t.herd.head).sum();
    made.net_a_head = made.sides().net_a_head(Head(head)).map(cents);
    made
}

fn entry(what: &str, units: f64, unit: &str, price: f64) -> Entry {
    Entry {
        what: what.to_owned(),
        units: rounded(units),
        unit: unit.to_owned(),
        price: rounded(price),
        amount: cents(Money(units * price)),
    }
}

impl Budget {
    fn calves(&mut self, facts: &MoneyFacts, with: &Crop, without: &Crop) {
        let more = with.all - without.all;
        if let (Some(weight), Some(price)) = (facts.calf_weight_lb, facts.calf_price_per_lb) {
            let (side, what) = if more >= 0.0 {
                (&mut self.added_returns, "calves more")
            } else {
                (&mut self.reduced_returns, "calves fewer")
            };
            let price: f64 = price.into();
            side.push(entry(what, more.abs() * weight, "lb", price));
        }
        if let (Some(gain), Some(price)) = (facts.calf_gain_lb_per_day, facts.calf_price_per_lb) {
            let sooner = with.sooner(without);
            let (side, what) = if sooner >= 0.0 {
                (&mut self.added_returns, "calves born sooner")
            } else {
                (&mut self.reduced_returns, "calves born later")
            };
            let pounds = with.all.min(without.all) * sooner.abs() * gain;
            side.push(entry(what, pounds, "lb", price.into()));
        }
        if let Some(premium) = facts.ai_calf_premium {
            let side = &mut self.added_returns;
            side.push(entry("calves of AI", with.ai, "calf", premium.into()));
        }
    }

    fn bulls(&mut self, spent: &Spent, without: u32) {
        let Some(each) = spent.bull_a_year else { return };
        let (side, what) = if without >= spent.bulls_head {
            (&mut self.reduced_costs, "bulls fewer")
        } else {
            (&mut self.added_costs, "bulls more")
        };
        let bulls = f64::from(without.abs_diff(spent.bulls_head));
        side.push(entry(what, bulls, "bull-year", each.0));
    }

    fn ai(&mut self, spent: &Spent, counted: &[&Told]) {
        let head: f64 = counted.iter().map(|t| f64::from(t.herd.head)).sum();
        if let Some(ai) = spent.ai.filter(|_| head > 0.0) {
            let line = entry("synchronization and AI", head, "head", ai.0 / head);
            self.added_costs.push(Entry { amount: ai, ..line });
        }
        if let Some(road) = spent.road {
            self.added_costs.push(entry("road", 1.0, "season", road.0));
        }
    }

    fn sides(&self) -> PartialBudget {
        let sum = |side: &[Entry]| side.iter().map(|e| e.amount).sum();
        PartialBudget {
            extra_revenue: sum(&self.added_returns),
            reduced_cost: sum(&self.reduced_costs),
            extra_cost: sum(&self.added_costs),
            reduced_revenue: sum(&self.reduced_returns),
        }
    }

    fn sum(&self) -> Money {
        cents(self.sides().net())
    }

    /// The sums of the four sides, in the order of the fields.
    #[must_use]
    pub fn sums(&self) -> [Money; 4] {
        let s = self.sides();
        [
            s.extra_revenue,
            s.reduced_cost,
            s.extra_cost,
            s.reduced_revenue,
        ]
        .map(cents)
    }
}
