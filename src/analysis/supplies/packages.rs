//! Which packages to buy: the least bought in all that covers what is used, day by day.
//!
//! Amounts are whole thousandths of the unit, so that sums are exact. A package is opened only when
//! those open before are empty or too old; what is left in it is used first, until it is too old.
//! Opening more, or sooner, never helps, so the days are gone through once with what is left and
//! since when it is open as the state: a shortest path. What the packages opened on one day hold
//! together is a sum of sizes, each sum at its least price and number (`Sums`).
//!
//! Without an end to what is open, the choice is a sum of sizes; with one, it hangs on the days. Where
//! sizes have no common divisor to speak of and bottles keep for some days only, the states looked at
//! are limited, and the list says so. The path does not care which bottle is opened when; the choice is
//! laid out over the days again, so that none is opened before the day that needs it (`as_needed`).

use std::collections::BTreeMap;

/// Thousandths of a unit in one.
pub const GRAIN: u64 = 1000;

/// A size that can be bought.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Size {
    /// What is in it, in thousandths of the unit; above zero.
    pub holds: u64,
    /// Its price, in hundredths of the currency.
    pub price: Option<u64>,
}

/// What is used on a day.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Need {
    /// Number of the day; needs are in the order of days.
    pub day: i64,
    /// How much, in thousandths of the unit.
    pub amount: u64,
}

/// What counts first.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Aim {
    /// The least bought; then the least price, where all prices are known; then the fewest packages.
    FewestLeftovers,
    /// The least price; then the least bought; then the fewest packages.
    LeastPrice,
}

/// Packages opened on a day.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Opened {
    /// Number of the day.
    pub day: i64,
    /// How many of each size.
    pub counts: Vec<u64>,
    /// What is left of them in the evening, in thousandths of the unit.
    pub left: u64,
}

/// A choice of packages.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Choice {
    /// How many of each size.
    pub counts: Vec<u64>,
    /// What they hold together, in thousandths of the unit.
    pub bought: u64,
    /// What they cost, where all prices are known.
    pub price: Option<u64>,
    /// Which are opened when.
    pub opened: Vec<Opened>,
    /// Thrown away as too old before the last day, in thousandths of the unit.
    pub too_old: u64,
    /// True if no choice is better; false if there were too many to look at each.
    pub proven: bool,
}

/// States times sums that are looked at for one day at the most.
const MOST_WORK: usize = 100_000;

/// Bought, price and packages, in the order of the aim: to be least, the first one first.
type Cost = [u64; 3];

/// What is left, and the day on which it was opened. Nothing left: day 0.
type State = (u64, i64);

/// How a state is reached best: at what cost, from which state, by opening how much.
type Reached = (Cost, State, u64);

/// The best packages for these needs; a package keeps `keeps` days after that of opening, or for
/// good. `None` where there is no size, or nothing is needed.
#[must_use]
pub fn choose(sizes: &[Size], needs: &[Need], keeps: Option<u32>, aim: Aim) -> Option<Choice> {
    let merged;
    let needs = if keeps.is_none() {
        // Without an end nothing hangs on the days.
        let day = needs.iter().find(|n| n.amount > 0)?.day;
        let amount = needs.iter().map(|n| n.amount).sum();
        merged = [Need { day, amount }];
        &merged[..]
    } else {
        needs
    };
    let most = needs.iter().map(|n| n.amount).max().filter(|a| *a > 0)?;
    let sums = Sums::of(sizes, most)?;
    let (batches, proven) = shortest_path(&sums, needs, keeps, aim)?;
    let (opened, too_old) = as_needed(sizes, needs, keeps, &batches);
    let mut counts = vec![0; sizes.len()];
    for o in &opened {
        for (all, n) in counts.iter_mut().zip(&o.counts) {
            *all += n;
        }
    }
    let sum = |of: fn(&Size) -> Option<u64>| -> Option<u64> {
        let each = sizes.iter().zip(&counts);
        each.map(|(s, n)| Some(of(s)? * n)).sum()
    };
    Some(Choice {
        bought: sum(|s| Some(s.holds))?,
        price: sum(|s| s.price),
        counts,
        opened,
        too_old,
        proven,
    })
}

/// How many of each size to open each day, at the least cost in all; and whether that is proven.
fn shortest_path(
    sums: &Sums<'_>,
    needs: &[Need],
    keeps: Option<u32>,
    aim: Aim,
) -> Option<(Vec<Vec<u64>>, bool)> {
    let mut days: Vec<BTreeMap<State, Reached>> = Vec::new();
    let mut proven = true;
    let mut now: BTreeMap<State, Cost> = BTreeMap::from([((0, 0), [0; 3])]);
    let width = sums.largest / sums.step + 1;
    let most_states = (MOST_WORK / width.min(MOST_WORK as u64) as usize).max(1);
    for need in needs {
        if now.len() > most_states {
            proven = false;
            let mut all: Vec<(State, Cost)> = now.into_iter().collect();
            all.sort_by_key(|(state, cost)| (*cost, std::cmp::Reverse(*state)));
            all.truncate(most_states);
            now = all.into_iter().collect();
        }
        let next = states_after(sums, &now, *need, keeps, aim);
        now = next.iter().map(|(s, (c, ..))| (*s, *c)).collect();
        days.push(next);
    }
    let (mut state, _) = now
        .into_iter()
        .min_by_key(|(state, cost)| (*cost, *state))?;
    let mut batches = Vec::new();
    for reached in days.iter().rev() {
        let (_, from, bought) = reached[&state];
        batches.push(sums.counts(bought));
        state = from;
    }
    batches.reverse();
    Some((batches, proven))
}

/// The states after a day, each as it is reached best.
fn states_after(
    sums: &Sums<'_>,
    now: &BTreeMap<State, Cost>,
    need: Need,
    keeps: Option<u32>,
    aim: Aim,
) -> BTreeMap<State, Reached> {
    let fresh = |state: &State| keeps.is_none_or(|k| need.day <= state.1 + i64::from(k));
    let mut next: BTreeMap<State, Reached> = BTreeMap::new();
    let mut reach = |to: State, cost: Cost, from: State, bought: u64| {
        let to = if to.0 == 0 { (0, 0) } else { to };
        if next.get(&to).is_none_or(|(c, ..)| cost < *c) {
            next.insert(to, (cost, from, bought));
        }
    };
    for (state, cost) in now {
        let left = if fresh(state) { state.0 } else { 0 };
        if left >= need.amount {
            reach((left - need.amount, state.1), *cost, *state, 0);
            continue;
        }
        let lacking = need.amount - left;
        let first = lacking.div_ceil(sums.step);
        // A package that stays full is not opened.
        for k in first..=(lacking + sums.largest - 1) / sums.step {
            let bought = k * sums.step;
            let Some((price, packages)) = sums.cost(bought) else {
                continue;
            };
            let more = match aim {
                Aim::FewestLeftovers => [bought, price, packages],
                Aim::LeastPrice => [price, bought, packages],
            };
            let cost = [0, 1, 2].map(|i| cost[i] + more[i]);
            reach((bought - lacking, need.day), cost, *state, bought);
        }
    }
    next
}

/// Opens the packages that were chosen, each no sooner than it is needed, and tells what gets too old:
/// of those that should be open by a day the smallest that suffices, or else the largest. A package
/// that waits unopened is worth as much as one opened too soon, so what was chosen always suffices.
fn as_needed(
    sizes: &[Size],
    needs: &[Need],
    keeps: Option<u32>,
    batches: &[Vec<u64>],
) -> (Vec<Opened>, u64) {
    let mut waiting = vec![0; sizes.len()];
    let (mut left, mut since, mut too_old) = (0, 0, 0);
    let mut opened = Vec::new();
    for (need, batch) in needs.iter().zip(batches) {
        for (all, n) in waiting.iter_mut().zip(batch) {
            *all += n;
        }
        if keeps.is_some_and(|k| need.day > since + i64::from(k)) {
            too_old += left;
            left = 0;
        }
        if left >= need.amount {
            left -= need.amount;
            continue;
        }
        let mut lacking = need.amount - left;
        (left, since) = (0, need.day);
        let mut counts = vec![0; sizes.len()];
        while lacking > 0 {
            let there = || (0..sizes.len()).filter(|n| waiting[*n] > 0);
            let enough = there().filter(|n| sizes[*n].holds >= lacking);
            let smallest = enough.min_by_key(|n| sizes[*n].holds);
            let Some(n) = smallest.or_else(|| there().max_by_key(|n| sizes[*n].holds)) else {
                break;
            };
            let holds = sizes[n].holds;
            let take = (lacking / holds).clamp(1, waiting[n]);
            counts[n] += take;
            waiting[n] -= take;
            left = (take * holds).saturating_sub(lacking);
            lacking = lacking.saturating_sub(take * holds);
        }
        opened.push(Opened {
            day: need.day,
            counts,
            left,
        });
    }
    (opened, too_old)
}

/// The least price and number of packages for each sum of sizes.
///
/// The size with the least price for what it holds, and of these the largest, is the best. Of so many
/// other packages as the best one has steps, some hold together a multiple of it, and the same of
/// the best costs no more. So the others hold less than that many times the largest, and a table
/// up to there tells all sums.
struct Sums<'a> {
    sizes: &'a [Size],
    /// The greatest common divisor of all sizes.
    step: u64,
    largest: u64,
    best: usize,
    /// What the best one costs; 0 where some price is not known.
    best_price: u64,
    /// For each sum in steps: price, number, and the size that is taken last.
    table: Vec<Option<(u64, u64, usize)>>,
}

impl<'a> Sums<'a> {
    fn of(sizes: &'a [Size], most_needed: u64) -> Option<Self> {
        let step = sizes.iter().map(|s| s.holds).reduce(divisor)?;
        let largest = sizes.iter().map(|s| s.holds).max()?;
        // Some prices tell nothing of all.
        let priced = sizes.iter().all(|s| s.price.is_some());
        let price = |s: &Size| s.price.filter(|_| priced).unwrap_or(0);
        let best = (0..sizes.len()).min_by(|a, b| {
            let (a, b) = (&sizes[*a], &sizes[*b]);
            let across = |x: &Size, y: &Size| u128::from(price(x)) * u128::from(y.holds);
            across(a, b).cmp(&across(b, a)).then(b.holds.cmp(&a.holds))
        })?;
        let enough = (sizes[best].holds / step) * (largest / step) + sizes[best].holds / step;
        let asked = (most_needed + largest) / step + 1;
        let mut table: Vec<Option<(u64, u64, usize)>> = vec![Some((0, 0, 0))];
        for k in 1..=enough.min(asked) {
            let with = |n: usize| {
                let before = k.checked_sub(sizes[n].holds / step)?;
                let (p, count, _) = table[usize::try_from(before).ok()?]?;
                Some((p + price(&sizes[n]), count + 1, n))
            };
            table.push((0..sizes.len()).filter_map(with).min());
        }
        Some(Self {
            sizes,
            step,
            largest,
            best,
            best_price: price(&sizes[best]),
            table,
        })
    }

    /// The best ones of a sum beside those that the table tells of.
    fn beside(&self, sum: u64) -> (u64, usize) {
        let (k, last) = (sum / self.step, self.table.len() as u64 - 1);
        let each = self.sizes[self.best].holds / self.step;
        let beside = k.saturating_sub(last).div_ceil(each);
        (beside, (k - beside * each) as usize)
    }

    /// Least price and number for a sum, a multiple of the step; `None` where no packages hold it.
    fn cost(&self, sum: u64) -> Option<(u64, u64)> {
        let (beside, k) = self.beside(sum);
        let (price, count, _) = self.table[k]?;
        Some((price + beside * self.best_price, count + beside))
    }

    fn counts(&self, sum: u64) -> Vec<u64> {
        let mut counts = vec![0; self.sizes.len()];
        let (beside, mut k) = self.beside(sum);
        counts[self.best] += beside;
        while k > 0 {
            let Some((_, _, n)) = self.table[k] else {
                break;
            };
            counts[n] += 1;
            k -= (self.sizes[n].holds / self.step) as usize;
        }
        counts
    }
}

fn divisor(a: u64, b: u64) -> u64 {
    if b == 0 { a } else { divisor(b, a % b) }
}
