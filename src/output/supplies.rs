//! The order list for the terminal, and as JSON.

use std::fmt::Write as _;

use chrono::NaiveDate;

use super::{line, remark};
use crate::analysis::supplies::words::packages;
use crate::analysis::supplies::{
    Answer, BullNeed, DayUse, Item, LabelDose, Purchase, TankNitrogen,
};
use crate::base::error::visible;
use crate::base::time::human_date;
use crate::base::units::count;

/// The list by date first, then what to buy, then each class by day, straws and nitrogen.
#[must_use]
pub fn text(a: &Answer) -> String {
    let mut text = String::new();
    line(&mut text, &visible(&a.season), "");
    let _ = writeln!(text, "Order list. Days are local, {}.\n", a.zone);
    for sentence in &a.words {
        line(&mut text, sentence, "");
    }
    on_hand(a, &mut text);
    buy(a, &mut text);
    for item in &a.items {
        of_item(item, &mut text);
    }
    if !a.straws.is_empty() || !a.lacking_straws.is_empty() {
        text.push_str("\nStraws by bull\n");
        for bull in &a.straws {
            of_bull(bull, &mut text);
        }
        for group in &a.lacking_straws {
            let words = format!(
                "{}: {} short, to buy of {}: all on hand are set aside.",
                group.group,
                count(group.straws, "straw", "straws"),
                group.bulls.join(" or ")
            );
            line(&mut text, &words, "  ");
        }
    }
    if !a.nitrogen.is_empty() {
        text.push_str("\nLiquid nitrogen\n");
        for tank in &a.nitrogen {
            of_tank(tank, &mut text);
        }
    }
    if !a.findings.is_empty() {
        text.push('\n');
    }
    for finding in &a.findings {
        let _ = writeln!(text, "{}", remark(finding));
    }
    text
}

/// `thawline.supplies/1`.
#[must_use]
pub fn json(a: &Answer) -> String {
    super::json::text(a)
}

fn on_hand(a: &Answer, text: &mut String) {
    if a.on_hand.is_empty() {
        return;
    }
    text.push_str("\nOn hand by date, the day of first use\n");
    for o in &a.on_hand {
        let order = o
            .order_by
            .map_or(String::new(), |d| format!("; order by {}", short(d)));
        let words = format!("{}: {}{order}", o.what, o.amount);
        dated(text, o.by, &words);
    }
}

/// A day in a column of its own, and words beside it.
fn dated(text: &mut String, date: NaiveDate, words: &str) {
    let first = format!("  {:>15}  ", human_date(date));
    text.push_str(&super::wrapped(words, &first, &" ".repeat(21)));
    text.push('\n');
}

/// `Fri 5 Mar`.
fn short(date: NaiveDate) -> String {
    date.format("%a %-d %b").to_string()
}

fn buy(a: &Answer, text: &mut String) {
    let known = a.items.iter().filter(|i| i.buy.is_some());
    let mut any = false;
    for item in known {
        if !any {
            text.push_str("\nWhat to buy, with the fewest leftovers\n");
            any = true;
        }
        let (Some(buy), Some(need)) = (&item.buy, item.to_cover) else {
            continue;
        };
        let unit = item.buy_unit.as_deref().unwrap_or_default();
        let mut words = format!(
            "{}: {}",
            item.own_name.as_ref().unwrap_or(&item.name),
            packages(&buy.packages, unit)
        );
        let _ = write!(words, " for {}", amount(need, unit));
        if item.spoilage_percent > 0.0 {
            let _ = write!(words, " ({} % on top)", item.spoilage_percent);
        }
        let _ = write!(words, "; {} left over", amount(buy.left_over, unit));
        if buy.too_old > 0.0 {
            let _ = write!(words, ", {} of it too long open", amount(buy.too_old, unit));
        }
        words += &cost(a, buy);
        words += if buy.proven {
            "."
        } else {
            "; the best found, as there are too many ways to try each."
        };
        line(text, &words, "  ");
        if let Some(less) = &item.cheaper {
            let words = format!(
                "cheaper: {}, {} left over{}.",
                packages(&less.packages, unit),
                amount(less.left_over, unit),
                cost(a, less)
            );
            line(text, &words, "    ");
        }
    }
    if let Some(price) = a.price {
        let currency = a.currency.as_deref().map(|c| format!(" {c}"));
        let mut words = format!("In all {price:.2}{}", currency.unwrap_or_default());
        if !a.without_price.is_empty() {
            let _ = write!(words, ", without {}", a.without_price.join(", "));
        }
        line(
            text,
            &format!("{words}; straws and nitrogen are not in it."),
            "  ",
        );
    }
}

fn cost(a: &Answer, p: &Purchase) -> String {
    p.price.map_or(String::new(), |x| {
        let currency = a.currency.as_deref().map(|c| format!(" {c}"));
        format!("; {x:.2}{}", currency.unwrap_or_default())
    })
}

fn amount(n: f64, unit: &str) -> String {
    if unit == "pieces" {
        n.to_string()
    } else {
        format!("{n} {unit}")
    }
}

fn of_item(item: &Item, text: &mut String) {
    let total = item
        .amount
        .map_or(String::new(), |n| format!(": {n} {}", item.unit));
    let _ = writeln!(text, "\n{}{total}", item.name);
    for sentence in &item.basis {
        line(text, sentence, "  ");
    }
    if let Some(own) = item.own_ml_a_dose {
        let words = format!("Volumes are at {own} mL a dose, as you state.");
        line(text, &words, "  ");
    }
    for label in &item.labels {
        label_dose(label, item, text);
    }
    days(item, text);
    let opened: Vec<_> = item.buy.iter().flat_map(|b| &b.opened).collect();
    if let (Some(days), false) = (item.opened_days, opened.is_empty()) {
        let words = format!("Opened when, as one keeps {days} days once open:");
        line(text, &words, "  ");
    }
    for o in opened {
        let unit = item.buy_unit.as_deref().unwrap_or_default();
        let left = if o.left > 0.0 {
            format!(
                "; {} left, good to {}",
                amount(o.left, unit),
                human_date(o.use_by)
            )
        } else {
            String::new()
        };
        dated(
            text,
            o.date,
            &format!("{}{left}", packages(&o.packages, unit)),
        );
    }
}

fn label_dose(label: &LabelDose, item: &Item, text: &mut String) {
    if label.strengths.is_empty() {
        if item.feed.is_none() {
            let words = format!("{}, {} ({}).", label.substance, label.dose, label.source);
            line(text, &words, "  ");
        }
        return;
    }
    let volumes: Vec<String> = label
        .strengths
        .iter()
        .map(|s| {
            format!(
                "{} mL of {}/mL ({}), {} mL in all",
                s.ml_a_dose,
                s.in_each_ml,
                s.source.as_deref().unwrap_or("strength from memory"),
                s.ml
            )
        })
        .collect();
    let words = format!(
        "{}, {} ({}): {}.",
        label.substance,
        label.dose,
        label.source,
        volumes.join("; or ")
    );
    line(text, &words, "  ");
}

/// Days in turn that are alike, as those of a feeding, are one line.
fn days(item: &Item, text: &mut String) {
    let alike = |a: &DayUse, b: &DayUse| {
        a.date.succ_opt() == Some(b.date)
            && a.amount.total_cmp(&b.amount).is_eq()
            && a.passes == b.passes
    };
    let mut first = 0;
    while first < item.days.len() {
        let mut last = first;
        while last + 1 < item.days.len() && alike(&item.days[last], &item.days[last + 1]) {
            last += 1;
        }
        let d = &item.days[first];
        let words = day_words(item, d);
        if last > first {
            let span = format!("to {}, each day: {words}", human_date(item.days[last].date));
            dated(text, d.date, &span);
        } else {
            dated(text, d.date, &words);
        }
        first = last + 1;
    }
}

fn day_words(item: &Item, d: &DayUse) -> String {
    let mut words = if item.feed.is_some() {
        format!("{} head", d.amount)
    } else {
        d.amount.to_string()
    };
    if let Some(mg) = d.mga_mg {
        let _ = write!(words, ", {mg} mg");
    }
    if let (Some((least, most)), Some(f)) = (d.feed, &item.feed) {
        if least < most {
            let _ = write!(words, " in {least} to {most} {}", f.unit);
        } else {
            let _ = write!(words, " in {most} {}", f.unit);
        }
    }
    if !d.volumes.is_empty() {
        let all: Vec<String> = d.volumes.iter().map(|v| v.ml.to_string()).collect();
        let _ = write!(words, " = {} mL", any_of(&all));
    }
    // Who it is for stands beside drugs, feed, patches and sheaths; other goods follow these.
    if ["needles", "syringes", "gloves", "towels"].contains(&item.item.as_str()) {
        return words;
    }
    let who: Vec<String> = d
        .passes
        .iter()
        .map(|p| match p.pen {
            Some(pen) => format!("{} pen {pen}: {} head", p.group, p.head),
            None => format!("{}: {} head", p.group, p.head),
        })
        .collect();
    format!("{words} ({})", who.join(", "))
}

/// `a, b or c`.
fn any_of(all: &[String]) -> String {
    match all.split_last() {
        Some((last, before)) if !before.is_empty() => format!("{} or {last}", before.join(", ")),
        _ => all.concat(),
    }
}

fn of_bull(b: &BullNeed, text: &mut String) {
    let mut words = format!("{}: {} to use", b.name, b.set_aside);
    if b.waste > 0 {
        let _ = write!(words, ", {} on top as waste", b.waste);
    }
    let _ = write!(words, ", {} on hand", b.on_hand);
    if b.to_buy > 0 {
        let _ = write!(words, ", {} TO BUY", b.to_buy);
    }
    line(text, &words, "  ");
    for d in &b.days {
        dated(text, d.date, &format!("{} ({})", d.straws, d.session));
    }
}

fn of_tank(t: &TankNitrogen, text: &mut String) {
    for (n, words) in t.words.iter().enumerate() {
        if n == 0 {
            line(text, &format!("{}: {words}", t.name), "  ");
        } else {
            line(text, words, "    ");
        }
    }
    for f in &t.fills {
        let liters = f
            .liters
            .map_or(String::new(), |l| format!(", about {l:.0} L"));
        let stated = if f.stated { ", as you state" } else { "" };
        dated(
            text,
            f.date,
            &format!("fill: {:.0} % of the tank{liters}{stated}", f.percent),
        );
    }
}
