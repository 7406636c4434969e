//! Every way of a technician through sessions that clash, as nets of stays by the minute of
//! arrival; and the best way, where each cow bred has a price and each box a rent.
//!
//! A stay lasts to its end, or until a round is done; then comes the road. With a rule of rest or of
//! the longest day a stay hangs on when the day began: there is a net for each day that sessions begin
//! with, and where these are many, for several of them together. Of large days arrivals are told
//! apart by some minutes only, and each counts as the sooner. Only where a night may lie between two sessions are these rules left out, and a stay may
//! begin at any minute from the arrival on. In a net a session may be come back to, and visits are
//! not counted: so no route is better than the best way.

use std::cmp::Reverse;
use std::collections::BTreeSet;

use chrono::TimeDelta;

use crate::base::time::Instant;
use crate::planning::crew::sessions::place::{Hours, NIGHT, Place, Relax, Stay, next_minute};
use crate::planning::crew::sessions::unstaffed::{Slots, Unstaffed};
use crate::trade::season::Season;

/// What a cow bred in a slot is worth, and what a box costs there; by slot of a session from its
/// first.
#[derive(Clone, Debug, Default)]
pub(crate) struct Prices {
    pub(crate) cow: Vec<f64>,
    pub(crate) r#box: Vec<f64>,
}

/// Nets of a technician at the most, where a stay hangs on when the day began;
const MOST_DAYS: usize = 8;

/// and fewer where they would have more minutes times slots.
const MOST_SIZE: usize = 3_000_000;

/// Slots and rounds of all stays of a part at the most: of a part with more there are no nets.
pub(crate) const MOST_STAYS: usize = 8_000_000;

/// Minutes between arrivals of such days, at the most.
const MOST_APART: i64 = 5;

/// Sessions in turn, with the moment at which each is left.
pub(crate) type Path = Vec<(usize, Instant)>;

/// The stays of one technician at one session.
pub(super) struct Arrivals {
    pub(super) session: usize,
    /// The first minute of arrival.
    first: i64,
    /// Minutes from one arrival to the next.
    pub(super) step: i64,
    /// By arrival: whoever comes between two has the sooner, and so no less; whoever comes before all, the
    /// first.
    pub(super) stays: Vec<Stay>,
    /// Seconds on the road to each session of the net.
    road: Vec<i64>,
}

/// Every way of a technician through sessions that clash.
pub(crate) struct Net {
    pub(super) all: Vec<Arrivals>,
    /// Stays by minute of arrival, the latest first.
    pub(super) order: Vec<(usize, usize)>,
    /// Stays to begin with.
    pub(super) starts: Vec<(usize, Stay)>,
    /// True if a stay may begin later than on arrival.
    waits: bool,
    /// The first minute of arrival of all.
    first: i64,
    /// True if every road takes whole minutes.
    whole_minutes: bool,
}

fn minute(at: Instant) -> i64 {
    at.timestamp().div_euclid(60)
}

/// The moment of leaving; for whoever stays, the end of time.
pub(super) fn moment(leave: i64) -> Instant {
    Instant::from_timestamp(leave, 0).unwrap_or(Instant::MAX_UTC)
}

fn at_minute(minute: i64) -> Instant {
    Instant::from_timestamp(minute * 60, 0).unwrap_or_default()
}

/// What the stay is worth to its end; and, were it left sooner, after each of its rounds.
fn worth(stay: &Stay, prices: &Prices, mut left: impl FnMut(f64, i64)) -> f64 {
    let mut ends = stay.ends.iter().peekable();
    let mut sum = 0.0;
    for (n, (slot, cows)) in stay.slots.iter().enumerate() {
        let (cow, rent) = (prices.cow[*slot], prices.r#box[*slot]);
        while let Some(end) = ends.next_if(|e| e.slot <= n) {
            left(sum + f64::from(end.cows) * cow - rent, end.at);
        }
        sum += f64::from(*cows) * cow - rent;
    }
    sum
}

/// A technician's sessions that clash.
struct Ground<'a> {
    season: &'a Season,
    here: &'a [&'a Unstaffed],
    technician: usize,
    grain: Slots,
    places: Vec<(usize, Place<'a>, Hours)>,
}

/// The nets of a technician through sessions, by place in the part: every route is a way of one. `room` is
/// what is left of [`MOST_STAYS`]; `None` where that is not enough.
pub(crate) fn nets(
    season: &Season,
    here: &[&Unstaffed],
    sessions: &[usize],
    technician: usize,
    room: &mut usize,
) -> Option<Vec<Net>> {
    let who = &season.crew[technician];
    let longest = who.longest_day.or(season.rules.longest_day);
    let ruled = longest.is_some() || season.rules.rest.is_some();
    let opens = sessions.iter().map(|s| here[*s].open);
    let (first, last) = (opens.clone().min(), opens.max());
    let night = first
        .zip(last)
        .is_some_and(|(first, last)| last - first >= NIGHT);
    let relax = Relax {
        day: ruled && night,
        ..Relax::default()
    };
    let grain = Slots::new(season);
    let place = |s: &usize| {
        let place = Place::new(season, here[*s], grain, relax);
        let hours = place.hours(technician)?;
        Some((*s, place, hours))
    };
    let ground = Ground {
        season,
        here,
        technician,
        grain,
        places: sessions.iter().filter_map(place).collect(),
    };
    let all: Vec<usize> = (0..ground.places.len()).collect();
    if !ruled || night {
        let starts: Vec<Start> = all.into_iter().map(|n| (n, None)).collect();
        return Some(vec![ground.net(&starts, None, ruled, room)?]);
    }
    let here = &ground;
    let begun = |n: usize| {
        let (session, place, hours) = &here.places[n];
        let stay = place.stay(hours, None, None);
        let whole = stay.map(|(_, (begun, _))| (begun, None));
        let others = place.other_days(hours).into_iter();
        let others = others.map(|(from, to)| (from, Some((from, to))));
        let days = whole.into_iter().chain(others);
        days.map(move |(begun, hours)| {
            let back = longest.map(|longest| begun + longest - here.home(*session));
            (Day { begun, back }, (n, hours))
        })
    };
    let mut days: Vec<(Day, Start)> = all.into_iter().flat_map(begun).collect();
    days.sort_unstable();
    let alike = days.chunk_by(|a, b| a.0 == b.0).count();
    let size: usize = ground.places.iter().map(|p| ground.size(p.0)).sum();
    let most = (MOST_SIZE / size.max(1)).clamp(1, MOST_DAYS);
    // Of many days some share a net, whose hours are the widest and whose work begins last: so still
    // no route is better than the best way.
    let mut nets: Vec<(Day, Vec<Start>)> = Vec::new();
    for (n, same) in days.chunk_by(|a, b| a.0 == b.0).enumerate() {
        let starts = same.iter().map(|s| s.1);
        match nets.last_mut() {
            Some(last) if n * most / alike == (n - 1) * most / alike => {
                last.0.begun = same[0].0.begun;
                last.0.back = last.0.back.max(same[0].0.back);
                last.1.extend(starts);
            }
            _ => nets.push((same[0].0, starts.collect())),
        }
    }
    let mut net = |(day, starts): (Day, Vec<Start>)| ground.net(&starts, Some(day), false, room);
    nets.into_iter().map(&mut net).collect()
}

/// A session to begin with, by its place; and from when to when, where it is not for its whole hours.
type Start = (usize, Option<(Instant, Instant)>);

/// When a day began, and when it must be over, but for the road home.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
struct Day {
    begun: Instant,
    back: Option<Instant>,
}

impl Ground<'_> {
    fn home(&self, session: usize) -> TimeDelta {
        let who = &self.season.crew[self.technician];
        self.season.road_home(who, self.here[session].site)
    }

    /// Minutes times slots of a session.
    fn size(&self, session: usize) -> usize {
        let slots = usize::try_from(self.here[session].last - self.here[session].first + 1);
        let slots = slots.unwrap_or(0);
        slots * slots * (self.grain.seconds() / 60) as usize
    }

    /// Minutes between arrivals that are told apart: one, or of large days more, yet never as many as go
    /// by from one arrival to the next.
    fn step(&self) -> i64 {
        let size: usize = self.places.iter().map(|p| self.size(p.0)).sum();
        if size <= MOST_SIZE {
            return 1;
        }
        let site = |p: &(usize, Place, Hours)| self.here[p.0].site;
        let rests = self.season.rules.rest.is_some();
        let mut road = i64::MAX;
        for (n, a) in self.places.iter().enumerate() {
            for b in self.places[..n]
                .iter()
                .filter(|b| rests || site(b) != site(a))
            {
                let (there, back) = (&self.season.sites[site(a)], &self.season.sites[site(b)]);
                let least = there.road[site(b)].min(back.road[site(a)]);
                road = road.min(least.num_seconds());
            }
        }
        let lead = self.places.iter().map(|(.., h)| h.lead_seconds()).min();
        let between = road.saturating_add(lead.unwrap_or(0));
        (between / 60).clamp(1, MOST_APART)
    }

    fn net(
        &self,
        starts: &[Start],
        day: Option<Day>,
        waits: bool,
        room: &mut usize,
    ) -> Option<Net> {
        let site = |n: usize| self.here[self.places[n].0].site;
        let mut all: Vec<Arrivals> = Vec::new();
        let step = self.step();
        for (n, (session, place, hours)) in self.places.iter().enumerate() {
            // Whoever is there before the hours has rested by then.
            let rest = self.season.rules.rest.filter(|_| day.is_some());
            let before = rest.map_or(0, |r| r.long.num_seconds() / 60 + 1);
            let first = minute(hours.early) - before;
            let last = minute(self.grain.start(self.here[*session].last + 1));
            let stay = |m: i64| -> Option<Stay> {
                let there = at_minute(first + m * step);
                let until = day.and_then(|d| d.back).map(|b| b - self.home(*session));
                // The first stands for everything before it.
                let from = (m > 0).then_some(there);
                let (stay, span) = place.stay(hours, from, until)?;
                if let Some((rest, day)) = rest.zip(day)
                    && m > 0
                    && span.1 - day.begun > rest.after
                    && span.0 < there + rest.long
                {
                    let rested = next_minute(there + rest.long);
                    return Some(place.stay(hours, Some(rested), until)?.0);
                }
                Some(stay)
            };
            let mut stays: Vec<Stay> = Vec::new();
            for m in 0..=(last - first) / step {
                let stay = stay(m).unwrap_or_default();
                *room = room.checked_sub(stay.slots.len() + stay.ends.len())?;
                stays.push(stay);
            }
            while stays.last().is_some_and(|s| s.ends.is_empty()) {
                stays.pop();
            }
            let roads = &self.season.sites[site(n)].road;
            all.push(Arrivals {
                session: *session,
                first,
                step,
                stays,
                road: (0..self.places.len())
                    .map(|to| roads[site(to)].num_seconds())
                    .collect(),
            });
        }
        let mut order: Vec<(usize, usize)> = Vec::new();
        for (n, a) in all.iter().enumerate() {
            order.extend((0..a.stays.len()).map(|m| (n, m)));
        }
        order.sort_by_key(|(n, m)| (Reverse(all[*n].first + *m as i64 * step), *n));
        let start = |(n, part): &Start| {
            let (_, place, hours) = &self.places[*n];
            let (from, to) = part.unzip();
            Some((*n, place.stay(hours, from, to)?.0))
        };
        let roads = || all.iter().flat_map(|a| &a.road);
        Some(Net {
            first: all.iter().map(|a| a.first).min().unwrap_or(0),
            whole_minutes: roads().all(|r| r % 60 == 0),
            starts: starts.iter().filter_map(start).collect(),
            all,
            order,
            waits,
        })
    }
}

/// A way on: the moment of leaving, and the stay that comes then; none for whoever stays.
type Onward = (i64, Option<(usize, usize)>);

/// What is worth most from each stay on.
struct Best {
    worth: Vec<Vec<f64>>,
    /// The stay that is worth most from each minute on, where waiting is allowed.
    at: Vec<Vec<usize>>,
    then: Vec<Vec<Onward>>,
    /// Where to go on to from each session, by the whole minute of leaving from the first of the net on:
    /// the same for many rounds, and told once all that comes later is known.
    onto: Vec<Vec<Onto>>,
}

/// Where to go on to, as far as it is known.
#[derive(Clone, Copy)]
enum Onto {
    NotYet,
    Nowhere,
    To(Next),
}

/// What going on to a stay is worth, and which it is.
type Next = (f64, (usize, usize));

impl Net {
    /// Slots and rounds of all stays.
    pub(crate) fn size(&self) -> usize {
        let stays = self.all.iter().flat_map(|a| &a.stays);
        stays.map(|s| s.slots.len() + s.ends.len()).sum()
    }

    /// Sessions and slots in which a cow could be bred.
    pub(crate) fn open(&self) -> BTreeSet<(usize, usize)> {
        let mut open = BTreeSet::new();
        for a in &self.all {
            let slots = a.stays.iter().flat_map(|s| &s.slots);
            open.extend(slots.filter(|s| s.1 > 0).map(|s| (a.session, s.0)));
        }
        open
    }

    /// Each session to begin with by itself, whole.
    pub(crate) fn whole(&self) -> Vec<Path> {
        let path = |(n, _): &(usize, Stay)| vec![(self.all[*n].session, Instant::MAX_UTC)];
        self.starts.iter().map(path).collect()
    }

    /// The best way that begins with each session, with its worth; only those that are worth
    /// something.
    pub(crate) fn best(&self, prices: &[Prices]) -> Vec<(f64, Path)> {
        let lengths = || self.all.iter().map(|a| a.stays.len());
        let mut best = Best {
            worth: lengths().map(|n| vec![0.0; n]).collect(),
            at: lengths().map(|n| (0..n).collect()).collect(),
            then: lengths().map(|n| vec![(0, None); n]).collect(),
            onto: vec![Vec::new(); self.all.len()],
        };
        for (n, m) in &self.order {
            let (worth, then) = self.onward(*n, &self.all[*n].stays[*m], prices, &mut best);
            best.worth[*n][*m] = worth;
            best.then[*n][*m] = then;
            if self.waits && *m + 1 < best.worth[*n].len() {
                let later = best.at[*n][*m + 1];
                if best.worth[*n][later] > worth {
                    best.at[*n][*m] = later;
                }
            }
        }
        let mut found = Vec::new();
        for (n, stay) in &self.starts {
            let (mut worth, (mut leave, mut next)) = self.onward(*n, stay, prices, &mut best);
            if let Some(m) = best.at[*n].first().filter(|_| self.waits)
                && best.worth[*n][*m] > worth
            {
                worth = best.worth[*n][*m];
                (leave, next) = best.then[*n][*m];
            }
            if worth <= 0.0 {
                continue;
            }
            let mut path: Path = vec![(self.all[*n].session, moment(leave))];
            while let Some((s, m)) = next {
                (leave, next) = best.then[s][m];
                path.push((self.all[s].session, moment(leave)));
            }
            found.push((worth, path));
        }
        found
    }

    /// What a stay is worth with whatever comes then, and what that is.
    fn onward(&self, n: usize, stay: &Stay, prices: &[Prices], best: &mut Best) -> (f64, Onward) {
        let mut most: (f64, Onward) = (f64::NEG_INFINITY, (0, None));
        let whole = worth(stay, &prices[self.all[n].session], |sum, leave| {
            if let Some((more, next)) = self.next(n, leave, best)
                && sum + more > most.0
            {
                most = (sum + more, (leave, Some(next)));
            }
        });
        if whole >= most.0 {
            most = (whole, (i64::MAX, None));
        }
        most
    }

    /// Where it is worth most to go on to, if it is worth anything.
    fn next(&self, from: usize, leave: i64, known: &mut Best) -> Option<Next> {
        let minute = (leave + 59).div_euclid(60);
        let since = usize::try_from(minute - self.first).ok();
        let Some(since) = since.filter(|_| self.whole_minutes) else {
            return self.best_onto(from, leave, known);
        };
        if known.onto[from].len() <= since {
            known.onto[from].resize(since + 1, Onto::NotYet);
        }
        if let Onto::NotYet = known.onto[from][since] {
            let best = self.best_onto(from, leave, known);
            known.onto[from][since] = best.map_or(Onto::Nowhere, Onto::To);
        }
        match known.onto[from][since] {
            Onto::To(next) => Some(next),
            Onto::NotYet | Onto::Nowhere => None,
        }
    }

    /// Which arrival at a session somebody makes who leaves another at that second.
    pub(super) fn arrival(&self, from: usize, leave: i64, to: usize) -> usize {
        let arrival = (leave + self.all[from].road[to] + 59).div_euclid(60);
        let to = &self.all[to];
        usize::try_from((arrival - to.first).div_euclid(to.step)).unwrap_or(0)
    }

    fn best_onto(&self, from: usize, leave: i64, known: &Best) -> Option<Next> {
        let mut best: Option<Next> = None;
        for n in 0..self.all.len() {
            if n == from {
                continue;
            }
            let Some(m) = known.at[n].get(self.arrival(from, leave, n)) else {
                continue;
            };
            let w = known.worth[n][*m];
            if w > 0.0 && best.is_none_or(|(b, _)| w > b) {
                best = Some((w, (n, *m)));
            }
        }
        best
    }
}
