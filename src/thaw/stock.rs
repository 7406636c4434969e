//! Straws of a session as `tank` takes them from their places, by group; and those set aside for cows
//! that never come.

use std::collections::{BTreeMap, VecDeque};

use super::{Waste, place_words};
use crate::plan::{Plan, Session};
use crate::season::{Season, StrawPlace};
use crate::tank::take::{self, Taking};

/// Straws of one place: bull and place by their numbers in the season.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Lot {
    pub(super) bull: usize,
    pub(super) place: usize,
    pub(super) straws: u32,
}

impl Lot {
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
    taking: Taking,
    /// Left of each bull when all is set aside, in the order in which it is taken.
    left: Vec<Vec<Lot>>,
}

impl<'a> Stock<'a> {
    pub(super) fn new(season: &'a Season, plan: &'a Plan) -> Self {
        let taking = take::take(season, plan);
        let mut left: Vec<Vec<Lot>> = vec![Vec::new(); season.bulls.len()];
        for n in 0..taking.stocks.len() {
            let lot = lot(&taking, n, taking.stocks[n].left);
            left[lot.bull].push(lot);
        }
        for lots in &mut left {
            lots.sort_by(|a, b| {
                let key = |l: &Lot| {
                    let p = l.place_in(season);
                    (p.tank.clone(), p.canister, l.place)
                };
                key(a).cmp(&key(b))
            });
        }
        // Straws set aside for animals of no session are not for waste.
        for (lots, bull) in left.iter_mut().zip(&season.bulls) {
            let mine = plan.bulls.iter().find(|b| b.id == bull.id.as_str());
            *lots = take(lots, mine.map_or(0, |b| b.left_straws));
        }
        Self {
            season,
            plan,
            taking,
            left,
        }
    }

    /// The straws of a session.
    pub(super) fn supply(&self, session: &Session) -> Supply {
        let mut supply: BTreeMap<String, Vec<Lot>> = BTreeMap::new();
        let nth = self.plan.sessions.iter().position(|s| s.id == session.id);
        for (group, drawn) in nth.iter().flat_map(|n| &self.taking.for_groups[*n]) {
            let mine = supply.entry(self.plan.groups[*group].id.clone());
            let lot = lot(&self.taking, drawn.stock, drawn.straws);
            mine.or_default().push(lot);
        }
        let ordered = |(g, lots)| (g, self.by_canister(lots));
        supply.into_iter().map(ordered).collect()
    }

    /// One canister after the other, whichever bull; what lies in one place in one lot.
    fn by_canister(&self, mut lots: Vec<Lot>) -> VecDeque<Lot> {
        lots.sort_by(|a, b| {
            let key = |l: &Lot| {
                let p = l.place_in(self.season);
                (p.tank.clone(), p.canister, l.bull, l.place)
            };
            key(a).cmp(&key(b))
        });
        let mut joined: VecDeque<Lot> = VecDeque::new();
        for lot in lots {
            match joined.back_mut() {
                Some(l) if (l.bull, l.place) == (lot.bull, lot.place) => l.straws += lot.straws,
                _ => joined.push_back(lot),
            }
        }
        joined
    }

    /// Straws of a session for cows that never come. Rounded up over the season, not each time.
    pub(super) fn waste(&mut self, session: &Session) -> Vec<Waste> {
        let share = self.season.rules.straws.wasted;
        let mut found = Vec::new();
        if share <= 0.0 {
            return found;
        }
        for (bull, b) in self.season.bulls.iter().enumerate() {
            let (mut used, mut wasted) = (0, 0);
            for s in &self.plan.sessions {
                let mine = s.straws.iter().filter(|x| x.bull == b.id.as_str());
                used += mine.map(|x| x.straws).sum::<u32>();
                let so_far = wasted_straws(used, share);
                let (more, before) = (so_far - wasted, wasted);
                wasted = so_far;
                if s.id != session.id {
                    continue;
                }
                take(&mut self.left[bull], before);
                let lots = take(&mut self.left[bull], more);
                let set_aside: u32 = lots.iter().map(|l| l.straws).sum();
                if more > 0 {
                    found.push(Waste {
                        bull: b.id.to_string(),
                        straws: more,
                        lacking_straws: more - set_aside,
                        places: lots
                            .iter()
                            .map(|l| {
                                format!(
                                    "{} from {}",
                                    l.straws,
                                    place_words(l.place_in(self.season))
                                )
                            })
                            .collect(),
                    });
                }
            }
        }
        found
    }
}

/// Straws for cows that never come beside those used: of all straws thawed this share, 0 to below 1,
/// is wasted, and the others are used. Rounded up.
#[must_use]
pub fn wasted_straws(used: u32, share: f64) -> u32 {
    let exact = f64::from(used) * share / (1.0 - share);
    (exact - 1e-9).ceil().max(0.0) as u32
}

/// So many straws of a place.
fn lot(taking: &Taking, stock: usize, straws: u32) -> Lot {
    let bull = taking.stocks[stock].bull;
    let place = taking.stocks[..stock].iter().rev();
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
