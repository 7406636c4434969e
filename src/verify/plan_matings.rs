//! Plan and matings held against each other: straws by bull and sort, and animals in their order.

use std::collections::BTreeMap;

use super::Reading;
use crate::analysis::matings::{GroupMatings, Mating, Matings};
use crate::base::error::{Finding, Remark};
use crate::planning::plan::{BullStraws, Group, Plan};
use crate::trade::season::Season;

/// Everything in which the plan sets aside other straws than the matings have, and does not say so;
/// and animals whose order is not the herd's.
#[must_use]
pub fn plan_matings(season: &Season, plan: &Plan, made: &Matings) -> Vec<Finding> {
    let season = match super::days::as_spread(season, plan) {
        Ok(spread) => spread,
        Err(faults) => return faults,
    };
    let mut r = Reading::new(&season, plan);
    let says = |finding: &Finding| plan.findings.contains(&Remark::from(finding));
    // Numbers alone, for all groups.
    let without = says(&season.matings_not_kept());
    for (n, (group, given)) in season.groups.iter().zip(&plan.groups).enumerate() {
        let Some(told) = made.groups.iter().find(|m| m.group == given.id) else {
            r.wrong(&given.id, "a group of the matings", "none");
            continue;
        };
        if let Some(pens) = &given.animals_in_order {
            in_order(&mut r, given, told);
            let heads: Vec<usize> = pens.iter().map(Vec::len).collect();
            let own: Vec<usize> = group.pens.iter().map(|p| p.0 as usize).collect();
            r.same(&format!("order of {}", given.id), &own, &heads);
        }
        // Where some have others' straws the plan says of how many, and of no fewer.
        let over = match &given.animals_in_order {
            Some(_) => beyond(plan, given),
            None => over(given, &of_matings(told)),
        };
        let most = given.straws.iter().map(|s| s.straws).sum();
        let said = |head: u32| says(&season.beyond_matings(n, head));
        if over > 0 && !without && !(over..=most).any(said) {
            let who = format!("straws of {} beyond the matings", given.id);
            let wanted = format!("a finding W114 of {over} head or more");
            r.wrong(&who, wanted, "none");
        }
    }
    r.found
}

/// Head by bull and whether their straw is a sexed one.
type Mated<'a> = BTreeMap<(&'a str, bool), u32>;

fn of_matings(told: &GroupMatings) -> Mated<'_> {
    let all = told.by_bull.iter();
    all.map(|c| ((c.bull.as_str(), c.sexed), c.head)).collect()
}

/// Straws set aside for a group of a bull and a sort beyond those of its matings.
fn over(given: &Group, mated: &Mated<'_>) -> u32 {
    let of_bull = |s: &BullStraws| {
        let of = |sexed: bool| mated.get(&(s.bull.as_str(), sexed)).copied().unwrap_or(0);
        match s.sexed_straws {
            None => s.straws.saturating_sub(of(false) + of(true)),
            Some(n) => {
                (s.straws.saturating_sub(n)).saturating_sub(of(false)) + n.saturating_sub(of(true))
            }
        }
    };
    given.straws.iter().map(of_bull).sum()
}

/// The same of a group whose order is known: straws beyond those of the animals bred.
fn beyond(plan: &Plan, given: &Group) -> u32 {
    let mut mated = Mated::new();
    let sessions = plan.sessions.iter();
    let mine = sessions.filter(|s| s.pens.iter().any(|p| p.group == given.id));
    let slots = mine.flat_map(|s| &s.slots);
    for slot in slots.filter(|s| s.group == given.id) {
        for animal in &slot.animals {
            let known = given.in_order(slot.pen, Some(*animal));
            if let Some((bull, of)) = known.and_then(|a| Some((a.bull.as_deref()?, a))) {
                *mated.entry((bull, of.sexed)).or_default() += 1;
            }
        }
    }
    over(given, &mated)
}

/// Each animal at the place that the herd file gives her, with the bull of her mating.
fn in_order(r: &mut Reading<'_>, given: &Group, told: &GroupMatings) {
    let who = format!("order of {}", given.id);
    let several = given.pen_head.len() > 1;
    let animals = told.animals.iter();
    let animals: BTreeMap<&str, &Mating> = animals.map(|m| (m.animal.as_str(), m)).collect();
    let mut named = 0;
    for (pen, n) in given.animals_in_order.iter().flatten().zip(1..) {
        for (a, at) in pen.iter().zip(1..) {
            let own = animals.get(a.animal.as_str());
            let bull = own
                .and_then(|m| m.straw.as_ref())
                .map(|s| (s.bull.as_str(), s.sexed));
            let right = own.is_some_and(|m| {
                m.chute_order == Some(at) && (m.pen == Some(n) || (m.pen.is_none() && !several))
            });
            if !right || bull != a.bull.as_deref().map(|b| (b, a.sexed)) {
                let wanted = format!("{} at her place, with her mating", a.animal);
                r.wrong(&who, wanted, "another");
            }
            named += 1;
        }
    }
    r.same(&who, &told.animals.len(), &named);
}
