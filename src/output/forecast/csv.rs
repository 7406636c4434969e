//! Calves and money as tables for spreadsheets.

use super::super::answer::Tables;
use super::super::table::{Table, fields, kinds, nested};
use crate::analysis::forecast::{Calving, Day, Entry, Expected, Forecast, Outcome};
use crate::trade::figures::Money;

/// Calves by day of each group, and what comes of it; the same of the season; what AI costs a head; the
/// amounts of the partial budget; what all of it comes to.
pub(super) fn tables() -> Tables<Forecast> {
    kinds![
        curve, groups, season_curve as "season-curve", season, money, budget, sums as "money-sums"
    ]
}

/// What stands in the column of groups for all of them.
const ALL: &str = "all groups";

/// Numbers are as short as they can be.
fn days<'a, R: Copy>(t: &mut Table<R>, of: impl Fn(R) -> &'a Day) {
    t.column("date", |r| of(r).date);
    t.column("ai_calves_head", |r| of(r).ai_head.to_string());
    t.column("bull_calves_head", |r| of(r).bulls_head.to_string());
    t.column("calves_head", |r| {
        format!("{:.4}", of(r).ai_head + of(r).bulls_head)
    });
    t.column("born_percent", |r| of(r).born_percent.to_string());
}

fn curve(answer: &Forecast) -> String {
    let calving = nested(&answer.groups, |g| &g.calving);
    let mut t = Table::of(nested(calving, |(_, c)| &c.curve));
    t.column("group", |((g, _), _)| &g.group);
    days(&mut t, |(_, day)| day);
    t.csv()
}

fn season_curve(answer: &Forecast) -> String {
    let mut t = Table::of(answer.calving.iter().flat_map(|c| &c.curve));
    days(&mut t, |day| day);
    t.csv()
}

fn outcome<'a, R: Copy>(t: &mut Table<R>, of: impl Fn(R) -> (&'a Outcome, Option<&'a Calving>)) {
    fields!(t, |r| of(r).0 => head, bred_head);
    expected(t, "ai", |r| of(r).0.ai);
    expected(t, "bulls", |r| of(r).0.bulls);
    expected(t, "open", |r| of(r).0.open);
    t.column("calves_head", |r| Some(of(r).1?.calves_head.to_string()));
    t.column("ai_calves_percent", |r| {
        Some(of(r).1?.ai_percent.to_string())
    });
    fields!(t, |r| some of(r).1? =>
        first_calves = first, first_due, mean_calving = mean, born_5_percent, born_50_percent,
        born_95_percent);
    t.column("percent_in_21_days", |r| {
        Some(of(r).1?.percent_in_21_days.to_string())
    });
    t.column("percent_by_21_days_from_due", |r| {
        Some(of(r).1?.percent_by_21_days_from_due.to_string())
    });
}

fn expected<R: Copy>(t: &mut Table<R>, name: &str, of: impl Fn(R) -> Expected) {
    t.column(&format!("{name}_head"), |r| of(r).head.to_string());
    t.column(&format!("{name}_least_head"), |r| of(r).least_head);
    t.column(&format!("{name}_most_head"), |r| of(r).most_head);
}

fn groups(answer: &Forecast) -> String {
    let mut t = Table::of(&answer.groups);
    t.column("group", |g| &g.group);
    outcome(&mut t, |g| (&g.outcome, g.calving.as_ref()));
    t.csv()
}

fn season(answer: &Forecast) -> String {
    let mut t = Table::of([answer]);
    outcome(&mut t, |a| (&a.all, a.calving.as_ref()));
    t.csv()
}

fn amounts<'a, R: Copy>(t: &mut Table<R>, of: impl Fn(R) -> &'a Entry) {
    t.column("what", |r| &of(r).what);
    t.column("units", |r| of(r).units.to_string());
    t.column("unit", |r| &of(r).unit);
    t.column("price", |r| of(r).price.to_string());
    t.column("amount", |r| of(r).amount.to_string());
}

fn money(answer: &Forecast) -> String {
    let groups = answer.money.iter().flat_map(|m| &m.groups);
    let mut t = Table::of(nested(groups, |g| &g.entries));
    t.column("group", |(g, _)| &g.group);
    amounts(&mut t, |(_, entry)| entry);
    t.csv()
}

fn budget(answer: &Forecast) -> String {
    let natural = answer.money.iter().flat_map(|m| &m.natural);
    let sides = natural.flat_map(|n| {
        let b = &n.budget;
        [
            ("added returns", &b.added_returns),
            ("reduced costs", &b.reduced_costs),
            ("added costs", &b.added_costs),
            ("reduced returns", &b.reduced_returns),
        ]
    });
    let mut t = Table::of(nested(sides, |(_, all)| all));
    t.column("side", |((side, _), _)| side);
    amounts(&mut t, |(_, entry)| entry);
    t.csv()
}

fn sums(answer: &Forecast) -> String {
    let mut sums: Vec<(&str, &str, Option<Money>)> = Vec::new();
    if let Some(m) = &answer.money {
        for g in &m.groups {
            sums.push((&g.group, "AI a head", Some(g.a_head)));
            sums.push((&g.group, "AI a pregnancy", g.a_pregnancy));
            sums.push((&g.group, "AI a calf of AI", g.an_ai_calf));
        }
        let s = &m.spent;
        sums.extend([
            (ALL, "synchronization and AI", s.ai),
            (ALL, "road", s.road),
            (ALL, "AI and road a head", s.a_head),
            (ALL, "AI and road a pregnancy", s.a_pregnancy),
            (ALL, "AI and road a calf of AI", s.an_ai_calf),
            (ALL, "clean-up bulls a year", s.bulls),
            (ALL, "bulls a pregnancy to bulls", s.a_bull_pregnancy),
            (ALL, "all a pregnancy of either", s.any_pregnancy),
        ]);
        if let Some(n) = &m.natural {
            let (low, high) = (n.budget.net_low, n.budget.net_high);
            let lowest = "net at the lowest percent pregnant to AI";
            let highest = "net at the highest percent pregnant to AI";
            sums.extend([
                (ALL, "bulls of natural service a year", n.bulls),
                (ALL, "natural service a pregnancy", n.a_pregnancy),
                (ALL, "net", Some(n.budget.net)),
                (ALL, lowest, Some(low)),
                (ALL, highest, Some(high)),
                (ALL, "net a head", n.budget.net_a_head),
            ]);
        }
    }
    let known = |(group, what, sum): (_, _, Option<Money>)| Some((group, what, sum?));
    let mut t = Table::of(sums.into_iter().filter_map(known));
    t.column("group", |(group, ..)| group);
    t.column("what", |(_, what, _)| what);
    t.column("amount", |(.., sum)| sum.to_string());
    t.csv()
}
