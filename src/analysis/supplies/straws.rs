//! Straws by bull: what the plan sets aside, what goes to waste, and what is to be bought.

use chrono::NaiveDate;

use super::answer::{BullNeed, Lacking, StrawDay};
use super::uses::breeding_days;
use crate::planning::plan::{Plan, Work, wasted_straws};
use crate::trade::season::Season;

/// Every bull of whom straws are set aside.
pub(super) fn bulls(season: &Season, plan: &Plan) -> Vec<BullNeed> {
    let share = season.rules.straws.wasted;
    let mut all = Vec::new();
    for bull in &plan.bulls {
        if bull.planned_straws == 0 {
            continue;
        }
        let mut days = Vec::new();
        for session in &plan.sessions {
            let mine = session.straws.iter().filter(|s| s.bull == bull.id);
            let straws: u32 = mine.map(|s| s.straws).sum();
            if straws > 0 {
                days.push(StrawDay {
                    date: session.begins().date_naive(),
                    session: session.id.clone(),
                    straws,
                });
            }
        }
        let waste = wasted_straws(bull.planned_straws, share);
        let first_use = days.iter().map(|d| d.date).min();
        let first_use = first_use.or_else(|| first_watch(plan, &bull.id));
        let mut known = season.bulls.iter();
        let assumed = known.any(|b| b.assumed && b.id.as_str() == bull.id);
        let on_hand = if assumed { 0 } else { bull.straws };
        let to_buy = (bull.planned_straws + waste).saturating_sub(on_hand);
        let ordered = first_use.filter(|_| to_buy > 0);
        all.push(BullNeed {
            bull: bull.id.clone(),
            name: bull.name.clone(),
            on_hand,
            set_aside: bull.planned_straws,
            waste,
            to_buy,
            first_use,
            order_by: ordered.and_then(|d| super::uses::order_by(d, season.supplies.lead_days)),
            days,
        });
    }
    all
}

/// The first day of a heat watch for which a bull's straws are set aside.
fn first_watch(plan: &Plan, bull: &str) -> Option<NaiveDate> {
    let groups = plan.groups.iter();
    let mine = groups.filter(|g| g.straws.iter().any(|s| s.bull == bull && s.straws > 0));
    mine.flat_map(|g| plan.passes.iter().filter(move |p| p.group == g.id))
        .filter(|p| p.work == Work::HeatWatch)
        .filter_map(|p| p.first_day)
        .min()
}

/// Groups that are short of straws, as the plan has it.
pub(super) fn lacking(season: &Season, plan: &Plan) -> Vec<Lacking> {
    let days = breeding_days(plan);
    let first_use = |group: &str| {
        let passes = plan.passes.iter();
        let mine = passes.filter(|p| p.work == Work::Breeding && p.group == group);
        mine.map(|p| {
            let day = days.get(p.id.as_str()).copied();
            day.unwrap_or(p.start.date_naive())
        })
        .min()
    };
    let short = plan.groups.iter().filter(|g| g.straws_short > 0);
    let lead = season.supplies.lead_days;
    let lacking = short.map(|group| {
        let of = season.groups.iter().find(|g| g.id.as_str() == group.id);
        let bulls = of.iter().flat_map(|g| &g.bulls);
        let first_use = first_use(&group.id);
        Lacking {
            group: group.id.clone(),
            straws: group.straws_short,
            bulls: bulls.map(|b| season.bulls[*b].id.to_string()).collect(),
            first_use,
            order_by: first_use.and_then(|d| super::uses::order_by(d, lead)),
        }
    });
    lacking.collect()
}
