//! The best way to share out straws: animals that are alike as one supply, straws of one bull as
//! one store, and a worth for each pair; the most worth in all, with prices that prove it.
//!
//! One supply after another is put in along the chain of moves that gains most (successive longest
//! augmentation): she takes a straw of one bull, whose holder moves to another, and so on to one
//! with straws left. The state is best for what is put in so far at every step, in whole animals.
//! The chains run over the few stores, never over the animals. Existing crates for this (dense
//! assignment, flows in C++) want a row for each straw, or keep their prices to themselves, and know
//! worths as one number only.
//!
//! Worths are four numbers compared in order; sums and order are all that the method and its proof
//! need. The proof: at any prices for straws, nobody's matings are worth more than each animal's best
//! straw less its price, and all straws at their prices.

use std::collections::BinaryHeap;
use std::ops::{Add, Sub};

/// A worth in four parts, the first counting before all that follow: animals with a bull, heifers
/// with a calving-ease bull, score in hundredths, marked animals with sexed straws. Sums and
/// order are all that is ever needed of it, so no weights are.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) struct Worth(pub(crate) [i64; 4]);

impl Worth {
    pub(crate) fn times(self, n: i64) -> Self {
        Self(self.0.map(|x| x * n))
    }
}

impl Add for Worth {
    type Output = Self;
    fn add(self, other: Self) -> Self {
        Self(std::array::from_fn(|n| self.0[n] + other.0[n]))
    }
}

impl Sub for Worth {
    type Output = Self;
    fn sub(self, other: Self) -> Self {
        self + other.times(-1)
    }
}

/// Animals that are alike.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) struct Supply {
    /// Worth with each store she may draw from; none where she may not.
    pub(crate) worth: Vec<Option<Worth>>,
    pub(crate) head: u32,
}

/// How straws are shared out.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct Solution {
    /// Head of each supply by store; the last store is going without.
    pub(crate) head: Vec<Vec<u32>>,
    /// What one straw more of each store would be worth.
    pub(crate) prices: Vec<Worth>,
}

/// A move of one animal of a supply, and what it gains.
type Gain = (Worth, std::cmp::Reverse<u32>);

struct State<'a> {
    supplies: &'a [Supply],
    /// Straws left of each store.
    left: Vec<u32>,
    head: Vec<Vec<u32>>,
    /// Moves from a store to another by their gain, some of them past: only of stores that are used
    /// up, where moves matter.
    moves: Vec<Vec<BinaryHeap<Gain>>>,
    without: usize,
}

/// Shares out the straws of the stores for the most worth.
pub(crate) fn solve(supplies: &[Supply], straws: &[u32]) -> Solution {
    let without = straws.len();
    let mut state = State {
        supplies,
        left: straws.to_vec(),
        head: vec![vec![0; without + 1]; supplies.len()],
        moves: vec![Vec::new(); without],
        without,
    };
    for j in (0..without).filter(|j| straws[*j] == 0) {
        state.open_moves(j);
    }
    for (i, supply) in supplies.iter().enumerate() {
        let mut rest = supply.head;
        while rest > 0 {
            rest -= state.put_in(i, rest);
        }
    }
    let prices = state.prices();
    Solution {
        head: state.head,
        prices,
    }
}

impl State<'_> {
    fn worth(&self, i: usize, j: usize) -> Option<Worth> {
        if j == self.without {
            Some(Worth::default())
        } else {
            self.supplies[i].worth[j]
        }
    }

    /// Puts in some head of a supply along the best chain; at least one, for going without has
    /// room for all.
    fn put_in(&mut self, i: usize, most: u32) -> u32 {
        let n = self.without + 1;
        let mut best: Vec<Option<Worth>> = (0..n).map(|j| self.worth(i, j)).collect();
        // Which store, and whose move, led here.
        let mut from: Vec<Option<(usize, usize)>> = vec![None; n];
        let mut changed: Vec<bool> = best.iter().map(Option::is_some).collect();
        // No chain gains by going round, so this ends.
        while let Some(j) = (0..self.without).find(|j| changed[*j] && self.left[*j] == 0) {
            changed[j] = false;
            let Some(so_far) = best[j] else { continue };
            for k in (0..n).filter(|k| *k != j) {
                if let Some((gain, mover)) = self.best_move(j, k) {
                    let then = so_far + gain;
                    if best[k].is_none_or(|b| then > b) {
                        best[k] = Some(then);
                        from[k] = Some((j, mover));
                        changed[k] = true;
                    }
                }
            }
        }
        let open = (0..n).filter(|j| *j == self.without || self.left[*j] > 0);
        // Of equal chains the one to the first store.
        let end = open
            .filter(|j| best[*j].is_some())
            .max_by(|a, b| best[*a].cmp(&best[*b]).then(b.cmp(a)))
            .unwrap_or(self.without);
        let mut units = most;
        if end != self.without {
            units = units.min(self.left[end]);
        }
        let mut at = end;
        while let Some((j, mover)) = from[at] {
            units = units.min(self.head[mover][j]);
            at = j;
        }
        let mut at = end;
        while let Some((j, mover)) = from[at] {
            self.head[mover][j] -= units;
            self.gain_head(mover, at, units);
            at = j;
        }
        self.gain_head(i, at, units);
        if end != self.without {
            self.left[end] -= units;
            if self.left[end] == 0 {
                self.open_moves(end);
            }
        }
        units
    }

    fn gain_head(&mut self, i: usize, j: usize, units: u32) {
        let is_new = self.head[i][j] == 0;
        self.head[i][j] += units;
        if is_new && j != self.without && !self.moves[j].is_empty() {
            self.list_moves(i, j);
        }
    }

    /// From now on moves out of this store matter.
    fn open_moves(&mut self, j: usize) {
        self.moves[j] = vec![BinaryHeap::new(); self.without + 1];
        for i in 0..self.supplies.len() {
            if self.head[i][j] > 0 {
                self.list_moves(i, j);
            }
        }
    }

    fn list_moves(&mut self, i: usize, j: usize) {
        let Some(now) = self.worth(i, j) else { return };
        for k in (0..=self.without).filter(|k| *k != j) {
            if let Some(then) = self.worth(i, k) {
                self.moves[j][k].push((then - now, std::cmp::Reverse(i as u32)));
            }
        }
    }

    /// The best move of one animal from a store that is used up to another.
    fn best_move(&mut self, j: usize, k: usize) -> Option<(Worth, usize)> {
        let heap = &mut self.moves[j][k];
        while let Some((gain, std::cmp::Reverse(i))) = heap.peek() {
            let i = *i as usize;
            if self.head[i][j] > 0 {
                return Some((*gain, i));
            }
            heap.pop();
        }
        None
    }

    /// The least prices at which nobody would rather have another straw than her own: the price of
    /// a store is the most that anybody would gain by moving there, with all who move on in turn.
    fn prices(&mut self) -> Vec<Worth> {
        let mut prices = vec![Worth::default(); self.without];
        // Those who go without, and those at stores with straws left, which cost nothing.
        for i in 0..self.supplies.len() {
            for j in 0..=self.without {
                if self.head[i][j] == 0 || (j < self.without && self.left[j] == 0) {
                    continue;
                }
                let now = self.worth(i, j).unwrap_or_default();
                for (k, price) in prices.iter_mut().enumerate() {
                    if let Some(then) = self.supplies[i].worth[k] {
                        *price = (*price).max(then - now);
                    }
                }
            }
        }
        // Chains have no more links than there are stores.
        for _ in 0..=self.without {
            let mut settled = true;
            for j in (0..self.without)
                .filter(|j| self.left[*j] == 0)
                .collect::<Vec<_>>()
            {
                for k in (0..self.without).filter(|k| *k != j) {
                    if let Some((gain, _)) = self.best_move(j, k)
                        && prices[j] + gain > prices[k]
                    {
                        prices[k] = prices[j] + gain;
                        settled = false;
                    }
                }
            }
            if settled {
                break;
            }
        }
        prices
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn total(supplies: &[Supply], solution: &Solution) -> Worth {
        let mut sum = Worth::default();
        for (s, head) in supplies.iter().zip(&solution.head) {
            assert_eq!(head.iter().sum::<u32>(), s.head);
            for (n, w) in head.iter().zip(&s.worth) {
                if *n > 0 {
                    sum = sum + w.unwrap().times(i64::from(*n));
                }
            }
        }
        sum
    }

    /// At any prices nobody can do better than this.
    fn bound(supplies: &[Supply], straws: &[u32], prices: &[Worth]) -> Worth {
        let mut sum = Worth::default();
        for (p, n) in prices.iter().zip(straws) {
            assert!(*p >= Worth::default());
            sum = sum + p.times(i64::from(*n));
        }
        for s in supplies {
            let net = s.worth.iter();
            let net = net.zip(prices).filter_map(|(w, p)| Some((*w)? - *p));
            let best = net.max().unwrap_or_default().max(Worth::default());
            sum = sum + best.times(i64::from(s.head));
        }
        sum
    }

    /// Every animal with every store, one after the other.
    fn tried(animals: &[&Supply], left: &mut [u32]) -> Worth {
        let Some((first, rest)) = animals.split_first() else {
            return Worth::default();
        };
        let mut best = tried(rest, left);
        for j in 0..left.len() {
            if let Some(w) = first.worth[j]
                && left[j] > 0
            {
                left[j] -= 1;
                best = best.max(w + tried(rest, left));
                left[j] += 1;
            }
        }
        best
    }

    fn supply(most: u32) -> impl Strategy<Value = Supply> {
        let worth = proptest::option::weighted(0.8, [0..2_i64, 0..2_i64, 0..5_i64, 0..2_i64]);
        (proptest::collection::vec(worth, 3), 1..=most).prop_map(|(worth, head)| Supply {
            worth: worth.into_iter().map(|w| w.map(Worth)).collect(),
            head,
        })
    }

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(1500))]

        /// Small herds against every choice there is, and the prices prove it.
        #[test]
        fn the_best_of_all_choices(
            supplies in proptest::collection::vec(supply(2), 1..5),
            straws in proptest::collection::vec(0..4_u32, 3),
        ) {
            let solution = solve(&supplies, &straws);
            let animals = supplies.iter().flat_map(|s| std::iter::repeat_n(s, s.head as usize));
            let animals: Vec<&Supply> = animals.collect();
            let made = total(&supplies, &solution);
            prop_assert_eq!(made, tried(&animals, &mut straws.clone()));
            prop_assert_eq!(made, bound(&supplies, &straws, &solution.prices));
            for j in 0..3 {
                let used: u32 = solution.head.iter().map(|h| h[j]).sum();
                prop_assert!(used <= straws[j]);
            }
        }

        /// Larger ones: no choice can do better than the prices say.
        #[test]
        fn prices_prove_larger_ones(
            supplies in proptest::collection::vec(supply(30), 1..40),
            straws in proptest::collection::vec(0..120_u32, 3),
        ) {
            let solution = solve(&supplies, &straws);
            let expected = bound(&supplies, &straws, &solution.prices);
            prop_assert_eq!(total(&supplies, &solution), expected);
        }
    }
}
