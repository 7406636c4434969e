//! Bulls alone in the place of AI, and the partial budget of the change.

use chrono::{NaiveDate, TimeDelta};

use super::curve::{Born, first_parts};
use super::money::{CENT, Due, bull_a_year, most_at_once};
use super::rates;
use super::{Again, Found, HEAD};
use crate::calves::{Answer, Budget, MoneyAnswer, Natural, Spent};
use crate::season::MoneyFacts;

/// Calves of one way of breeding.
struct Crop {
    ai: f64,
    all: f64,
    mean: Option<f64>,
}

impl Crop {
    fn of(born: &Born) -> Self {
        Self {
            ai: born.ai(),
            all: born.all(),
            mean: born.mean(),
        }
    }
}

impl Found {
    pub(super) fn natural(
        &mut self,
        facts: &MoneyFacts,
        read: &[Again<'_>],
        answer: &Answer,
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
            let (Some(herd), bulls) = (&again.herd, &again.group.calves.clean_up) else {
                continue;
            };
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
            let Some(herd) = &again.herd else { continue };
            let rows = settled.of_one().map(|s| herd.natural(last, s));
            for (sum, rows) in pregnant.iter_mut().zip(&rows) {
                *sum += rows.to_bulls();
            }
            let mut born = Born::of(herd, &rows[1], again.carried, again.kept);
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
        let cost = facts
            .bull
            .as_ref()
            .map(|b| bull_a_year(b) * f64::from(bulls));
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
        answer: &Answer,
        bulls: u32,
        pregnant: &[f64; 3],
        alone: &Born,
        each: &[Born],
    ) {
        let who = "natural service";
        self.exactly(who, &bulls, &t.bulls_head);
        let head = f64::from(answer.all.head);
        self.spread("natural service, pregnant", head, *pregnant, &t.pregnant);
        self.same("natural service, calves", alone.all(), t.calves_head, HEAD);
        self.exactly(who, &alone.mean().is_some(), &t.mean_calving.is_some());
        if let (Some(mean), Some(told)) = (alone.mean(), t.mean_calving) {
            let told = f64::from(chrono::Datelike::num_days_from_ce(&told));
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
        let without = Crop::of(alone);
        let nets = [0, 1, 2].map(|end| {
            let mut born = Born::default();
            for again in read {
                born.add(&again.born(end));
            }
            let sides = sides(facts, &told.spent, &Crop::of(&born), &without, bulls, read);
            if end == 1 {
                let names = [
                    "added returns",
                    "reduced costs",
                    "added costs",
                    "reduced returns",
                ];
                let listed = [
                    &t.added_returns,
                    &t.reduced_costs,
                    &t.added_costs,
                    &t.reduced_returns,
                ];
                for ((name, right), told) in names.into_iter().zip(&sides).zip(listed) {
                    self.lines(name, right, told);
                }
            }
            // Every line is told to the cent.
            let cents = |d: &Due| (d.amount() * 100.0).round() / 100.0;
            let sums = sides.each_ref().map(|s| s.iter().map(cents).sum::<f64>());
            sums[0] + sums[1] - sums[2] - sums[3]
        });
        for (name, right, told) in [
            ("net at the lowest percentage", nets[0], t.net_low),
            ("net", nets[1], t.net),
            ("net at the highest percentage", nets[2], t.net_high),
        ] {
            // A line that lies between two cents may go either way.
            self.same(name, right, told.0, 3.0 * CENT);
        }
        let head: u32 = read.iter().map(|a| a.group.head().0).sum();
        self.each("net a head", Some(t.net.0), f64::from(head), t.net_a_head);
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
    let due = |what, unit, units: f64, price: f64| Due {
        what,
        unit,
        units,
        price,
    };
    let price = facts.calf_price_per_lb.map(f64::from);
    if let (Some(weight), Some(price)) = (facts.calf_weight_lb, price) {
        let more = with.all - without.all;
        if more < 0.0 {
            lost.push(due("calves fewer", "lb", -more * weight, price));
        } else {
            returns.push(due("calves more", "lb", more * weight, price));
        }
    }
    if let (Some(gain), Some(price)) = (facts.calf_gain_lb_per_day, price) {
        let sooner = match (without.mean, with.mean) {
            (Some(later), Some(sooner)) => later - sooner,
            _ => 0.0,
        };
        let pounds = gain * with.all.min(without.all) * sooner.abs();
        if sooner < 0.0 {
            lost.push(due("calves born later", "lb", pounds, price));
        } else {
            returns.push(due("calves born sooner", "lb", pounds, price));
        }
    }
    if let Some(premium) = facts.ai_calf_premium {
        returns.push(due("calves of AI", "calf", with.ai, premium.into()));
    }
    if let Some(year) = facts.bull.as_ref().map(bull_a_year) {
        let fewer = f64::from(bulls) - f64::from(spent.bulls_head);
        if fewer < 0.0 {
            costs.push(due("bulls more", "bull-year", -fewer, year));
        } else {
            saved.push(due("bulls fewer", "bull-year", fewer, year));
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
