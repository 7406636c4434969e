//! The order list as tables for spreadsheets.

use crate::output::document::Document;
use chrono::NaiveDate;
use serde::Serialize;

use super::answer::{self, Kind};
use super::supplies;
use crate::analysis::supplies::OrderList;

/// Each size of package to buy, each use of a pass, straws by session, and fillings.
const TABLES: &[Kind] = &[
    Kind {
        name: "buy",
        columns: &[
            "item name first_use=date order_by group amount unit package_size package_unit packages",
            "price",
        ],
    },
    Kind {
        name: "uses",
        columns: &["item name date group pen pass head amount unit"],
    },
    Kind {
        name: "straws",
        columns: &["bull=item name date session=pass straws=amount"],
    },
    Kind {
        name: "nitrogen",
        columns: &["tank=item name date order_by liters=amount"],
    },
];

impl answer::Answer for OrderList {
    fn document(&self) -> Document {
        supplies::document(self)
    }

    fn json(&self) -> String {
        supplies::json(self)
    }

    fn tables(&self) -> &'static [Kind] {
        TABLES
    }

    fn table(&self, kind: &Kind) -> String {
        kind.of(&rows(self))
    }
}

#[derive(Default, Serialize)]
struct Row<'a> {
    row: &'static str,
    item: &'a str,
    name: String,
    date: Option<NaiveDate>,
    order_by: Option<NaiveDate>,
    group: &'a str,
    pen: Option<u32>,
    pass: &'a str,
    head: Option<u32>,
    // Numbers as short as they are told elsewhere.
    amount: String,
    unit: &'a str,
    package_size: Option<u32>,
    package_unit: &'a str,
    packages: Option<u64>,
    price: String,
}

fn rows(a: &OrderList) -> Vec<Row<'_>> {
    let mut rows = Vec::new();
    for item in &a.items {
        let name = item.own_name.as_ref().unwrap_or(&item.name);
        let row = |row: &'static str| Row {
            row,
            item: &item.item,
            name: name.clone(),
            ..Row::default()
        };
        let buy = || Row {
            date: item.first_use,
            order_by: item.order_by,
            ..row("buy")
        };
        let buy_unit = item.buy_unit.as_deref().unwrap_or_default();
        for d in &item.days {
            rows.extend(d.passes.iter().map(|p| Row {
                date: Some(d.date),
                group: &p.group,
                pen: p.pen,
                pass: &p.pass,
                head: Some(p.head),
                amount: p.amount.to_string(),
                unit: &item.unit,
                ..row("uses")
            }));
        }
        let packages = item.buy.iter().flat_map(|b| &b.packages);
        rows.extend(packages.map(|p| Row {
            package_size: Some(p.size),
            package_unit: buy_unit,
            packages: Some(p.count),
            price: p.price.map_or(String::new(), |x| x.to_string()),
            ..buy()
        }));
        if item.buy.is_none()
            && let Some(n) = item.to_cover
        {
            rows.push(Row {
                amount: n.to_string(),
                unit: buy_unit,
                ..buy()
            });
        }
    }
    for b in &a.straws {
        let row = |row: &'static str, date: Option<NaiveDate>, straws: u32| Row {
            row,
            item: &b.bull,
            name: b.name.clone(),
            date,
            amount: straws.to_string(),
            unit: "straws",
            ..Row::default()
        };
        rows.extend(b.days.iter().map(|d| Row {
            pass: &d.session,
            ..row("straws", Some(d.date), d.straws)
        }));
        if b.to_buy > 0 {
            rows.push(Row {
                order_by: b.order_by,
                ..row("buy", b.first_use, b.to_buy)
            });
        }
    }
    rows.extend(a.lacking_straws.iter().map(|g| Row {
        row: "buy",
        item: "straws",
        name: g.bulls.join(" or "),
        date: g.first_use,
        order_by: g.order_by,
        group: &g.group,
        amount: g.straws.to_string(),
        unit: "straws",
        ..Row::default()
    }));
    for t in &a.nitrogen {
        rows.extend(t.fills.iter().map(|f| Row {
            row: "nitrogen",
            item: &t.tank,
            name: t.name.clone(),
            date: Some(f.date),
            order_by: f.order_by,
            amount: f.liters.map_or(String::new(), |l| l.to_string()),
            unit: "L",
            ..Row::default()
        }));
    }
    rows
}
