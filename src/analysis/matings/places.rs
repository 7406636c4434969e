//! Where each straw located: the places that the plan's sessions take a group's straws from.
//!
//! One order for everybody (`tank::allocation`). First come the straws that sessions take for a group, in
//! the order in which they take them, for its animals in the order of the herd file, or, where the
//! order at the chute is known, for the animals that the rounds name. Then, from what is left, straws
//! of animals that no session breeds, and then backups.

use std::collections::{BTreeMap, BTreeSet, VecDeque};

use super::{GroupMatings, Matings, Straw};
use crate::analysis::tank::allocation::{self, Allocation, Inventory};
use crate::analysis::thaw;
use crate::planning::plan::Plan;
use crate::trade::season::{Season, StrawPlace};

/// Names the place of each straw, as the sessions of a plan of this season take them; without a plan,
/// as if each group were bred in a session of its own.
pub fn locate_straws(made: &mut Matings, season: &Season, plan: Option<&Plan>) {
    for group in &mut made.groups {
        for a in &mut group.animals {
            for straw in a.straw.iter_mut().chain(&mut a.backup) {
                straw.set_place(None);
            }
        }
    }
    let bulls = season.bulls_by_id();
    // Which first straws have a place.
    let heads = made.groups.iter().map(|g| vec![false; g.animals.len()]);
    let mut located: Vec<Vec<bool>> = heads.collect();
    let mut inventory = match plan {
        Some(plan) => {
            let allocation = allocation::allocate(season, plan);
            for (group, located) in made.groups.iter_mut().zip(&mut located) {
                by_sessions(group, located, season, plan, &allocation, &bulls);
            }
            Inventory::after(season, &allocation)
        }
        None => Inventory::new(season),
    };
    for (group, located) in made.groups.iter_mut().zip(&located) {
        let rest = group.animals.iter_mut().zip(located).filter(|(_, s)| !**s);
        let straws = rest.filter_map(|(a, _)| a.straw.as_mut()).collect();
        from_remaining(straws, &mut inventory, &bulls);
    }
    for group in &mut made.groups {
        let backups = group.animals.iter_mut();
        let straws = backups.filter_map(|a| a.backup.as_mut()).collect();
        from_remaining(straws, &mut inventory, &bulls);
    }
}

impl Straw {
    fn set_place(&mut self, place: Option<&StrawPlace>) {
        self.tank = place.and_then(|p| p.tank.clone());
        self.canister = place.and_then(|p| p.canister);
        self.cane = place.and_then(|p| p.cane.clone());
        self.goblet = place.and_then(|p| Some(p.goblet?.as_str().to_owned()));
    }
}

/// A bull's place in the season, and whether a straw of his is sexed.
type Sort = (usize, bool);

/// Straws of animals that a session breeds.
fn by_sessions(
    group: &mut GroupMatings,
    located: &mut [bool],
    season: &Season,
    plan: &Plan,
    allocation: &Allocation,
    bulls: &BTreeMap<&str, usize>,
) {
    let Some(n) = plan.groups.iter().position(|g| g.id == group.group) else {
        return;
    };
    if plan.groups[n].animals_in_order.is_some() {
        by_animals(group, located, season, plan, bulls);
        return;
    }
    let order = plan.sessions_in_time();
    let mut drawn: BTreeMap<Sort, VecDeque<(usize, u32)>> = BTreeMap::new();
    for (of, lot) in order.iter().flat_map(|k| &allocation.for_groups[*k]) {
        if *of == n && !lot.again {
            let stock = &allocation.stocks[lot.stock];
            let sexed = season.bulls[stock.bull].is_sexed(&stock.place);
            let mine = drawn.entry((stock.bull, sexed)).or_default();
            mine.push_back((lot.stock, lot.straws));
        }
    }
    for (a, located) in group.animals.iter_mut().zip(located) {
        let Some(straw) = &mut a.straw else { continue };
        let sort = bulls.get(straw.bull.as_str()).map(|b| (*b, straw.sexed));
        let Some(lots) = sort.and_then(|s| drawn.get_mut(&s)) else {
            continue;
        };
        let Some((stock, left)) = lots.pop_front() else {
            continue;
        };
        if left > 1 {
            lots.push_front((stock, left - 1));
        }
        straw.set_place(Some(&allocation.stocks[stock].place));
        *located = true;
    }
}

/// The same where the rounds name the animals.
fn by_animals(
    group: &mut GroupMatings,
    located: &mut [bool],
    season: &Season,
    plan: &Plan,
    bulls: &BTreeMap<&str, usize>,
) {
    let animals = group.animals.iter().enumerate();
    let by_tag: BTreeMap<String, usize> = animals.map(|(n, a)| (a.animal.clone(), n)).collect();
    let here = plan.sessions.iter();
    let here = here.filter(|s| s.pens.iter().any(|p| p.group == group.group));
    for session in here.filter_map(|s| thaw::of_session(season, plan, s)) {
        let rounds = session.technicians.iter().flat_map(|t| &t.rounds);
        for taken in rounds.flat_map(|r| &r.straws) {
            let tag = taken.tag.as_ref().filter(|_| taken.group == group.group);
            let Some(n) = tag.and_then(|t| by_tag.get(t)) else {
                continue;
            };
            let bull = bulls.get(taken.bull.as_str()).map(|b| &season.bulls[*b]);
            let place = bull.and_then(|b| b.places.get((taken.place as usize).checked_sub(1)?));
            let a = &mut group.animals[*n];
            if let (Some(straw), Some(bull), Some(place)) = (&mut a.straw, bull, place)
                && straw.bull == taken.bull
                && straw.sexed == bull.is_sexed(place)
            {
                straw.set_place(Some(place));
                located[*n] = true;
            }
        }
    }
}

/// A group's straws from what is left. Those that the plan has taken for animals that are not in the
/// herd file have no place any more.
fn from_remaining(
    straws: Vec<&mut Straw>,
    inventory: &mut Inventory<'_>,
    bulls: &BTreeMap<&str, usize>,
) {
    let mut wants: BTreeMap<Sort, Vec<&mut Straw>> = BTreeMap::new();
    for straw in straws {
        if let Some(bull) = bulls.get(straw.bull.as_str()) {
            let sort = (*bull, straw.sexed);
            wants.entry(sort).or_default().push(straw);
        }
    }
    let mut lifted = BTreeSet::new();
    for ((bull, sexed), straws) in wants {
        let drawn = inventory.draw(bull, Some(sexed), straws.len() as u32, &mut lifted);
        let places = drawn
            .iter()
            .flat_map(|d| std::iter::repeat_n(inventory.place(d.stock), d.straws as usize));
        for (straw, place) in straws.into_iter().zip(places) {
            straw.set_place(Some(place));
        }
    }
}
