//! What must hold in the forecast and the order list of a plan, whatever they count: sums, and needs that
//! are covered. Tests count both again in full.

use super::Reading;
use crate::analysis::forecast::{self, Budget, Entry, Expected, Outcome};
use crate::analysis::supplies::{self, Item, Purchase};
use crate::base::error::Finding;
use crate::planning::plan::Plan;
use crate::trade::season::Season;

/// Head are told to the ten-thousandth, and some are added.
const HEAD: f64 = 1e-3;

/// Amounts are told to the hundredth.
const AMOUNT: f64 = 0.011;

/// Sums that do not agree in a forecast: each group's animals, calves and amounts, and all groups together.
#[must_use]
pub fn calves(season: &Season, plan: &Plan, told: &forecast::Forecast) -> Vec<Finding> {
    let mut r = Reading::new(season, plan);
    let counted = told.groups.iter().filter(|g| g.counted);
    let mut all = Sums::default();
    for group in counted {
        let o = &group.outcome;
        animals(&mut r, &group.group, o);
        let slots = plan.sessions.iter().flat_map(|s| &s.slots);
        let planned: u32 = slots
            .filter(|s| s.group == group.group)
            .map(|s| s.head)
            .sum();
        let by_day = group.ai_days.iter().map(|d| d.head).sum();
        let what = format!("{}: bred to AI by day", group.group);
        r.same(&what, &planned, &by_day);
        born(&mut r, &group.group, o, group.calving.as_ref());
        all.add(o);
    }
    let o = &told.all;
    animals(&mut r, "all groups", o);
    born(&mut r, "all groups", o, told.calving.as_ref());
    r.same("all groups", &(all.head, all.bred), &(o.head, o.bred_head));
    for (sum, told) in all.expected.into_iter().zip(expected(o)) {
        r.near("sum of all groups", sum, told, HEAD);
    }
    if let Some(money) = &told.money {
        money
            .groups
            .iter()
            .for_each(|g| entries(&mut r, &g.group, &g.entries));
        if let Some(natural) = &money.natural {
            budget(&mut r, &natural.budget);
        }
    }
    r.found
}

/// Head to AI, to bulls and open; calves of AI and of bulls.
fn expected(o: &Outcome) -> [f64; 5] {
    let calves = [o.ai_calves_head, o.bull_calves_head];
    [o.ai.head, o.bulls.head, o.open.head, calves[0], calves[1]]
}

/// Sums of groups.
#[derive(Default)]
struct Sums {
    head: u32,
    bred: u32,
    expected: [f64; 5],
}

impl Sums {
    fn add(&mut self, o: &Outcome) {
        self.head += o.head;
        self.bred += o.bred_head;
        self.expected
            .iter_mut()
            .zip(expected(o))
            .for_each(|(sum, x)| *sum += x);
    }
}

/// AI, bulls, open and pregnant before make all head; ends stand on their sides.
fn animals(r: &mut Reading<'_>, who: &str, o: &Outcome) {
    let sum = o.ai.head + o.bulls.head + o.open.head + o.pregnant_before_head;
    let what = format!("{who}: to AI, to bulls, open and pregnant before");
    r.near(&what, f64::from(o.head), sum, HEAD);
    let either = o.ai.head + o.bulls.head;
    r.near(&format!("{who}: pregnant"), either, o.pregnant.head, HEAD);
    for e in [o.ai, o.bulls, o.pregnant, o.open] {
        let Expected {
            head,
            low_head: low,
            high_head: high,
            least_head: least,
            most_head: most,
        } = e;
        let right = -HEAD <= low && low <= head + HEAD && head <= high + HEAD && least <= most;
        if !right || most > o.head {
            let wanted = format!("numbers in order, up to {}", o.head);
            r.wrong(who, wanted, format!("{e:?}"));
        }
    }
}

/// Calves by day add up to the calves, and none is born before the first day or after the last.
fn born(r: &mut Reading<'_>, who: &str, o: &Outcome, calving: Option<&forecast::Calving>) {
    let Some(c) = calving else { return };
    let calves = o.ai_calves_head + o.bull_calves_head;
    r.near(&format!("{who}: calves"), calves, c.calves_head, HEAD);
    let days = 1e-4 * c.curve.len() as f64;
    let sum = |of: fn(&forecast::Day) -> f64| c.curve.iter().map(of).sum::<f64>();
    let what = format!("{who}: calves of AI by day");
    r.near(&what, o.ai_calves_head, sum(|d| d.ai_head), HEAD + days);
    let what = format!("{who}: calves of bulls by day");
    let found = sum(|d| d.bulls_head);
    r.near(&what, o.bull_calves_head, found, HEAD + days);
    let next = c
        .curve
        .windows(2)
        .all(|d| d[0].date.succ_opt() == Some(d[1].date));
    let percents = c
        .curve
        .is_sorted_by(|a, b| a.born_percent <= b.born_percent);
    if !next || !percents {
        r.wrong(who, "calves day by day, without gaps", "another order");
    }
    if let Some(last) = c.curve.last() {
        let who = format!("{who}: born by the last day");
        r.near(&who, 100.0, last.born_percent, HEAD);
    }
}

fn entries(r: &mut Reading<'_>, who: &str, all: &[Entry]) {
    for e in all {
        let right = e.units * e.price;
        r.near(&format!("{who}: {}", e.what), right, e.amount.0, AMOUNT);
    }
}

fn budget(r: &mut Reading<'_>, b: &Budget) {
    let sides = [
        &b.added_returns,
        &b.reduced_costs,
        &b.added_costs,
        &b.reduced_returns,
    ];
    let mut net = 0.0;
    for (side, sign) in sides.into_iter().zip([1.0, 1.0, -1.0, -1.0]) {
        entries(r, "budget", side);
        net += sign * side.iter().map(|e| e.amount.0).sum::<f64>();
    }
    let lines: usize = sides.iter().map(|s| s.len()).sum();
    r.near("budget: net", net, b.net.0, AMOUNT * (lines + 1) as f64);
}

/// What does not agree in an order list: sums of days and packages, and needs that are not covered.
#[must_use]
pub fn supplies(season: &Season, plan: &Plan, told: &supplies::OrderList) -> Vec<Finding> {
    let mut r = Reading::new(season, plan);
    let mut price = None;
    for item in &told.items {
        let of_days: f64 = item.days.iter().map(|d| d.amount).sum();
        if let Some(amount) = item.amount {
            let who = format!("{} by day", item.item);
            r.near(&who, amount, of_days, AMOUNT * (1 + item.days.len()) as f64);
        }
        for bought in [&item.buy, &item.cheaper].into_iter().flatten() {
            packages(&mut r, item, bought);
        }
        if let Some(p) = item.buy.as_ref().and_then(|b| b.price) {
            *price.get_or_insert(0.0) += p;
        }
    }
    let listed = told.price.unwrap_or(0.0);
    r.near("price of all", price.unwrap_or(0.0), listed, AMOUNT);
    for bull in &told.straws {
        let of_days: u32 = bull.days.iter().map(|d| d.straws).sum();
        let of_plan = plan.sessions.iter().flat_map(|s| &s.straws);
        let of_plan: u32 = of_plan
            .filter(|s| s.bull == bull.bull)
            .map(|s| s.straws)
            .sum();
        let what = format!("straws of {} by day", bull.bull);
        r.same(&what, &of_plan, &of_days);
        let (have, need) = (bull.on_hand + bull.to_buy, bull.set_aside + bull.waste);
        if have < need {
            let who = format!("straws of {}", bull.bull);
            r.wrong(&who, format!("at least {need}"), have);
        }
    }
    r.found
}

/// Packages hold what they say, and cover what is needed.
fn packages(r: &mut Reading<'_>, item: &Item, bought: &Purchase) {
    let who = format!("packages of {}", item.item);
    let packages = bought.packages.iter();
    let holds: f64 = packages.map(|p| f64::from(p.size) * p.count as f64).sum();
    r.near(&who, holds, bought.holds, AMOUNT);
    let needed = item.to_cover.unwrap_or(0.0);
    if holds + AMOUNT < needed + bought.too_old {
        let wanted = format!(
            "at least {needed} beside {} that go to waste",
            bought.too_old
        );
        r.wrong(&who, wanted, holds);
    }
    let priced = bought
        .packages
        .iter()
        .map(|p| Some(p.price? * p.count as f64))
        .sum::<Option<f64>>();
    if let (Some(right), Some(told)) = (priced, bought.price) {
        r.near(&who, right, told, AMOUNT);
    }
}

impl Reading<'_> {
    /// Complains unless the two are as near as numbers are told, large ones to a billionth.
    fn near(&mut self, who: &str, expected: f64, got: f64, within: f64) {
        // What is no number is wrong, too.
        let near = (expected - got).abs() <= within + 1e-9 * expected.abs();
        if !near {
            self.wrong(who, expected, got);
        }
    }
}
