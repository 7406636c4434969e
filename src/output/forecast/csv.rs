//! Calves and money as tables of comma-separated values. Cells that a spreadsheet would run as
//! formulas begin with an apostrophe; numbers stay numbers.

use super::super::answer::Kind;
use crate::analysis::forecast::{Calving, Entry, Forecast};

const DAY: &str = "date ai_calves_head bull_calves_head calves_head born_percent";
const OUTCOME: &str = "head bred_head ai_head ai_least_head ai_most_head bulls_head \
    bulls_least_head bulls_most_head open_head open_least_head open_most_head calves_head \
    ai_calves_percent first_calves first_due mean_calving born_5_percent born_50_percent \
    born_95_percent percent_in_21_days percent_by_21_days_from_due";
const AMOUNT: &str = "what units unit price amount";

/// Calves by day of each group, and what comes of it; the same of the season; what AI costs a head; the
/// amounts of the partial budget; what all of it comes to.
pub(super) const TABLES: &[Kind] = &[
    Kind {
        name: "curve",
        columns: &["group", DAY],
    },
    Kind {
        name: "groups",
        columns: &["group", OUTCOME],
    },
    Kind {
        name: "season-curve",
        columns: &[DAY],
    },
    Kind {
        name: "season",
        columns: &[OUTCOME],
    },
    Kind {
        name: "money",
        columns: &["group", AMOUNT],
    },
    Kind {
        name: "budget",
        columns: &["side", AMOUNT],
    },
    Kind {
        name: "money-sums",
        columns: &["group what amount"],
    },
];

/// One of these tables.
pub(super) fn table(answer: &Forecast, kind: &Kind) -> String {
    kind.pick(&match kind.name {
        "curve" | "season-curve" => curve(answer),
        "groups" | "season" => groups(answer),
        _ => money(answer),
    })
}

/// What stands in the column of groups for all of them.
const ALL: &str = "all groups";

/// The first row.
fn heading(names: &[&str]) -> Vec<String> {
    let names = names.iter().flat_map(|n| n.split(' '));
    names.map(str::to_owned).collect()
}

fn curve(answer: &Forecast) -> Vec<Vec<String>> {
    let mut rows = vec![heading(&["row group", DAY])];
    let mut add = |row: &str, name: &str, calving: Option<&Calving>| {
        for day in calving.iter().flat_map(|c| &c.curve) {
            rows.push(vec![
                row.to_owned(),
                name.to_owned(),
                day.date.to_string(),
                day.ai_head.to_string(),
                day.bulls_head.to_string(),
                format!("{:.4}", day.ai_head + day.bulls_head),
                day.born_percent.to_string(),
            ]);
        }
    };
    add("season-curve", ALL, answer.calving.as_ref());
    for g in &answer.groups {
        add("curve", &g.group, g.calving.as_ref());
    }
    rows
}

fn groups(answer: &Forecast) -> Vec<Vec<String>> {
    let mut rows = vec![heading(&["row group", OUTCOME])];
    let mut add = |row: &str,
                   name: &str,
                   o: &crate::analysis::forecast::Outcome,
                   calving: Option<&Calving>| {
        let mut cells = vec![
            row.to_owned(),
            name.to_owned(),
            o.head.to_string(),
            o.bred_head.to_string(),
        ];
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
    add("season", ALL, &answer.all, answer.calving.as_ref());
    for g in &answer.groups {
        add("groups", &g.group, &g.outcome, g.calving.as_ref());
    }
    rows
}

fn money(answer: &Forecast) -> Vec<Vec<String>> {
    let mut rows = vec![heading(&["row group side", AMOUNT])];
    let Some(m) = &answer.money else {
        return rows;
    };
    let mut add = |row: &str, group: &str, side: &str, e: &Entry| {
        rows.push(vec![
            row.to_owned(),
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
            add("money", &g.group, "", e);
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
                add("budget", ALL, side, e);
            }
        }
    }
    let mut sum = |group: &str, what: &str, amount: Option<crate::trade::figures::Money>| {
        if let Some(amount) = amount {
            rows.push(vec![
                "money-sums".into(),
                group.to_owned(),
                String::new(),
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
    rows
}
