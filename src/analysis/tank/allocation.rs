//! Which straws a session takes: from plan to cane.
//!
//! One order for everybody, so that few canisters are lifted and canes are used up one by one:
//!
//! 1. conventional straws before sexed ones, unless the plan says which;
//! 2. a tank that is not at another site at that time, or wanted there for want of any other;
//! 3. a canister already lifted in this session;
//! 4. then one that an earlier session has begun, for this bull;
//! 5. then the one with the fewest straws of the bull, so that one canister is finished before the
//!    next; among equals the tank listed first, and the lowest number;
//! 6. within a canister the cane with the fewest straws left, the top goblet before the bottom one,
//!    then the file's order.
//!
//! A cane's straws are those of its goblets together. A group whose share in heat nobody knows is
//! planned whole for both of its breedings: the second takes the straws of the first again, for no
//! animal takes two.

use std::collections::{BTreeMap, BTreeSet};

use super::spans::Spans;
use crate::planning::plan::Plan;
use crate::planning::plan::straws::{Want, wants};
use crate::trade::protocol::Semen;
use crate::trade::season::{Season, StrawPlace};

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
    /// The place, among [`Allocation::stocks`].
    pub stock: usize,
    /// How many.
    pub straws: u32,
    /// True if the group's first breeding takes them already, as far as that is bred.
    pub again: bool,
}

/// A season's straws, session by session.
#[derive(Clone, Debug)]
pub struct Allocation {
    /// All straws, by bull and place in the file.
    pub stocks: Vec<Stock>,
    /// What each session of the plan takes, in the order of taking.
    pub drawn: Vec<Vec<Drawn>>,
    /// The same by group, by its place in the plan.
    pub for_groups: Vec<Vec<(usize, Drawn)>>,
    /// Straws that no place has.
    pub short: u32,
}

/// Tank and canister.
pub type Can<'a> = (Option<&'a str>, Option<u32>);

fn can(place: &StrawPlace) -> Can<'_> {
    (place.tank.as_deref(), place.canister)
}

/// What the first breeding of a group took of a bull, and how much of it the second has taken again.
#[derive(Default)]
struct Held {
    lots: Vec<Drawn>,
    again: BTreeMap<String, u32>,
}

impl Held {
    /// Takes so many of the straws that another breeding of the group has, as far as there are.
    fn take(&mut self, step: &str, straws: u32) -> Vec<Drawn> {
        let done = self.again.entry(step.to_owned()).or_default();
        let (mut skip, mut need) = (*done, straws);
        let mut found = Vec::new();
        for lot in &self.lots {
            let passed = skip.min(lot.straws);
            skip -= passed;
            let straws = need.min(lot.straws - passed);
            need -= straws;
            if straws > 0 {
                let again = true;
                found.push(Drawn {
                    straws,
                    again,
                    ..*lot
                });
            }
        }
        *done += straws - need;
        found
    }
}

/// What the breedings of each group have, by group, bull and sort.
type HeldByGroup = BTreeMap<(usize, usize, Option<bool>), Held>;

/// Takes the straws of every session, by time.
#[must_use]
pub fn allocate(season: &Season, plan: &Plan) -> Allocation {
    let wants = wants(season, plan);
    let mut inventory = Inventory::new(season);
    let mut drawn = vec![Vec::new(); plan.sessions.len()];
    let mut for_groups = vec![Vec::new(); plan.sessions.len()];
    let mut short = 0;
    let mut held = HeldByGroup::new();
    let mut spans = Spans::of(season, plan, &wants);
    for n in plan.sessions_in_time() {
        inventory.away = spans.away(n);
        let mut lifted = BTreeSet::new();
        let mut by_bull: BTreeMap<(usize, Option<bool>), Vec<&Want>> = BTreeMap::new();
        for want in &wants[n] {
            let of = (want.bull, want.sexed);
            by_bull.entry(of).or_default().push(want);
        }
        for (of, wants) in by_bull {
            let (lots, shares) = inventory.of_bull(of, &wants, &mut held, &mut lifted);
            let wanted: u32 = wants.iter().map(|w| w.straws).sum();
            short += wanted - lots.iter().map(|d| d.straws).sum::<u32>();
            drawn[n].extend(lots);
            for_groups[n].extend(shares);
        }
        let from = drawn[n].iter();
        let from = from.map(|d: &Drawn| inventory.place(d.stock).tank.as_deref());
        spans.took(n, from.flatten());
    }
    let places = inventory.places.iter().zip(inventory.left);
    let stocks = places.map(|((bull, place), left)| Stock {
        bull: *bull,
        place: (*place).clone(),
        had: place.straws.0,
        left,
    });
    Allocation {
        stocks: stocks.collect(),
        drawn,
        for_groups,
        short,
    }
}

/// All places, and what is left in them.
#[derive(Debug)]
pub struct Inventory<'a> {
    season: &'a Season,
    places: Vec<(usize, &'a StrawPlace)>,
    /// Places of each bull.
    own: Vec<Vec<usize>>,
    left: Vec<u32>,
    /// Tanks in the order in which they are listed.
    rank: BTreeMap<&'a str, usize>,
    /// Canisters begun, by bull.
    begun: BTreeSet<(usize, Can<'a>)>,
    /// Tanks that are at another site.
    away: BTreeSet<&'a str>,
}

impl<'a> Inventory<'a> {
    /// All straws of a season.
    #[must_use]
    pub fn new(season: &'a Season) -> Self {
        let bulls = season.bulls.iter().enumerate();
        let places: Vec<(usize, &StrawPlace)> = bulls
            .flat_map(|(bull, b)| b.places.iter().map(move |place| (bull, place)))
            .collect();
        let mut own: Vec<Vec<usize>> = vec![Vec::new(); season.bulls.len()];
        for (n, (bull, _)) in places.iter().enumerate() {
            own[*bull].push(n);
        }
        let tanks = season.tanks.iter().enumerate();
        Self {
            season,
            left: places.iter().map(|(_, p)| p.straws.0).collect(),
            places,
            own,
            rank: tanks.map(|(n, t)| (t.id.as_str(), n)).collect(),
            begun: BTreeSet::new(),
            away: BTreeSet::new(),
        }
    }

    /// What is left when all sessions have taken theirs.
    #[must_use]
    pub fn after(season: &'a Season, allocation: &Allocation) -> Self {
        let mut inventory = Self::new(season);
        inventory.left = allocation.stocks.iter().map(|s| s.left).collect();
        for (stock, (bull, place)) in allocation.stocks.iter().zip(&inventory.places) {
            if stock.left < stock.had {
                inventory.begun.insert((*bull, can(place)));
            }
        }
        inventory
    }

    /// The place of a stock.
    #[must_use]
    pub fn place(&self, stock: usize) -> &'a StrawPlace {
        self.places[stock].1
    }

    /// A bull's straws for the groups of a session: as they are drawn, and by group. What other
    /// breedings of a group have is taken again; the rest is new.
    fn of_bull(
        &mut self,
        (bull, sexed): (usize, Option<bool>),
        wants: &[&Want],
        held: &mut HeldByGroup,
        lifted: &mut BTreeSet<Can<'a>>,
    ) -> (Vec<Drawn>, Vec<(usize, Drawn)>) {
        let (mut drawn, mut shares, mut rest) = (Vec::new(), Vec::new(), Vec::new());
        for want in wants {
            let again = want.step.as_ref().map_or(Vec::new(), |step| {
                let held = held.entry((want.group, bull, sexed)).or_default();
                held.take(step, want.straws)
            });
            let more = want.straws - again.iter().map(|d| d.straws).sum::<u32>();
            rest.push((want, more));
            drawn.extend(&again);
            shares.extend(again.into_iter().map(|d| (want.group, d)));
        }
        let all = rest.iter().map(|(_, more)| more).sum();
        let mut new = self.draw(bull, sexed, all, lifted);
        drawn.extend(&new);
        for (want, mut more) in rest {
            for lot in &mut new {
                let straws = more.min(lot.straws);
                if straws == 0 {
                    continue;
                }
                lot.straws -= straws;
                more -= straws;
                let mine = Drawn { straws, ..*lot };
                shares.push((want.group, mine));
                if let Some(step) = &want.step {
                    let held = held.entry((want.group, bull, sexed)).or_default();
                    held.lots.push(mine);
                    *held.again.entry(step.clone()).or_default() += straws;
                }
            }
        }
        (drawn, shares)
    }

    /// Draws so many straws of a bull, of one sort or of any, or all there are. `lifted` are the
    /// canisters that are lifted already.
    pub fn draw(
        &mut self,
        bull: usize,
        sexed: Option<bool>,
        straws: u32,
        lifted: &mut BTreeSet<Can<'a>>,
    ) -> Vec<Drawn> {
        let of = &self.season.bulls[bull];
        let sort = |p: &StrawPlace| sexed.is_none_or(|s| of.is_sexed(p) == s);
        let (mut want, mut drawn) = (straws, Vec::new());
        while want > 0 {
            let mine = self.own[bull].iter().map(|n| (*n, self.places[*n].1));
            let mine = mine.filter(|(n, p)| self.left[*n] > 0 && sort(p)).collect();
            let stocks = self.next(mine, bull, lifted);
            let Some(stocks) = stocks else { break };
            let from = can(self.places[stocks[0]].1);
            self.begun.insert((bull, from));
            lifted.insert(from);
            for stock in stocks {
                let straws = self.left[stock].min(want);
                if straws > 0 {
                    self.left[stock] -= straws;
                    want -= straws;
                    let again = false;
                    drawn.push(Drawn {
                        stock,
                        straws,
                        again,
                    });
                }
            }
        }
        drawn
    }

    /// The places of the next canister in the order in which they are emptied, by rules 1 to 6.
    fn next(
        &self,
        mine: Vec<(usize, &StrawPlace)>,
        bull: usize,
        lifted: &BTreeSet<Can<'_>>,
    ) -> Option<Vec<usize>> {
        let left = &self.left;
        let mut in_can: BTreeMap<(bool, Can<'_>), u32> = BTreeMap::new();
        let sexed = |p: &StrawPlace| p.sort == Semen::Sexed;
        for (n, p) in &mine {
            *in_can.entry((sexed(p), can(p))).or_default() += left[*n];
        }
        let first = in_can.into_iter().min_by_key(|((sexed, can), straws)| {
            // Tanks listed first, then others, then straws of no tank.
            let tank = can.0.map_or(usize::MAX, |t| {
                self.rank.get(t).copied().unwrap_or(usize::MAX - 1)
            });
            (
                *sexed,
                can.0.is_some_and(|t| self.away.contains(t)),
                !lifted.contains(can),
                !self.begun.contains(&(bull, *can)),
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
}
