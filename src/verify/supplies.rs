//! The order list counted again: what each pass of the plan gives by the protocol's own steps, sums
//! by day and in all, packages opened day by day, and no smaller purchase where nothing gets too old.
//! Believes only the plan's passes, the season and its own arithmetic.

use std::collections::{BTreeMap, BTreeSet};

use chrono::NaiveDate;

use super::Reading;
use crate::error::Finding;
use crate::plan::{Pass, Plan, Work};
use crate::protocol::Action;
use crate::season::{Kind, Season};
use crate::supplies::{Answer, Item, Purchase};

/// Everything in which the list disagrees with plan and season; empty for a sound one.
#[must_use]
pub fn check(season: &Season, plan: &Plan, told: &Answer) -> Vec<Finding> {
    let mut r = Reading::new(season, plan);
    for (key, of) in [
        ("gnrh", [(Action::Gnrh, 1), (Action::Gnrh, 0)]),
        ("pg", [(Action::Pg, 1), (Action::PgDouble, 2)]),
        (
            "estradiol",
            [(Action::Estradiol, 1), (Action::Estradiol, 0)],
        ),
        ("inserts", [(Action::InsertIn, 1), (Action::InsertIn, 0)]),
        ("patches", [(Action::PatchOn, 1), (Action::PatchOn, 0)]),
        ("mga_feed", [(Action::FeedMga, 1), (Action::FeedMga, 0)]),
    ] {
        given(&mut r, told, key, &of);
    }
    for item in &told.items {
        sums(&mut r, item);
        if let Some(buy) = &item.buy {
            purchase(&mut r, season, item, buy, true);
        }
        if let Some(less) = &item.cheaper {
            purchase(&mut r, season, item, less, false);
        }
    }
    straws(&mut r, told);
    r.found
}

/// Units that each pass gives of a class, by the steps of its group's protocol.
fn given(r: &mut Reading<'_>, told: &Answer, key: &str, of: &[(Action, u32)]) {
    let mut right: BTreeMap<&str, f64> = BTreeMap::new();
    for pass in &r.plan.passes {
        if pass.work == Work::HeatWatch {
            continue;
        }
        let Some(group) = r.groups.get(pass.group.as_str()) else {
            continue;
        };
        let steps = group.protocol.steps.iter();
        let step = steps.filter(|s| s.id.as_str() == pass.step);
        let each: u32 = step
            .flat_map(|s| &s.actions)
            .map(|a| {
                of.iter()
                    .filter(|(x, _)| x == a)
                    .map(|(_, n)| n)
                    .sum::<u32>()
            })
            .sum();
        if each > 0 {
            right.insert(&pass.id, f64::from(each * pass.head) * days(pass));
        }
    }
    let uses = told.item(key).into_iter().flat_map(|i| &i.days);
    let mut listed: BTreeMap<&str, f64> = BTreeMap::new();
    for used in uses.flat_map(|d| &d.passes) {
        *listed.entry(&used.pass).or_default() += used.amount;
    }
    r.same(key, &right, &listed);
}

fn days(pass: &Pass) -> f64 {
    match (pass.work, pass.first_day, pass.last_day) {
        (Work::Feeding, Some(first), Some(last)) => ((last - first).num_days() + 1) as f64,
        _ => 1.0,
    }
}

/// Days in order, each the sum of its passes, all the sum of the days.
fn sums(r: &mut Reading<'_>, item: &Item) {
    let who = format!("{} of the order list", item.item);
    let dates: Vec<NaiveDate> = item.days.iter().map(|d| d.date).collect();
    let mut ordered = dates.clone();
    ordered.sort_unstable();
    ordered.dedup();
    r.same(&who, &ordered, &dates);
    r.same(&who, &dates.first().copied(), &item.first_use);
    let mut all = 0.0;
    for d in &item.days {
        let sum: f64 = d.passes.iter().map(|p| p.amount).sum();
        close(r, &who, sum, d.amount);
        for v in &d.volumes {
            close(r, &who, v.ml_a_dose * d.amount, v.ml);
        }
        if let (Some(f), Some(mg)) = (&item.feed, d.mga_mg) {
            // 0.5 mg a head a day (CFR-342).
            close(r, &who, 0.5 * d.amount, mg);
            // Feed is weighed to a hundredth or so.
            if let Some((strength, (_, feed))) = f.mg_in_each.zip(d.feed)
                && (strength * feed / mg - 1.0).abs() > 0.021
            {
                r.wrong(&who, format!("{mg} mg"), strength * feed);
            }
        }
        all += d.amount;
    }
    if item.amount.is_some() {
        close(r, &who, all, item.amount.unwrap_or_default());
    }
    for label in &item.labels {
        for s in &label.strengths {
            close(r, &who, s.ml_a_dose * all, s.ml);
        }
    }
}

fn close(r: &mut Reading<'_>, who: &str, right: f64, told: f64) {
    if (right - told).abs() > 0.011 + right.abs() * 1e-6 {
        r.wrong(who, right, told);
    }
}

/// Packages hold what is covered; opened day by day they suffice; nothing smaller would do.
fn purchase(r: &mut Reading<'_>, season: &Season, item: &Item, buy: &Purchase, fewest: bool) {
    let who = format!("packages of {}", item.item);
    let stated = season.supplies.stated.iter();
    let Some((kind, stated)) = stated.into_iter().find(|(k, _)| k.key() == item.item) else {
        r.wrong(&who, "packages that the season states", "others");
        return;
    };
    let sizes: Vec<u32> = stated.packages.iter().map(|p| p.size).collect();
    let holds: f64 = buy
        .packages
        .iter()
        .map(|p| f64::from(p.size) * p.count as f64)
        .sum();
    close(r, &who, holds, buy.holds);
    if buy.packages.iter().any(|p| !sizes.contains(&p.size)) {
        r.wrong(&who, "sizes that the season states", "others");
    }
    let each = match (kind, item.buy_unit.as_deref()) {
        (Kind::Mga, unit) => {
            let kg = unit == Some("kg");
            let pound = if kg { 0.453_592_37 } else { 1.0 };
            // 0.5 mg a head a day (CFR-342), in what the season states.
            let lb = stated.feed.lb_a_head;
            lb.or(stated.feed.mg_per_lb.map(|mg| 0.5 / mg))
                .unwrap_or_default()
                * pound
        }
        (_, Some("mL")) => stated.ml_a_dose.unwrap_or_default(),
        _ => 1.0,
    } * (1.0 + stated.spoilage_percent / 100.0);
    // Pieces and doses are whole.
    let whole = matches!(item.buy_unit.as_deref(), Some("pieces" | "doses"));
    let up = |x: f64| if whole { (x - 1e-6).ceil() } else { x };
    let used: f64 = up(item.days.iter().map(|d| d.amount * each).sum());
    if used > holds + 0.011 {
        r.wrong(&who, format!("at least {used}"), holds);
    }
    close(r, &who, holds - used, buy.left_over);
    let Some(keeps) = stated.opened_days else {
        if fewest && buy.proven {
            smallest(r, &who, &sizes, used, holds);
        }
        return;
    };
    let (mut left, mut until) = (0.0, None);
    let mut opened = buy.opened.iter().peekable();
    let (mut thrown, mut so_far) = (0.0, 0.0);
    for d in &item.days {
        if until.is_some_and(|u| d.date > u) {
            thrown += left;
            left = 0.0;
        }
        if let Some(o) = opened.next_if(|o| o.date == d.date) {
            let more = o
                .packages
                .iter()
                .map(|p| f64::from(p.size) * p.count as f64);
            left += more.sum::<f64>();
            until = d.date.checked_add_days(chrono::Days::new(u64::from(keeps)));
            r.same(&who, &until, &Some(o.use_by));
        }
        left -= up(so_far + d.amount * each) - up(so_far);
        so_far += d.amount * each;
        if left < -0.011 {
            r.wrong(&who, format!("enough open on {}", d.date), left);
        }
    }
    if opened.next().is_some() {
        r.wrong(&who, "packages opened on days of use", "others");
    }
    close(r, &who, thrown, buy.too_old);
}

/// No sum of sizes lies between what is used and what is bought.
fn smallest(r: &mut Reading<'_>, who: &str, sizes: &[u32], used: f64, holds: f64) {
    // What whole packages of the largest size hold is left out where there are very many.
    let Some(largest) = sizes.iter().max() else {
        return;
    };
    let most = 4.0 * f64::from(*largest) * f64::from(*largest);
    if holds > most.max(100_000.0) {
        return;
    }
    let mut sums: BTreeSet<u64> = BTreeSet::from([0]);
    let top = holds.round() as u64;
    let mut reached = BTreeSet::from([0_u64]);
    while let Some(sum) = reached.pop_first() {
        for size in sizes {
            let more = sum + u64::from(*size);
            if more < top && sums.insert(more) {
                reached.insert(more);
            }
        }
    }
    if let Some(less) = sums.iter().find(|s| **s as f64 >= used - 1e-6) {
        r.wrong(who, format!("{less} bought"), format!("{holds} bought"));
    }
}

/// Straws by bull are the plan's.
fn straws(r: &mut Reading<'_>, told: &Answer) {
    for bull in &r.plan.bulls {
        let listed = told.straws.iter().find(|b| b.bull == bull.id);
        let aside = listed.map_or(0, |b| b.set_aside);
        let days: u32 = listed.map_or(0, |b| b.days.iter().map(|d| d.straws).sum());
        let sessions = r.plan.sessions.iter().flat_map(|s| &s.straws);
        let brought: u32 = sessions
            .filter(|s| s.bull == bull.id)
            .map(|s| s.straws)
            .sum();
        let who = format!("straws of {}", bull.id);
        r.same(&who, &bull.planned_straws, &aside);
        r.same(&who, &brought, &days);
    }
}
