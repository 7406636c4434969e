//! Routes made better, a few technicians at a time, where they are too many to search all.
//!
//! A neighborhood of a plan is all plans in which a few technicians take other routes. One technician is set free,
//! and takes the route that adds most head beside all others: that is solved exactly, but for arrivals some minutes
//! apart (`routes::once`). Then two are set free, who choose one after the other, in both orders; then three. What
//! breeds more is kept, and all begins anew.

use std::cell::Cell;
use std::collections::{BTreeMap, BTreeSet};

use itertools::Itertools as _;

use super::model::{Model, able_of};
use super::pricing::Component;
use crate::base::progress::Progress;
use crate::planning::crew::bounds::coverage::{covered, covered_at, places};
use crate::planning::crew::flow::solve::Solved;
use crate::planning::crew::routes::list::{Known, Route, Visit};
use crate::planning::crew::routes::once::{Gains, best_once};
use crate::planning::crew::sessions::place::{End, Stay};
use crate::planning::crew::sessions::unstaffed::{Lot, Ticks, Unstaffed};
use crate::trade::season::Season;

/// Most that are set free together.
const MOST_FREE: usize = 3;

/// Work of one stay that is looked at, in about microseconds;
const STAY: usize = 10;

/// slots and lots of a session that are counted in one.
const COUNTED: usize = 50;

/// A technician at sessions that clash, with a route through them.
#[derive(Clone)]
struct Unit {
    /// By place among the components.
    component: usize,
    route: Route,
}

struct Crew<'a> {
    here: &'a [&'a Unstaffed],
    lots: Vec<Vec<Lot>>,
    boxes: Vec<u32>,
    due: Vec<u32>,
    /// Those who are at a session, whoever else is.
    fixed: Vec<Vec<&'a Ticks>>,
    components: &'a [Component<'a>],
    units: Vec<Unit>,
}

/// Routes for all who need one, that breed more than those of a plan: one for each. `None` where none are found.
pub(super) fn reassigned(
    season: &Season,
    here: &[&Unstaffed],
    components: &[Component<'_>],
    (model, solved): (&Model, &Solved),
    progress: &dyn Progress,
) -> Option<Known> {
    let mut crew = Crew::new(season, here, components, model, solved);
    let before = crew.head();
    while crew.better(progress) {}
    if crew.head() <= before {
        return None;
    }
    let mut known: Known = model
        .components
        .iter()
        .map(|c| vec![Vec::new(); c.len()])
        .collect();
    for unit in crew.units {
        let of = &components[unit.component];
        let routes: &mut Vec<Route> = &mut known[of.class][of.nth];
        if !unit.route.is_empty() && !routes.contains(&unit.route) {
            routes.push(unit.route);
        }
    }
    Some(known)
}

impl<'a> Crew<'a> {
    fn new(
        season: &Season,
        here: &'a [&'a Unstaffed],
        components: &'a [Component<'a>],
        model: &Model,
        solved: &Solved,
    ) -> Self {
        let mut units = Vec::new();
        for (component, of) in components.iter().enumerate() {
            let mut routes = Vec::new();
            let columns = model.columns.iter();
            for column in columns.filter(|c| (c.class, c.component) == (of.class, of.nth)) {
                let taken = solved.decisions[column.decision] as usize;
                routes.extend(std::iter::repeat_n(column.route.clone(), taken));
            }
            let class = &model.classes[of.class];
            routes.resize(class.members.len(), Route::new());
            let whole = of
                .sessions
                .iter()
                .filter(|s| !model.is_routed(of.class, **s));
            for s in whole {
                for n in model.members_at(of.class, *s, &solved.decisions) {
                    routes[n].extend(able_of(here[*s], class).map(|able| Visit {
                        session: *s,
                        able: able.clone(),
                        cut: false,
                    }));
                }
            }
            for route in &mut routes {
                route.sort_by_key(|v| v.able.span);
            }
            units.extend(routes.into_iter().map(|route| Unit { component, route }));
        }
        let fixed = |(s, unstaffed): (usize, &&'a Unstaffed)| {
            let classes = model.classes.iter().enumerate();
            let routed = |c: usize| {
                components
                    .iter()
                    .any(|k| k.class == c && k.sessions.contains(&s))
            };
            let fixed = classes.filter(|(c, _)| !routed(*c));
            let able = fixed.filter_map(|(_, class)| {
                let able = able_of(unstaffed, class)?;
                Some(std::iter::repeat_n(&able.ticks, class.members.len()))
            });
            able.flatten().collect()
        };
        let boxes = |s: &&Unstaffed| season.sites[s.site].breeding_boxes;
        Self {
            fixed: here.iter().enumerate().map(fixed).collect(),
            boxes: here.iter().map(boxes).collect(),
            due: here.iter().map(|s| s.head()).collect(),
            lots: here.iter().map(|s| s.all_lots()).collect(),
            here,
            components,
            units,
        }
    }

    fn visits(&self, s: usize) -> impl Iterator<Item = &Visit> {
        let routes = self.units.iter().flat_map(|u| &u.route);
        routes.filter(move |v| v.session == s)
    }

    /// Head bred at a session.
    fn cover(&self, s: usize) -> u32 {
        let visits = self.visits(s).map(|v| &v.able.ticks);
        let people = self.fixed[s].iter().copied().chain(visits);
        covered(&self.lots[s], &places(people, self.boxes[s]))
    }

    fn head(&self) -> u32 {
        (0..self.here.len()).map(|s| self.cover(s)).sum()
    }

    /// Those on routes who are at a session in a slot.
    fn people(&self, s: usize, slot: i64) -> u32 {
        let there = |v: &&Visit| v.able.there.binary_search(&slot).is_ok();
        self.visits(s).filter(there).count() as u32
    }

    /// Finds routes that breed more, for as few as that takes. False if there are none, or it is to end.
    fn better(&mut self, progress: &dyn Progress) -> bool {
        let now = self.head();
        let left: Vec<bool> = (0..self.due.len())
            .map(|s| self.cover(s) < self.due[s])
            .collect();
        for free in 1..=MOST_FREE {
            for who in (0..self.units.len()).combinations(free) {
                progress.worked(1);
                if progress.stop() {
                    return false;
                }
                if !self.helps(&who, &left) {
                    continue;
                }
                let before = self.units.clone();
                for order in who.iter().permutations(free) {
                    for n in &who {
                        self.units[*n].route.clear();
                    }
                    for n in order {
                        self.send(*n, progress);
                    }
                    if self.head() > now {
                        return true;
                    }
                    self.units.clone_from(&before);
                }
            }
        }
        false
    }

    /// True if one of them could be where some are left, and each could do some of the work of the next.
    fn helps(&self, who: &[usize], left: &[bool]) -> bool {
        let open = |n: usize| &self.components[self.units[n].component].sessions;
        let shared = |w: &[usize]| open(w[0]).iter().any(|s| open(w[1]).contains(s));
        who.iter().any(|n| open(*n).iter().any(|s| left[*s])) && who.windows(2).all(shared)
    }

    /// Sends one who is nowhere on the route that adds most.
    fn send(&mut self, n: usize, progress: &dyn Progress) {
        let component = &self.components[self.units[n].component];
        let alone = component
            .sessions
            .iter()
            .map(|s| (*s, Beside::new(self, *s)));
        let beside: BTreeMap<usize, Beside> = alone.collect();
        let mut best: Option<(u32, Route)> = None;
        for net in &component.nets {
            let gains = |s: usize, stay: &Stay| {
                let at = (self.here[s].first, self.boxes[s]);
                beside[&s].gains(&self.lots[s], at, stay)
            };
            let (path, looked) = best_once(net, gains);
            let counted: usize = beside.values().map(|b| b.counted.take()).sum();
            progress.worked(STAY * looked + counted / COUNTED);
            self.units[n].route = component.search.follow(&path);
            let full = |v: &Visit| {
                let mut there = v.able.there.iter();
                there.any(|k| self.people(v.session, *k) > self.boxes[v.session])
            };
            let fits = !self.units[n].route.iter().any(full);
            let head = self.head();
            let route = std::mem::take(&mut self.units[n].route);
            if fits && best.as_ref().is_none_or(|(b, _)| head > *b) {
                best = Some((head, route));
            }
        }
        self.units[n].route = best.map(|(_, route)| route).unwrap_or_default();
    }
}

/// A session with all others who are there.
struct Beside {
    /// What each of them could breed, by slot, the fastest first.
    caps: BTreeMap<i64, Vec<u32>>,
    /// Places that they make, by slot from the first.
    places: Vec<u32>,
    /// Slots in which those on routes take all boxes.
    full: BTreeSet<i64>,
    /// Head bred.
    head: u32,
    /// Slots and lots that were counted so far.
    counted: Cell<usize>,
}

impl Beside {
    fn new(crew: &Crew<'_>, s: usize) -> Self {
        let mut caps: BTreeMap<i64, Vec<u32>> = BTreeMap::new();
        let visits = crew.visits(s).map(|v| &v.able.ticks);
        let people = crew.fixed[s].iter().copied().chain(visits);
        for (slot, cap) in people.flat_map(Ticks::caps) {
            caps.entry(slot).or_default().push(cap);
        }
        for caps in caps.values_mut() {
            caps.sort_unstable_by(|a, b| b.cmp(a));
        }
        let slots = crew.here[s].first..=crew.here[s].last;
        let full = |k: &i64| crew.people(s, *k) >= crew.boxes[s];
        let mut beside = Self {
            caps,
            places: Vec::new(),
            full: slots.clone().filter(full).collect(),
            head: crew.cover(s),
            counted: Cell::default(),
        };
        beside.places = slots.map(|k| beside.with(k, 0, crew.boxes[s])).collect();
        beside
    }

    /// Places of a slot with one more who breeds so many there.
    fn with(&self, slot: i64, cows: u32, boxes: u32) -> u32 {
        let caps = self.caps.get(&slot).map_or(&[][..], Vec::as_slice);
        let most = caps.iter().take(boxes as usize).sum::<u32>();
        let slowest = caps.get(boxes as usize - 1).copied().unwrap_or(0);
        most + cows.saturating_sub(slowest)
    }

    /// Head bred with one more who leaves as a round is done.
    fn head(&self, lots: &[Lot], (first, boxes): (i64, u32), stay: &Stay, end: &End) -> u32 {
        let mut places = self.places.clone();
        for (n, (k, cows)) in stay.slots[..=end.slot].iter().enumerate() {
            let cows = if n == end.slot { end.cows } else { *cows };
            places[*k] = self.with(first + *k as i64, cows, boxes);
        }
        self.counted.update(|n| n + places.len() + lots.len());
        covered_at(lots, (first..).zip(places))
    }

    /// What one more adds by a stay, up to each of its rounds.
    fn gains(&self, lots: &[Lot], at: (i64, u32), stay: &Stay) -> Gains {
        let due: u32 = lots.iter().map(|l| l.head).sum();
        let slot = |k: usize| at.0 + k as i64;
        let full = |(k, _): &(usize, u32)| self.full.contains(&slot(*k));
        let free = stay.slots.iter().position(full);
        let ends = stay
            .ends
            .partition_point(|e| free.is_none_or(|free| e.slot < free));
        let ends = &stay.ends[..ends];
        let Some(last) = ends.last().filter(|_| self.head < due) else {
            return Gains::default();
        };
        let mut before = vec![0];
        before.extend(stay.slots.iter().scan(0, |all, (_, cows)| {
            *all += cows;
            Some(*all)
        }));
        // Cows by then and head, as it comes and after each round. Where each cow between two rounds counts, or none,
        // nothing between needs to be counted.
        let cows = ends.iter().map(|e| (before[e.slot] + e.cows, self.head));
        let mut heads: Vec<(u32, u32)> = std::iter::once((0, self.head)).chain(cows).collect();
        let count = |n: usize| self.head(lots, at, stay, &ends[n - 1]);
        heads[ends.len()].1 = count(ends.len());
        let mut open = vec![(0, ends.len())];
        while let Some((a, b)) = open.pop() {
            let (from, to) = (heads[a], heads[b]);
            if to.1 - from.1 == to.0 - from.0 || to.1 == from.1 {
                for h in &mut heads[a + 1..b] {
                    h.1 = from.1 + (h.0 - from.0).min(to.1 - from.1);
                }
            } else if b - a > 1 {
                let middle = usize::midpoint(a, b);
                heads[middle].1 = count(middle);
                open.extend([(a, middle), (middle, b)]);
            }
        }
        let more = heads.windows(2).zip(ends).filter(|(h, _)| h[1].1 > h[0].1);
        Gains {
            ends: more.map(|(h, end)| (h[1].1 - self.head, end.at)).collect(),
            until: if free.is_some() { last.at } else { i64::MAX },
        }
    }
}
