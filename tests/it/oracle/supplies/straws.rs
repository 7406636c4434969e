//! Straws by bull, and what groups lack.

use chrono::NaiveDate;

use super::{before, first_cow};
use crate::oracle::Reading;
use thawline::plan::{Pass, Plan, Work};
use thawline::supplies::{OrderList, StrawDay};

fn first_day(plan: &Plan, pass: &Pass) -> NaiveDate {
    let mut sessions = plan.sessions.iter();
    let session = sessions.find(|s| s.pens.iter().any(|p| p.pass == pass.id));
    session.map_or(pass.start.date_naive(), first_cow)
}

pub(super) fn check(r: &mut Reading<'_>, told: &OrderList) {
    let (plan, season) = (r.plan, r.season);
    let lead = season.supplies.lead_days;
    let aside = |bull: &str| -> u32 {
        let all = plan.groups.iter().flat_map(|g| &g.straws);
        all.filter(|s| s.bull == bull).map(|s| s.straws).sum()
    };
    let used: Vec<&str> = season
        .bulls
        .iter()
        .map(|b| b.id.as_str())
        .filter(|b| aside(b) > 0)
        .collect();
    let listed: Vec<&str> = told.straws.iter().map(|b| b.bull.as_str()).collect();
    r.same("bulls of the list", &used, &listed);
    for b in &told.straws {
        let who = format!("straws of {}", b.bull);
        let Some(bull) = season.bulls.iter().find(|x| x.id.as_str() == b.bull) else {
            continue;
        };
        let had: u32 = bull.places.iter().map(|p| p.straws.0).sum();
        let set_aside = aside(&b.bull);
        // Of all thawed that share is wasted: as many on top as leave what is set aside.
        let kept = 1.0 - season.rules.straws.wasted;
        let enough = |n: &u32| f64::from(set_aside + n) * kept >= f64::from(set_aside) - 1e-9;
        let waste = (0..=u32::MAX - set_aside).find(enough).unwrap_or_default();
        let to_buy = (set_aside + waste).saturating_sub(had);
        r.same(&who, &bull.name, &b.name);
        let right = (had, set_aside, waste, to_buy);
        r.same(&who, &right, &(b.on_hand, b.set_aside, b.waste, b.to_buy));
        let sessions = plan.sessions.iter().filter_map(|s| {
            let mine = s.straws.iter().filter(|x| x.bull == b.bull);
            let straws: u32 = mine.map(|x| x.straws).sum();
            (straws > 0).then(|| StrawDay {
                date: first_cow(s),
                session: s.id.clone(),
                straws,
            })
        });
        let days: Vec<StrawDay> = sessions.collect();
        r.same(&who, &days, &b.days);
        let watched = || {
            let passes = plan.passes.iter().filter(|p| p.work == Work::HeatWatch);
            let his = |p: &&Pass| {
                let mut groups = plan.groups.iter().filter(|g| g.id == p.group);
                let his = |s: &thawline::plan::BullStraws| s.bull == b.bull && s.straws > 0;
                groups.any(|g| g.straws.iter().any(his))
            };
            passes.filter(his).filter_map(|p| p.first_day).min()
        };
        let first = days.iter().map(|d| d.date).min().or_else(watched);
        r.same(&who, &first, &b.first_use);
        let order = before(first.filter(|_| to_buy > 0), lead);
        r.same(&who, &order, &b.order_by);
    }
    lacking(r, told);
}

/// Groups that the plan says are short of straws.
fn lacking(r: &mut Reading<'_>, told: &OrderList) {
    let (plan, season) = (r.plan, r.season);
    let mut right = Vec::new();
    for group in &season.groups {
        let id = group.id.as_str();
        let planned = plan.groups.iter().filter(|g| g.id == id);
        let short: u32 = planned.map(|g| g.straws_short).sum();
        if short > 0 {
            let passes = plan.passes.iter();
            let mine = passes.filter(|p| p.group == id && p.work == Work::Breeding);
            let first = mine.map(|p| first_day(plan, p)).min();
            let bulls = group.bulls.iter();
            let bulls: Vec<String> = bulls.map(|b| season.bulls[*b].id.to_string()).collect();
            let order = before(first, season.supplies.lead_days);
            right.push((id.to_owned(), short, bulls, first, order));
        }
    }
    let listed: Vec<_> = told
        .lacking_straws
        .iter()
        .map(|g| {
            let (group, bulls) = (g.group.clone(), g.bulls.clone());
            (group, g.straws, bulls, g.first_use, g.order_by)
        })
        .collect();
    r.same("straws that groups lack", &right, &listed);
}
