//! Every way of a technician through sessions that clash, as a net of stays by the minute of
//! arrival; and the best way, where each cow bred has a price and each box a rent.
//!
//! A stay lasts until a round is done; then comes the road. In the net a session may be come back
//! to, and with a rule of rest or of the longest day a technician may be anywhere at any minute from
//! the arrival on, for as long as the hours last: so no route is better than the best way.

use std::cmp::Reverse;
use std::collections::BTreeSet;

use super::crew::{Able, Place, Relax, Shape, Slots};
use crate::season::Season;
use crate::time::Instant;

/// What a cow bred in a slot is worth, and what a box costs there; by slot of a session from its
/// first.
#[derive(Clone, Debug, Default)]
pub(super) struct Prices {
    pub(super) cow: Vec<f64>,
    pub(super) r#box: Vec<f64>,
}

/// Sessions in turn, with the moment at which each is left.
pub(super) type Path = Vec<(usize, Instant)>;

/// A stay from one arrival on.
struct Stay {
    /// Slots of it, counted from the session's first, with the cows bred in each.
    slots: Vec<(usize, u32)>,
    ends: Vec<End>,
}

/// A round that is done.
struct End {
    /// Place among the stay's slots.
    slot: usize,
    /// Cows bred in that slot until then.
    cows: u32,
    /// When: seconds since the epoch, as the road is counted a great many times.
    at: i64,
}

/// The stays of one technician at one session.
struct Arrivals {
    session: usize,
    /// The minute of the stay that begins with the hours.
    first: i64,
    /// By minute of arrival from the first on.
    stays: Vec<Stay>,
    /// Seconds on the road to each session of the net.
    road: Vec<i64>,
}

/// Every way of a technician through sessions that clash.
pub(super) struct Net {
    all: Vec<Arrivals>,
    /// Stays by minute of arrival, the latest first.
    order: Vec<(usize, usize)>,
    /// True if a stay may begin later than on arrival.
    waits: bool,
}

fn minute(at: Instant) -> i64 {
    at.timestamp().div_euclid(60)
}

impl Stay {
    fn new(shape: &Shape, slots: Slots, able: &Able) -> Self {
        let mine: Vec<(usize, u32)> = able
            .there
            .iter()
            .map(|k| ((k - shape.first) as usize, able.cap(*k)))
            .collect();
        let end = |at: &Instant| {
            let slot = (slots.holding(*at) - shape.first) as usize;
            let here = mine.iter().position(|(k, _)| *k == slot)?;
            let ticks = able.ticks.get(&slots.holding(*at))?;
            Some(End {
                slot: here,
                cows: ticks.partition_point(|t| t <= at) as u32,
                at: at.timestamp(),
            })
        };
        let ends = able.ends.iter().filter_map(end).collect();
        Self { slots: mine, ends }
    }

    /// What the stay is worth to its end; and, were it left sooner, after each of its rounds.
    fn worth(&self, prices: &Prices, mut left: impl FnMut(f64, i64)) -> f64 {
        let mut ends = self.ends.iter().peekable();
        let mut sum = 0.0;
        for (n, (slot, cows)) in self.slots.iter().enumerate() {
            let (cow, rent) = (prices.cow[*slot], prices.r#box[*slot]);
            while let Some(end) = ends.next_if(|e| e.slot <= n) {
                left(sum + f64::from(end.cows) * cow - rent, end.at);
            }
            sum += f64::from(*cows) * cow - rent;
        }
        sum
    }
}

impl Net {
    pub(super) fn new(
        season: &Season,
        here: &[&Shape],
        sessions: &[usize],
        technician: usize,
    ) -> Self {
        let grain = Slots::new(season);
        let who = &season.crew[technician];
        let longest = who.longest_day.or(season.rules.longest_day);
        let waits = longest.is_some() || season.rules.rest.is_some();
        let relax = Relax {
            day: true,
            ..Relax::default()
        };
        let mut all: Vec<Arrivals> = Vec::new();
        for s in sessions {
            let place = Place::new(season, here[*s], grain, relax);
            let Some(hours) = place.hours(technician) else {
                continue;
            };
            let first = minute(hours.early);
            let from = |n: i64| {
                (n > 0).then(|| Instant::from_timestamp((first + n) * 60, 0).unwrap_or_default())
            };
            let last = minute(grain.start(here[*s].last + 1));
            let stays = (0..=last - first).map(|n| place.able_in(&hours, from(n), None));
            let mut stays: Vec<Stay> = stays
                .map(|able| {
                    let nothing = Stay {
                        slots: Vec::new(),
                        ends: Vec::new(),
                    };
                    able.map_or(nothing, |a| Stay::new(here[*s], grain, &a))
                })
                .collect();
            while stays.last().is_some_and(|s| s.ends.is_empty()) {
                stays.pop();
            }
            all.push(Arrivals {
                session: *s,
                first,
                stays,
                road: Vec::new(),
            });
        }
        let sites: Vec<usize> = all.iter().map(|a| here[a.session].site).collect();
        for (a, site) in all.iter_mut().zip(&sites) {
            let road = &season.sites[*site].road;
            a.road = sites.iter().map(|to| road[*to].num_seconds()).collect();
        }
        let mut order: Vec<(usize, usize)> = Vec::new();
        for (n, a) in all.iter().enumerate() {
            order.extend((0..a.stays.len()).map(|m| (n, m)));
        }
        order.sort_by_key(|(n, m)| (Reverse(all[*n].first + *m as i64), *n));
        Self { all, order, waits }
    }

    /// Sessions and slots in which a cow could be bred.
    pub(super) fn open(&self) -> BTreeSet<(usize, usize)> {
        let mut open = BTreeSet::new();
        for a in &self.all {
            let slots = a.stays.iter().flat_map(|s| &s.slots);
            open.extend(slots.filter(|s| s.1 > 0).map(|s| (a.session, s.0)));
        }
        open
    }

    /// Each session by itself, whole.
    pub(super) fn whole(&self) -> Vec<Path> {
        let stays = self.all.iter().filter(|a| !a.stays.is_empty());
        stays.map(|a| vec![(a.session, Instant::MAX_UTC)]).collect()
    }

    /// The best way that begins with each session, with its worth; only those that are worth
    /// something.
    pub(super) fn best(&self, prices: &[Prices]) -> Vec<(f64, Path)> {
        let mut worth: Vec<Vec<f64>> = self.all.iter().map(|a| vec![0.0; a.stays.len()]).collect();
        // Where waiting is allowed, the stay that is worth most from each minute on.
        let mut at: Vec<Vec<usize>> = self
            .all
            .iter()
            .map(|a| (0..a.stays.len()).collect())
            .collect();
        let mut then: Vec<Vec<(i64, Option<(usize, usize)>)>> = self
            .all
            .iter()
            .map(|a| vec![(0, None); a.stays.len()])
            .collect();
        for (n, m) in &self.order {
            let here = &self.all[*n];
            let mut best = (f64::NEG_INFINITY, (0, None));
            let whole = here.stays[*m].worth(&prices[here.session], |sum, leave| {
                if let Some((more, next)) = self.next(*n, leave, &worth, &at)
                    && sum + more > best.0
                {
                    best = (sum + more, (leave, Some(next)));
                }
            });
            if whole >= best.0 {
                best = (whole, (i64::MAX, None));
            }
            worth[*n][*m] = best.0;
            then[*n][*m] = best.1;
            if self.waits && *m + 1 < worth[*n].len() {
                let later = at[*n][*m + 1];
                if worth[*n][later] > worth[*n][*m] {
                    at[*n][*m] = later;
                }
            }
        }
        let mut found = Vec::new();
        for n in 0..self.all.len() {
            let Some(begin) = at[n].first() else { continue };
            let sum = worth[n][*begin];
            if sum <= 0.0 {
                continue;
            }
            let mut path = Path::new();
            let mut now = Some((n, *begin));
            while let Some((s, m)) = now {
                let (leave, next) = then[s][m];
                let leave = Instant::from_timestamp(leave, 0).unwrap_or(Instant::MAX_UTC);
                path.push((self.all[s].session, leave));
                now = next;
            }
            found.push((sum, path));
        }
        found
    }

    /// Where it is worth most to go on to, if it is worth anything.
    fn next(
        &self,
        from: usize,
        leave: i64,
        worth: &[Vec<f64>],
        at: &[Vec<usize>],
    ) -> Option<(f64, (usize, usize))> {
        let mut best: Option<(f64, (usize, usize))> = None;
        for (n, to) in self.all.iter().enumerate() {
            if n == from {
                continue;
            }
            let arrival = (leave + self.all[from].road[n] + 59).div_euclid(60);
            let m = usize::try_from(arrival - to.first).unwrap_or(0);
            let Some(m) = at[n].get(m) else { continue };
            let w = worth[n][*m];
            if w > 0.0 && best.is_none_or(|(b, _)| w > b) {
                best = Some((w, (n, *m)));
            }
        }
        best
    }
}
