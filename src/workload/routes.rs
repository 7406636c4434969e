//! Where a technician could go on a day whose sessions clash: to one of them, or to part of one
//! and then, after the road, to part of another.
//!
//! Whoever leaves a session does so as a round is done, and is at the next one no sooner than the
//! road allows, with the rest that the rules ask for. Nobody comes to the same session twice.

use chrono::TimeDelta;

use super::crew::{Able, NIGHT, Place, Relax, Shape, Slots};
use crate::season::Season;
use crate::time::Instant;

/// A stay at a session of the part.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Visit {
    /// By its place in the part.
    pub(super) session: usize,
    pub(super) able: Able,
    /// True if it is shorter than it could be because of another.
    pub(super) cut: bool,
}

/// Visits in the order of their hours.
pub(super) type Route = Vec<Visit>;

/// Routes through sessions.
pub(super) struct Routes {
    pub(super) all: Vec<Route>,
    /// False if there are more, which were left out for their number.
    pub(super) complete: bool,
}

/// Visits of a route at the most.
const MOST_VISITS: usize = 3;

/// Routes of a technician at the most.
const MOST_ROUTES: usize = 400;

/// All routes of a technician through these sessions, each where the technician can be; fewer,
/// with only some of the moments to leave, where there would be too many. `None` if even those
/// are.
pub(super) fn routes(
    season: &Season,
    here: &[&Shape],
    sessions: &[usize],
    technician: usize,
) -> Option<Routes> {
    let slots = Slots::new(season);
    let all = |most_visits: usize, stride: usize| -> Option<Vec<Route>> {
        let mut search = Search {
            season,
            technician,
            places: sessions
                .iter()
                .map(|s| (*s, Place::new(season, here[*s], slots, Relax::default())))
                .collect(),
            sites: here.iter().map(|s| s.site).collect(),
            most_visits,
            stride,
            found: Vec::new(),
        };
        search.all().map(|()| search.found)
    };
    if let Some(all) = all(MOST_VISITS, 1) {
        let complete = sessions.len() <= MOST_VISITS;
        return Some(Routes { all, complete });
    }
    let (stride, mut found) = [1, 2, 4].into_iter().find_map(|s| Some((s, all(2, s)?)))?;
    // A third visit with fewer moments to leave is worth more than none.
    for stride in [2, 4, 8] {
        let mut more = all(MOST_VISITS, stride).unwrap_or_default();
        more.retain(|route| route.len() > 2);
        if !more.is_empty() && found.len() + more.len() <= MOST_ROUTES {
            found.extend(more);
            break;
        }
    }
    Some(Routes {
        all: found,
        complete: stride == 1 && sessions.len() <= 2,
    })
}

struct Search<'a> {
    season: &'a Season,
    technician: usize,
    places: Vec<(usize, Place<'a>)>,
    sites: Vec<usize>,
    most_visits: usize,
    stride: usize,
    found: Vec<Route>,
}

impl Search<'_> {
    fn all(&mut self) -> Option<()> {
        for n in 0..self.places.len() {
            let (session, place) = &self.places[n];
            let Some(able) = place.able(self.technician, None, None) else {
                continue;
            };
            let visit = Visit {
                session: *session,
                able,
                cut: false,
            };
            self.add(&[], visit.clone())?;
            self.go_on(&[], n, &visit)?;
        }
        Some(())
    }

    fn add(&mut self, before: &[Visit], last: Visit) -> Option<()> {
        let mut route = before.to_vec();
        route.push(last);
        if self.is_one_day(&route) {
            self.found.push(route);
        }
        (self.found.len() <= MOST_ROUTES).then_some(())
    }

    /// Adds every route that leaves the visit at place `n` for another session.
    fn go_on(&mut self, before: &[Visit], n: usize, stay: &Visit) -> Option<()> {
        if before.len() + 1 >= self.most_visits {
            return Some(());
        }
        for next in 0..self.places.len() {
            let session = self.places[next].0;
            if next == n || before.iter().any(|v| v.session == session) {
                continue;
            }
            let Some(whole) = self.places[next].1.able(self.technician, None, None) else {
                continue;
            };
            let road = self.season.sites[self.sites[stay.session]].road[self.sites[session]];
            // From the last moment back: once the next session is served whole, leaving sooner
            // gains nothing.
            for leave in stay.able.ends.iter().rev().step_by(self.stride) {
                let first = before.first().unwrap_or(stay);
                let Some(able) = self.arrive(next, *leave, road, first) else {
                    continue;
                };
                let served = able.ticks == whole.ticks;
                let place = &self.places[n].1;
                // The visit begins as it would were it longer: with a longest day, work that ends
                // sooner could else begin sooner, and leave no time for the next.
                let from = Some(stay.able.span.0);
                let Some(short) = place.able(self.technician, from, Some(*leave)) else {
                    continue;
                };
                let cut = stay.cut || short.ticks != stay.able.ticks;
                let mut so_far = before.to_vec();
                so_far.push(Visit {
                    session: stay.session,
                    able: short,
                    cut,
                });
                let then = Visit {
                    session,
                    able,
                    cut: !served,
                };
                self.add(&so_far, then.clone())?;
                self.go_on(&so_far, next, &then)?;
                if served {
                    break;
                }
            }
        }
        Some(())
    }

    /// What can be done at the next session by one who leaves the last at `leave` and has worked
    /// since the first visit began.
    fn arrive(&self, next: usize, leave: Instant, road: TimeDelta, first: &Visit) -> Option<Able> {
        let (session, place) = &self.places[next];
        let begun = first.able.span.0;
        let there = leave + road;
        let home = self.home(first.session) + self.home(*session);
        let back = self.longest().map(|longest| begun + longest - home);
        let until = |from: Instant| back.filter(|_| from - leave < NIGHT);
        let able = place.able(self.technician, Some(there), until(there))?;
        // Where the hours of work would then be too many without a rest, it is taken on arrival.
        match self.season.rules.rest {
            Some(r) if able.span.1 - begun > r.after && able.span.0 < there + r.long => {
                let rested = there + r.long;
                place.able(self.technician, Some(rested), until(rested))
            }
            _ => Some(able),
        }
    }

    fn home(&self, session: usize) -> TimeDelta {
        let who = &self.season.crew[self.technician];
        self.season.road_home(who, self.sites[session])
    }

    fn longest(&self) -> Option<TimeDelta> {
        let who = &self.season.crew[self.technician];
        who.longest_day.or(self.season.rules.longest_day)
    }

    /// True if no day of a route is longer than the longest.
    fn is_one_day(&self, route: &[Visit]) -> bool {
        let Some(longest) = self.longest() else {
            return true;
        };
        let mut first = &route[0];
        let mut last = first;
        let short = |first: &Visit, last: &Visit| {
            let home = self.home(first.session) + self.home(last.session);
            last.able.span.1 - first.able.span.0 + home <= longest
        };
        for v in &route[1..] {
            if v.able.span.0 - last.able.span.1 >= NIGHT {
                first = v;
            }
            last = v;
            if !short(first, last) {
                return false;
            }
        }
        true
    }
}
