//! The order list counted again, all of it, from the plan's passes and sessions and from the season.
//!
//! `uses` counts what each pass takes by the protocol's own steps; `labels` works out volumes and
//! feed; `buy` goes through purchases day by day and looks for better ones by a shortest path over what
//! a day still lacks; `straws` and `nitrogen` count these. Of the list's maker only the types are
//! known here, and of `tank` which straws a session takes. Sentences are not read: numbers in the
//! list by date are.

mod buy;
mod labels;
mod nitrogen;
mod straws;
mod uses;

use chrono::{NaiveDate, TimeDelta};

use super::Reading;
use thawline::error::Finding;
use thawline::plan::{Plan, Session};
use thawline::season::{Kind, Season};
use thawline::supplies::{FORMAT, Item, OnHand, OrderList, TankNitrogen};

/// Everything in which the list disagrees with plan and season; empty for a sound one.
#[must_use]
pub(crate) fn check(season: &Season, plan: &Plan, told: &OrderList) -> Vec<Finding> {
    let season = match thawline::verify::as_spread(season, plan) {
        Ok(spread) => spread,
        Err(faults) => return faults,
    };
    let mut r = Reading::new(&season, plan);
    head(&mut r, told);
    let own = uses::count(&r);
    let kinds: Vec<Kind> = Kind::ALL
        .iter()
        .copied()
        .filter(|k| own.lists(*k))
        .collect();
    let keys: Vec<&str> = kinds.iter().map(|k| k.key()).collect();
    let listed: Vec<&str> = told.items.iter().map(|i| i.item.as_str()).collect();
    r.same("what is listed", &keys, &listed);
    for (kind, item) in kinds.into_iter().zip(&told.items) {
        item_head(&mut r, kind, item);
        uses::check(&mut r, kind, &own, item);
        labels::check(&mut r, kind, item);
        buy::check(&mut r, kind, item);
    }
    straws::check(&mut r, told);
    nitrogen::check(&mut r, told);
    totals(&mut r, told);
    findings(&mut r, told);
    on_hand(&mut r, told);
    r.found
}

fn head(r: &mut Reading<'_>, told: &OrderList) {
    let season = r.season;
    let prices = season.prices.as_ref();
    let currency = prices.and_then(|p| p.currency.clone());
    r.same("form of the order list", &FORMAT, &told.format.as_str());
    let version = env!("CARGO_PKG_VERSION");
    r.same("program", &version, &told.program.as_str());
    r.same("season", &season.name, &told.season);
    r.same("zone", &season.zone.name(), &told.zone.as_str());
    r.same("currency", &currency, &told.currency);
}

/// Names, units, and when to order.
fn item_head(r: &mut Reading<'_>, kind: Kind, item: &Item) {
    let who = who(item);
    let stated = r.season.supplies.stated.get(&kind);
    let all = &r.season.supplies;
    r.same(&who, &kind.words(), &item.name.as_str());
    r.same(&who, &stated.and_then(|s| s.name.clone()), &item.own_name);
    let unit = match kind {
        Kind::Gnrh | Kind::Pg | Kind::Estradiol => "doses",
        Kind::Mga => "head-days",
        Kind::Disinfectant => "batches",
        _ => kind.key(),
    };
    r.same(&who, &unit, &item.unit.as_str());
    let lead = stated.map_or(all.lead_days, |s| s.lead_days);
    let spoiled = stated.map_or(all.spoilage_percent, |s| s.spoilage_percent);
    let first = item.days.iter().map(|d| d.date).min();
    r.same(&who, &first, &item.first_use);
    r.same(&who, &before(first, lead), &item.order_by);
    close(r, &who, spoiled, item.spoilage_percent);
    let keeps = stated.and_then(|s| s.opened_days);
    r.same(&who, &keeps, &item.opened_days);
}

fn who(item: &Item) -> String {
    format!("{} of the order list", item.item)
}

/// The day of an order for something that is used first on a day.
fn before(first: Option<NaiveDate>, lead_days: u32) -> Option<NaiveDate> {
    match lead_days {
        0 => None,
        n => first?.checked_sub_signed(TimeDelta::days(i64::from(n))),
    }
}

/// Told to the hundredth.
fn close(r: &mut Reading<'_>, who: &str, right: f64, told: f64) {
    // What is no number is wrong, too.
    let near = (right - told).abs() <= 0.0051 + right.abs() * 1e-9;
    if !near {
        r.wrong(who, right, told);
    }
}

/// The same of what may be absent.
fn close_if(r: &mut Reading<'_>, who: &str, right: Option<f64>, told: Option<f64>) {
    match (right, told) {
        (Some(right), Some(told)) => close(r, who, right, told),
        (None, None) => {}
        _ => r.wrong(who, format!("{right:?}"), format!("{told:?}")),
    }
}

/// What all costs, and what has no price.
fn totals(r: &mut Reading<'_>, told: &OrderList) {
    let (mut sum, mut any, mut without) = (0.0, false, Vec::new());
    for item in &told.items {
        match item.buy.as_ref().and_then(|b| b.price) {
            Some(price) => {
                sum += price;
                any = true;
            }
            None => without.push(item.item.clone()),
        }
    }
    close_if(r, "price of all", any.then_some(sum), told.price);
    r.same("without a price", &without, &told.without_price);
}

/// One note of what is not stated, if anything is not, and one for each thing stated in vain.
fn findings(r: &mut Reading<'_>, told: &OrderList) {
    let stated = &r.season.supplies.stated;
    let listed = |k: &Kind| told.items.iter().any(|i| i.item == k.key());
    let vain = stated.keys().filter(|k| !listed(k)).count();
    let lacks = |kind: &Kind| {
        let Some(s) = stated.get(kind) else {
            return true;
        };
        let feed = s.feed.mg_per_lb.or(s.feed.lb_a_head);
        s.packages.is_empty()
            || match kind {
                Kind::Gnrh | Kind::Pg | Kind::Estradiol => s.ml_a_dose.is_none(),
                Kind::Mga => feed.is_none(),
                Kind::Syringe => s.head_each.is_none(),
                _ => false,
            }
    };
    let wanted = Kind::ALL.iter().any(|k| listed(k) && lacks(k));
    let of = |code: &str| {
        told.findings
            .iter()
            .filter(|f| f.code.as_str() == code)
            .count()
    };
    let (open, unused) = (of("O104"), of("O105"));
    r.same("notes of what is stated in vain", &vain, &unused);
    r.same("notes of what is not stated", &usize::from(wanted), &open);
    let others = told.findings.len() - open - unused;
    r.same("other findings of the list", &0, &others);
}

/// The list by date: everything once, the first to use first, with its numbers.
fn on_hand(r: &mut Reading<'_>, told: &OrderList) {
    type Row<'a> = (NaiveDate, Option<NaiveDate>, &'a str, String, Vec<f64>);
    let mut right: Vec<Row<'_>> = Vec::new();
    for item in &told.items {
        let Some(by) = item.first_use else { continue };
        let what = item.own_name.as_ref().unwrap_or(&item.name);
        let numbers = match (&item.buy, item.to_cover.or(item.amount)) {
            (Some(buy), _) if item.buy_unit.is_some() => {
                let each = buy.packages.iter();
                each.flat_map(|p| [p.count as f64, f64::from(p.size)])
                    .collect()
            }
            (_, Some(n)) => vec![n],
            _ => Vec::new(),
        };
        right.push((by, item.order_by, &item.item, what.clone(), numbers));
    }
    for b in &told.straws {
        let Some(by) = b.first_use else { continue };
        let mut numbers = vec![f64::from(b.set_aside + b.waste), f64::from(b.on_hand)];
        numbers.extend((b.to_buy > 0).then_some(f64::from(b.to_buy)));
        right.push((by, b.order_by, "straws", b.name.clone(), numbers));
    }
    for g in &told.lacking_straws {
        let Some(by) = g.first_use else { continue };
        let what = format!("Short for {}", g.group);
        // Bulls' names may have digits: these are looked for among them.
        right.push((by, g.order_by, "straws", what, vec![f64::from(g.straws)]));
    }
    for tank in &told.nitrogen {
        let what = format!("Nitrogen for {}", tank.name);
        for f in &tank.fills {
            let n = f.liters.unwrap_or(f.percent);
            right.push((f.date, f.order_by, "nitrogen", what.clone(), vec![n]));
        }
    }
    right.sort_by_key(|row| (row.0, row.1));
    r.same("list by date, rows", &right.len(), &told.on_hand.len());
    for (row, o) in right.iter().zip(&told.on_hand) {
        let who = format!("{} on hand by {}", row.3, row.0);
        let key = |o: &OnHand| (o.by, o.order_by, o.item.clone(), o.what.clone());
        r.same(
            &who,
            &(row.0, row.1, row.2.to_owned(), row.3.clone()),
            &key(o),
        );
        let there = numbers(&o.amount);
        // Nitrogen is told to the whole liter or percent.
        let within = if row.2 == "nitrogen" { 0.501 } else { 0.006 };
        let near = |(a, b): (&f64, &f64)| (a - b).abs() < within;
        let same = there.len() >= row.4.len() && there.iter().zip(&row.4).all(near);
        if !same {
            r.wrong(&who, format!("{:?}", row.4), &o.amount);
        }
    }
}

/// The numbers of a text, in order.
fn numbers(text: &str) -> Vec<f64> {
    text.split(|c: char| !(c.is_ascii_digit() || c == '.'))
        .filter_map(|n| n.trim_end_matches('.').parse().ok())
        .collect()
}

/// The day on which a session's first cow is bred, by its slots; its first where nobody is.
fn first_cow(session: &Session) -> NaiveDate {
    let cows = session.slots.iter().flat_map(|slot| {
        let minutes = slot.bred_minutes.iter();
        minutes.map(|m| slot.start + TimeDelta::seconds((m * 60.0).round() as i64))
    });
    cows.min().unwrap_or(session.open).date_naive()
}

/// The tank of an id.
fn tank_of<'a>(told: &'a OrderList, id: &str) -> Option<&'a TankNitrogen> {
    told.nitrogen.iter().find(|t| t.tank == id)
}
