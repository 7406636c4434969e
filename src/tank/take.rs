//! Which straws a session takes: from plan to cane.
//!
//! One order for everybody, so that few canisters are lifted and canes are used up one by one:
//!
//! 1. conventional straws before sexed ones;
//! 2. a canister already lifted in this session;
//! 3. then one that an earlier session has begun, for this bull;
//! 4. then the one with the fewest straws of the bull, so that one canister is finished before the
//!    next; among equals the tank listed first, and the lowest number;
//! 5. within a canister the cane with the fewest straws left, the top goblet before the bottom one,
//!    then the file's order.
//!
//! A cane's straws are those of its goblets together.

use std::collections::{BTreeMap, BTreeSet};

use crate::plan::Plan;
use crate::protocol::Semen;
use crate::season::{Season, StrawPlace};

/// Straws of one bull in one place, and what is left of them.
#[derive(Clone, Debug)]
pub struct Stock {
    /// The bull, by his place in the season.
    pub bull: usize,
    /// Where they are.
    pub place: StrawPlace,
    /// Straws before the season.
    pub had: u32,
    /// Straws after it.
    pub left: u32,
}

/// Straws that a session takes from a place.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Drawn {
    /// The place, among [`Taking::stocks`].
    pub stock: usize,
    /// How many.
    pub straws: u32,
}

/// A season's straws, session by session.
#[derive(Clone, Debug)]
pub struct Taking {
    /// All straws, by bull and place in the file.
    pub stocks: Vec<Stock>,
    /// What each session of the plan takes, in the order of taking.
    pub drawn: Vec<Vec<Drawn>>,
    /// Straws that no place has.
    pub short: u32,
}

/// Tank and canister.
type Can<'a> = (Option<&'a str>, Option<u32>);

fn can(place: &StrawPlace) -> Can<'_> {
    (place.tank.as_deref(), place.canister)
}

/// Takes the straws of every session, by time.
#[must_use]
pub fn take(season: &Season, plan: &Plan) -> Taking {
    let places: Vec<(usize, &StrawPlace)> = season
        .bulls
        .iter()
        .enumerate()
        .flat_map(|(bull, b)| b.places.iter().map(move |place| (bull, place)))
        .collect();
    let mut own: Vec<Vec<usize>> = vec![Vec::new(); season.bulls.len()];
    for (n, (bull, _)) in places.iter().enumerate() {
        own[*bull].push(n);
    }
    let by_id: BTreeMap<&str, usize> = season
        .bulls
        .iter()
        .enumerate()
        .map(|(n, b)| (b.id.as_str(), n))
        .collect();
    let rank: BTreeMap<&str, usize> = season
        .tanks
        .iter()
        .enumerate()
        .map(|(n, t)| (t.id.as_str(), n))
        .collect();
    let mut left: Vec<u32> = places.iter().map(|(_, p)| p.straws.0).collect();
    let mut drawn = vec![Vec::new(); plan.sessions.len()];
    let mut short = 0;
    let mut begun: BTreeSet<(usize, Can<'_>)> = BTreeSet::new();
    let mut order: Vec<usize> = (0..plan.sessions.len()).collect();
    order.sort_by_key(|n| {
        let s = &plan.sessions[*n];
        s.first_cow.unwrap_or(s.open)
    });
    for n in order {
        let mut lifted: BTreeSet<Can<'_>> = BTreeSet::new();
        for wanted in &plan.sessions[n].straws {
            let mut want = wanted.straws;
            let bull = by_id.get(wanted.bull.as_str()).copied();
            while want > 0 {
                let Some((bull, stocks)) = bull.and_then(|bull| {
                    let mine = own[bull].iter().map(|n| (*n, places[*n].1));
                    let mine = mine.filter(|(n, _)| left[*n] > 0).collect();
                    Some((bull, next(mine, &left, bull, &lifted, &begun, &rank)?))
                }) else {
                    short += want;
                    break;
                };
                let from = can(places[stocks[0]].1);
                begun.insert((bull, from));
                lifted.insert(from);
                for stock in stocks {
                    let straws = left[stock].min(want);
                    if straws > 0 {
                        left[stock] -= straws;
                        want -= straws;
                        drawn[n].push(Drawn { stock, straws });
                    }
                }
            }
        }
    }
    let stocks = places
        .iter()
        .zip(left)
        .map(|((bull, place), left)| Stock {
            bull: *bull,
            place: (*place).clone(),
            had: place.straws.0,
            left,
        })
        .collect();
    Taking {
        stocks,
        drawn,
        short,
    }
}

/// The places of the next canister in the order in which they are emptied, by rules 1 to 5.
fn next(
    mine: Vec<(usize, &StrawPlace)>,
    left: &[u32],
    bull: usize,
    lifted: &BTreeSet<Can<'_>>,
    begun: &BTreeSet<(usize, Can<'_>)>,
    rank: &BTreeMap<&str, usize>,
) -> Option<Vec<usize>> {
    let mut in_can: BTreeMap<(bool, Can<'_>), u32> = BTreeMap::new();
    let sexed = |p: &StrawPlace| p.sort == Semen::Sexed;
    for (n, p) in &mine {
        *in_can.entry((sexed(p), can(p))).or_default() += left[*n];
    }
    let first = in_can.into_iter().min_by_key(|((sexed, can), straws)| {
        // Tanks listed first, then others, then straws of no tank.
        let tank = can.0.map_or(usize::MAX, |t| {
            rank.get(t).copied().unwrap_or(usize::MAX - 1)
        });
        (
            *sexed,
            !lifted.contains(can),
            !begun.contains(&(bull, *can)),
            *straws,
            tank,
            *can,
        )
    });
    let (chosen, _) = first?;
    let mut stocks: Vec<(usize, &StrawPlace)> = mine
        .into_iter()
        .filter(|(_, p)| (sexed(p), can(p)) == chosen)
        .collect();
    // Straws left on each cane, and its first line.
    let mut canes: BTreeMap<Option<&str>, (u32, usize)> = BTreeMap::new();
    for (n, p) in &stocks {
        canes.entry(p.cane.as_deref()).or_insert((0, *n)).0 += left[*n];
    }
    stocks.sort_by_key(|(n, p)| (canes[&p.cane.as_deref()], p.goblet, *n));
    Some(stocks.into_iter().map(|(n, _)| n).collect())
}
