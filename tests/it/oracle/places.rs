//! Matings held against the tank: the places of their straws are those that the sessions take them from.

use std::collections::BTreeMap;

use thawline::matings::Matings;
use thawline::plan::Plan;
use thawline::protocol::Semen;
use thawline::season::{Goblet, Season, StrawPlace};
use thawline::tank::allocation::allocate;

use super::thaw::beyond;

/// A place as matings write it.
type At<'a> = (
    Option<&'a str>,
    Option<u32>,
    Option<&'a str>,
    Option<&'a str>,
);

fn at(p: &StrawPlace) -> At<'_> {
    let goblet = p.goblet.map(Goblet::as_str);
    (p.tank.as_deref(), p.canister, p.cane.as_deref(), goblet)
}

/// Bulls and groups whose matings name other places than the sessions take straws from: of each bull and sort,
/// and for each place, all of the one must be among the other.
pub(crate) fn misplaced(season: &Season, plan: &Plan, made: &Matings) -> Vec<String> {
    let mut found = Vec::new();
    let allocation = allocate(season, plan);
    for (n, given) in plan.groups.iter().enumerate() {
        let told = made.groups.iter().find(|m| m.group == given.id);
        let Some(told) = told.filter(|m| m.herd_file.is_some()) else {
            continue;
        };
        // The rounds say whose straw each is, and who has another's has no place here.
        if given.animals_in_order.is_some() && beyond(plan, given) > 0 {
            continue;
        }
        // Taken and told, by bull and sort, and by place.
        let mut all: BTreeMap<(&str, bool), BTreeMap<At<'_>, [u32; 2]>> = BTreeMap::new();
        for (_, lot) in allocation
            .for_groups
            .iter()
            .flatten()
            .filter(|(g, d)| *g == n && !d.again)
        {
            let stock = &allocation.stocks[lot.stock];
            let bull = &season.bulls[stock.bull];
            let sexed = bull.facts.sexed || stock.place.sort == Semen::Sexed;
            let of = all.entry((bull.id.as_str(), sexed)).or_default();
            of.entry(at(&stock.place)).or_default()[0] += lot.straws;
        }
        for s in told.animals.iter().filter_map(|a| a.straw.as_ref()) {
            let of = all.entry((s.bull.as_str(), s.sexed)).or_default();
            let place = (
                s.tank.as_deref(),
                s.canister,
                s.cane.as_deref(),
                s.goblet.as_deref(),
            );
            of.entry(place).or_default()[1] += 1;
        }
        for ((bull, _), places) in all {
            let sum = |k: usize| places.values().map(|p| p[k]).sum::<u32>();
            let (few, many) = if sum(0) <= sum(1) { (0, 1) } else { (1, 0) };
            if places.values().any(|p| p[few] > p[many]) {
                found.push(format!("straws of {bull} for {}", given.id));
            }
        }
    }
    found
}
