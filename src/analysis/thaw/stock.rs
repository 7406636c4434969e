//! Straws of a session as `tank` takes them from their places, by group; and those set aside for cows
//! that never come.
//!
//! Each technician has a run of the session's straws, sorted by canister. With one row for all, two
//! people would change canisters by turns; so no technician has more rounds with two canisters than
//! changes of canister in that run.

use std::collections::{BTreeMap, VecDeque};

use super::Waste;
use crate::analysis::tank::allocation::{self, Allocation};
use crate::planning::plan::{Plan, Session, spares};
use crate::trade::season::{Season, StrawPlace};

/// Straws of one place: bull and place by their numbers in the season.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Lot {
    pub(super) bull: usize,
    pub(super) place: usize,
    pub(super) straws: u32,
}

impl Lot {
    /// One canister after the other, whichever bull.
    fn order(self, season: &Season) -> (Option<&str>, Option<u32>, usize, usize) {
        let place = self.place_in(season);
        (place.tank.as_deref(), place.canister, self.bull, self.place)
    }
    pub(super) fn place_in(self, season: &Season) -> &StrawPlace {
        &season.bulls[self.bull].places[self.place]
    }
}

/// What a session has for each group, by its place in the plan; the next straw first.
pub(super) type Supply = BTreeMap<String, VecDeque<Lot>>;

/// All straws that the plan sets aside, and what is left.
pub(super) struct Stock<'a> {
    season: &'a Season,
    plan: &'a Plan,
    allocation: Allocation,
    /// Left of each bull when all is set aside, in the order in which it is taken.
    left: Vec<Vec<Lot>>,
}

impl<'a> Stock<'a> {
    pub(super) fn new(season: &'a Season, plan: &'a Plan) -> Self {
        let allocation = allocation::allocate(season, plan);
        let mut left: Vec<Vec<Lot>> = vec![Vec::new(); season.bulls.len()];
        for n in 0..allocation.stocks.len() {
            let lot = lot(&allocation, n, allocation.stocks[n].left);
            left[lot.bull].push(lot);
        }
        for lots in &mut left {
            lots.sort_by_key(|l| l.order(season));
        }
        // Straws set aside for animals of no session are not for waste.
        for (lots, bull) in left.iter_mut().zip(&season.bulls) {
            let mine = plan.bulls.iter().find(|b| b.id == bull.id.as_str());
            *lots = take(lots, mine.map_or(0, |b| b.left_straws));
        }
        Self {
            season,
            plan,
            allocation,
            left,
        }
    }

    pub(super) fn supply(&self, session: &Session) -> Supply {
        let mut supply: BTreeMap<String, Vec<Lot>> = BTreeMap::new();
        let nth = self.plan.sessions.iter().position(|s| s.id == session.id);
        for (group, drawn) in nth.iter().flat_map(|n| &self.allocation.for_groups[*n]) {
            let mine = supply.entry(self.plan.groups[*group].id.clone());
            let lot = lot(&self.allocation, drawn.stock, drawn.straws);
            mine.or_default().push(lot);
        }
        let ordered = |(g, lots): (String, Vec<Lot>)| {
            let lots = self.by_canister(lots);
            let lots = if self.by_tag(&g) {
                spread(self.season, lots)
            } else {
                lots
            };
            (g, lots)
        };
        supply.into_iter().map(ordered).collect()
    }

    /// True if each animal of a group has a mating, and nobody knows when she comes.
    fn by_tag(&self, group: &str) -> bool {
        let mut groups = self.season.groups.iter();
        let herd = groups.any(|g| g.id.as_str() == group && g.herd.is_some());
        let planned = self.plan.group(group);
        herd && planned.is_some_and(|g| g.animals_in_order.is_none())
    }

    /// One canister after the other, whichever bull; what lies in one place in one lot.
    fn by_canister(&self, mut lots: Vec<Lot>) -> VecDeque<Lot> {
        lots.sort_by_key(|l| l.order(self.season));
        let mut joined: VecDeque<Lot> = VecDeque::new();
        for lot in lots {
            match joined.back_mut() {
                Some(l) if (l.bull, l.place) == (lot.bull, lot.place) => l.straws += lot.straws,
                _ => joined.push_back(lot),
            }
        }
        joined
    }

    /// Straws of a session for cows that never come.
    pub(super) fn waste(&mut self, session: &Session) -> Vec<Waste> {
        let (season, plan) = (self.season, self.plan);
        let mut found = Vec::new();
        for (s, spares) in plan
            .sessions
            .iter()
            .zip(spares(season, &plan.sessions, &plan.bulls))
        {
            for spare in spares {
                let mut bulls = season.bulls.iter();
                let Some(bull) = bulls.position(|b| b.id.as_str() == spare.bull) else {
                    continue;
                };
                let lots = take(&mut self.left[bull], spare.there);
                if s.id == session.id {
                    let words = |l: &Lot| {
                        let place = place_words(l.place_in(season));
                        format!("{} from {place}", l.straws)
                    };
                    found.push(Waste {
                        bull: spare.bull,
                        straws: spare.straws,
                        lacking_straws: spare.straws - spare.there,
                        places: lots.iter().map(words).collect(),
                    });
                }
            }
        }
        found
    }
}

/// Straw by straw, each bull and sort spread over all: where the animals come in an order that nobody
/// knows, as many of each are wanted in any stretch as of all. Of one kind the places keep their order;
/// of kinds that are equally far behind, the first.
fn spread(season: &Season, lots: VecDeque<Lot>) -> VecDeque<Lot> {
    let mut kinds: BTreeMap<(usize, bool), VecDeque<Lot>> = BTreeMap::new();
    for lot in lots {
        let sexed = season.bulls[lot.bull].is_sexed(lot.place_in(season));
        kinds.entry((lot.bull, sexed)).or_default().push_back(lot);
    }
    let straws = |lots: &VecDeque<Lot>| lots.iter().map(|l| i128::from(l.straws)).sum::<i128>();
    let mut kinds: Vec<VecDeque<Lot>> = kinds.into_values().collect();
    let of_kind: Vec<i128> = kinds.iter().map(straws).collect();
    let all: i128 = of_kind.iter().sum();
    let mut gone = vec![0; kinds.len()];
    let mut spread = VecDeque::new();
    for nth in 1..=all {
        // Farthest behind its share of the straws so far.
        let behind = |n: &usize| nth * of_kind[*n] - gone[*n] * all;
        let open = (0..kinds.len()).filter(|n| gone[*n] < of_kind[*n]);
        let Some(n) = open.max_by_key(|n| (behind(n), std::cmp::Reverse(*n))) else {
            break;
        };
        gone[n] += 1;
        if let Some(lot) = kinds[n].front_mut() {
            spread.push_back(Lot { straws: 1, ..*lot });
            lot.straws -= 1;
            if lot.straws == 0 {
                kinds[n].pop_front();
            }
        }
    }
    spread
}

fn lot(allocation: &Allocation, stock: usize, straws: u32) -> Lot {
    let bull = allocation.stocks[stock].bull;
    let place = allocation.stocks[..stock].iter().rev();
    Lot {
        bull,
        place: place.take_while(|s| s.bull == bull).count(),
        straws,
    }
}

/// Takes so many straws, or all there are, from the first lots.
fn take(lots: &mut Vec<Lot>, straws: u32) -> Vec<Lot> {
    let mut need = straws;
    let mut taken = Vec::new();
    for lot in lots.iter_mut() {
        let n = need.min(lot.straws);
        if n > 0 {
            lot.straws -= n;
            need -= n;
            taken.push(Lot { straws: n, ..*lot });
        }
    }
    lots.retain(|l| l.straws > 0);
    taken
}

/// Where a straw is, in words: `big, canister 2, cane DF12-a, top goblet`.
pub(super) fn place_words(place: &StrawPlace) -> String {
    let parts = [
        place.tank.clone(),
        place.canister.map(|n| format!("canister {n}")),
        place.cane.as_ref().map(|c| format!("cane {c}")),
        place.goblet.map(|g| format!("{} goblet", g.as_str())),
    ];
    let parts: Vec<String> = parts.into_iter().flatten().collect();
    if parts.is_empty() {
        "place not given".to_owned()
    } else {
        parts.join(", ")
    }
}
