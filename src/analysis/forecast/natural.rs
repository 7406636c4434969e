//! Natural service in the place of AI, and the partial budget of the change: added returns and reduced
//! costs, less added costs and reduced returns (the form of SYNCH-BUDGET).

use chrono::{Days, NaiveDate};

use super::amounts::{at_one_time, cents, entry, over};
use super::answer::{Budget, Entry, Natural, Spent};
use super::births::{Births, first_21_days};
use super::group::GroupForecast;
use super::model::{rounded, spread};
use super::rates;
use super::words::Lacking;
use crate::base::units::Head;
use crate::trade::figures::curve::{mean_day, mean_days};
use crate::trade::figures::cycle::{ByDay, Settling};
use crate::trade::figures::{Money, PartialBudget};
use crate::trade::season::{self, MoneyFacts};

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

/// Each group's bulls, calves and due dates in natural service.
struct Alone {
    stays: Vec<(NaiveDate, NaiveDate, u32)>,
    pregnant: [f64; 3],
    births: Births,
    /// Those of each group by itself.
    each: Vec<Births>,
}

pub(super) fn natural(
    facts: &MoneyFacts,
    asked: season::Natural,
    counted: &[&GroupForecast],
    spent: &Spent,
    missing: &mut Vec<Lacking>,
) -> Option<Natural> {
    let Some(cows) = asked.cows_a_bull else {
        missing.push(Lacking::of("money.natural.cows_a_bull", "natural service"));
        return None;
    };
    let settled = rates::settled(asked.settled.as_ref());
    let at = [settled.low_percent, settled.percent, settled.high_percent].map(|p| p / 100.0);
    let mut alone = Alone {
        stays: Vec::new(),
        pregnant: [0.0; 3],
        births: Births::default(),
        each: Vec::new(),
    };
    for group in counted {
        let first = group.herd.first_ai()?;
        let days = asked.days.map(|d| u64::from(d.saturating_sub(1)));
        let last = match (days, &group.calves.clean_up) {
            (Some(days), _) => first.checked_add_days(Days::new(days))?,
            (None, Some(bulls)) => bulls.taken_out,
            (None, None) => {
                missing.push(Lacking::of(
                    "money.natural.days, or clean_up of each group",
                    "natural service",
                ));
                return None;
            }
        };
        let idle = group.rates[1].not_cycling;
        let runs: [Settling; 3] = at.map(|s| group.herd.natural(last, s, idle));
        for (sum, run) in alone.pregnant.iter_mut().zip(&runs) {
            *sum += run.settled();
        }
        let kept = runs[1].by_day.iter().map(|(d, h)| (*d, h * group.kept));
        let births = Births {
            ai: ByDay::new(),
            bulls: group.herd.laws[1].born(&kept.collect()),
            first_due: Some(group.herd.laws[1].due(first)),
        };
        alone.births.add(&births);
        alone.each.push(births);
        alone
            .stays
            .push((first, last, group.herd.head.div_ceil(cows)));
    }
    let head: f64 = counted.iter().map(|t| t.herd.head_due()).sum();
    let bulls_head = at_one_time(&alone.stays);
    let bulls = spent.bull_a_year.map(|m| cents(m * f64::from(bulls_head)));
    if facts.bull.is_none() && spent.bulls_head == 0 {
        missing.push(Lacking::of("money.bull", "bulls of natural service"));
    }
    Some(Natural {
        bulls_head,
        settled,
        pregnant: spread(
            head,
            alone.pregnant[1],
            alone.pregnant[0],
            alone.pregnant[2],
        ),
        calves_head: rounded(alone.births.bulls.values().sum()),
        mean_calving: mean_day(&alone.births.bulls),
        first_21_days: first_21_days(alone.each.iter()),
        bulls,
        a_pregnancy: bulls.and_then(|m| over(m, alone.pregnant[1])),
        budget: budget(facts, counted, spent, &alone, bulls_head, missing),
    })
}

/// What AI and clean-up bring at a share of those pregnant to AI: low, expected or high.
fn crop(counted: &[&GroupForecast], end: usize) -> Crop {
    let mut births = Births::default();
    for group in counted {
        let run = group.herd.run(group.rates[end]);
        births.add(&super::group::births(&group.herd, &run, group.kept));
    }
    Crop::of(&births)
}

fn budget(
    facts: &MoneyFacts,
    counted: &[&GroupForecast],
    spent: &Spent,
    alone: &Alone,
    bulls_head: u32,
    missing: &mut Vec<Lacking>,
) -> Budget {
    let without = Crop::of(&alone.births);
    let mut lacks = |known: bool, key: &str, pays: &str| {
        missing.extend((!known).then(|| Lacking::of(&format!("money.{key}"), pays)));
    };
    let (weight, price) = (facts.calf_weight_lb, facts.calf_price_per_lb);
    lacks(weight.is_some(), "calf_weight_lb", "more or fewer calves");
    let pays = "more or fewer calves, and their age";
    lacks(price.is_some(), "calf_price_per_lb", pays);
    let gain = facts.calf_gain_lb_per_day.is_some();
    lacks(gain, "calf_gain_lb_per_day", "calves born sooner or later");
    let premium = facts.ai_calf_premium.is_some();
    lacks(premium, "ai_calf_premium", "what an AI calf brings more");
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

impl Budget {
    fn calves(&mut self, facts: &MoneyFacts, with: &Crop, without: &Crop) {
        let more = with.all - without.all;
        if let (Some(weight), Some(price)) = (facts.calf_weight_lb, facts.calf_price_per_lb) {
            let (side, what) = if more >= 0.0 {
                (&mut self.added_returns, "more calves")
            } else {
                (&mut self.reduced_returns, "fewer calves")
            };
            let price: f64 = price.into();
            side.push(entry(what, more.abs() * weight, "lb", price));
        }
        if let (Some(gain), Some(price)) = (facts.calf_gain_lb_per_day, facts.calf_price_per_lb) {
            let sooner = with.sooner(without);
            let (side, what) = if sooner >= 0.0 {
                (&mut self.added_returns, "earlier calves, heavier at sale")
            } else {
                (&mut self.reduced_returns, "later calves, lighter at sale")
            };
            let pounds = with.all.min(without.all) * sooner.abs() * gain;
            side.push(entry(what, pounds, "lb", price.into()));
        }
        if let Some(premium) = facts.ai_calf_premium {
            let side = &mut self.added_returns;
            side.push(entry("AI calf premium", with.ai, "calf", premium.into()));
        }
    }

    fn bulls(&mut self, spent: &Spent, without: u32) {
        let Some(each) = spent.bull_a_year else {
            return;
        };
        let (side, what) = if without >= spent.bulls_head {
            (&mut self.reduced_costs, "fewer bulls")
        } else {
            (&mut self.added_costs, "more bulls")
        };
        let bulls = f64::from(without.abs_diff(spent.bulls_head));
        side.push(entry(what, bulls, "bull-year", each.0));
    }

    fn ai(&mut self, spent: &Spent, counted: &[&GroupForecast]) {
        let head: f64 = counted.iter().map(|t| f64::from(t.herd.head)).sum();
        if let Some(ai) = spent.ai.filter(|_| head > 0.0) {
            let line = entry("synchronization and AI", head, "head", ai.0 / head);
            self.added_costs.push(line);
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
