//! A forecast, read again by plain sums: animals day by day in one row of numbers, gestation by a
//! series for the normal law, shares and dates from the curve, money from units and prices.

use std::fmt::Display;

use chrono::{NaiveDate, TimeDelta};

use crate::calves::{Answer, Calving, Entry, From, GroupCalves, MoneyAnswer};
use crate::error::{Code, Finding};
use crate::forecast::Money;
use crate::plan::Plan;
use crate::season::{Group, Season};

/// Head are told to the ten-thousandth.
const HEAD: f64 = 0.002;

/// Sums of a few hundred such head.
const SUM: f64 = 0.05;

/// Everything in which a forecast disagrees with the season and its plan; empty for a sound one.
#[must_use]
pub fn calves(season: &Season, plan: &Plan, answer: &Answer) -> Vec<Finding> {
    let mut found = Found(Vec::new());
    for told in &answer.groups {
        let Some(group) = season.groups.iter().find(|g| g.id.as_str() == told.group) else {
            found.wrong(&told.group, "a group of the season", "none");
            continue;
        };
        found.group(group, plan, told);
    }
    let counted = || answer.groups.iter().filter(|g| g.counted);
    let heads: u32 = counted().map(|g| g.outcome.head).sum();
    found.same(
        "all groups, head",
        f64::from(heads),
        f64::from(answer.all.head),
        0.0,
    );
    for (what, all, of) in [
        ("to AI", answer.all.ai.head, 0),
        ("to bulls", answer.all.bulls.head, 1),
        ("open", answer.all.open.head, 2),
    ] {
        let sum = counted().map(|g| {
            let o = &g.outcome;
            [o.ai.head, o.bulls.head, o.open.head][of]
        });
        found.same(&format!("all groups, {what}"), sum.sum(), all, SUM);
    }
    if let Some(all) = &answer.calving {
        found.calving("all groups", all);
        for day in &all.curve {
            let of_groups = counted().filter_map(|g| g.calving.as_ref()).map(|c| {
                let since = c.curve.first().map(|d| (day.date - d.date).num_days());
                let nth = since.and_then(|n| usize::try_from(n).ok());
                nth.and_then(|n| c.curve.get(n))
                    .map_or(0.0, |d| d.ai_head + d.bulls_head)
            });
            let what = format!("all groups, {}", day.date);
            // Every group is rounded.
            let within = HEAD + 1e-4 * answer.groups.len() as f64;
            found.same(&what, of_groups.sum(), day.ai_head + day.bulls_head, within);
        }
    }
    if let Some(money) = &answer.money {
        found.money(plan, money);
    }
    found.0
}

struct Found(Vec<Finding>);

impl Found {
    fn wrong(&mut self, who: &str, expected: impl Display, got: impl Display) {
        self.0.push(
            Finding::error(Code::Verify, format!("{who}: the forecast has {got}"))
                .expected(expected.to_string())
                .hint("please report this with the season file"),
        );
    }

    fn same(&mut self, who: &str, expected: f64, got: f64, within: f64) {
        // A value that is no number is wrong, too.
        let near = (expected - got).abs() <= within + 1e-9;
        if !near {
            self.wrong(who, expected, got);
        }
    }

    fn group(&mut self, group: &Group, plan: &Plan, told: &GroupCalves) {
        let who = told.group.as_str();
        let sessions = plan.sessions.iter();
        let pens = sessions.flat_map(|s| &s.pens).filter(|p| p.group == who);
        let bred: u32 = pens.map(|p| p.bred_head).sum();
        let days: u32 = told.ai_days.iter().map(|d| d.head).sum();
        self.same(
            &format!("{who}, bred"),
            f64::from(bred),
            f64::from(days),
            0.0,
        );
        if let Some(own) = &group.calves.pregnant {
            let right = told.ai_rate.from == From::Own;
            if !right {
                self.wrong(who, "the season's own percentage", &told.ai_rate.source);
            }
            let got = told.ai_rate.percent;
            self.same(&format!("{who}, percent"), own.expected.get(), got, HEAD);
        }
        let outcome = &told.outcome;
        if !told.counted {
            return;
        }
        let whole = outcome.ai.head + outcome.bulls.head + outcome.open.head;
        self.same(
            &format!("{who}, pregnant and open"),
            f64::from(group.head().0),
            whole,
            HEAD,
        );
        for (what, e) in [
            ("to AI", outcome.ai),
            ("to bulls", outcome.bulls),
            ("pregnant", outcome.pregnant),
            ("open", outcome.open),
        ] {
            let ends = f64::from(e.least_head) <= e.low_head + 1.0
                && e.low_head <= e.head
                && e.head <= e.high_head
                && e.high_head <= f64::from(e.most_head) + 1.0;
            if !ends {
                self.wrong(
                    &format!("{who}, {what}"),
                    "ends around the expected",
                    format!("{e:?}"),
                );
            }
        }
        let row = Row::of(group, plan, told);
        self.same(
            &format!("{who}, to AI"),
            row.ai.iter().sum(),
            outcome.ai.head,
            HEAD,
        );
        self.same(
            &format!("{who}, to bulls"),
            row.bulls.iter().sum(),
            outcome.bulls.head,
            HEAD,
        );
        if let Some(calving) = &told.calving {
            self.calving(who, calving);
            self.curve(who, &row, told, calving);
        } else {
            let calves = outcome.ai_calves_head + outcome.bull_calves_head;
            self.same(&format!("{who}, calves"), 0.0, calves, HEAD);
        }
    }

    fn curve(&mut self, who: &str, row: &Row, told: &GroupCalves, calving: &Calving) {
        let kept = 1.0 - told.lost_percent.unwrap_or(0.0) / 100.0;
        let of_bulls = told.bulls_gestation.as_ref().unwrap_or(&told.gestation);
        let law = Law::of(told.gestation.mean_days, told.gestation.sd_days);
        let bulls_law = Law::of(of_bulls.mean_days, of_bulls.sd_days);
        for day in &calving.curve {
            let since = (day.date - row.from).num_days();
            let (ai, bulls) = (law.born(&row.ai, since), bulls_law.born(&row.bulls, since));
            // Tails of the law count on its last day.
            let within = HEAD + 1e-4 * f64::from(told.outcome.head);
            self.same(
                &format!("{who}, AI, {}", day.date),
                ai * kept,
                day.ai_head,
                within,
            );
            self.same(
                &format!("{who}, bulls, {}", day.date),
                bulls * kept,
                day.bulls_head,
                within,
            );
        }
        let all = told.outcome.ai_calves_head + told.outcome.bull_calves_head;
        let pregnant = told.outcome.ai.head + told.outcome.bulls.head;
        self.same(&format!("{who}, calves"), pregnant * kept, all, HEAD);
        self.same(
            &format!("{who}, sum of the curve"),
            all,
            calving.calves_head,
            HEAD,
        );
    }

    /// What is told of a curve follows from its days.
    fn calving(&mut self, who: &str, c: &Calving) {
        if c.calves_head < 1e-3 {
            // Shares of next to nothing: there is nothing to hold them against.
            return;
        }
        // Every day is rounded to the ten-thousandth: much, where few calves are expected.
        let days_told = c.curve.len() as f64;
        let within = SUM + 100.0 * 1e-4 * days_told / c.calves_head;
        let mut so_far = 0.0;
        let (mut in_21, mut by_21, mut ai, mut days) = (0.0, 0.0, 0.0, 0.0);
        let mut last: Option<NaiveDate> = None;
        for day in &c.curve {
            if last.is_some_and(|l| (day.date - l).num_days() != 1) {
                self.wrong(who, "one day after the other", day.date);
            }
            last = Some(day.date);
            let head = day.ai_head + day.bulls_head;
            so_far += head;
            ai += day.ai_head;
            days += head * (day.date - c.first).num_days() as f64;
            let percent = 100.0 * so_far / c.calves_head;
            self.same(
                &format!("{who}, born by {}", day.date),
                percent,
                day.born_percent,
                within,
            );
            let from_first = (day.date - c.first).num_days();
            if (0..21).contains(&from_first) {
                in_21 += head;
            }
            if (day.date - c.first_due).num_days() < 21 {
                by_21 += head;
            }
        }
        self.same(&format!("{who}, calves"), so_far, c.calves_head, SUM);
        let percent = |x: f64| 100.0 * x / c.calves_head;
        self.same(&format!("{who}, AI %"), percent(ai), c.ai_percent, within);
        self.same(
            &format!("{who}, 21 days"),
            percent(in_21),
            c.percent_in_21_days,
            within,
        );
        let due = c.percent_by_21_days_from_due;
        self.same(
            &format!("{who}, 21 days from due"),
            percent(by_21),
            due,
            within,
        );
        let told = [c.born_5_percent, c.born_50_percent, c.born_95_percent];
        for (wanted, got) in [5.0, 50.0, 95.0].into_iter().zip(told) {
            let at = c.curve.iter().position(|d| d.date == got);
            let by = |n: usize| c.curve[n].born_percent;
            let enough = at.is_some_and(|n| by(n) >= wanted - 0.01 - within);
            let before = at.is_some_and(|n| n == 0 || by(n - 1) <= wanted + 0.01 + within);
            if !enough || !before {
                self.wrong(who, format!("the day by which {wanted} % are born"), got);
            }
        }
        let mean = (c.mean - c.first).num_days() as f64;
        self.same(
            &format!("{who}, mean day"),
            days / c.calves_head,
            mean,
            0.6 + within * days_told / 100.0,
        );
        if (c.first_due - c.first).num_days() != 12 {
            self.wrong(
                who,
                "first calves 12 days before the first due date",
                c.first,
            );
        }
    }

    fn money(&mut self, plan: &Plan, m: &MoneyAnswer) {
        for g in &m.groups {
            let sum = self.entries(&g.group, &g.entries);
            self.same(&format!("{}, a head", g.group), sum, g.a_head.0, 0.06);
        }
        let road = plan.road.as_ref().and_then(|r| r.cost);
        if road != m.spent.road {
            self.wrong("road", format!("{road:?}"), format!("{:?}", m.spent.road));
        }
        if let Some(ai) = m.spent.ai {
            let each = m.groups.iter().map(|g| g.a_head.0 * f64::from(g.head));
            self.same("synchronization and AI", each.sum(), ai.0, 0.01);
        }
        if let Some(n) = &m.natural {
            let b = &n.budget;
            let [returns, saved, costs, lost] = [
                &b.added_returns,
                &b.reduced_costs,
                &b.added_costs,
                &b.reduced_returns,
            ]
            .map(|side| self.entries("budget", side));
            self.same("net", returns + saved - costs - lost, b.net.0, 0.06);
            if let (Some(all), Some(each)) = (n.bulls, m.spent.bull_a_year) {
                let bulls = f64::from(n.bulls_head) * each.0;
                self.same("bulls of natural service", bulls, all.0, 0.01);
            }
        }
    }

    /// Units times price is the amount. Their sum.
    fn entries(&mut self, who: &str, entries: &[Entry]) -> f64 {
        let mut sum = 0.0;
        for e in entries {
            let Money(amount) = e.amount;
            let within = 0.006 + 1e-4 * (e.units.abs() + e.price.abs());
            self.same(
                &format!("{who}, {}", e.what),
                e.units * e.price,
                amount,
                within,
            );
            sum += amount;
        }
        sum
    }
}

/// A group's conceptions, day by day from the first day of AI.
struct Row {
    from: NaiveDate,
    ai: Vec<f64>,
    bulls: Vec<f64>,
}

impl Row {
    fn of(group: &Group, plan: &Plan, told: &GroupCalves) -> Self {
        let id = told.group.as_str();
        let uncovered = plan.uncovered.iter().filter(|u| u.group == id);
        let missed: Vec<(NaiveDate, f64)> = uncovered
            .map(|u| (u.hours.aim.date_naive(), f64::from(u.head)))
            .collect();
        let bred: Vec<(NaiveDate, f64)> = told
            .ai_days
            .iter()
            .map(|d| (d.date, f64::from(d.head)))
            .collect();
        let days = || bred.iter().chain(&missed).map(|d| d.0);
        let from = days().min().unwrap_or_default();
        let last = days().max().unwrap_or_default();
        let head = f64::from(group.head().0);
        let all: f64 = bred.iter().chain(&missed).map(|d| d.1).sum();
        let by = if all > head { head / all } else { 1.0 };
        let out = told
            .clean_up
            .as_ref()
            .map_or(last, |c| c.taken_out)
            .max(last);
        let long = (out - from).num_days() as usize + 60;
        let (mut ai, mut bulls, mut heat) = (vec![0.0; long], vec![0.0; long], vec![0.0; long]);
        let at = |d: NaiveDate| (d - from).num_days() as usize;
        let pregnant = told.ai_rate.percent / 100.0;
        let back = |n: usize, head: f64, heat: &mut Vec<f64>| {
            for days in 17..=25_usize {
                let z = |d: f64| (d - 21.0) / 1.75;
                let low = if days == 17 {
                    0.0
                } else {
                    below(z(days as f64 - 0.5))
                };
                let high = if days == 25 {
                    1.0
                } else {
                    below(z(days as f64 + 0.5))
                };
                if let Some(there) = heat.get_mut(n + days) {
                    *there += head * (high - low);
                }
            }
        };
        for (day, head) in &bred {
            ai[at(*day)] += head * by * pregnant;
            back(at(*day), head * by * (1.0 - pregnant), &mut heat);
        }
        for (day, head) in &missed {
            back(at(*day), head * by, &mut heat);
        }
        for n in 1..=21 {
            heat[at(last) + n] += (head - all).max(0.0) / 21.0;
        }
        if let Some(c) = &told.clean_up {
            // Bulls may be out before AI begins: then nobody is settled.
            let stay = usize::try_from((c.taken_out - from).num_days() + 1).unwrap_or(0);
            for (n, settled) in bulls.iter_mut().enumerate().take(stay) {
                if from + TimeDelta::days(n as i64) >= c.turned_in {
                    *settled = heat[n] * c.settled.percent / 100.0;
                }
                let left = heat[n] - *settled;
                back(n, left, &mut heat);
            }
        }
        Self { from, ai, bulls }
    }
}

/// Shares of a gestation by the day.
struct Law(Vec<f64>);

impl Law {
    fn of(mean: f64, sd: f64) -> Self {
        let last = (mean + 6.0 * sd).max(0.0) as usize;
        let share = |n: usize| {
            let off = n as f64 - mean;
            below((off + 0.5) / sd) - below((off - 0.5) / sd)
        };
        Self((0..=last).map(share).collect())
    }

    /// Calves of the day so many days after the first conception.
    fn born(&self, conceived: &[f64], since: i64) -> f64 {
        let each = conceived.iter().enumerate().filter(|c| *c.1 > 0.0);
        each.map(|(n, head)| {
            let long = usize::try_from(since - n as i64).ok();
            head * long.and_then(|l| self.0.get(l)).copied().unwrap_or(0.0)
        })
        .sum()
    }
}

/// The normal law below z, by its series around the middle.
fn below(z: f64) -> f64 {
    if z.abs() > 7.0 {
        return if z > 0.0 { 1.0 } else { 0.0 };
    }
    let (mut term, mut sum, mut n) = (z, z, 1.0);
    while f64::abs(term) > 1e-15 {
        n += 2.0;
        term *= z * z / n;
        sum += term;
    }
    0.5 + sum * (-0.5 * z * z).exp() / std::f64::consts::TAU.sqrt()
}
