//! What AI costs a head, a pregnancy and a calf, and what bulls cost.

use super::bill::{Due, bill, in_heat};
use super::{Again, Found};
use thawline::figures::{Bull, Money, Prices};
use thawline::forecast::{Entry, Forecast, GroupCost, MoneyAnswer, Spent};
use thawline::plan::Plan;
use thawline::season::{MoneyFacts, Season};

/// Cents, and a hair.
pub(super) const CENT: f64 = 0.0051;

/// Where all or none are taken to be seen in heat.
const UNKNOWN: &str = "not known: all or none, whichever costs more";

/// Where a plan counts them from hours to heat.
const PLANNED: &str = "as planned, by published or your own hours to heat";

/// Loss of value, risk, interest on the mean value, and keep with half a year's interest (the form of
/// BULL-BUDGET).
pub(super) fn bull_a_year(b: &Bull) -> f64 {
    let (bought, sold) = (f64::from(b.price), f64::from(b.sold_for));
    let [lost, rate] = [b.lost_a_year, b.interest_a_year].map(|p| p.get() / 100.0);
    let loss = (bought - sold) / f64::from(b.seasons);
    loss + f64::midpoint(bought, sold) * (lost + rate)
        + f64::from(b.keep_a_year) * (1.0 + rate / 2.0)
}

/// The most at one time of bulls that stay from a day to a day: each day is looked at.
pub(super) fn most_at_once(stays: &[(chrono::NaiveDate, chrono::NaiveDate, u32)]) -> u32 {
    let first = stays.iter().map(|s| s.0).min();
    let last = stays.iter().map(|s| s.1).max();
    let (Some(first), Some(last)) = (first, last) else {
        return 0;
    };
    let days = first.iter_days().take_while(|d| *d <= last);
    let there = |d| -> u32 {
        let on = stays.iter().filter(|s| (s.0..=s.1).contains(&d));
        on.map(|s| s.2).sum()
    };
    days.map(there).max().unwrap_or(0)
}

impl Found {
    pub(super) fn money(
        &mut self,
        season: &Season,
        plan: &Plan,
        read: &[Again<'_>],
        answer: &Forecast,
    ) {
        let asked = season.prices.is_some() || season.money.is_some();
        self.exactly("money", &asked, &answer.money.is_some());
        let Some(told) = answer.money.as_ref().filter(|_| asked) else {
            return;
        };
        let prices = season.prices.as_ref();
        let currency = prices.and_then(|p| p.currency.clone());
        self.exactly("currency", &currency, &told.currency);
        let facts = season.money.clone().unwrap_or_default();
        let mut missing: Vec<String> = Vec::new();
        let priced = read.iter().filter(|_| prices.is_some());
        let ids: Vec<&str> = priced.map(|a| a.group.id.as_str()).collect();
        let listed: Vec<&str> = told.groups.iter().map(|g| g.group.as_str()).collect();
        self.exactly("groups with costs", &ids, &listed);
        if let Some(prices) = prices {
            for (again, g) in read.iter().zip(&told.groups) {
                let lacks = self.cost(season, plan, prices, again, answer, g);
                missing.extend(lacks.iter().map(|k| format!("prices.{k}")));
            }
        } else {
            missing.push("prices".to_owned());
        }
        self.spent(plan, &facts, answer, told, &mut missing);
        self.natural(&facts, read, answer, told, &mut missing);
        let key = |m: &String| m.split(':').next().unwrap_or_default().to_owned();
        let mut lacks: Vec<String> = told.missing.iter().map(key).collect();
        for all in [&mut missing, &mut lacks] {
            all.sort();
            all.dedup();
        }
        self.exactly("prices that are not given", &missing, &lacks);
    }

    /// A group's bill. What has no price.
    fn cost(
        &mut self,
        season: &Season,
        plan: &Plan,
        prices: &Prices,
        again: &Again<'_>,
        answer: &Forecast,
        told: &GroupCost,
    ) -> Vec<&'static str> {
        let who = format!("cost of {}", told.group);
        let group = again.group;
        let known = in_heat(group).or_else(|| {
            let told = plan.groups.iter().find(|g| g.id == told.group);
            let head = told?.heat.as_ref()?.bred_head;
            let percent = 1e4 * f64::from(head) / f64::from(group.head().0);
            Some((percent.round() / 1e2, PLANNED.to_owned()))
        });
        let with = |share: f64| bill(season, group, prices, share / 100.0);
        let (mut right, seen, source) = if let Some((percent, source)) = known {
            (with(percent), percent, source)
        } else {
            let (all, none) = (with(100.0), with(0.0));
            let dearer = none.sum() > all.sum();
            let (bill, percent) = if dearer { (none, 0.0) } else { (all, 100.0) };
            (bill, percent, UNKNOWN.to_owned())
        };
        let outcome = answer.groups.iter().find(|g| g.group == told.group);
        let Some(o) = outcome.map(|g| &g.outcome) else {
            return right.missing;
        };
        // Who is not bred costs no straw and no technician.
        let bred = f64::from(o.bred_head) / f64::from(o.head.max(1));
        for line in &mut right.lines {
            if matches!(line.what, "semen" | "technician") && o.bred_head < o.head {
                line.units = line.units.min(bred);
            }
        }
        self.lines(&who, &right.lines, &told.entries);
        self.exactly(&who, &o.head, &told.head);
        let a_head = right.sum();
        self.same(&who, a_head, told.a_head.0, CENT);
        let all = a_head * f64::from(o.head);
        self.each(
            &format!("{who}, a pregnancy"),
            Some(all),
            o.ai.head,
            told.a_pregnancy,
        );
        let calves = o.ai_calves_head;
        self.each(
            &format!("{who}, a calf"),
            Some(all),
            calves,
            told.an_ai_calf,
        );
        let seen = right.by_heat.then_some(seen);
        self.exactly(&who, &seen, &told.in_heat_percent);
        let source = right.by_heat.then_some(source);
        self.exactly(&who, &source, &told.in_heat_source);
        let mut lacks: Vec<&str> = told.missing.iter().map(String::as_str).collect();
        lacks.sort_unstable();
        let mut own = right.missing.clone();
        own.sort_unstable();
        self.exactly(&who, &own, &lacks);
        right.missing
    }

    /// Lines as they are due, each told so that its units times its price is its amount to the cent.
    pub(super) fn lines(&mut self, who: &str, right: &[Due], told: &[Entry]) {
        let names: Vec<(&str, &str)> = right.iter().map(|l| (l.what, l.unit)).collect();
        let listed: Vec<(&str, &str)> = told.iter().map(|e| (&*e.what, &*e.unit)).collect();
        self.exactly(who, &names, &listed);
        for (line, e) in right.iter().zip(told) {
            let who = format!("{who}, {}", e.what);
            let slack = line.slack();
            self.same(&who, line.units, e.units, CENT + slack);
            self.same(&who, line.price, e.price, CENT);
            let slack = slack * line.price + line.rounding();
            self.same(&who, line.amount(), e.amount.0, CENT + slack);
            let shown = (e.units * e.price * 100.0).round() / 100.0;
            self.same(&who, shown, e.amount.0, 1e-6);
        }
    }

    /// A cost over a number of head, where there is either.
    pub(super) fn each(&mut self, who: &str, cost: Option<f64>, head: f64, told: Option<Money>) {
        let right = cost.filter(|_| head > 0.0).map(|c| c / head);
        match (right, told) {
            (Some(right), Some(told)) => {
                // Expected head are told to the ten-thousandth.
                let off = if head.fract() > 0.0 { 1e-4 / head } else { 0.0 };
                self.same(who, right, told.0, CENT + right.abs() * off);
            }
            (None, None) => {}
            (right, told) => self.wrong(who, format!("{right:?}"), format!("{told:?}")),
        }
    }

    fn spent(
        &mut self,
        plan: &Plan,
        facts: &MoneyFacts,
        answer: &Forecast,
        told: &MoneyAnswer,
        missing: &mut Vec<String>,
    ) {
        let s: &Spent = &told.spent;
        let groups = told.groups.iter();
        let ai = groups.map(|g| g.a_head.0 * f64::from(g.head)).sum::<f64>();
        let ai = (!told.groups.is_empty()).then_some(ai);
        self.each("synchronization and AI", ai, 1.0, s.ai);
        let road = plan.road.as_ref();
        let paid = road.and_then(|r| r.cost);
        self.exactly("road", &paid, &s.road);
        if road.is_some_and(|r| r.hours > 0.0) && paid.is_none() {
            missing.push("prices.road_per_hour".to_owned());
        }
        let both = s.ai.map(|ai| ai.0 + paid.map_or(0.0, |m| m.0));
        let all = &answer.all;
        let [head, ai_head, bulls_head] = [f64::from(all.head), all.ai.head, all.bulls.head];
        self.each("AI a head", both, head, s.a_head);
        self.each("AI a pregnancy", both, ai_head, s.a_pregnancy);
        self.each("AI a calf", both, all.ai_calves_head, s.an_ai_calf);
        let stays = answer.groups.iter().filter_map(|g| g.clean_up.as_ref());
        let stays: Vec<_> = stays
            .map(|c| (c.turned_in, c.taken_out, c.bulls_head))
            .collect();
        let bulls = most_at_once(&stays);
        self.exactly("clean-up bulls", &bulls, &s.bulls_head);
        let a_year = facts.bull.as_ref().map(bull_a_year);
        self.each("a bull a year", a_year, 1.0, s.bull_a_year);
        if bulls > 0 && a_year.is_none() {
            missing.push("money.bull".to_owned());
        }
        // Told to the cent, and so is what is made of it.
        let told_year = s.bull_a_year.map(|m| m.0).filter(|_| bulls > 0);
        let cost = told_year.map(|y| y * f64::from(bulls));
        self.each("clean-up bulls a year", cost, 1.0, s.bulls);
        self.each("a pregnancy to bulls", cost, bulls_head, s.a_bull_pregnancy);
        let any = both.is_some() || cost.is_some();
        let sum = any.then(|| both.unwrap_or(0.0) + cost.unwrap_or(0.0));
        self.each("any pregnancy", sum, ai_head + bulls_head, s.any_pregnancy);
    }
}
