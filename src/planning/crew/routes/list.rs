//! Where a technician could go on a day whose sessions clash: to one of them, or to part of one
//! and then, after the road, to part of another.
//!
//! Whoever leaves a session does so as a round is done, and is at the next one no sooner than the
//! road allows, to the whole minute, with the rest that the rules ask for. Nobody comes to the same
//! session twice.
//!
//! Every route is a column of the model. Drive time, rest, the longest day and one place at a time are
//! settled before the model is built; the model only picks how many take each route.

use chrono::TimeDelta;

use crate::base::progress::Progress;
use crate::base::time::Instant;
use crate::planning::crew::sessions::place::{Hours, NIGHT, Place, Relax, next_minute};
use crate::planning::crew::sessions::unstaffed::{Able, Slots, Unstaffed};
use crate::trade::season::Season;

/// A stay at a session of the part.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Visit {
    /// By its place in the part.
    pub(crate) session: usize,
    pub(crate) able: Able,
    /// True if it is shorter than it could be because of another.
    pub(crate) cut: bool,
}

/// Visits in the order of their hours.
pub(crate) type Route = Vec<Visit>;

/// Visits of a route at the most, where all routes are listed.
const MOST_VISITS: usize = 3;

/// Routes of a technician at the most, where all are listed.
const MOST_ROUTES: usize = 400;

/// Steps from one session to the next that are looked at for each route that may be found: of many, most
/// make too long a day.
const MOST_LOOKED_AT: usize = 5;

/// Work of such a step, in about microseconds.
const STEP: usize = 30;

/// All routes of a technician through these sessions, each where the technician can be. `None`
/// where there are too many, or some with more visits.
pub(crate) fn routes(
    season: &Season,
    here: &[&Unstaffed],
    sessions: &[usize],
    technician: usize,
    progress: &dyn Progress,
) -> Option<Vec<Route>> {
    if sessions.len() > MOST_VISITS {
        return None;
    }
    let mut search = Search::new(season, here, sessions, technician);
    search.all(MOST_ROUTES, 1, progress).then_some(search.found)
}

/// As many of the routes of a technician through these sessions as there may be: with every sixteenth
/// moment to leave, or more of them, and so on to all.
pub(crate) fn some_routes(
    season: &Season,
    here: &[&Unstaffed],
    sessions: &[usize],
    technician: usize,
    most: usize,
    progress: &dyn Progress,
) -> Vec<Route> {
    let mut search = Search::new(season, here, sessions, technician);
    let mut found = Vec::new();
    for stride in [16, 12, 8, 6, 4, 3, 2, 1] {
        if progress.stop() || !search.all(most, stride, progress) {
            break;
        }
        found = std::mem::take(&mut search.found);
    }
    found
}

/// The ways of a technician through sessions.
pub(crate) struct Search<'a> {
    season: &'a Season,
    technician: usize,
    /// Sessions where the technician can be, by their place in the part.
    places: Vec<(usize, Place<'a>, Hours)>,
    /// What can be done at each of them by one who goes nowhere else.
    whole: Vec<Option<Able>>,
    sites: Vec<usize>,
    most: usize,
    /// Routes that may still be looked at, found or not.
    left: usize,
    stride: usize,
    found: Vec<Route>,
}

impl<'a> Search<'a> {
    pub(crate) fn new(
        season: &'a Season,
        here: &[&'a Unstaffed],
        sessions: &[usize],
        technician: usize,
    ) -> Self {
        let slots = Slots::new(season);
        let place = |s: &usize| {
            let place = Place::new(season, here[*s], slots, Relax::default());
            let hours = place.hours(technician)?;
            Some((*s, place, hours))
        };
        let places: Vec<(usize, Place, Hours)> = sessions.iter().filter_map(place).collect();
        let whole = places.iter().map(|(_, p, h)| p.able_in(h, None, None));
        Self {
            season,
            technician,
            whole: whole.collect(),
            places,
            sites: here.iter().map(|s| s.site).collect(),
            most: 0,
            left: 0,
            stride: 1,
            found: Vec::new(),
        }
    }

    /// The route that stays at each of these sessions in turn until its last round that is done by
    /// the moment given; as much of it as there is on one day.
    pub(crate) fn follow(&self, way: &[(usize, Instant)]) -> Route {
        let mut route = Route::new();
        let first = way.first().and_then(|(session, _)| {
            let able = self.whole[self.place(*session)?].clone()?;
            let (session, cut) = (*session, false);
            Some(Visit { session, able, cut })
        });
        let Some(mut stay) = first else {
            return route;
        };
        for step in way.windows(2) {
            let Some((short, then)) = self.go(&route, &stay, step[0].1, step[1].0) else {
                break;
            };
            route.push(short);
            stay = then;
        }
        if way.len() == route.len() + 1
            && let Some((session, until)) = way.last()
            && let Some(leave) = stay.able.ends.iter().rfind(|e| *e <= until)
            && *until < stay.able.span.1
            && let Some(at) = self.place(*session)
            && let Some(short) = self.cut_short(at, &stay, *leave)
        {
            stay = short;
        }
        route.push(stay);
        while !route.is_empty() && !self.is_one_day(&route) {
            route.pop();
        }
        route
    }

    fn place(&self, session: usize) -> Option<usize> {
        self.places.iter().position(|p| p.0 == session)
    }

    /// A stay cut short by a moment, and the next one.
    fn go(
        &self,
        before: &[Visit],
        stay: &Visit,
        until: Instant,
        next: usize,
    ) -> Option<(Visit, Visit)> {
        let leave = *stay.able.ends.iter().rfind(|e| **e <= until)?;
        let short = self.cut_short(self.place(stay.session)?, stay, leave)?;
        let at = self.place(next)?;
        let able = self.arrive(at, leave, before, stay)?;
        let whole = self.whole[at].as_ref();
        let cut = whole.is_none_or(|w| w.ticks != able.ticks);
        let session = next;
        Some((short, Visit { session, able, cut }))
    }

    /// A stay that ends sooner. It begins as it would were it longer: with a longest day, work that
    /// ends sooner could else begin sooner, and leave no time for the next.
    fn cut_short(&self, n: usize, stay: &Visit, leave: Instant) -> Option<Visit> {
        let (_, place, hours) = &self.places[n];
        let able = place.able_in(hours, Some(stay.able.span.0), Some(leave))?;
        Some(Visit {
            session: stay.session,
            cut: stay.cut || able.ticks != stay.able.ticks,
            able,
        })
    }

    /// Visits of a session's whole hours but for the longest day, as it may lie else.
    pub(crate) fn other_days(&self, n: usize) -> Vec<Visit> {
        let (session, place, hours) = &self.places[n];
        let days = place.other_days(hours).into_iter().step_by(self.stride);
        let visit = |(from, to)| {
            let able = place.able_in(hours, Some(from), Some(to))?;
            let (session, cut) = (*session, true);
            Some(Visit { session, able, cut })
        };
        days.filter_map(visit).collect()
    }

    /// How many of the sessions the technician can be at.
    pub(crate) fn places(&self) -> usize {
        self.places.len()
    }

    /// Finds all routes of `MOST_VISITS` that leave at every so-many-th moment. False if they are
    /// too many.
    fn all(&mut self, most: usize, stride: usize, progress: &dyn Progress) -> bool {
        (self.most, self.stride, self.left) = (most, stride, MOST_LOOKED_AT * most);
        self.found.clear();
        let all = self.each().is_some();
        progress.worked(STEP * (MOST_LOOKED_AT * most - self.left));
        all
    }

    fn each(&mut self) -> Option<()> {
        for n in 0..self.places.len() {
            let Some(able) = self.whole[n].clone() else {
                continue;
            };
            let visit = Visit {
                session: self.places[n].0,
                able,
                cut: false,
            };
            self.add(&[], visit.clone())?;
            for visit in self.other_days(n) {
                self.left = self.left.checked_sub(1)?;
                self.add(&[], visit)?;
            }
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
        (self.found.len() <= self.most).then_some(())
    }

    /// Adds every route that leaves the visit at place `n` for another session.
    fn go_on(&mut self, before: &[Visit], n: usize, stay: &Visit) -> Option<()> {
        if before.len() + 1 >= MOST_VISITS {
            return Some(());
        }
        let mut short: Vec<Option<Option<Visit>>> = vec![None; stay.able.ends.len()];
        for next in 0..self.places.len() {
            let session = self.places[next].0;
            if next == n || before.iter().any(|v| v.session == session) {
                continue;
            }
            if self.whole[next].is_none() {
                continue;
            }
            // From the last moment back: once the next session is served whole, leaving sooner
            // gains nothing.
            for (e, leave) in stay.able.ends.iter().enumerate().rev().step_by(self.stride) {
                self.left = self.left.checked_sub(1)?;
                let Some(able) = self.arrive(next, *leave, before, stay) else {
                    continue;
                };
                let whole = self.whole[next].as_ref();
                let served = whole.is_some_and(|whole| able.ticks == whole.ticks);
                let short = short[e].get_or_insert_with(|| self.cut_short(n, stay, *leave));
                let Some(short) = short.clone() else {
                    continue;
                };
                let mut so_far = before.to_vec();
                so_far.push(short);
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

    /// What can be done at the next session by one who leaves `stay` at `leave`, after earlier visits.
    ///
    /// The road from each of those must fit as well: nobody may breed at a visit between, and a road that
    /// nobody stated may make the way over it shorter than a stated one.
    fn arrive(&self, next: usize, leave: Instant, before: &[Visit], stay: &Visit) -> Option<Able> {
        let (session, place, hours) = &self.places[next];
        let first = before.first().unwrap_or(stay);
        let begun = first.able.span.0;
        let from = |v: &Visit| self.season.sites[self.sites[v.session]].road[self.sites[*session]];
        let direct = before.iter().map(|v| v.able.span.1 + from(v));
        let there = direct.fold(leave + from(stay), Instant::max);
        let there = next_minute(there);
        let home = self.home(first.session) + self.home(*session);
        let back = self.longest().map(|longest| begun + longest - home);
        // After a night a day begins anew.
        let until = match back {
            Some(back) => {
                let (_, (free, _)) = place.stay(hours, Some(there), None)?;
                Some(back).filter(|_| free - leave < NIGHT)
            }
            None => None,
        };
        let able = place.able_in(hours, Some(there), until)?;
        // Where the hours of work would then be too many without a rest, it is taken on arrival.
        match self.season.rules.rest {
            Some(r) if able.span.1 - begun > r.after && able.span.0 < there + r.long => {
                let rested = next_minute(there + r.long);
                place.able_in(hours, Some(rested), until)
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

/// Routes, by class and then by the sessions that clash, in the order of `Model::components`.
pub(crate) type Known = Vec<Vec<Vec<Route>>>;
