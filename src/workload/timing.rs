//! Each technician's cows at the moments of whole thaw rounds, pen after pen.
//!
//! The flow says how many of which pen a technician breeds, to the slot. Here the moments are laid
//! anew: each run of cows begins when that suits them best, and goes on in rounds without a break,
//! so that only the last round of a run may have fewer straws; and a technician goes on with a pen
//! until it is done, where the hours allow it. A run that could not be laid so stays as it was.

use chrono::TimeDelta;

use super::Bred;
use super::crew::{Able, Shape, Slots, breedings};
use crate::expand::{Expanded, Hours};
use crate::season::{Order, Season};
use crate::time::Instant;

/// An animal to be bred by a technician.
#[derive(Clone, Copy, Debug)]
struct Cow {
    /// Place in [`Expanded::dues`].
    due: usize,
    hours: Hours,
    /// Place in the pen, for order kept.
    place: Option<u32>,
    at: Instant,
}

/// Lays the moments of a session's technicians anew.
pub(super) fn lay(
    season: &Season,
    expanded: &Expanded,
    shape: &Shape,
    bred: &mut Vec<Bred>,
    able: &dyn Fn(usize) -> Able,
) {
    let mut technicians: Vec<usize> = bred.iter().map(|b| b.technician).collect();
    technicians.sort_unstable();
    technicians.dedup();
    let mut laid = Vec::new();
    for t in technicians {
        let mut cows: Vec<Cow> = Vec::new();
        for b in bred.iter().filter(|b| b.technician == t) {
            for (n, at) in b.at.iter().enumerate() {
                let place = b.cows.get(n).copied();
                cows.push(Cow {
                    due: b.due,
                    hours: expanded.dues[b.due].hours_with_straws(place.unwrap_or(0)),
                    place,
                    at: *at,
                });
            }
        }
        cows.sort_by_key(|c| (c.at, c.due));
        let able = able(t);
        let worker = Worker {
            season,
            able: &able,
            free: season.free_between(shape.open, shape.close),
        };
        laid.extend(worker.lay(cows).into_iter().map(|c| (t, c)));
    }
    in_order(expanded, &mut laid);
    *bred = to_slots(season, &laid);
}

struct Worker<'a> {
    season: &'a Season,
    able: &'a Able,
    free: Vec<(Instant, Instant, Option<&'a str>)>,
}

impl Worker<'_> {
    fn lay(&self, cows: Vec<Cow>) -> Vec<Cow> {
        let period = TimeDelta::seconds(self.able.rounds.period.0.ceil() as i64);
        let idle = period + self.season.rules.slot;
        let mut runs: Vec<Vec<Cow>> = Vec::new();
        for cow in cows {
            match runs.last_mut() {
                Some(run) if cow.at - run[run.len() - 1].at <= idle => run.push(cow),
                _ => runs.push(vec![cow]),
            }
        }
        // Rests fall where the flow left room for them: runs apart by less than a rest are one
        // stretch of work.
        if self.season.rules.rest.is_some() && runs.len() > 1 {
            return runs.into_iter().flatten().collect();
        }
        let mut done: Vec<Cow> = Vec::new();
        for n in 0..runs.len() {
            let after = done.last().map(|c| c.at + self.reset());
            let before = runs
                .get(n + 1)
                .map(|next| self.begin_of(next[0].at) - self.reset());
            let run = &runs[n];
            let grouped = by_pen(run);
            let laid = self
                .run(&grouped, after, before)
                .or_else(|| self.run(run, after, before));
            done.extend(laid.unwrap_or_else(|| run.clone()));
        }
        done
    }

    /// Between two runs of one who works alone.
    fn reset(&self) -> TimeDelta {
        let alone = self.able.rounds.load.0 <= 0.0;
        let reset = self.season.rules.reset.0.ceil() as i64;
        TimeDelta::seconds(if alone { reset } else { 0 })
    }

    /// When the straws for a first cow go into the bath.
    fn begin_of(&self, first: Instant) -> Instant {
        let rounds = &self.able.rounds;
        first - TimeDelta::seconds((rounds.lead.0 + rounds.cow.0).ceil() as i64)
    }

    /// The cows one after the other in whole rounds, begun when it suits them best. `None` if they
    /// cannot all be bred so in their hours.
    fn run(
        &self,
        cows: &[Cow],
        after: Option<Instant>,
        before: Option<Instant>,
    ) -> Option<Vec<Cow>> {
        let stretch = self
            .able
            .stretches
            .iter()
            .find(|(a, b)| *a <= self.begin_of(cows[0].at) && cows[cows.len() - 1].at <= *b)?;
        let earliest = stretch.0.max(after.unwrap_or(stretch.0));
        let latest = stretch.1.min(before.unwrap_or(stretch.1));
        let offsets = self.offsets(earliest, cows.len())?;
        let (mut low, mut high) = (earliest, latest - offsets[offsets.len() - 1]);
        let mut sum = 0;
        for (cow, off) in cows.iter().zip(&offsets) {
            low = low.max(cow.hours.earliest - *off);
            high = high.min(cow.hours.latest - *off);
            sum += (cow.hours.aim - *off).timestamp();
        }
        if low > high {
            return None;
        }
        // The mean of what each would wish makes the sum of squared distances from the aims least.
        let best = Instant::from_timestamp(sum.div_euclid(cows.len() as i64), 0)?;
        let begin = on_the_minute(best.clamp(low, high), low, high);
        let slots = Slots::new(self.season);
        let laid: Vec<Cow> = cows
            .iter()
            .zip(&offsets)
            .map(|(cow, off)| Cow {
                at: begin + *off,
                ..*cow
            })
            .collect();
        // A slot that touches hours kept free is free.
        let is_free = |at: Instant| {
            let slot = slots.holding(at);
            let (a, b) = (slots.start(slot), slots.start(slot + 1));
            self.free.iter().any(|(from, to, _)| *from < b && a < *to)
        };
        (!laid.iter().any(|c| is_free(c.at))).then_some(laid)
    }

    /// How long after the begin each of so many cows is bred, with the rests between.
    fn offsets(&self, begin: Instant, cows: usize) -> Option<Vec<TimeDelta>> {
        let far = begin + TimeDelta::days(3);
        let rest = self.season.rules.rest;
        let at = breedings(&self.able.rounds, rest, begin, far).0;
        let offsets: Vec<TimeDelta> = at.iter().take(cows).map(|at| *at - begin).collect();
        (offsets.len() == cows).then_some(offsets)
    }
}

/// The animals with those of one pen together, pens in the order of their aims.
fn by_pen(cows: &[Cow]) -> Vec<Cow> {
    let mut pens: Vec<(usize, i64, i64)> = Vec::new();
    for cow in cows {
        let aim = cow.hours.aim.timestamp();
        match pens.iter_mut().find(|(due, ..)| *due == cow.due) {
            Some((_, sum, n)) => {
                *sum += aim;
                *n += 1;
            }
            None => pens.push((cow.due, aim, 1)),
        }
    }
    pens.sort_by_key(|(due, sum, n)| (sum / n, *due));
    let of = |due: usize| cows.iter().filter(move |c| c.due == due).copied();
    pens.iter().flat_map(|(due, ..)| of(*due)).collect()
}

/// The nearest whole minute that is still within the bounds, if there is one.
fn on_the_minute(at: Instant, low: Instant, high: Instant) -> Instant {
    let minute = at.timestamp().div_euclid(60) * 60;
    let near = [minute, minute + 60, minute - 60]
        .into_iter()
        .filter_map(|s| Instant::from_timestamp(s, 0))
        .filter(|m| low <= *m && *m <= high)
        .min_by_key(|m| (*m - at).abs());
    near.unwrap_or(at)
}

/// Where the order is kept, the animals of a pen go to its moments in their order, whoever breeds
/// them.
fn in_order(expanded: &Expanded, laid: &mut [(usize, Cow)]) {
    let mut dues: Vec<usize> = laid.iter().map(|(_, c)| c.due).collect();
    dues.sort_unstable();
    dues.dedup();
    for due in dues {
        if expanded.dues[due].order != Order::Kept {
            continue;
        }
        let mut mine: Vec<usize> = (0..laid.len()).filter(|n| laid[*n].1.due == due).collect();
        let mut places: Vec<Option<u32>> = mine.iter().map(|n| laid[*n].1.place).collect();
        places.sort_unstable();
        mine.sort_by_key(|n| (laid[*n].1.at, laid[*n].0));
        for (n, place) in mine.into_iter().zip(places) {
            let cow = &mut laid[n].1;
            cow.place = place;
            cow.hours = expanded.dues[due].hours_with_straws(place.unwrap_or(0));
        }
    }
}

fn to_slots(season: &Season, laid: &[(usize, Cow)]) -> Vec<Bred> {
    let slots = Slots::new(season);
    let mut all: Vec<(i64, usize, Cow)> = laid
        .iter()
        .map(|(t, c)| (slots.holding(c.at), *t, *c))
        .collect();
    all.sort_by_key(|(slot, t, c)| (*slot, *t, c.at));
    let mut bred: Vec<Bred> = Vec::new();
    for (slot, technician, cow) in all {
        let start = slots.start(slot);
        match bred.last_mut() {
            Some(b) if (b.slot, b.technician, b.due) == (start, technician, cow.due) => {
                b.at.push(cow.at);
                b.cows.extend(cow.place);
            }
            _ => bred.push(Bred {
                slot: start,
                due: cow.due,
                technician,
                at: vec![cow.at],
                cows: cow.place.into_iter().collect(),
            }),
        }
    }
    bred
}
