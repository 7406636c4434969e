//! Straws of the plan, taken from their places: for groups in order, each bull's canisters one
//! after the other; then for sessions by time.

use std::collections::{BTreeMap, VecDeque};

use super::{Waste, place_words};
use crate::plan::{Plan, Session};
use crate::season::{Season, StrawPlace};

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
    /// By group of the plan.
    aside: Vec<Vec<Lot>>,
    /// Left of each bull when all is set aside, in the order in which it is taken.
    left: Vec<Vec<Lot>>,
}

impl<'a> Stock<'a> {
    pub(super) fn new(season: &'a Season, plan: &'a Plan) -> Self {
        let mut left: Vec<Vec<Lot>> = Vec::new();
        for (bull, b) in season.bulls.iter().enumerate() {
            let mut lots: Vec<Lot> = b
                .places
                .iter()
                .enumerate()
                .map(|(place, p)| Lot {
                    bull,
                    place,
                    straws: p.straws.0,
                })
                .collect();
            lots.sort_by(|a, b| {
                let key = |l: &Lot| {
                    let p = l.place_in(season);
                    (p.tank.clone(), p.canister, l.place)
                };
                key(a).cmp(&key(b))
            });
            left.push(lots);
        }
        let mut aside = Vec::new();
        for group in &plan.groups {
            let mut mine = Vec::new();
            for wanted in &group.straws {
                let bull = season
                    .bulls
                    .iter()
                    .position(|b| b.id.as_str() == wanted.bull);
                if let Some(bull) = bull {
                    mine.extend(take(&mut left[bull], wanted.straws));
                }
            }
            aside.push(mine);
        }
        Self {
            season,
            plan,
            aside,
            left,
        }
    }

    /// A group whose share in heat nobody knows is planned whole for both of its breedings: each
    /// has all of its straws to draw on, and no animal takes two.
    fn twice(&self, group: usize) -> bool {
        let group = &self.plan.groups[group];
        let pens = self.plan.sessions.iter().flat_map(|s| &s.pens);
        let due: u32 = pens.filter(|p| p.group == group.id).map(|p| p.head).sum();
        due > group.pen_head.iter().sum()
    }

    /// The straws of a session, those of the sessions before it taken.
    pub(super) fn supply(&self, session: &Session) -> Supply {
        let twice: Vec<bool> = (0..self.plan.groups.len()).map(|g| self.twice(g)).collect();
        let mut left: BTreeMap<(usize, Option<&str>), Vec<Lot>> = BTreeMap::new();
        for s in &self.plan.sessions {
            let mut supply: BTreeMap<String, Vec<Lot>> = BTreeMap::new();
            for pen in &s.pens {
                let Some(g) = self.plan.groups.iter().position(|g| g.id == pen.group) else {
                    continue;
                };
                let pass = self.plan.passes.iter().find(|p| p.id == pen.pass);
                let step = pass.filter(|_| twice[g]).map(|p| p.step.as_str());
                let mine = left
                    .entry((g, step))
                    .or_insert_with(|| self.aside[g].clone());
                supply
                    .entry(pen.group.clone())
                    .or_default()
                    .extend(take(mine, pen.bred_head));
            }
            if s.id == session.id {
                return supply
                    .into_iter()
                    .map(|(g, lots)| (g, self.by_canister(lots)))
                    .collect();
            }
        }
        Supply::new()
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
                // Of all straws thawed this share is wasted; the others are used.
                let exact = f64::from(used) * share / (1.0 - share);
                let so_far = (exact - 1e-9).ceil().max(0.0) as u32;
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
