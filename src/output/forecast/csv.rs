//! Calves and money as tables of comma-separated values. Cells that a spreadsheet would run as
//! formulas begin with an apostrophe; numbers stay numbers.

use super::super::table;
use crate::analysis::forecast::{Answer, Calving, Entry};

/// Which table.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Table {
    /// Calves of each group, and of all, by day.
    Curve,
    /// A row for each group, and for all.
    Groups,
    /// A row for each amount.
    Money,
}

/// What stands in the column of groups for all of them.
const ALL: &str = "all groups";

/// One table.
#[must_use]
pub fn csv(answer: &Answer, table: Table) -> String {
    match table {
        Table::Curve => curve(answer),
        Table::Groups => groups(answer),
        Table::Money => money(answer),
    }
}

/// The first row, from names with commas between.
fn heading(names: &str) -> Vec<String> {
    names.split(',').map(str::to_owned).collect()
}

fn curve(answer: &Answer) -> String {
    let mut rows = vec![heading(
        "group,date,ai_calves_head,bull_calves_head,calves_head,born_percent",
    )];
    let mut add = |name: &str, calving: Option<&Calving>| {
        for day in calving.iter().flat_map(|c| &c.curve) {
            rows.push(vec![
                name.to_owned(),
                day.date.to_string(),
                day.ai_head.to_string(),
                day.bulls_head.to_string(),
                format!("{:.4}", day.ai_head + day.bulls_head),
                day.born_percent.to_string(),
            ]);
        }
    };
    add(ALL, answer.calving.as_ref());
    for g in &answer.groups {
        add(&g.group, g.calving.as_ref());
    }
    table::table(&rows)
}

fn groups(answer: &Answer) -> String {
    let mut rows = vec![heading(
        "group,head,bred_head,ai_head,ai_least_head,ai_most_head,bulls_head,bulls_least_head,bulls_most_head,open_head,open_least_head,open_most_head,calves_head,ai_calves_percent,first_calves,first_due,mean_calving,born_5_percent,born_50_percent,born_95_percent,percent_in_21_days,percent_by_21_days_from_due",
    )];
    let mut add =
        |name: &str, o: &crate::analysis::forecast::Outcome, calving: Option<&Calving>| {
            let mut cells = vec![name.to_owned(), o.head.to_string(), o.bred_head.to_string()];
            for e in [o.ai, o.bulls, o.open] {
                cells.extend([
                    e.head.to_string(),
                    e.least_head.to_string(),
                    e.most_head.to_string(),
                ]);
            }
            if let Some(c) = calving {
                cells.extend([c.calves_head.to_string(), c.ai_percent.to_string()]);
                let dates = [
                    c.first,
                    c.first_due,
                    c.mean,
                    c.born_5_percent,
                    c.born_50_percent,
                    c.born_95_percent,
                ];
                cells.extend(dates.map(|d| d.to_string()));
                cells.push(c.percent_in_21_days.to_string());
                cells.push(c.percent_by_21_days_from_due.to_string());
            } else {
                cells.extend(std::iter::repeat_n(String::new(), 10));
            }
            rows.push(cells);
        };
    add(ALL, &answer.all, answer.calving.as_ref());
    for g in &answer.groups {
        add(&g.group, &g.outcome, g.calving.as_ref());
    }
    table::table(&rows)
}

fn money(answer: &Answer) -> String {
    let mut rows = vec![heading("group,side,what,units,unit,price,amount")];
    let Some(m) = &answer.money else {
        return table::table(&rows);
    };
    let mut add = |group: &str, side: &str, e: &Entry| {
        rows.push(vec![
            group.to_owned(),
            side.to_owned(),
            e.what.clone(),
            e.units.to_string(),
            e.unit.clone(),
            e.price.to_string(),
            e.amount.to_string(),
        ]);
    };
    for g in &m.groups {
        for e in &g.entries {
            add(&g.group, "cost a head", e);
        }
    }
    if let Some(n) = &m.natural {
        let b = &n.budget;
        for (side, entries) in [
            ("added returns", &b.added_returns),
            ("reduced costs", &b.reduced_costs),
            ("added costs", &b.added_costs),
            ("reduced returns", &b.reduced_returns),
        ] {
            for e in entries {
                add(ALL, side, e);
            }
        }
    }
    let mut sum = |group: &str, what: &str, amount: Option<crate::trade::figures::Money>| {
        if let Some(amount) = amount {
            rows.push(vec![
                group.to_owned(),
                "sum".into(),
                what.into(),
                String::new(),
                String::new(),
                String::new(),
                amount.to_string(),
            ]);
        }
    };
    for g in &m.groups {
        sum(&g.group, "AI a head", Some(g.a_head));
        sum(&g.group, "AI a pregnancy", g.a_pregnancy);
        sum(&g.group, "AI a calf of AI", g.an_ai_calf);
    }
    let s = &m.spent;
    sum(ALL, "synchronization and AI", s.ai);
    sum(ALL, "road", s.road);
    sum(ALL, "AI and road a head", s.a_head);
    sum(ALL, "AI and road a pregnancy", s.a_pregnancy);
    sum(ALL, "AI and road a calf of AI", s.an_ai_calf);
    sum(ALL, "clean-up bulls a year", s.bulls);
    sum(ALL, "bulls a pregnancy to bulls", s.a_bull_pregnancy);
    sum(ALL, "all a pregnancy of either", s.any_pregnancy);
    if let Some(n) = &m.natural {
        sum(ALL, "bulls of natural service a year", n.bulls);
        sum(ALL, "natural service a pregnancy", n.a_pregnancy);
        sum(ALL, "net", Some(n.budget.net));
        sum(
            ALL,
            "net at the lowest percent pregnant to AI",
            Some(n.budget.net_low),
        );
        sum(
            ALL,
            "net at the highest percent pregnant to AI",
            Some(n.budget.net_high),
        );
        sum(ALL, "net a head", n.budget.net_a_head);
    }
    table::table(&rows)
}
