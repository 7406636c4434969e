//! The order list in words, and as tables for spreadsheets.

use chrono::NaiveDate;

use super::answer::{Answer, Tables};
use super::document::{Block, Cell, Document, Hold, Line, Row, Span, TableKind, words};
use super::remarks;
use super::table::{Table, fields, kinds, nested};
use super::times::short_date;
use crate::analysis::supplies::words::packages;
use crate::analysis::supplies::{
    BullNeed, DayUse, Fill, Item, LabelDose, Lacking, OpenedOn, OrderList, Purchase, TankNitrogen,
};
use crate::base::error::visible;
use crate::base::time::human_date;
use crate::base::units::count;

impl Answer for OrderList {
    /// The list by date first, then what to buy, then each class by day, straws and nitrogen.
    fn document(&self) -> Document {
        let season = visible(&self.season);
        let times = format!("Order list. Days are local, {}.", self.zone);
        let mut blocks = vec![
            Block::heading(1, &season),
            Block::paragraph(times),
            Block::bullets(&self.words),
        ];
        blocks.extend(on_hand(self));
        blocks.extend(buy(self));
        blocks.extend(self.items.iter().map(of_item));
        blocks.extend(straws(self));
        if !self.nitrogen.is_empty() {
            let tanks = self.nitrogen.iter().flat_map(of_tank).collect();
            blocks.push(Block::part("nitrogen", "Liquid nitrogen", tanks));
        }
        blocks.extend(remarks(&self.findings));
        Document::new(format!("{season} – order list"), blocks)
    }

    /// Each size of package to buy, each use of a pass, straws by session, and fillings.
    fn tables(&self) -> Tables<Self> {
        kinds![packages_to_buy as "buy", uses, straws_by_session as "straws", fills as "nitrogen"]
    }
}

/// A table of these columns, without those that are empty in each row. The first names its row.
fn table<const N: usize>(name: &str, columns: [&str; N], rows: &[[Line; N]]) -> Block {
    let shown = |n: usize| n == 0 || rows.iter().any(|r| r[n] != Line::default());
    let columns: Vec<(usize, &str)> = columns.into_iter().enumerate().collect();
    let columns: Vec<(usize, &str)> = columns.into_iter().filter(|(n, _)| shown(*n)).collect();
    let names: Vec<&str> = columns.iter().map(|(_, name)| *name).collect();
    let of = |row: &[Line; N]| {
        let cell = |(n, _): &(usize, &str)| Cell {
            heads: *n == 0,
            ..Cell::of(Hold::Names, row[*n].clone())
        };
        Row::of(columns.iter().map(cell).collect())
    };
    Block::table_of(TableKind::Stack, name, &names, rows.iter().map(of))
}

fn on_hand(a: &OrderList) -> Option<Block> {
    let rows = a.on_hand.iter().map(|o| {
        [
            human_date(o.by).into(),
            o.order_by.map(short_date).into(),
            words![&o.what],
            words![&o.amount],
        ]
    });
    let title = "On hand by date, the day of first use";
    let columns = ["On hand by", "Order by", "What", "How much"];
    let list = table(title, columns, &rows.collect::<Vec<_>>());
    (!a.on_hand.is_empty()).then(|| Block::part("on-hand", title, vec![list]))
}

fn buy(a: &OrderList) -> Option<Block> {
    let mut rows = Vec::new();
    for item in &a.items {
        let (Some(buy), Some(need)) = (&item.buy, item.to_cover) else {
            continue;
        };
        let unit = item.buy_unit.as_deref().unwrap_or_default();
        let on_top = (item.spoilage_percent > 0.0)
            .then(|| format!(" (with {} % extra)", item.spoilage_percent));
        let need = words![amount(need, unit), on_top];
        let name = item.own_name.as_ref().unwrap_or(&item.name);
        rows.push(bought(name.into(), need, buy, unit));
        let cheaper = item.cheaper.iter();
        rows.extend(cheaper.map(|p| bought("  or cheaper".into(), Line::default(), p, unit)));
    }
    if rows.is_empty() && a.price.is_none() {
        return None;
    }
    let currency = a.currency.as_ref().map(|c| format!(" {c}"));
    let currency = currency.unwrap_or_default();
    let price = format!("Price{}", currency.replacen(' ', ", ", 1));
    let columns = ["What", "Packages", "Needed", "Left over", price.as_str()];
    let title = "What to buy, with the fewest leftovers";
    let mut blocks = vec![table(title, columns, &rows)];
    if let Some(price) = a.price {
        blocks.push(Block::paragraph(format!(
            "All of it costs {price:.2}{currency}. That leaves out straws and nitrogen."
        )));
        if !a.without_price.is_empty() {
            let without = a.without_price.join(", ");
            let without = format!("Unpriced items, left out of the total: {without}.");
            blocks.push(Block::paragraph(without));
        }
    }
    Some(Block::part("buy", title, blocks))
}

fn bought(name: Line, need: Line, p: &Purchase, unit: &str) -> [Line; 5] {
    let best = (!p.proven).then_some(" (the best found: there are too many ways to try each)");
    let too_old = (p.too_old > 0.0).then(|| {
        let old = amount(p.too_old, unit);
        format!(", of which {old} goes out of date once opened")
    });
    [
        name,
        words![packages(&p.packages, unit), best],
        need,
        words![amount(p.left_over, unit), too_old],
        p.price.map(|x| format!("{x:.2}")).into(),
    ]
}

fn amount(n: f64, unit: &str) -> String {
    if unit == "pieces" {
        n.to_string()
    } else {
        format!("{n} {unit}")
    }
}

fn of_item(item: &Item) -> Block {
    let total = item.amount.map(|n| format!(": {n} {}", item.unit));
    let title = words![&item.name, total];
    let mut said = item.basis.clone();
    let own = item.own_ml_a_dose;
    said.extend(own.map(|ml| format!("Volumes are at {ml} mL a dose, as you state.")));
    let mut blocks: Vec<Block> = said.iter().map(Block::paragraph).collect();
    let labels: Vec<String> = item.labels.iter().filter_map(|l| label(l, item)).collect();
    if !labels.is_empty() {
        blocks.push(Block::bullets(labels));
    }
    if !item.days.is_empty() {
        blocks.push(days(item));
    }
    let opened: Vec<&OpenedOn> = item.buy.iter().flat_map(|b| &b.opened).collect();
    if let (Some(keeps), false) = (item.opened_days, opened.is_empty()) {
        let keeps = format!("A package keeps {keeps} days once it is open. When to open which:");
        blocks.push(Block::paragraph(keeps));
    }
    if !opened.is_empty() {
        let unit = item.buy_unit.as_deref().unwrap_or_default();
        let rows = opened.iter().map(|o| {
            let left = (o.left > 0.0).then(|| (amount(o.left, unit), human_date(o.use_by)));
            let (left, until) = left.unzip();
            let open = packages(&o.packages, unit);
            let day = human_date(o.date);
            [day.into(), open.into(), left.into(), until.into()]
        });
        let columns = ["Open on", "Packages", "Left", "Good to"];
        let rows: Vec<_> = rows.collect();
        blocks.push(table("What to open when", columns, &rows));
    }
    let id = format!("item-{}", item.item.replace('_', "-"));
    Block::part(&id, title, blocks)
}

/// A label's dose, and its volume at each strength. What is fed stands in the basis already.
fn label(label: &LabelDose, item: &Item) -> Option<String> {
    let dose = format!("{}, {} ({})", label.substance, label.dose, label.source);
    if label.strengths.is_empty() {
        return item.feed.is_none().then(|| format!("{dose}."));
    }
    let volumes = label.strengths.iter().map(|s| {
        let source = s.source.as_deref();
        let source = source.unwrap_or("strength not checked against a label");
        let (each, strength, all) = (s.ml_a_dose, &s.in_each_ml, s.ml);
        format!("{each} mL of {strength}/mL ({source}), {all} mL in all")
    });
    let volumes: Vec<String> = volumes.collect();
    Some(format!("{dose}: {}.", volumes.join("; or ")))
}

/// Days in turn that are alike, as those of a feeding, are one row.
fn days(item: &Item) -> Block {
    let alike = |a: &DayUse, b: &DayUse| {
        a.date.succ_opt() == Some(b.date)
            && a.amount.total_cmp(&b.amount).is_eq()
            && a.passes == b.passes
    };
    let rows = item.days.chunk_by(alike).map(|run| {
        let first = &run[0];
        let day = human_date(first.date);
        let last = run.last().filter(|_| run.len() > 1);
        let span = last.map(|d| format!(" to {}, each day", human_date(d.date)));
        day_row(words![day, span], item, first)
    });
    let feed = item.feed.as_ref();
    let feed = feed.map_or_else(String::new, |f| format!("Feed, {}", f.unit));
    let used = match item.feed {
        Some(_) => "Head",
        None => "Number",
    };
    let columns = ["Day", used, "MGA, mg", &feed, "mL", "For"];
    table("Used by day", columns, &rows.collect::<Vec<_>>())
}

fn day_row(day: Line, item: &Item, d: &DayUse) -> [Line; 6] {
    let feed = d.feed.map(|(least, most)| {
        if least < most {
            format!("{least} to {most}")
        } else {
            most.to_string()
        }
    });
    let volumes: Vec<String> = d.volumes.iter().map(|v| v.ml.to_string()).collect();
    // Who it is for stands beside drugs, feed, patches and sheaths; other goods follow these.
    let follows = [
        "applicators",
        "disinfectant",
        "needles",
        "syringes",
        "gloves",
        "towels",
    ]
    .contains(&item.item.as_str());
    let passes = d.passes.iter().filter(|_| !follows);
    let who = passes.map(|p| {
        let pen = p.pen.map(|pen| format!(" pen {pen}"));
        words![&p.group, pen, ": ", p.head, " head"]
    });
    [
        day,
        d.amount.into(),
        d.mga_mg.into(),
        feed.into(),
        any_of(&volumes).into(),
        Line::joined(who, ", "),
    ]
}

/// `a, b or c`.
fn any_of(all: &[String]) -> String {
    match all.split_last() {
        Some((last, before)) if !before.is_empty() => format!("{} or {last}", before.join(", ")),
        _ => all.concat(),
    }
}

fn straws(a: &OrderList) -> Option<Block> {
    let short = |g: &Lacking| {
        let straws = count(g.straws, "straw", "straws");
        let bulls = g.bulls.join(" or ");
        format!(
            "{}: {straws} short. Buy them of {bulls}: all straws on hand are set aside.",
            g.group
        )
    };
    let mut blocks = Vec::new();
    if !a.lacking_straws.is_empty() {
        blocks.push(Block::bullets(a.lacking_straws.iter().map(short)));
    }
    if !a.straws.is_empty() {
        let columns = [
            "Bull",
            "To use",
            "Extra for waste",
            "On hand",
            "TO BUY",
            "Used on",
        ];
        let rows: Vec<_> = a.straws.iter().map(of_bull).collect();
        blocks.push(table("Straws by bull", columns, &rows));
    }
    (!blocks.is_empty()).then(|| Block::part("straws", "Straws by bull", blocks))
}

fn of_bull(b: &BullNeed) -> [Line; 6] {
    let some = |n: u32| Line::from((n > 0).then_some(n));
    let days = b.days.iter();
    let days = days.map(|d| format!("{}: {} ({})", human_date(d.date), d.straws, d.session));
    [
        words![&b.name],
        b.set_aside.into(),
        some(b.waste),
        b.on_hand.into(),
        some(b.to_buy),
        Line::joined(days, Span::Break),
    ]
}

fn of_tank(t: &TankNitrogen) -> Vec<Block> {
    let fill = |f: &Fill| {
        let (day, percent) = (human_date(f.date), f.percent);
        let fill = match f.liters {
            Some(l) => format!("{day}: add about {l:.0} L ({percent:.0} % of the tank)"),
            None => format!("{day}: add {percent:.0} % of a full tank"),
        };
        let stated = f.stated.then_some(", the filling you entered");
        words![fill, stated, "."]
    };
    let mut blocks = vec![Block::heading(3, &t.name)];
    blocks.extend(t.words.iter().map(Block::paragraph));
    if !t.fills.is_empty() {
        blocks.push(Block::bullets(t.fills.iter().map(fill)));
    }
    blocks
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

fn packages_to_buy(a: &OrderList) -> String {
    let orders = orders(a);
    let mut t = Table::of(&orders);
    fields!(t, |o| o =>
        item, name, first_use, order_by, group, amount, unit, package_size, package_unit, packages,
        price);
    t.csv()
}

fn uses(a: &OrderList) -> String {
    let days = nested(&a.items, |item| &item.days);
    let mut t = Table::of(nested(days, |(_, d)| &d.passes));
    t.column("item", |((item, _), _)| &item.item);
    t.column("name", |((item, _), _)| {
        item.own_name.as_ref().unwrap_or(&item.name)
    });
    t.column("date", |((_, d), _)| d.date);
    fields!(t, |(_, p)| p => group, pen, pass, head);
    t.column("amount", |(_, p)| p.amount.to_string());
    t.column("unit", |((item, _), _)| &item.unit);
    t.csv()
}

fn straws_by_session(a: &OrderList) -> String {
    let mut t = Table::of(nested(&a.straws, |b| &b.days));
    fields!(t, |(b, _)| b => bull, name);
    fields!(t, |(_, d)| d => date, session, straws);
    t.csv()
}

fn fills(a: &OrderList) -> String {
    let mut t = Table::of(nested(&a.nitrogen, |t| &t.fills));
    fields!(t, |(t, _)| t => tank, name);
    fields!(t, |(_, f)| f => date, order_by);
    t.column("liters", |(_, f)| f.liters.map(|l| l.to_string()));
    t.csv()
}
