//! First bulls, then backup bulls: matings given by the user are set aside, and the rest of the
//! straws is shared out.

use std::collections::BTreeMap;

use super::Proof;
use super::choice::{Bar, Choice, Unit};
use super::transport::{Supply, Worth, solve};
use crate::base::error::{Code, Error, Finding, Place, did_you_mean, nearest, quoted};
use crate::base::sheet::Findings;
use crate::trade::herd::{Herd, Spot};

/// Bulls that the user gives, by unit.
#[derive(Clone, Copy, Debug, Default)]
pub(super) struct Given {
    pub(super) first: Option<usize>,
    pub(super) backup: Option<usize>,
}

/// One round: of a first bull or of a backup.
#[derive(Debug, Default)]
pub(super) struct Round {
    /// Stores and head of each unit.
    pub(super) stores: Vec<Vec<(usize, u32)>>,
    pub(super) prices: Vec<Worth>,
    pub(super) proof: Proof,
    /// Straws left of each store.
    pub(super) left: Vec<u32>,
}

pub(super) struct Assignment<'a> {
    pub(super) units: Vec<Unit<'a>>,
    pub(super) given: Vec<Given>,
    pub(super) first: Round,
    pub(super) backup: Round,
}

fn place(herd: &Herd, spot: Spot, field: &str) -> Place {
    spot.in_file(&herd.file, field)
}

/// What the user gives, held against the rules.
///
/// # Errors
/// A finding for each bull that the season does not have.
pub(super) fn given(
    units: &[Unit<'_>],
    choice: &Choice<'_>,
    said: &mut Vec<Finding>,
) -> Result<Vec<Given>, Error> {
    let mut all = Vec::new();
    let mut failed = false;
    let mut listed = Vec::new();
    for group in units.chunk_by(|a, b| a.nth == b.nth) {
        let Some(herd) = group[0].group.herd else {
            all.push(Given::default());
            continue;
        };
        // Of each file the first so many, and a count of the rest.
        let mut found = Findings::default();
        for (unit, animal) in group.iter().filter_map(|u| Some((u, u.animal?))) {
            let wanted = [&animal.mating, &animal.second_mating];
            let mut bulls = [None; 2];
            for (k, name) in wanted.into_iter().enumerate() {
                let Some(name) = name else { continue };
                let at = || place(herd, animal.mating_spots[k], FIELDS[k]);
                bulls[k] = choice.bull(name);
                match bulls[k] {
                    Some(bull) => broken(unit, &animal.id, bull, choice)
                        .into_iter()
                        .for_each(|f| found.add(f, at)),
                    None => found.add(unknown(name, choice), at),
                }
            }
            let [first, backup] = bulls;
            all.push(Given { first, backup });
        }
        failed |= found.any_error();
        listed.extend(found.listed(&herd.file));
    }
    if failed {
        return Err(Error::input(listed));
    }
    said.extend(listed);
    Ok(all)
}

/// The columns of matings given.
const FIELDS: [&str; 2] = ["mating", "second_mating"];

/// A finding for each rule that a mating given breaks.
fn broken(unit: &Unit<'_>, animal: &str, bull: usize, choice: &Choice<'_>) -> Vec<Finding> {
    let his = quoted(choice.season.bulls[bull].id.as_str());
    let of = |bar: Bar| {
        let (animal, bar) = (quoted(animal), bar.words());
        let what = format!("the herd file gives {his} to {animal}: he {bar}");
        Finding::warning(Code::MatingRule, what)
            .expected("a mating that keeps the rules")
            .hint("it is kept as you gave it; name another bull, or leave it blank to have one proposed")
    };
    choice.bars(unit, bull).into_iter().map(of).collect()
}

fn unknown(name: &str, choice: &Choice<'_>) -> Finding {
    let ids = choice.season.bulls.iter().map(|b| b.id.as_str());
    let what = format!("there is no bull {}", quoted(name));
    Finding::error(Code::MatingUnknown, what)
        .expected("the id of a bull of this season, or nothing")
        .hint(did_you_mean(
            nearest(name, ids),
            "add his straws under `semen`, or leave it blank",
        ))
}

pub(super) fn assign<'a>(
    choice: &Choice<'_>,
    units: Vec<Unit<'a>>,
    given: Vec<Given>,
) -> Assignment<'a> {
    let straws: Vec<u32> = choice.stores.iter().map(|s| s.straws).collect();
    // One ask for each unit: what she has already is none yet.
    let asks = units.iter();
    let asks = asks.zip(&given).enumerate().map(|(unit, (u, g))| Ask {
        unit,
        head: u.head,
        given: g.first,
        not: None,
    });
    let asks: Vec<Ask> = asks.collect();
    let first = assign_round(choice, &units, &asks, straws);
    let mut asks = Vec::new();
    for (unit, u) in units.iter().enumerate() {
        let mut rest = u.head;
        for (store, head) in &first.stores[unit] {
            rest -= head;
            asks.push(Ask {
                unit,
                head: *head,
                given: given[unit].backup,
                not: Some(choice.stores[*store].bull),
            });
        }
        if rest > 0 {
            asks.push(Ask {
                unit,
                head: rest,
                given: given[unit].backup,
                not: given[unit].first,
            });
        }
    }
    let backup = assign_round(choice, &units, &asks, first.left.clone());
    Assignment {
        units,
        given,
        first,
        backup,
    }
}

/// Head of a unit that want a straw.
struct Ask {
    unit: usize,
    head: u32,
    given: Option<usize>,
    not: Option<usize>,
}

fn assign_round(
    choice: &Choice<'_>,
    units: &[Unit<'_>],
    asks: &[Ask],
    mut left: Vec<u32>,
) -> Round {
    let mut stores: Vec<Vec<(usize, u32)>> = vec![Vec::new(); units.len()];
    let kept = give(choice, units, asks, &mut left, &mut stores);
    // Those that are alike are one supply.
    let mut alike: BTreeMap<Vec<Option<Worth>>, usize> = BTreeMap::new();
    let mut supplies: Vec<Supply> = Vec::new();
    let mut members: Vec<Vec<(usize, u32)>> = Vec::new();
    for (ask, _) in asks.iter().zip(kept).filter(|(_, kept)| !kept) {
        let worth = choice.worth(&units[ask.unit], ask.not);
        let n = *alike.entry(worth).or_insert_with_key(|worth| {
            supplies.push(Supply {
                worth: worth.clone(),
                head: 0,
            });
            members.push(Vec::new());
            supplies.len() - 1
        });
        supplies[n].head += ask.head;
        members[n].push((ask.unit, ask.head));
    }
    let shared = solve(&supplies, &left);
    let mut worth = Worth::default();
    let mut bound = Worth::default();
    for (price, straws) in shared.prices.iter().zip(&left) {
        bound = bound + price.times(i64::from(*straws));
    }
    for (n, supply) in supplies.iter().enumerate() {
        let net = supply.worth.iter().zip(&shared.prices);
        let most = net.filter_map(|(w, p)| w.map(|w| w - *p)).max();
        let most = most.unwrap_or_default().max(Worth::default());
        bound = bound + most.times(i64::from(supply.head));
        // The best straws to those who come first in the files.
        let mut order: Vec<usize> = (0..choice.stores.len()).collect();
        order.sort_by(|a, b| supply.worth[*b].cmp(&supply.worth[*a]).then(a.cmp(b)));
        let mut takers = members[n].iter().copied();
        let mut taker: Option<(usize, u32)> = None;
        for store in order {
            let mut head = shared.head[n][store];
            while head > 0 {
                let Some((unit, wants)) = taker.take().or_else(|| takers.next()) else {
                    break;
                };
                let gets = wants.min(head);
                stores[unit].push((store, gets));
                head -= gets;
                left[store] -= gets;
                let each = supply.worth[store].unwrap_or_default();
                worth = worth + each.times(i64::from(gets));
                if wants > gets {
                    taker = Some((unit, wants - gets));
                }
            }
        }
    }
    Round {
        stores,
        prices: shared.prices,
        proof: Proof {
            worth: worth.0,
            bound: bound.0,
        },
        left,
    }
}

/// Matings given come first, in the order of the files: each with the sort that is for her, or with
/// the only one there is of him. Marked animals whose sort is used up have the other then. Says which
/// of the asks are met: who is given a bull that is sold out has the next best, like all others.
fn give(
    choice: &Choice<'_>,
    units: &[Unit<'_>],
    asks: &[Ask],
    left: &mut [u32],
    stores: &mut [Vec<(usize, u32)>],
) -> Vec<bool> {
    let mut kept = vec![false; asks.len()];
    let given = asks.iter().enumerate();
    let given = given.filter_map(|(n, a)| Some((n, a.unit, a.given?)));
    let mut second = Vec::new();
    for (ask, unit, bull) in given {
        let marked = units[unit].marked();
        let other = choice.store(bull, !marked);
        let some = |n: &usize| choice.stores[*n].straws > 0 || other.is_none();
        let own = choice.store(bull, marked).filter(some);
        if let Some(n) = own.or(other).filter(|n| left[*n] > 0) {
            left[n] -= 1;
            stores[unit].push((n, 1));
            kept[ask] = true;
        } else {
            let other = other.filter(|_| marked && own.is_some());
            second.extend(other.map(|n| (ask, unit, n)));
        }
    }
    for (ask, unit, n) in second {
        if left[n] > 0 {
            left[n] -= 1;
            stores[unit].push((n, 1));
            kept[ask] = true;
        }
    }
    kept
}
