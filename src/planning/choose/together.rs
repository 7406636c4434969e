//! Several groups at once: starts chosen together, so that they do not collide for crew and chutes.
//!
//! A mixed-integer model has a yes-or-no variable for each group and candidate, what each costs
//! alone, and what collisions cost. Collisions are added as they are met: the model proposes a
//! choice, the crew is counted for it as in a plan, and what the model did not know of becomes a
//! limit for all candidates. The model never knows of more than there is, so its cost is a bound;
//! where the counted cost of its proposal is no more, no choice is better.
//!
//! Straws are left out: a group wants as many, whenever it is bred.
//!
//! Collisions are learned because knowing all of them beforehand would need the crew counted for each
//! set of candidates. Limits cover chutes by quarters of an hour, crews by what they could breed at the
//! most between two moments, pairs and threes of groups on a day (`pairs`), and the very set that was
//! counted. Proposals near the best are made better by changing one group after the other.
//!
//! It begins with good starts of each group. A start left out can be part of a better choice only if its
//! points, with the fewest of all other groups, are fewer than those of the choice: such starts are taken
//! in, and the groups are chosen for again, until there is none (`pool`). All of it is limited by work, not
//! by time; then the gap is told.

use std::cmp::Reverse;
use std::collections::BTreeMap;

use chrono::NaiveDate;
use schemars::JsonSchema;
use serde::Serialize;

use super::hours::{Prices, left_at_least};
use super::model::Model;
use super::pool::{self, Pool};
use super::table::{At, SAME, SEARCH_WORK, Table};
use crate::base::progress::{Budget, Progress, Stage};
use crate::base::units::in_hundredths;
use crate::planning::crew::Fault;

/// Proposals of the model before the best choice so far is taken.
const MOST_ROUNDS: usize = 60;

/// While starts are left out, a choice is near enough to its bound at this share of how far it may be from
/// theirs.
const NEAR_ENOUGH: f64 = 0.1;

/// Times that starts are taken in by price, starts of a group each time, and work for the prices of a time, in about
/// microseconds.
const MOST_PRICED: usize = 8;
const A_TIME: usize = 3;
const PRICES_WORK: i64 = 1_000_000;

/// Rounds of changes that make a choice better.
const MOST_IMPROVING: usize = 5;

/// A proposal that costs so much more than the best is changed, too, to see whether it can be better.
const NEARLY: f64 = 1.1;

/// How good the choice for all groups is.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct Picked {
    /// Points of the choice.
    #[serde(serialize_with = "in_hundredths")]
    pub points: f64,
    /// No choice has fewer points.
    #[serde(rename = "least_points", serialize_with = "in_hundredths")]
    pub bound: f64,
    /// How far the points may be above the least, as a share of them.
    pub gap: f64,
    /// Points if each group took its own best row.
    #[serde(rename = "points_one_by_one", serialize_with = "in_hundredths")]
    pub one_by_one: f64,
    /// Choices that were counted.
    #[serde(rename = "proposals")]
    pub rounds: usize,
    /// True if the search was stopped by hand.
    #[serde(rename = "stopped_by_hand")]
    pub stopped: bool,
    /// Head that cannot be bred because the groups need the crew at the same time.
    pub head_not_bred: u32,
    /// Quarter hours in which two groups need one chute.
    pub chute_quarters: u32,
}

impl Picked {
    /// Some choice might have as few points as this.
    pub(super) fn bound_by(&mut self, least: f64) {
        self.bound = self.bound.min(least);
        if self.points - self.bound <= SAME {
            self.bound = self.points;
        }
        self.gap = ((self.points - self.bound) / self.points.abs().max(1.0)).max(0.0);
    }
}

/// What the collisions of a choice are.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
struct Collisions {
    head: u32,
    quarters: u32,
}

impl<'a> Table<'_, 'a> {
    fn head(&mut self, picks: &[At]) -> Result<u32, Fault> {
        let sets = self.bred_together(picks);
        sets.iter().map(|set| self.extra(set)).sum()
    }

    fn quarters(&self, picks: &[At]) -> u32 {
        self.wanted(picks).values().map(|n| n - 1).sum()
    }

    fn cost_of(&self, c: Collisions) -> f64 {
        self.weights.head_not_bred * f64::from(c.head)
            + self.weights.chute_quarter * f64::from(c.quarters)
    }

    /// What a choice costs; none if that is not below a limit. Points and chutes are counted first: they are
    /// soon known, and often enough.
    fn cost_below(&mut self, picks: &[At], limit: f64) -> Result<Option<f64>, Fault> {
        let alone: f64 = picks.iter().map(|at| self.entry(*at).points).sum();
        if alone >= limit {
            return Ok(None);
        }
        let mut collisions = Collisions {
            head: 0,
            quarters: self.quarters(picks),
        };
        if self.cost_at_least(picks) >= limit {
            return Ok(None);
        }
        collisions.head = self.head(picks)?;
        let cost = alone + self.cost_of(collisions);
        Ok(Some(cost).filter(|cost| *cost < limit))
    }

    fn cost(&mut self, picks: &[At]) -> Result<f64, Fault> {
        let cost = self.cost_below(picks, f64::INFINITY)?;
        Ok(cost.unwrap_or(f64::INFINITY))
    }

    /// Each group in the file's order takes what is best after those before it.
    pub(super) fn one_by_one(&mut self) -> Result<(Vec<At>, f64), Fault> {
        let mut picks: Vec<At> = Vec::new();
        let mut so_far = 0.0;
        for g in 0..self.groups.len() {
            let mut best: Option<(f64, usize)> = None;
            for c in 0..self.groups[g].len() {
                picks.push((g, c));
                let below = best.map_or(f64::INFINITY, |(cost, _)| cost);
                let cost = self.cost_below(&picks, below)?;
                picks.pop();
                best = cost.map(|cost| (cost, c)).or(best);
            }
            if let Some((cost, c)) = best {
                picks.push((g, c));
                so_far = cost;
            }
        }
        Ok((picks, so_far))
    }

    /// Changes one group's candidate after the other, as long as that costs less.
    fn improve(
        &mut self,
        picks: &mut [At],
        cost: &mut f64,
        progress: &dyn Progress,
    ) -> Result<(), Fault> {
        // As much is left for the next choice as may be spent on this one.
        let keep = (self.sets_left - self.sets_left / 2).max(1);
        // Each round costs less than the one before, so this ends; the bound is for many groups.
        for _ in 0..MOST_IMPROVING {
            let before = *cost;
            for n in 0..picks.len() {
                if progress.stop() || self.sets_left < keep {
                    return Ok(());
                }
                let (g, mut stays) = picks[n];
                for c in 0..self.groups[g].len() {
                    if c == stays {
                        continue;
                    }
                    picks[n] = (g, c);
                    if let Some(then) = self.cost_below(picks, *cost - SAME)? {
                        (*cost, stays) = (then, c);
                    }
                    picks[n] = (g, stays);
                }
            }
            if *cost >= before - SAME {
                break;
            }
        }
        Ok(())
    }

    /// The choice for all groups out of the starts taken in, begun with one that is known. `others` is the
    /// fewest points that any choice with a start left out can have, `least` that any at all. Asked to stop, it gives the best that it
    /// has found.
    fn pick(
        &mut self,
        known: &[At],
        one_by_one: f64,
        others: f64,
        least: f64,
        progress: &dyn Progress,
    ) -> Result<(Vec<At>, Picked), Fault> {
        progress.reached(Stage::Choosing, 0, MOST_ROUNDS);
        let mut best = known.to_vec();
        let mut points = self.cost(&best)?;
        self.improve(&mut best, &mut points, progress)?;
        let mut model = Model::new(self);
        let mut bound = least.min(points);
        let mut rounds = 0;
        let mut stopped = false;
        let is_near =
            |points: f64, bound| points - bound <= SAME.max(NEAR_ENOUGH * (points - others));
        // As much is left for the next choice as may be spent on this one.
        let share = if others.is_finite() {
            self.searching / 2
        } else {
            self.searching
        };
        let budget = Budget::new(progress, share);
        while rounds < MOST_ROUNDS && !is_near(points, bound) && !budget.used_up() {
            if progress.stop() {
                stopped = true;
                break;
            }
            progress.reached(Stage::Choosing, rounds, MOST_ROUNDS);
            rounds += 1;
            let Ok(answer) = model.proposal(&budget) else {
                break;
            };
            let picks = model.picks(&answer.values);
            let cost = self.cost(&picks)?;
            let (mut better, mut less) = (picks.clone(), cost);
            if cost < points * NEARLY {
                self.improve(&mut better, &mut less, progress)?;
            }
            if less < points - SAME {
                (best, points) = (better, less);
            }
            // Of a search that stopped early, only the fractions give a bound.
            let proposed = if answer.proven {
                answer.cost
            } else {
                model.relaxed(&budget).map_or(f64::NEG_INFINITY, |r| r.cost)
            };
            bound = bound.max(proposed.min(points));
            if !model.learn(self, &picks, &answer.values)? {
                break;
            }
        }
        self.searching -= share - budget.left();
        // Once more, all groups at once.
        best.sort_unstable();
        let mut collisions = Collisions {
            head: self.head(&best)?,
            quarters: self.quarters(&best),
        };
        let known = self.cost_of(collisions);
        collisions.head = self.extra(&best)?.max(self.extra_as_spread(&best)?);
        points += self.cost_of(collisions) - known;
        let mut picked = Picked {
            points,
            bound,
            gap: 0.0,
            one_by_one,
            rounds,
            stopped,
            head_not_bred: collisions.head,
            chute_quarters: collisions.quarters,
        };
        picked.bound_by(points);
        Ok((best, picked))
    }

    /// The choice for all groups out of all starts that fit: its gap holds for those left out as well.
    pub(super) fn pick_of_all(
        &mut self,
        pools: &mut [Pool<'_, 'a>],
        progress: &dyn Progress,
    ) -> Result<(Vec<At>, Picked), Fault> {
        let (mut known, one_by_one) = self.one_by_one()?;
        let (mut prices, mut by_prices) = self.take_in_by_price(pools, progress)?;
        let mut rounds = 0;
        let mut batches = 1;
        loop {
            // Of all starts of each group, taken in or not.
            let least: Vec<f64> = (0..pools.len())
                .map(|g| pools[g].fewest_left_out().min(self.least_of(g, &prices)))
                .collect();
            let all = prices.bound(&least);
            let with = |g: usize| all - least[g] + pools[g].fewest_left_out();
            let others = (0..pools.len()).map(with).fold(f64::INFINITY, f64::min);
            let better = self.by_days(&by_prices, &known)?;
            let (picks, mut picked) = self.pick(&better, one_by_one, others, all, progress)?;
            picked.rounds += rounds;
            let below = |g: usize| picked.points - SAME - (all - least[g]);
            let open: Vec<usize> = (0..pools.len())
                .filter(|g| pools[*g].fewest_left_out() < below(*g))
                .collect();
            if open.is_empty() {
                return Ok((picks, picked));
            }
            picked.stopped |= progress.stop();
            let entries: usize = self.groups.iter().map(Vec::len).sum();
            let room = pool::MOST.saturating_sub(entries) / open.len();
            if room == 0 || self.searching < SEARCH_WORK / 16 || picked.stopped {
                picked.bound_by(others);
                return Ok((picks, picked));
            }
            for g in open {
                let most = room.min(pools[g].batch * batches);
                pools[g].take_in(self.scene, most, below(g))?;
                self.take_in(g, &pools[g]);
            }
            batches = (2 * batches).min(pool::MOST);
            (known, rounds) = (picks, picked.rounds);
            (prices, by_prices) = self.prices(pools, progress);
        }
    }

    /// The least that a start taken in costs a group, with the crew that it asks for.
    fn least_of(&self, g: usize, prices: &Prices) -> f64 {
        let costs = self.groups[g]
            .iter()
            .map(|e| prices.cost(e.points, e.asked()));
        costs.fold(f64::INFINITY, f64::min)
    }

    fn prices(&mut self, pools: &mut [Pool<'_, 'a>], progress: &dyn Progress) -> (Prices, Vec<At>) {
        let (prices, picks) = self.priced(&Budget::new(progress, PRICES_WORK));
        for pool in pools {
            pool.price(&prices);
        }
        (prices, picks)
    }

    /// Takes in starts that are cheaper than those taken in, by what the hours of the crew are worth.
    fn take_in_by_price(
        &mut self,
        pools: &mut [Pool<'_, 'a>],
        progress: &dyn Progress,
    ) -> Result<(Prices, Vec<At>), Fault> {
        let mut priced = self.prices(pools, progress);
        for _ in 0..MOST_PRICED {
            let mut any = false;
            for (g, pool) in pools.iter_mut().enumerate() {
                let entries: usize = self.groups.iter().map(Vec::len).sum();
                let most = A_TIME.min(pool::MOST.saturating_sub(entries));
                let below = self.least_of(g, &priced.0) - SAME;
                if pool.take_in_cheapest(self.scene, most, below)? {
                    self.take_in(g, pool);
                    any = true;
                }
            }
            if !any || progress.stop() {
                break;
            }
            priced = self.prices(pools, progress);
        }
        Ok(priced)
    }

    /// The choice that the prices of the crew's hours speak for, or one that is known: each changed for the better day by
    /// day.
    fn by_days(&mut self, by_prices: &[At], known: &[At]) -> Result<Vec<At>, Fault> {
        let mut best = known.to_vec();
        let mut points = self.cost(&best)?;
        let mut begun = vec![known.to_vec()];
        if by_prices.len() == known.len() && by_prices != known {
            begun.insert(0, by_prices.to_vec());
        }
        for mut picks in begun {
            self.improve_by_days(&mut picks)?;
            if let Some(cost) = self.cost_below(&picks, points - SAME)? {
                (best, points) = (picks, cost);
            }
        }
        Ok(best)
    }

    /// Changes one group's candidate after the other, as long as that costs less with each day counted by itself: those
    /// first that are bred on days on which most is left.
    fn improve_by_days(&mut self, picks: &mut [At]) -> Result<(), Fault> {
        let keep = self.by_day_left / 2;
        let mut left = BTreeMap::new();
        for (day, set) in self.by_day(picks) {
            left.insert(day, self.left_of_day(&set)?);
        }
        let cost = |table: &Self, picks: &[At], head: u32| {
            let alone: f64 = picks.iter().map(|at| table.entry(*at).points).sum();
            let quarters = table.quarters(picks);
            alone + table.cost_of(Collisions { head, quarters })
        };
        let mut least = cost(self, picks, left.values().sum());
        for _ in 0..MOST_IMPROVING {
            let before = least;
            let of = |at: &At| -> u32 {
                let days = self.entry(*at).days().into_iter();
                days.filter_map(|day| left.get(&day)).sum()
            };
            let mut order: Vec<usize> = (0..picks.len()).filter(|n| of(&picks[*n]) > 0).collect();
            order.sort_by_key(|n| Reverse(of(&picks[*n])));
            for n in order {
                let (g, mut stays) = picks[n];
                for c in 0..self.groups[g].len() {
                    if c == stays || self.by_day_left <= keep {
                        continue;
                    }
                    let mut changed = self.entry((g, stays)).days();
                    changed.extend(self.entry((g, c)).days());
                    let others = left.iter().filter(|(day, _)| !changed.contains(*day));
                    let others: u32 = others.map(|(_, head)| head).sum();
                    picks[n] = (g, c);
                    if cost(self, picks, others) < least - SAME {
                        let sets = self.by_day(picks);
                        let mut then = BTreeMap::new();
                        for day in changed {
                            let head = sets.get(&day).map_or(Ok(0), |set| self.left_of_day(set))?;
                            then.insert(day, head);
                        }
                        let now = cost(self, picks, others + then.values().sum::<u32>());
                        if now < least - SAME {
                            (least, stays) = (now, c);
                            left.extend(then);
                        }
                    }
                    picks[n] = (g, stays);
                }
            }
            if least >= before - SAME {
                break;
            }
        }
        Ok(())
    }

    /// Those of a choice that are bred on each day.
    fn by_day(&self, picks: &[At]) -> BTreeMap<NaiveDate, Vec<At>> {
        let mut by_day: BTreeMap<NaiveDate, Vec<At>> = BTreeMap::new();
        for at in picks {
            for day in self.entry(*at).days() {
                by_day.entry(day).or_default().push(*at);
            }
        }
        by_day
    }

    fn left_of_day(&mut self, set: &[At]) -> Result<u32, Fault> {
        if set.len() < 2 {
            return Ok(0);
        }
        self.by_day_left = self.by_day_left.saturating_sub(set.len());
        Ok(self.extra_about(set)?.1)
    }

    fn cost_at_least(&self, picks: &[At]) -> f64 {
        let alone: f64 = picks.iter().map(|at| self.entry(*at).points).sum();
        let asked: Vec<_> = picks.iter().map(|at| self.entry(*at).asked()).collect();
        let head = self.weights.head_not_bred * left_at_least(&self.hours, &asked);
        alone + head + self.weights.chute_quarter * f64::from(self.quarters(picks))
    }
}
