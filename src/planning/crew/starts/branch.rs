//! All choices of pens' starts that could be better than the best found: pen after pen, a branch left
//! as soon as the pens set so far cost as much already.
//!
//! A branch is left as soon as chutes, the head that its pens leave at the least, and their delay are
//! no better than the best found: pens left out can only take people away. Up to 3,000 branches and 300
//! whole choices are counted, and the words say whether that was all.

use super::{Cost, Fault, Search};

/// Choices of the first pens that are counted, whole choices that are counted as for a plan, and
/// choices looked at in all, at the most.
const MOST_COUNTED: usize = 3_000;
const MOST_PLANNED: usize = 300;
const MOST_SEEN: usize = 200_000;

#[derive(Default)]
struct Seen {
    counted: usize,
    planned: usize,
    all: usize,
}

impl Seen {
    fn enough(&self) -> bool {
        self.counted >= MOST_COUNTED || self.planned >= MOST_PLANNED || self.all >= MOST_SEEN
    }
}

impl Search<'_> {
    /// Finds the best choice of all, from a good one on; true if none was left out that could be
    /// better.
    pub(crate) fn go_through(&mut self, best: &mut Vec<usize>) -> Result<bool, Fault> {
        let mut seen = Seen::default();
        let mut chosen = Vec::new();
        let now = self.cost(best)?;
        let least = Cost {
            held: 0,
            uncovered: 0,
            delay: 0,
        };
        self.branch(best, now, &mut chosen, least, &mut seen)?;
        Ok(!self.is_over() && !seen.enough())
    }

    /// Tries every start of the next pen; gives what the best costs now.
    fn branch(
        &mut self,
        best: &mut Vec<usize>,
        mut now: Cost,
        chosen: &mut Vec<usize>,
        so_far: Cost,
        seen: &mut Seen,
    ) -> Result<Cost, Fault> {
        let n = chosen.len();
        if n == self.open.pens.len() {
            seen.planned += usize::from(!self.known.contains_key(chosen.as_slice()));
            let cost = self.cost(chosen)?;
            if cost < now {
                best.clone_from(chosen);
                now = cost;
            }
            return Ok(now);
        }
        for k in 0..self.open.pens[n].candidates.len() {
            seen.all += 1;
            if self.is_over() || seen.enough() {
                return Ok(now);
            }
            let pen = &self.open.pens[n];
            let before = self.open.pens.iter().zip(chosen.iter());
            let meets = before.filter(|(p, j)| pen.meets(k, p, **j)).count();
            let mut cost = Cost {
                held: so_far.held + self.open.held_alone(pen, k) + meets,
                uncovered: so_far.uncovered,
                delay: so_far.delay + k,
            };
            if cost >= now {
                continue;
            }
            chosen.push(k);
            if !self.bounds.contains_key(chosen.as_slice()) {
                seen.counted += 1;
            }
            cost.uncovered = cost.uncovered.max(self.left_at_least(chosen));
            if cost < now {
                now = self.branch(best, now, chosen, cost, seen)?;
            }
            chosen.pop();
        }
        Ok(now)
    }
}
