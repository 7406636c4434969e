//! The best way of one technician beside all others, where each stay adds whole head: through a net, and to no
//! session twice.
//!
//! What a stay adds hangs on the others who are there, and not on the stays before it. So a way is worth the sum,
//! and the best of all ways that may come back bounds what is left of each; ways that cannot beat the best so far
//! are not followed. Arrivals are some minutes apart: who comes between two is counted as coming at the later one.

use super::graph::{Net, Path, moment};
use crate::planning::crew::sessions::place::Stay;

/// Minutes between the arrivals that are looked at.
const APART: i64 = 10;

/// Stays of ways that are followed, at the most.
const MOST_FOLLOWED: usize = 20_000;

/// What a stay adds.
#[derive(Default)]
pub(crate) struct Gains {
    /// Head, if left at a second; only where that is more than any sooner one.
    pub(crate) ends: Vec<(u32, i64)>,
    /// The second at which it must be left, for want of a box; else the end of time.
    pub(crate) until: i64,
}

/// What is known of the ways through a net, by session and by the arrivals that are looked at.
struct Ways<'n> {
    net: &'n Net,
    /// Arrivals from one that is looked at to the next, by session.
    apart: Vec<usize>,
    gains: Vec<Vec<Gains>>,
    /// What each stay and all that may come then add at the most.
    most: Vec<Vec<u32>>,
}

/// A way, as far as it is followed: sessions by place in the net, with the second at which each is left.
#[derive(Clone, Default)]
struct Way {
    head: u32,
    stays: Vec<(usize, i64)>,
}

/// The way through a net that adds most head, and how many stays were looked at. `gain` tells what a stay at a
/// session of the part adds.
pub(crate) fn best_once(net: &Net, gain: impl Fn(usize, &Stay) -> Gains) -> (Path, usize) {
    let apart: Vec<usize> = net
        .all
        .iter()
        .map(|a| (APART / a.step).max(1) as usize)
        .collect();
    let each = |(n, a): (usize, &super::graph::Arrivals)| -> Vec<Gains> {
        let stays = a.stays.iter().step_by(apart[n]);
        stays.map(|stay| gain(a.session, stay)).collect()
    };
    let gains: Vec<Vec<Gains>> = net.all.iter().enumerate().map(each).collect();
    let mut ways = Ways {
        net,
        most: gains.iter().map(|g| vec![0; g.len()]).collect(),
        gains,
        apart,
    };
    ways.bound();
    let mut looked: usize = ways.gains.iter().map(Vec::len).sum();
    let mut best = Way::default();
    let mut left = MOST_FOLLOWED;
    for (n, stay) in &net.starts {
        let gains = gain(net.all[*n].session, stay);
        ways.follow(*n, &gains, &mut Way::default(), &mut best, &mut left);
    }
    looked += MOST_FOLLOWED - left;
    let stays = best.stays.iter();
    let path = stays.map(|(n, leave)| (net.all[*n].session, moment(*leave)));
    (path.collect(), looked)
}

impl Ways<'_> {
    /// Fills in `most`, the latest arrivals first.
    fn bound(&mut self) {
        for (n, m) in &self.net.order {
            if !m.is_multiple_of(self.apart[*n]) {
                continue;
            }
            let m = m / self.apart[*n];
            let most = self.gains[*n][m].ends.iter().map(|(head, leave)| {
                let onto = (0..self.gains.len()).filter(|to| to != n);
                let then = onto.filter_map(|to| self.then(*n, *leave, to));
                head + then.map(|(_, most)| most).max().unwrap_or(0)
            });
            self.most[*n][m] = most.max().unwrap_or(0);
        }
    }

    /// The stay at a session of somebody who leaves another at that second, and what it and all that may come then
    /// add at the most; none if that is nothing.
    fn then(&self, from: usize, leave: i64, to: usize) -> Option<(&Gains, u32)> {
        let m = self.net.arrival(from, leave, to).div_ceil(self.apart[to]);
        let most = *self.most[to].get(m)?;
        (most > 0).then(|| (&self.gains[to][m], most))
    }

    /// Follows a way on from a stay.
    fn follow(&self, n: usize, gains: &Gains, so_far: &mut Way, best: &mut Way, left: &mut usize) {
        for (head, leave) in gains.ends.iter().rev() {
            let Some(fewer) = left.checked_sub(1) else {
                return;
            };
            *left = fewer;
            so_far.head += head;
            so_far.stays.push((n, *leave));
            if so_far.head > best.head {
                best.clone_from(so_far);
                if let Some(last) = best.stays.last_mut() {
                    last.1 = gains.until;
                }
            }
            for to in 0..self.gains.len() {
                let been = so_far.stays.iter().any(|(s, _)| *s == to);
                if let Some((gains, most)) = self.then(n, *leave, to).filter(|_| !been)
                    && so_far.head + most > best.head
                {
                    self.follow(to, gains, so_far, best, left);
                }
            }
            so_far.stays.pop();
            so_far.head -= head;
        }
    }
}
