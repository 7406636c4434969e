//! Bulls alone in the place of AI, and the partial budget of the change.

use chrono::{NaiveDate, TimeDelta};

use super::bill::Due;
use super::curve::{Born, first_parts};
use super::money::{CENT, most_at_once};
use super::rates;
use super::row::Herd;
use super::{Again, Found, HEAD};
use thawline::forecast::{Budget, Forecast, MoneyAnswer, Natural, Spent};
use thawline::season::MoneyFacts;

/// Calves of one way of breeding.
struct Crop {
    ai: f64,
    all: f64,
    /// In days from a day that both ways have in common.
    mean: Option<f64>,
}

impl Crop {
    fn of(born: &Born, from: NaiveDate) -> Self {
        Self {
            ai: born.ai(),
            all: born.all(),
            mean: born.mean(from),
        }
    }
}

impl Found {
    pub(super) fn natural(
        &mut self,
        facts: &MoneyFacts,
        read: &[Again<'_>],
        answer: &Forecast,
        told: &MoneyAnswer,
        missing: &mut Vec<String>,
    ) {
        let asked = facts.natural;
        let who = "natural service";
        let Some(n) = asked else {
            self.exactly(who, &None, &told.natural);
            return;
        };
        let Some(cows) = n.cows_a_bull else {
            missing.push("money.natural.cows_a_bull".to_owned());
            self.exactly(who, &None, &told.natural);
            return;
        };
        let mut until: Vec<NaiveDate> = Vec::new();
        for again in read {
            let Some(herd) = again.herd.as_ref().map(Herd::ai_alone) else {
                continue;
            };
            let bulls = &again.group.calves.clean_up;
            let long = n.days.map(|d| i64::from(d.saturating_sub(1)));
            let last = long.map(|d| herd.from + TimeDelta::days(d));
            let Some(last) = last.or(bulls.as_ref().map(|b| b.last)) else {
                missing.push("money.natural.days, or clean_up of each group".to_owned());
                self.exactly(who, &None, &told.natural);
                return;
            };
            until.push(last);
        }
        let Some(t) = &told.natural else {
            self.wrong(who, "natural service", "none");
            return;
        };
        let settled = rates::settled(n.settled.as_ref());
        self.rate(who, &settled, &t.settled);
        let mut pregnant = [0.0; 3];
        let (mut stays, mut each) = (Vec::new(), Vec::new());
        for (again, last) in read.iter().zip(until) {
            let Some(herd) = again.herd.as_ref().map(Herd::ai_alone) else {
                continue;
            };
            let idle = again.not_cycling.of_one()[1];
            let rows = settled.of_one().map(|s| herd.natural(last, s, idle));
            for (sum, rows) in pregnant.iter_mut().zip(&rows) {
                *sum += rows.to_bulls();
            }
            let mut born = Born::of(&herd, &rows[1], again.carried, again.kept);
            let due = again.carried[1].mean.round() as i64;
            born.first_due = Some(herd.from + TimeDelta::days(due));
            each.push(born);
            let head = again.group.head().0;
            stays.push((herd.from, last, head / cows + u32::from(head % cows > 0)));
        }
        let mut alone = Born::default();
        for born in &each {
            alone.add(born);
        }
        let bulls = most_at_once(&stays);
        self.told(t, answer, bulls, &pregnant, &alone, &each);
        let cost = told.spent.bull_a_year.map(|m| m.0 * f64::from(bulls));
        self.each("bulls of natural service", cost, 1.0, t.bulls);
        self.each(
            "natural service, a pregnancy",
            cost,
            pregnant[1],
            t.a_pregnancy,
        );
        if facts.bull.is_none() && told.spent.bulls_head == 0 {
            missing.push("money.bull".to_owned());
        }
        for (lacks, key) in [
            (facts.calf_weight_lb.is_none(), "calf_weight_lb"),
            (facts.calf_price_per_lb.is_none(), "calf_price_per_lb"),
            (facts.calf_gain_lb_per_day.is_none(), "calf_gain_lb_per_day"),
            (facts.ai_calf_premium.is_none(), "ai_calf_premium"),
        ] {
            missing.extend(lacks.then(|| format!("money.{key}")));
        }
        self.budget(facts, read, told, &alone, bulls, &t.budget);
    }

    fn told(
        &mut self,
        t: &Natural,
        answer: &Forecast,
        bulls: u32,
        pregnant: &[f64; 3],
        alone: &Born,
        each: &[Born],
    ) {
        let who = "natural service";
        self.exactly(who, &bulls, &t.bulls_head);
        let head = f64::from(answer.all.head) - answer.all.pregnant_before_head;
        self.spread("natural service, pregnant", head, *pregnant, &t.pregnant);
        self.same("natural service, calves", alone.all(), t.calves_head, HEAD);
        let born = alone.all() > 0.0;
        self.exactly(who, &born, &t.mean_calving.is_some());
        let due = alone.first_due.unwrap_or_default();
        if let (Some(mean), Some(told)) = (alone.mean(due), t.mean_calving) {
            let told = (told - due).num_days() as f64;
            self.same("natural service, mean day", mean, told, 0.5 + 1e-6);
        }
        self.parts(who, first_parts(each.iter()), t.first_21_days);
    }

    fn budget(
        &mut self,
        facts: &MoneyFacts,
        read: &[Again<'_>],
        told: &MoneyAnswer,
        alone: &Born,
        bulls: u32,
        t: &Budget,
    ) {
        let from = alone.first_due.unwrap_or_default();
        let without = Crop::of(alone, from);
        let listed = [
            &t.added_returns,
            &t.reduced_costs,
            &t.added_costs,
            &t.reduced_returns,
        ];
        let ends = [t.net_low, t.net, t.net_high];
        for (end, net) in ends.into_iter().enumerate() {
            let mut born = Born::default();
            for again in read {
                born.add(&again.born(end));
            }
            let with = Crop::of(&born, from);
            let sides = sides(facts, &told.spent, &with, &without, bulls, read);
            if end == 1 {
                let names = [
                    "added returns",
                    "reduced costs",
                    "added costs",
                    "reduced returns",
                ];
                for ((name, right), told) in names.into_iter().zip(&sides).zip(listed) {
                    self.lines(name, right, told);
                }
                // What is left of the lines as they are told.
                let told = listed.map(|side| side.iter().map(|e| e.amount.0).sum::<f64>());
                self.net("net", told, 1e-6, net.0);
                continue;
            }
            let sums = sides.each_ref().map(|s| s.iter().map(Due::amount).sum());
            // Each line of these is rounded to the cent, and told to nobody.
            let off = |d: &Due| CENT + d.rounding() + d.slack() * d.price;
            let slack: f64 = sides.iter().flatten().map(off).sum();
            let name = [
                "net at the lowest percentage",
                "",
                "net at the highest percentage",
            ];
            self.net(name[end], sums, slack, net.0);
        }
        let head: u32 = read.iter().map(|a| a.group.head().0).sum();
        self.each("net a head", Some(t.net.0), f64::from(head), t.net_a_head);
    }
}

impl Found {
    /// What is left of the four sides, to a part of them: large sides may leave next to nothing.
    fn net(&mut self, who: &str, sides: [f64; 4], slack: f64, told: f64) {
        let [returns, saved, costs, lost] = sides;
        let gross: f64 = sides.iter().map(|s| s.abs()).sum();
        let right = returns + saved - costs - lost;
        self.same(who, right, told, slack + CENT + gross * 1e-9);
    }
}

/// Added returns, reduced costs, added costs, reduced returns.
fn sides(
    facts: &MoneyFacts,
    spent: &Spent,
    with: &Crop,
    without: &Crop,
    bulls: u32,
    read: &[Again<'_>],
) -> [Vec<Due>; 4] {
    let [mut returns, mut saved, mut costs, mut lost] = [const { Vec::new() }; 4];
    let less = |what, unit, units: f64, price: f64, of: f64| Due {
        what,
        unit,
        units,
        price,
        of,
    };
    let due = |what, unit, units: f64, price: f64| less(what, unit, units, price, 0.0);
    let both = with.all + without.all;
    let price = facts.calf_price_per_lb.map(f64::from);
    if let (Some(weight), Some(price)) = (facts.calf_weight_lb, price) {
        let more = with.all - without.all;
        if more < 0.0 {
            lost.push(less(
                "fewer calves",
                "lb",
                -more * weight,
                price,
                both * weight,
            ));
        } else {
            returns.push(less(
                "more calves",
                "lb",
                more * weight,
                price,
                both * weight,
            ));
        }
    }
    if let (Some(gain), Some(price)) = (facts.calf_gain_lb_per_day, price) {
        let sooner = match (without.mean, with.mean) {
            (Some(later), Some(sooner)) => later - sooner,
            _ => 0.0,
        };
        let pounds = gain * with.all.min(without.all) * sooner.abs();
        // Each mean is a sum over a season of days.
        let of = gain * both * 366.0;
        if sooner < 0.0 {
            lost.push(less(
                "later calves, lighter at sale",
                "lb",
                pounds,
                price,
                of,
            ));
        } else {
            returns.push(less(
                "earlier calves, heavier at sale",
                "lb",
                pounds,
                price,
                of,
            ));
        }
    }
    if let Some(premium) = facts.ai_calf_premium {
        returns.push(due("AI calf premium", "calf", with.ai, premium.into()));
    }
    if let Some(year) = spent.bull_a_year.map(|m| m.0) {
        let fewer = f64::from(bulls) - f64::from(spent.bulls_head);
        if fewer < 0.0 {
            costs.push(due("more bulls", "bull-year", -fewer, year));
        } else {
            saved.push(due("fewer bulls", "bull-year", fewer, year));
        }
    }
    let head: u32 = read.iter().map(|a| a.group.head().0).sum();
    if let Some(ai) = spent.ai.filter(|_| head > 0) {
        let head = f64::from(head);
        costs.push(due("synchronization and AI", "head", head, ai.0 / head));
    }
    if let Some(road) = spent.road {
        costs.push(due("road", "season", 1.0, road.0));
    }
    [returns, saved, costs, lost]
}
