//! The starts of a group that a choice for several groups is made from.
//!
//! Counting the crew for every start that fits would take too long, so there are good starts on many days
//! at first, and more are taken in as the choice asks for them (`together`).

use std::collections::BTreeMap;

use super::candidates::Candidate;
use super::cover::Scene;
use super::hours::{Asked, Pen, Prices, pens};
use super::judge::Values;
use super::shortlist::{Field, Judged};
use crate::planning::crew::Fault;
use crate::planning::dating;

/// Starts of all groups together: with more, the model takes minutes.
pub(super) const MOST: usize = 1_800;

/// At first.
const MOST_AT_FIRST: usize = 1_200;

/// The starts of a group that fit: those that a choice is made from, and the rest.
pub(super) struct Pool<'f, 'a> {
    pub(super) field: &'f Field<'a>,
    /// Those that the crew is counted for, in the order in which they were taken in.
    pub(super) judged: Vec<Judged>,
    /// The rest, the one first that costs least.
    left_out: Vec<LeftOut>,
    /// How many are taken in at a time.
    pub(super) batch: usize,
}

/// A start that the crew is not counted for.
struct LeftOut {
    candidate: Candidate,
    /// What it has before that.
    values: Values,
    /// Its pens, where they hang on nothing but the start; looked up once they are asked for.
    dues: Option<Vec<Pen>>,
    /// Its points, or what it costs at the least with the crew that it asks for.
    cost: f64,
}

impl<'f, 'a> Pool<'f, 'a> {
    /// Good starts on many days and of many protocols. The rows of the list come first: what looks good
    /// before it is counted may be what the crew cannot breed, and the choice must not miss what the list
    /// shows.
    pub(super) fn new(
        field: &'f Field<'a>,
        scene: &mut Scene<'_>,
        listed: &[Judged],
        batch: usize,
        groups: usize,
    ) -> Result<Self, Fault> {
        let batch = batch.min(MOST_AT_FIRST / groups).max(2);
        let listed = &listed[..batch.min(listed.len())];
        let weights = &field.weights;
        let mut left_out = field.hopeful();
        left_out.retain(|(c, _)| {
            let same =
                |r: &Judged| r.candidate.protocol == c.protocol && r.candidate.start == c.start;
            !listed.iter().any(same)
        });
        let left_out = left_out.into_iter().map(|(candidate, values)| LeftOut {
            candidate,
            cost: values.points(weights),
            values,
            dues: None,
        });
        let mut pool = Self {
            field,
            judged: listed.to_vec(),
            left_out: left_out.collect(),
            batch,
        };
        pool.sort();
        pool.take_in(scene, batch - listed.len(), f64::INFINITY)?;
        pool.judged.sort_by(|a, b| {
            let by_points = a.points.total_cmp(&b.points);
            by_points.then_with(|| a.candidate.start.cmp(&b.candidate.start))
        });
        Ok(pool)
    }

    /// Takes in at most so many of those with points below a limit: a few of each day and protocol, then more.
    pub(super) fn take_in(
        &mut self,
        scene: &mut Scene<'_>,
        most: usize,
        below: f64,
    ) -> Result<(), Fault> {
        /// Of one protocol on one day, and of all on one day, at first.
        const A_DAY: (usize, usize) = (3, 6);
        let field = self.field;
        let zone = field.season.zone;
        let until = self.judged.len() + most;
        let mut times = 1;
        let mut of_start: BTreeMap<_, usize> = BTreeMap::new();
        let mut of_day: BTreeMap<_, usize> = BTreeMap::new();
        let mut of_protocol: BTreeMap<usize, usize> = BTreeMap::new();
        for c in self.judged.iter().map(|j| &j.candidate) {
            *of_start.entry((c.protocol, c.start.date())).or_default() += 1;
            *of_day.entry(zone.date(c.first)).or_default() += 1;
            *of_protocol.entry(c.protocol).or_default() += 1;
        }
        while self.judged.len() < until && self.fewest_left_out() < below {
            let mut still = Vec::new();
            for other in std::mem::take(&mut self.left_out) {
                let candidate = other.candidate;
                let start = of_start
                    .entry((candidate.protocol, candidate.start.date()))
                    .or_default();
                let day = of_day.entry(zone.date(candidate.first)).or_default();
                let protocol = of_protocol.entry(candidate.protocol).or_default();
                let many = *start >= times * A_DAY.0
                    || *day >= times * A_DAY.1
                    || *protocol >= (times * self.batch).div_ceil(2);
                let full = self.judged.len() >= until;
                if full || many || other.cost >= below {
                    still.push(other);
                    continue;
                }
                *start += 1;
                *day += 1;
                *protocol += 1;
                self.judged
                    .push(field.judge(scene, candidate, &other.values)?);
            }
            self.left_out = still;
            times *= 2;
        }
        Ok(())
    }

    /// Takes in so many of those that cost least, below a limit. True if there were any.
    pub(super) fn take_in_cheapest(
        &mut self,
        scene: &mut Scene<'_>,
        most: usize,
        below: f64,
    ) -> Result<bool, Fault> {
        let some = self.left_out.iter().take(most);
        let some = some.take_while(|l| l.cost < below).count();
        for other in self.left_out.drain(..some) {
            let judged = self.field.judge(scene, other.candidate, &other.values)?;
            self.judged.push(judged);
        }
        Ok(some > 0)
    }

    /// Says what each start left out costs at the least, with the crew that it asks for. Of one that may be spread
    /// over days nobody knows when.
    pub(super) fn price(&mut self, prices: &Prices) {
        let field = self.field;
        for other in &mut self.left_out {
            let points = other.values.points(&field.weights);
            if prices.are_none() || field.group.days > 1 {
                other.cost = points;
                continue;
            }
            let dues = other.dues.get_or_insert_with(|| {
                let group = field.group(&other.candidate);
                let dated = dating::date_groups(field.season, std::slice::from_ref(&group));
                pens(field.season, &dated)
            });
            other.cost = prices.cost(points, Asked { dues, base: 0 });
        }
        self.sort();
    }

    fn sort(&mut self) {
        self.left_out.sort_by(|a, b| {
            let at = |l: &LeftOut| (l.candidate.start, l.candidate.protocol);
            a.cost.total_cmp(&b.cost).then_with(|| at(a).cmp(&at(b)))
        });
    }

    /// The least that a start left out costs; infinite where there is none.
    pub(super) fn fewest_left_out(&self) -> f64 {
        self.left_out.first().map_or(f64::INFINITY, |l| l.cost)
    }
}
