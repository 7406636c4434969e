//! One technician's cows laid out in whole thaw rounds.
//!
//! From a begin on, cow follows cow at the moments of the rounds. Where one cannot be bred at hers,
//! for her hours, the shift, a rest, hours kept free or a box that is taken, the run ends and
//! another begins as soon as she can. Of all begins tried that one is kept which loses no cow, then
//! breaks off least, then is nearest to the aims.
//!
//! A cow holds a box for the minutes a cow before she is bred, so turns at a box begin when it is free,
//! and not with a slot. Whoever has a single cow leaves her to another where that loses nothing.

use std::collections::{BTreeMap, BTreeSet, VecDeque};

use chrono::TimeDelta;

use crate::base::progress::Progress;
use crate::base::time::Instant;
use crate::planning::crew::sessions::place::next_minute;
use crate::planning::crew::sessions::unstaffed::{Able, Slots};
use crate::planning::dating::Hours;
use crate::trade::season::Season;

/// Begins that are tried for one stretch of work, and cows laid out for them: counted, not timed.
const MOST_BEGINS: usize = 48;
const MOST_LAID: usize = 48 * 250;

/// Cows laid out in about a microsecond.
const LAID: usize = 4;

/// An animal to be bred by a technician.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Cow {
    /// Place in [`crate::planning::dating::DatedSeason::dues`].
    pub(crate) due: usize,
    pub(crate) hours: Hours,
    /// Place in the pen, for order kept.
    pub(crate) place: Option<u32>,
    /// When the flow would breed her.
    pub(crate) tick: Instant,
    /// When she is bred.
    pub(crate) at: Instant,
}

/// What people have in common at a site: its boxes, or the places in its bath.
#[derive(Clone, Debug, Default)]
pub(crate) struct Shared {
    /// None where there is enough for everybody.
    most: Option<u32>,
    /// From when to when how many are taken, by their beginning.
    taken: Vec<Taken>,
    longest: TimeDelta,
}

/// From when to when something is taken, and how much of it.
pub(crate) type Taken = (Instant, Instant, u32);

/// Cows lost, runs broken off, whether off the whole minute, and squares of distances from the aims or
/// when the last cow is bred.
type Score = (usize, usize, bool, f64);

impl Shared {
    pub(crate) fn new(most: Option<u32>, mut taken: Vec<Taken>) -> Self {
        taken.sort_unstable();
        let long = taken.iter().map(|t| t.1 - t.0).max();
        Self {
            most,
            taken,
            longest: long.unwrap_or_default(),
        }
    }

    /// Where not so much is free all the time: when what is in the way came, and when the first of
    /// it goes.
    fn busy(&self, (from, to, wanted): Taken) -> Option<(Instant, Instant)> {
        let most = self.most?;
        let gone = from - self.longest;
        let first = self.taken.partition_point(|t| t.0 <= gone);
        let near = self.taken[first..].iter().take_while(|t| t.0 < to);
        let mut here = near.filter(|t| t.1 > from);
        let all = here.clone();
        // It is most as one of them comes.
        here.find_map(|(came, ..)| {
            let then = (*came).max(from);
            let with = all.clone().filter(|t| t.0 <= then && then < t.1);
            let goes = with.clone().map(|t| t.1).min()?;
            (with.map(|t| t.2).sum::<u32>() + wanted > most).then_some((*came, goes))
        })
    }
}

/// The site as one technician finds it.
#[derive(Clone, Debug, Default)]
pub(crate) struct Site {
    pub(crate) boxes: Shared,
    pub(crate) bath: Shared,
}

/// How long somebody has worked, and when the last cow was bred.
#[derive(Clone, Copy, Debug, Default)]
struct Worked {
    since: Option<Instant>,
    last: Option<Instant>,
}

/// Cows laid out.
#[derive(Clone, Debug, Default)]
pub(crate) struct Laid {
    pub(crate) cows: Vec<Cow>,
    /// Straws in the bath.
    pub(crate) baths: Vec<Taken>,
    /// Cows that could not be bred so.
    pub(crate) lost: usize,
    /// How many times work breaks off.
    pub(crate) breaks: usize,
}

impl Laid {
    /// Squared seconds from the aims.
    pub(crate) fn distance(&self) -> f64 {
        let off = |c: &Cow| (c.at - c.hours.aim).num_seconds() as f64;
        self.cows.iter().map(|c| off(c).powi(2)).sum()
    }

    fn and(&mut self, other: Self) {
        self.cows.extend(other.cows);
        self.baths.extend(other.baths);
        self.lost += other.lost;
        self.breaks += other.breaks;
    }
}

/// Why a cow cannot be bred at a moment.
struct Hindrance {
    /// When work could begin again for her; `None` if never.
    again: Option<Instant>,
    /// By how much everything could be moved, so that she could be bred then.
    moves: [Option<TimeDelta>; 2],
}

impl Hindrance {
    fn never(by: TimeDelta) -> Self {
        Self {
            again: None,
            moves: [Some(by), None],
        }
    }
}

pub(crate) struct Worker<'a> {
    pub(crate) season: &'a Season,
    pub(crate) able: &'a Able,
    /// When the technician may be at work here.
    pub(crate) stretches: Vec<(Instant, Instant)>,
    /// Hours kept free.
    pub(crate) free: &'a [(Instant, Instant)],
    /// True if work is to be done soon, and not near the aims: others wait for the box.
    pub(crate) soon: bool,
    pub(crate) progress: &'a dyn Progress,
}

impl Worker<'_> {
    /// The box of a cow bred at a moment.
    pub(crate) fn in_box(&self, at: Instant) -> Taken {
        // Moments are whole seconds: rounded up, two cows of one technician would seem to meet.
        let cow = TimeDelta::seconds(self.able.rounds.cow.0.floor() as i64);
        (at - cow, at, 1)
    }

    /// The bath with a round of straws in it, whose first cow is bred at a moment.
    pub(crate) fn in_bath(&self, first: Instant) -> Taken {
        let straws = self.able.rounds.straws.0;
        let rules = &self.season.rules;
        let long = rules.thaw.0 + rules.load.0 * f64::from(straws - 1);
        let from = self.begin_for(first);
        (from, from + TimeDelta::seconds(long.ceil() as i64), straws)
    }

    /// The cows at the moments that the flow has for them, less those without a box. Where the bath
    /// is too small for everybody's straws, none: the flow knows no rounds.
    pub(crate) fn as_flown(&self, cows: &[Cow], site: &Site) -> Laid {
        let mut laid = Laid::default();
        for cow in cows {
            let at = cow.tick;
            if site.bath.most.is_some() || site.boxes.busy(self.in_box(at)).is_some() {
                laid.lost += 1;
            } else {
                laid.cows.push(Cow { at, ..*cow });
            }
        }
        let idle = self.idle();
        let gaps = laid.cows.windows(2).filter(|w| w[1].at - w[0].at > idle);
        laid.breaks = gaps.count();
        laid
    }

    /// Longer than that between two cows, and work breaks off.
    fn idle(&self) -> TimeDelta {
        let period = self.able.rounds.period.0.ceil() as i64;
        TimeDelta::seconds(period) + self.season.rules.slot
    }

    /// The cows in whole rounds. Work for pens that have nothing in common may stand apart.
    pub(crate) fn in_rounds(&self, cows: &[Cow], site: &Site) -> Laid {
        let mut done = Laid::default();
        let mut worked = Worked::default();
        let parts = self.parts(cows);
        for (n, part) in parts.iter().enumerate() {
            let before = parts.get(n + 1).map(|next| {
                let rest = self.season.rules.rest.map_or(TimeDelta::zero(), |r| r.long);
                self.begin_for(next[0].tick) - self.reset().max(rest)
            });
            // A part that leaves no room before the next is not held to it.
            let before = before.filter(|b| part.iter().all(|c| c.tick <= *b));
            let grouped = by_pen(part);
            let mut best: Option<(Laid, Worked)> = None;
            for order in [&grouped, part] {
                let (laid, then) = self.best(order, worked, before, site);
                let better = |b: &(Laid, Worked)| (laid.lost, laid.breaks) < (b.0.lost, b.0.breaks);
                if best.as_ref().is_none_or(better) {
                    best = Some((laid, then));
                }
            }
            if let Some((laid, then)) = best {
                done.and(laid);
                worked = then;
            }
        }
        done
    }

    /// Cuts cows, by time, where work breaks off between pens.
    fn parts(&self, cows: &[Cow]) -> Vec<Vec<Cow>> {
        let idle = self.idle();
        let last: BTreeMap<usize, usize> = cows.iter().map(|c| c.due).zip(0..).collect();
        let mut parts: Vec<Vec<Cow>> = Vec::new();
        // The last cow of all pens begun so far.
        let mut begun = 0;
        for (n, cow) in cows.iter().enumerate() {
            let goes_on = n > 0 && (cow.tick - cows[n - 1].tick <= idle || begun >= n);
            begun = begun.max(last[&cow.due]);
            match parts.last_mut() {
                Some(part) if goes_on => part.push(*cow),
                _ => parts.push(vec![*cow]),
            }
        }
        parts
    }

    /// Between two runs of one who works alone.
    fn reset(&self) -> TimeDelta {
        self.able.rounds.reset()
    }

    /// From the first straws in the bath to the first cow bred.
    fn first(&self) -> TimeDelta {
        let rounds = &self.able.rounds;
        TimeDelta::seconds((rounds.lead.0 + rounds.cow.0).ceil() as i64)
    }

    /// When the straws for a first cow go into the bath.
    fn begin_for(&self, first: Instant) -> Instant {
        first - self.first()
    }

    fn best(
        &self,
        cows: &[Cow],
        worked: Worked,
        before: Option<Instant>,
        site: &Site,
    ) -> (Laid, Worked) {
        let mut queue = VecDeque::from([self.begin_for(cows[0].tick)]);
        if self.soon {
            let soonest = self.begin_for(cows[0].hours.earliest);
            let soonest = self.begin(soonest, worked).unwrap_or(soonest);
            queue.extend([next_minute(soonest), soonest]);
        }
        let most = MOST_BEGINS.min((MOST_LAID / cows.len()).max(6));
        let mut seen = BTreeSet::new();
        let mut best: Option<(Score, (Laid, Worked))> = None;
        while let Some(begin) = queue.pop_front() {
            if seen.len() >= most {
                break;
            }
            let Some(begin) = self.begin(begin, worked).filter(|b| seen.insert(*b)) else {
                continue;
            };
            let (laid, then, moves) = self.pack(cows, begin, worked, before, site);
            let bred = laid.cows.len() as i64;
            if bred > 0 {
                // The mean of what each would wish makes the sum of squares least.
                let wish = |c: &Cow| (c.hours.aim - c.at).num_seconds();
                let sum: i64 = laid.cows.iter().map(wish).sum();
                let wished = begin + TimeDelta::seconds(sum.div_euclid(bred));
                let minute = wished.timestamp().div_euclid(60) * 60;
                let near = [minute, minute + 60].map(|s| Instant::from_timestamp(s, 0));
                for at in near.into_iter().flatten().rev() {
                    queue.push_front(at);
                }
            }
            for by in moves {
                let at = begin + by;
                let into = TimeDelta::seconds(at.timestamp().rem_euclid(60));
                let minute = if by < TimeDelta::zero() {
                    at - into
                } else {
                    next_minute(at)
                };
                queue.push_back(minute);
                queue.push_back(at);
            }
            let off = begin.timestamp().rem_euclid(60) != 0;
            let last = laid.cows.last().map_or(0, |c| c.at.timestamp());
            let far = if self.soon {
                last as f64
            } else {
                laid.distance()
            };
            let score = (laid.lost, laid.breaks, off, far);
            if best.as_ref().is_none_or(|(b, _)| score < *b) {
                best = Some((score, (laid, then)));
            }
        }
        self.progress.worked(seen.len() * cows.len() / LAID);
        best.map_or_else(
            || {
                let none = Laid {
                    lost: cows.len(),
                    ..Laid::default()
                };
                (none, worked)
            },
            |(_, found)| found,
        )
    }

    /// When work may begin, no sooner than wanted.
    fn begin(&self, wanted: Instant, worked: Worked) -> Option<Instant> {
        let sooner = worked.last.map_or(wanted, |last| last + self.reset());
        let wanted = wanted.max(sooner);
        let stretch = self.stretches.iter().find(|(_, b)| wanted < *b)?;
        Some(wanted.max(stretch.0))
    }

    /// The cows one after the other from a begin on, and by how much that could be moved to spare
    /// the first break.
    fn pack(
        &self,
        cows: &[Cow],
        begin: Instant,
        mut worked: Worked,
        before: Option<Instant>,
        site: &Site,
    ) -> (Laid, Worked, Vec<TimeDelta>) {
        let mut laid = Laid::default();
        let mut moves = Vec::new();
        let mut run: Option<(Instant, u32)> = None;
        let mut wanted = begin;
        'cows: for cow in cows {
            let mut new_run = false;
            loop {
                let next = run.or_else(|| Some((self.begin(wanted, worked)?, 0)));
                let Some((from, n)) = next else {
                    laid.lost += 1;
                    continue 'cows;
                };
                let off = self.able.rounds.lead.0 + self.able.rounds.since_first_gun(n);
                let at = from + TimeDelta::seconds(off.ceil() as i64);
                let since = self.since(from, n, worked);
                let Some(hindrance) = self.hindrance(cow, (from, n), at, since, worked, site)
                else {
                    if before.is_some_and(|b| at > b) {
                        moves.extend(before.map(|b| b - at));
                        laid.lost += 1;
                        continue 'cows;
                    }
                    laid.breaks += usize::from(new_run && worked.last.is_some());
                    laid.cows.push(Cow { at, ..*cow });
                    if n.is_multiple_of(self.able.rounds.straws.0) {
                        laid.baths.push(self.in_bath(at));
                    }
                    worked = Worked {
                        since: Some(since),
                        last: Some(at),
                    };
                    run = Some((from, n + 1));
                    continue 'cows;
                };
                if moves.len() < 4 {
                    moves.extend(hindrance.moves.into_iter().flatten());
                }
                let again = hindrance.again.filter(|again| n > 0 || *again > from);
                let Some(again) = again else {
                    laid.lost += 1;
                    continue 'cows;
                };
                (run, wanted, new_run) = (None, again, true);
            }
        }
        (laid, worked, moves)
    }

    /// Since when one works who begins a run, or goes on with it.
    fn since(&self, from: Instant, n: u32, worked: Worked) -> Instant {
        let rested = |last: Instant| {
            let rest = self.season.rules.rest;
            n == 0 && rest.is_some_and(|r| from - last >= r.long)
        };
        match (worked.since, worked.last) {
            (Some(since), Some(last)) if !rested(last) => since,
            _ => from,
        }
    }

    fn hindrance(
        &self,
        cow: &Cow,
        (from, n): (Instant, u32),
        at: Instant,
        since: Instant,
        worked: Worked,
        site: &Site,
    ) -> Option<Hindrance> {
        let first = self.first();
        if at > cow.hours.latest {
            return Some(Hindrance::never(cow.hours.latest - at));
        }
        let mut stretches = self.stretches.iter();
        let stretch = stretches.find(|(a, b)| *a <= from && from < *b);
        if let Some((_, end)) = stretch
            && at > *end
        {
            return Some(Hindrance {
                again: stretches.next().map(|s| s.0),
                moves: [Some(*end - at), None],
            });
        }
        if let Some(rest) = self.season.rules.rest
            && at - since > rest.after
        {
            return Some(Hindrance {
                again: worked.last.map(|last| last + rest.long),
                moves: [None, None],
            });
        }
        if at < cow.hours.earliest {
            return Some(Hindrance {
                again: Some(cow.hours.earliest - first),
                moves: [Some(cow.hours.earliest - at), None],
            });
        }
        let enters = self.in_box(at).0;
        if let Some((begins, ends)) = self.kept_free(at) {
            // The first cow after hours kept free does not stand in a box in them.
            return Some(Hindrance {
                again: Some(ends + (at - enters) - first),
                moves: [Some(begins - at), Some(ends - enters)],
            });
        }
        let mut claims = vec![(&site.boxes, self.in_box(at))];
        if n.is_multiple_of(self.able.rounds.straws.0) {
            claims.push((&site.bath, self.in_bath(at)));
        }
        claims.into_iter().find_map(|(shared, claim)| {
            let (came, goes) = shared.busy(claim)?;
            Some(Hindrance {
                again: Some(goes + (at - claim.0) - first),
                moves: [Some(came - claim.1), Some(goes - claim.0)],
            })
        })
    }

    /// The slots with hours kept free that hold a moment. A slot that touches such hours is free.
    fn kept_free(&self, at: Instant) -> Option<(Instant, Instant)> {
        let slots = Slots::new(self.season);
        let blocked = |slot: i64| {
            let (a, b) = (slots.start(slot), slots.start(slot + 1));
            self.free.iter().any(|(from, to)| *from < b && a < *to)
        };
        let (mut first, mut after) = (slots.holding(at), slots.holding(at));
        while blocked(after) {
            after += 1;
        }
        while blocked(first - 1) && first < after {
            first -= 1;
        }
        (first < after).then(|| (slots.start(first), slots.start(after)))
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
