//! The order list as tables for spreadsheets.

use chrono::NaiveDate;

use super::answer::{Answer, Kind};
use super::document::Document;
use super::supplies;
use super::table::Table;
use crate::analysis::supplies::OrderList;

impl Answer for OrderList {
    fn document(&self) -> Document {
        supplies::document(self)
    }

    /// Each size of package to buy, each use of a pass, straws by session, and fillings.
    fn tables(&self) -> Vec<Kind<Self>> {
        vec![
            Kind::new("buy", buy),
            Kind::new("uses", uses),
            Kind::new("straws", straws),
            Kind::new("nitrogen", nitrogen),
        ]
    }
}

/// What is to be bought: packages of one size, or an amount where no package is known.
#[derive(Clone, Default)]
struct Order<'a> {
    item: &'a str,
    name: String,
    first_use: Option<NaiveDate>,
    order_by: Option<NaiveDate>,
    group: &'a str,
    // Numbers as short as they are told elsewhere.
    amount: Option<String>,
    unit: &'a str,
    package_size: Option<u32>,
    package_unit: &'a str,
    packages: Option<u64>,
    price: Option<String>,
}

fn orders(a: &OrderList) -> Vec<Order<'_>> {
    let mut orders = Vec::new();
    for item in &a.items {
        let order = Order {
            item: &item.item,
            name: item.own_name.as_ref().unwrap_or(&item.name).clone(),
            first_use: item.first_use,
            order_by: item.order_by,
            ..Order::default()
        };
        let unit = item.buy_unit.as_deref().unwrap_or_default();
        let packages = item.buy.iter().flat_map(|b| &b.packages);
        orders.extend(packages.map(|p| Order {
            package_size: Some(p.size),
            package_unit: unit,
            packages: Some(p.count),
            price: p.price.map(|x| x.to_string()),
            ..order.clone()
        }));
        let loose = item.to_cover.filter(|_| item.buy.is_none());
        orders.extend(loose.map(|n| Order {
            amount: Some(n.to_string()),
            unit,
            ..order
        }));
    }
    let short = a.straws.iter().filter(|b| b.to_buy > 0);
    orders.extend(short.map(|b| Order {
        item: &b.bull,
        name: b.name.clone(),
        first_use: b.first_use,
        order_by: b.order_by,
        amount: Some(b.to_buy.to_string()),
        unit: "straws",
        ..Order::default()
    }));
    orders.extend(a.lacking_straws.iter().map(|g| Order {
        item: "straws",
        name: g.bulls.join(" or "),
        first_use: g.first_use,
        order_by: g.order_by,
        group: &g.group,
        amount: Some(g.straws.to_string()),
        unit: "straws",
        ..Order::default()
    }));
    orders
}

fn buy(a: &OrderList) -> String {
    let orders = orders(a);
    let mut t = Table::of(&orders);
    t.column("item", |o| o.item);
    t.column("name", |o| &o.name);
    t.column("first_use", |o| o.first_use);
    t.column("order_by", |o| o.order_by);
    t.column("group", |o| o.group);
    t.column("amount", |o| &o.amount);
    t.column("unit", |o| o.unit);
    t.column("package_size", |o| o.package_size);
    t.column("package_unit", |o| o.package_unit);
    t.column("packages", |o| o.packages);
    t.column("price", |o| &o.price);
    t.csv()
}

fn uses(a: &OrderList) -> String {
    let days = a.items.iter();
    let days = days.flat_map(|item| item.days.iter().map(move |d| (item, d)));
    let uses = days.flat_map(|(item, d)| d.passes.iter().map(move |p| (item, d, p)));
    let mut t = Table::of(uses);
    t.column("item", |(item, ..)| &item.item);
    t.column("name", |(item, ..)| {
        item.own_name.as_ref().unwrap_or(&item.name)
    });
    t.column("date", |(_, d, _)| d.date);
    t.column("group", |(.., p)| &p.group);
    t.column("pen", |(.., p)| p.pen);
    t.column("pass", |(.., p)| &p.pass);
    t.column("head", |(.., p)| p.head);
    t.column("amount", |(.., p)| p.amount.to_string());
    t.column("unit", |(item, ..)| &item.unit);
    t.csv()
}

fn straws(a: &OrderList) -> String {
    let bulls = a.straws.iter();
    let mut t = Table::of(bulls.flat_map(|b| b.days.iter().map(move |d| (b, d))));
    t.column("bull", |(b, _)| &b.bull);
    t.column("name", |(b, _)| &b.name);
    t.column("date", |(_, d)| d.date);
    t.column("session", |(_, d)| &d.session);
    t.column("straws", |(_, d)| d.straws);
    t.csv()
}

fn nitrogen(a: &OrderList) -> String {
    let tanks = a.nitrogen.iter();
    let mut t = Table::of(tanks.flat_map(|t| t.fills.iter().map(move |f| (t, f))));
    t.column("tank", |(t, _)| &t.tank);
    t.column("name", |(t, _)| &t.name);
    t.column("date", |(_, f)| f.date);
    t.column("order_by", |(_, f)| f.order_by);
    t.column("liters", |(_, f)| f.liters.map(|l| l.to_string()));
    t.csv()
}
