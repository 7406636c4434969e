//! Purchases: gone through day by day, and held against the best there is.
//!
//! The best is found by another way than the list's: one package is opened after the other, each only
//! when all before are empty or too old. All that counts then is the day and what it still lacks; what
//! a package leaves over lasts for days that are known. So from each lack a package leads to a later
//! one, and the cheapest way to the end is a shortest path.

use std::cmp::Reverse;
use std::collections::BTreeMap;

use chrono::NaiveDate;

use super::{close, close_if, labels, who};
use crate::oracle::Reading;
use thawline::season::{Kind, PackUnit, Supply};
use thawline::supplies::{Item, PackageCount, Purchase};

/// Amounts are held in thousandths, rounded up day by day over all so far.
const THOUSAND: f64 = 1000.0;

/// Steps after which the best is not looked for any more: far more than any herd's packages take.
const MOST_STEPS: usize = 3_000_000;

/// Bought, price in hundredths, packages; or price first.
type Cost = [u64; 3];

/// What is needed, day by day, and what it is bought in.
struct Needs<'a> {
    stated: &'a Supply,
    days: Vec<(NaiveDate, u64)>,
    /// Sizes in thousandths with prices in hundredths, where each has one.
    sizes: Vec<(u64, u64)>,
    priced: bool,
}

pub(super) fn check(r: &mut Reading<'_>, kind: Kind, item: &Item) {
    let who = who(item);
    let stated = r.season.supplies.stated.get(&kind);
    let injected = matches!(kind, Kind::Gnrh | Kind::Pg | Kind::Estradiol);
    let own_ml = stated.and_then(|s| s.ml_a_dose);
    let unit = match (stated.map(|s| s.unit), kind) {
        (_, Kind::Mga) => labels::feed_unit(r),
        (None | Some(PackUnit::Ml), _) if injected && own_ml.is_none() => PackUnit::Doses,
        (None, _) if !injected => PackUnit::Pieces,
        (None, _) => PackUnit::Doses,
        (Some(unit), _) => unit,
    };
    // What one dose, head-day or piece is in that unit.
    let each = match (kind, unit) {
        (Kind::Mga, _) => {
            let (_, [_, most], strength) = labels::daily(r);
            strength.map(|_| most)
        }
        (_, PackUnit::Ml) => own_ml,
        _ => Some(1.0),
    };
    let (Some(each), Some(_)) = (each, item.amount) else {
        r.same(&who, &(None, None), &(item.to_cover, item.buy_unit.clone()));
        nothing(r, &who, item);
        return;
    };
    let whole = matches!(unit, PackUnit::Pieces | PackUnit::Doses);
    let on_top = 1.0 + item.spoilage_percent / 100.0;
    let (mut days, mut amount, mut before) = (Vec::new(), 0.0, 0);
    for day in &item.days {
        amount += day.amount;
        let exact = amount * each * on_top;
        // A hair above is rounding.
        let so_far = if whole {
            (exact - 1e-6).ceil() * THOUSAND
        } else {
            (exact * THOUSAND - 1e-3).ceil()
        };
        let so_far = so_far.max(0.0) as u64;
        days.push((day.date, so_far - before));
        before = so_far;
    }
    let needed: u64 = days.iter().map(|d| d.1).sum();
    close_if(r, &who, Some(needed as f64 / THOUSAND), item.to_cover);
    let name = match unit {
        PackUnit::Ml => "mL",
        PackUnit::Doses => "doses",
        PackUnit::Lb => "lb",
        PackUnit::Kg => "kg",
        PackUnit::Pieces => "pieces",
    };
    r.same(&who, &Some(name), &item.buy_unit.as_deref());
    let Some(stated) = stated.filter(|s| needed > 0 && !s.packages.is_empty()) else {
        nothing(r, &who, item);
        return;
    };
    let price = |p: f64| (p * 100.0).round() as u64;
    let needs = Needs {
        stated,
        days,
        sizes: stated
            .packages
            .iter()
            .map(|p| {
                let cents = p.price.map_or(0, |x| price(f64::from(x)));
                (u64::from(p.size) * 1000, cents)
            })
            .collect(),
        priced: stated.packages.iter().all(|p| p.price.is_some()),
    };
    let who = format!("packages of {}", item.item);
    let Some(buy) = &item.buy else {
        r.wrong(&who, "packages", "none");
        return;
    };
    purchase(r, &who, &needs, buy);
    best(r, &who, &needs, item, buy);
}

fn nothing(r: &mut Reading<'_>, who: &str, item: &Item) {
    for bought in [&item.buy, &item.cheaper] {
        r.same(who, &None, bought);
    }
}

/// The choice is the best there is, and what costs less stands beside it where there is any.
fn best(r: &mut Reading<'_>, who: &str, needs: &Needs<'_>, item: &Item, buy: &Purchase) {
    let cost = |p: &Purchase| -> Cost {
        let held = p
            .packages
            .iter()
            .map(|p| u64::from(p.size) * 1000 * p.count);
        let count = p.packages.iter().map(|p| p.count);
        let cents = p.price.map_or(0, |x| (x * 100.0).round() as u64);
        [held.sum(), cents, count.sum()]
    };
    let (held, least) = (cost(buy), item.cheaper.as_ref().map(cost));
    if let Some(cheaper) = &item.cheaper {
        let who = format!("cheaper {who}");
        purchase(r, &who, needs, cheaper);
        let less = needs.priced && least.is_some_and(|c| c[1] < held[1]);
        if !less {
            r.wrong(&who, "a price below the other's", format!("{least:?}"));
        }
    }
    if let Some(right) = shortest(needs, [0, 1, 2]).filter(|_| buy.proven) {
        r.same(who, &right, &held);
    }
    let proven = item.cheaper.as_ref().is_none_or(|c| c.proven) && buy.proven;
    if let Some(right) = shortest(needs, [1, 0, 2]).filter(|_| needs.priced && proven) {
        let right = Some(right).filter(|c| c[1] < held[1]);
        r.same(&format!("cheaper {who}"), &right, &least);
    }
}

/// The least cost that covers all days, weighed in this order; nothing where that is too much to
/// look for.
fn shortest(needs: &Needs<'_>, order: [usize; 3]) -> Option<Cost> {
    let keeps = needs.stated.opened_days.map(i64::from);
    let weighed = |c: &Cost| order.map(|n| c[n]);
    let days = &needs.days;
    // From a day on, with something open since then: the next day that lacks something, and what.
    let lacks = |from: usize, since: usize, mut left: u64| {
        for (n, (date, amount)) in days.iter().enumerate().skip(from) {
            let old = keeps.is_some_and(|k| (*date - days[since].0).num_days() > k);
            if old {
                left = 0;
            }
            if *amount > left {
                return Some((n, amount - left));
            }
            left -= amount;
        }
        None
    };
    let mut ahead: BTreeMap<(usize, Reverse<u64>), Cost> = BTreeMap::new();
    let (first, lack) = lacks(0, 0, 0)?;
    ahead.insert((first, Reverse(lack)), [0; 3]);
    let mut best: Option<Cost> = None;
    let mut steps = 0;
    while let Some(((day, Reverse(lack)), cost)) = ahead.pop_first() {
        for (holds, cents) in &needs.sizes {
            steps += 1;
            let price = if needs.priced { *cents } else { 0 };
            let so_far = [cost[0] + holds, cost[1] + price, cost[2] + 1];
            let next = if *holds < lack {
                Some((day, lack - holds))
            } else {
                lacks(day + 1, day, holds - lack)
            };
            let better = |old: &Cost| weighed(&so_far) < weighed(old);
            match next {
                Some((day, lack)) => {
                    let there = ahead.entry((day, Reverse(lack))).or_insert(so_far);
                    if better(there) {
                        *there = so_far;
                    }
                }
                None if best.as_ref().is_none_or(better) => best = Some(so_far),
                None => {}
            }
        }
        if steps > MOST_STEPS {
            return None;
        }
    }
    best
}

fn thousandths(packages: &[PackageCount]) -> u64 {
    let all = packages.iter();
    all.map(|p| u64::from(p.size) * 1000 * p.count).sum()
}

/// Packages as stated, the largest first; opened day by day they suffice, none too soon.
fn purchase(r: &mut Reading<'_>, who: &str, needs: &Needs<'_>, buy: &Purchase) {
    listed(r, who, needs, &buy.packages);
    let needed: u64 = needs.days.iter().map(|d| d.1).sum();
    let holds = thousandths(&buy.packages);
    close(r, who, holds as f64 / THOUSAND, buy.holds);
    if holds < needed {
        r.wrong(who, format!("at least {needed} thousandths"), holds);
        return;
    }
    let over = (holds - needed) as f64 / THOUSAND;
    close(r, who, over, buy.left_over);
    let price = buy
        .packages
        .iter()
        .map(|p| p.price.unwrap_or(0.0) * p.count as f64);
    let price: f64 = price.sum();
    close_if(r, who, needs.priced.then_some(price), buy.price);
    let Some(keeps) = needs.stated.opened_days else {
        r.same(who, &0, &buy.opened.len());
        close(r, who, 0.0, buy.too_old);
        return;
    };
    let mut counts: BTreeMap<u32, u64> = BTreeMap::new();
    for p in buy.opened.iter().flat_map(|o| &o.packages) {
        *counts.entry(p.size).or_default() += p.count;
    }
    let bought: BTreeMap<u32, u64> = buy.packages.iter().map(|p| (p.size, p.count)).collect();
    r.same(who, &bought, &counts);
    let (mut left, mut until, mut thrown) = (0_u64, None, 0_u64);
    let mut opened = buy.opened.iter().peekable();
    for (date, amount) in &needs.days {
        if until.is_some_and(|u| *date > u) {
            thrown += left;
            left = 0;
        }
        if let Some(o) = opened.next_if(|o| o.date == *date) {
            let who = format!("{who}, opened on {date}");
            listed(r, &who, needs, &o.packages);
            until = date.checked_add_days(chrono::Days::new(u64::from(keeps)));
            r.same(&who, &until, &Some(o.use_by));
            let (more, smallest) = (
                thousandths(&o.packages),
                o.packages.iter().map(|p| u64::from(p.size) * 1000).min(),
            );
            // Without the smallest of them the day would lack something.
            let lacking = amount.saturating_sub(left);
            if more - smallest.unwrap_or(more) >= lacking.max(1) || lacking == 0 {
                r.wrong(&who, "packages that this day needs", "more");
            }
            left += more;
            let evening = left.saturating_sub(*amount) as f64 / THOUSAND;
            close(r, &who, evening, o.left);
        }
        if left < *amount {
            r.wrong(who, format!("enough open on {date}"), left);
        }
        left = left.saturating_sub(*amount);
    }
    if opened.next().is_some() {
        r.wrong(who, "packages opened on days of use", "others");
    }
    close(r, who, thrown as f64 / THOUSAND, buy.too_old);
}

/// Sizes and prices that the season states, the largest first, each once and bought at all.
fn listed(r: &mut Reading<'_>, who: &str, needs: &Needs<'_>, packages: &[PackageCount]) {
    let falls = packages.windows(2).all(|w| w[0].size > w[1].size);
    if packages.is_empty() || !falls || packages.iter().any(|p| p.count == 0) {
        r.wrong(who, "packages, the largest first", format!("{packages:?}"));
    }
    for p in packages {
        let Some(stated) = needs.stated.packages.iter().find(|s| s.size == p.size) else {
            r.wrong(who, "a size that the season states", p.size);
            continue;
        };
        close_if(r, who, stated.price.map(f64::from), p.price);
    }
}
