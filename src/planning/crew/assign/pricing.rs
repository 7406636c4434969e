//! Routes worth looking at, and how much no routes can beat, where all of them are too many to list.
//!
//! A program in fractions shares the routes known so far out so that most cows are bred. Its prices
//! say what a cow bred in each slot is worth and what a box costs; the best way of each technician
//! at these prices is the next route to know. And whatever the prices, no plan breeds more than what
//! all cows, boxes and technicians are worth at them: the least such sum is a bound.
//!
//! Up to three sessions that clash, and 500 routes in a part, all routes are columns and no prices are
//! needed. The bound needs no faith in the solver. A session may be come back to in these ways, which
//! routes never do, so the bound may be a little high. Prices come from an interior point, as the
//! simplex does not tell its own. Where more than one cow in 50 might still be bred, up to 1,200 routes
//! more are tried.

use std::collections::{BTreeMap, BTreeSet};

use super::model::{Model, able_of};
use crate::base::progress::Progress;
use crate::base::solver::{Program, Sense, Var};
use crate::planning::crew::routes::graph::{MOST_STAYS, Net, Path, Prices, nets};
use crate::planning::crew::routes::list::{Known, Route, Search};
use crate::planning::crew::sessions::unstaffed::Unstaffed;
use crate::trade::season::Season;

/// Rounds of new routes, at the most.
const MOST_ROUNDS: usize = 25;

/// A program in fractions that takes more work than this, in about microseconds, is not asked.
const MOST_OF_QUOTE: i64 = 4_000_000;

/// The bound is as good as it gets when it is within this of what the program in fractions breeds.
const NEAR: f64 = 0.5;

/// What is known of routes.
pub(crate) struct Priced {
    /// No plan in which those who cannot be everywhere take routes breeds more head.
    pub(crate) bound: u32,
    pub(crate) routes: Known,
}

/// A class at sessions that clash.
pub(crate) struct Component<'a> {
    pub(crate) class: usize,
    /// Its place among the components of the class.
    pub(crate) nth: usize,
    /// By their place in the part.
    pub(crate) sessions: Vec<usize>,
    pub(crate) nets: Vec<Net>,
    pub(crate) search: Search<'a>,
}

/// A route somebody could take.
struct Column {
    class: usize,
    component: usize,
    route: Route,
}

/// Somebody who is at a session, whoever else is.
struct Fixed {
    people: u32,
    session: usize,
    /// Cows by slot of the session.
    cows: Vec<(usize, u32)>,
    /// Slots.
    there: BTreeSet<usize>,
}

/// Animals with the same slots, from the session's first.
struct Lots {
    session: usize,
    slots: std::ops::RangeInclusive<usize>,
    head: f64,
}

struct Market<'m, 'a> {
    season: &'a Season,
    here: &'m [&'a Unstaffed],
    model: &'m Model,
    components: &'m [Component<'a>],
    fixed: Vec<Fixed>,
    lots: Vec<Lots>,
    /// Sessions and slots in which somebody could breed.
    open: BTreeSet<(usize, usize)>,
    columns: Vec<Column>,
}

/// A session, and a slot of it from its first.
type SessionSlot = (usize, usize);

/// Variables and how much of something one of them uses.
type Terms = Vec<(usize, f64)>;

/// What the variables use.
#[derive(Default)]
struct Uses {
    cows: BTreeMap<SessionSlot, Terms>,
    boxes: BTreeMap<SessionSlot, Terms>,
    /// By class and component.
    people: BTreeMap<(usize, usize), Terms>,
}

/// A variable of no whole number, at least 0.
fn continuous(cost: f64, high: f64) -> Var {
    Var {
        low: 0.0,
        high,
        cost,
        whole: false,
    }
}

/// What the program in fractions says.
struct Quote {
    prices: Vec<Prices>,
    /// Head bred.
    head: f64,
    /// How much of each route is taken.
    taken: Vec<f64>,
}

/// The classes of a part at sessions that clash, with all their ways; none if these have too many stays.
pub(crate) fn components<'a>(
    season: &'a Season,
    here: &[&'a Unstaffed],
    model: &Model,
    progress: &dyn Progress,
) -> Vec<Component<'a>> {
    let mut room = MOST_STAYS;
    let mut all = Vec::new();
    for (class, of) in model.classes.iter().enumerate() {
        let who = of.members[0];
        for (nth, sessions) in model.components[class].iter().enumerate() {
            let Some(nets) = nets(season, here, sessions, who, &mut room) else {
                progress.worked(MOST_STAYS / 16);
                return Vec::new();
            };
            all.push(Component {
                class,
                nth,
                sessions: sessions.clone(),
                nets,
                search: Search::new(season, here, sessions, who),
            });
        }
    }
    progress.worked((MOST_STAYS - room) / 8);
    all
}

/// Looks for routes through a part. `model` is that of whole sessions. Stops early where it is told
/// to. `None` if the solver gives no prices, or if there are no components.
pub(crate) fn priced(
    season: &Season,
    here: &[&Unstaffed],
    model: &Model,
    components: &[Component<'_>],
    most: usize,
    progress: &dyn Progress,
) -> Option<Priced> {
    if components.is_empty() {
        return None;
    }
    let nets = components.iter().flat_map(|k| &k.nets);
    let nets: usize = nets.map(Net::size).sum();
    let mut market = Market::new(season, here, model, components);
    let mut bound = f64::INFINITY;
    let mut last = None;
    for _ in 0..MOST_ROUNDS {
        let Some(quote) = market.quote(progress) else {
            break;
        };
        let (sum, ways) = market.at_most(&quote.prices);
        bound = bound.min(sum);
        let new = market.learn(&ways);
        progress.worked(nets / 16);
        let near = bound - quote.head < NEAR || bound.floor() <= quote.head.floor();
        last = Some(quote);
        if near || !new || progress.stop() {
            break;
        }
    }
    let quote = last?;
    Some(Priced {
        bound: (bound + 1e-6).floor() as u32,
        routes: market.best(&quote, most),
    })
}

impl<'m, 'a> Market<'m, 'a> {
    fn new(
        season: &'a Season,
        here: &'m [&'a Unstaffed],
        model: &'m Model,
        components: &'m [Component<'a>],
    ) -> Self {
        let mut market = Self {
            season,
            here,
            model,
            components,
            fixed: Vec::new(),
            lots: Vec::new(),
            open: BTreeSet::new(),
            columns: Vec::new(),
        };
        for (c, class) in model.classes.iter().enumerate() {
            let routed: BTreeSet<usize> = model.components[c].iter().flatten().copied().collect();
            for (s, unstaffed) in here.iter().enumerate() {
                if let Some(able) = able_of(unstaffed, class).filter(|_| !routed.contains(&s)) {
                    let slot = |k: i64| (k - unstaffed.first) as usize;
                    market.fixed.push(Fixed {
                        people: class.members.len() as u32,
                        session: s,
                        cows: able.ticks.caps().map(|(k, n)| (slot(k), n)).collect(),
                        there: able.there.iter().copied().map(slot).collect(),
                    });
                }
            }
        }
        for k in components {
            market.open.extend(k.nets.iter().flat_map(Net::open));
        }
        for f in &market.fixed {
            market
                .open
                .extend(f.cows.iter().map(|(k, _)| (f.session, *k)));
        }
        for (s, unstaffed) in here.iter().enumerate() {
            let mut alike: BTreeMap<(usize, usize), u32> = BTreeMap::new();
            for lot in unstaffed
                .lots
                .iter()
                .flatten()
                .filter(|l| l.first <= l.last)
            {
                let slots = (
                    (lot.first - unstaffed.first) as usize,
                    (lot.last - unstaffed.first) as usize,
                );
                *alike.entry(slots).or_default() += lot.head;
            }
            let lots = alike.into_iter().map(|((first, last), head)| Lots {
                session: s,
                slots: first..=last,
                head: f64::from(head),
            });
            market.lots.extend(lots);
        }
        market.begin();
        market
    }

    /// To begin with, everybody may go to any whole session, or to a part of one that is longer than a day may be.
    fn begin(&mut self) {
        let mut ways: Vec<(usize, Path)> = Vec::new();
        for (k, at) in self.components.iter().enumerate() {
            ways.extend(at.nets.iter().flat_map(Net::whole).map(|path| (k, path)));
        }
        self.learn(&ways);
        for at in self.components {
            let days = (0..at.search.places()).flat_map(|n| at.search.other_days(n));
            self.columns.extend(days.map(|visit| Column {
                class: at.class,
                component: at.nth,
                route: vec![visit],
            }));
        }
    }

    fn members(&self, class: usize) -> f64 {
        self.model.classes[class].members.len() as f64
    }

    fn boxes(&self, session: usize) -> f64 {
        f64::from(self.season.sites[self.here[session].site].breeding_boxes)
    }

    /// Makes routes of ways. False if none of them is new.
    fn learn(&mut self, ways: &[(usize, Path)]) -> bool {
        let before = self.columns.len();
        for (k, path) in ways {
            let at = &self.components[*k];
            // Nobody comes back to a session.
            let mut been = BTreeSet::new();
            let path: Path = path
                .iter()
                .copied()
                .take_while(|(s, _)| been.insert(*s))
                .collect();
            let route = at.search.follow(&path);
            let known =
                |c: &Column| (c.class, c.component) == (at.class, at.nth) && c.route == route;
            if !route.is_empty() && !self.columns.iter().any(known) {
                self.columns.push(Column {
                    class: at.class,
                    component: at.nth,
                    route,
                });
            }
        }
        self.columns.len() > before
    }

    /// Shares the known routes out in fractions so that most cows are bred.
    fn quote(&self, progress: &dyn Progress) -> Option<Quote> {
        let mut program = Program::default();
        let mut uses = Uses::default();
        for column in &self.columns {
            self.add_column(column, &mut program, &mut uses);
        }
        self.add_fixed(&mut program, &mut uses);
        let bred = self.add_lots(&mut program, &mut uses);
        for ((class, _), terms) in uses.people {
            program.row(terms, Sense::AtMost, self.members(class));
        }
        let first = program.rows.len();
        let slots: Vec<SessionSlot> = uses.cows.keys().copied().collect();
        for terms in uses.cows.into_values() {
            program.row(terms, Sense::AtMost, 0.0);
        }
        let then = program.rows.len();
        let rents: Vec<SessionSlot> = uses.boxes.keys().copied().collect();
        for ((session, _), terms) in uses.boxes {
            program.row(terms, Sense::AtMost, self.boxes(session));
        }
        let work = program.priced_work();
        if work as i64 > progress.left().min(MOST_OF_QUOTE) {
            return None;
        }
        progress.worked(work);
        let (values, shadow) = program.priced().ok()?;
        let mut prices: Vec<Prices> = self
            .here
            .iter()
            .map(|unstaffed| {
                let slots = usize::try_from(unstaffed.last - unstaffed.first + 1).unwrap_or(0);
                Prices {
                    cow: vec![1.0; slots],
                    r#box: vec![0.0; slots],
                }
            })
            .collect();
        for ((s, k), price) in slots.iter().zip(&shadow[first..then]) {
            prices[*s].cow[*k] = price.clamp(0.0, 1.0);
        }
        for ((s, k), rent) in rents.iter().zip(&shadow[then..]) {
            prices[*s].r#box[*k] = rent.max(0.0);
        }
        Some(Quote {
            prices,
            head: bred.iter().map(|x| values[*x]).sum(),
            taken: values[..self.columns.len()].to_vec(),
        })
    }

    /// A variable for a route: the share of a technician of its class who takes it.
    fn add_column(&self, column: &Column, program: &mut Program, uses: &mut Uses) {
        let z = program.var(continuous(0.0, f64::INFINITY));
        let who = uses.people.entry((column.class, column.component));
        who.or_default().push((z, 1.0));
        for visit in &column.route {
            let slot = |k: &i64| (visit.session, (k - self.here[visit.session].first) as usize);
            for (k, cap) in visit.able.ticks.caps() {
                let cows = uses.cows.entry(slot(&k)).or_default();
                cows.push((z, -f64::from(cap)));
            }
            for k in &visit.able.there {
                uses.boxes.entry(slot(k)).or_default().push((z, 1.0));
            }
        }
    }

    /// Variables for those who are at a session in any case.
    fn add_fixed(&self, program: &mut Program, uses: &mut Uses) {
        for fixed in &self.fixed {
            for (k, n) in &fixed.cows {
                let w = program.var(continuous(0.0, f64::from(fixed.people)));
                let slot = (fixed.session, *k);
                let cows = uses.cows.entry(slot).or_default();
                cows.push((w, -f64::from(*n)));
                uses.boxes.entry(slot).or_default().push((w, 1.0));
            }
        }
    }

    /// Variables for the head of each lot bred in each slot, and no more of a lot than it has.
    fn add_lots(&self, program: &mut Program, uses: &mut Uses) -> Vec<usize> {
        let mut of_lots = Vec::new();
        for lot in &self.lots {
            let mut mine = Vec::new();
            for k in lot.slots.clone() {
                if let Some(cows) = uses.cows.get_mut(&(lot.session, k)) {
                    let x = program.var(continuous(-1.0, f64::INFINITY));
                    cows.push((x, 1.0));
                    mine.push((x, 1.0));
                }
            }
            of_lots.push(mine);
        }
        let bred = of_lots.iter().flatten().map(|(x, _)| *x).collect();
        for (lot, terms) in self.lots.iter().zip(of_lots) {
            program.row(terms, Sense::AtMost, lot.head);
        }
        bred
    }

    /// What all cows, boxes and technicians are worth at some prices, and the best ways.
    fn at_most(&self, prices: &[Prices]) -> (f64, Vec<(usize, Path)>) {
        let mut sum = 0.0;
        for lot in &self.lots {
            let open = lot
                .slots
                .clone()
                .filter(|k| self.open.contains(&(lot.session, *k)));
            let cheapest = open
                .map(|k| prices[lot.session].cow[k])
                .fold(1.0_f64, f64::min);
            sum += lot.head * (1.0 - cheapest);
        }
        for (s, prices) in prices.iter().enumerate() {
            sum += self.boxes(s) * prices.r#box.iter().sum::<f64>();
        }
        for fixed in &self.fixed {
            let here = &prices[fixed.session];
            let worth = |(k, n): &(usize, u32)| {
                let rent = if fixed.there.contains(k) {
                    here.r#box[*k]
                } else {
                    0.0
                };
                (f64::from(*n) * here.cow[*k] - rent).max(0.0)
            };
            sum += f64::from(fixed.people) * fixed.cows.iter().map(worth).sum::<f64>();
        }
        let mut ways = Vec::new();
        for (k, at) in self.components.iter().enumerate() {
            let best: Vec<_> = at.nets.iter().flat_map(|n| n.best(prices)).collect();
            let most = best.iter().map(|(worth, _)| *worth).fold(0.0, f64::max);
            sum += self.members(at.class) * most;
            ways.extend(best.into_iter().map(|(_, path)| (k, path)));
        }
        (sum, ways)
    }

    /// The routes most taken, and those that were worth looking at last.
    fn best(&mut self, quote: &Quote, most: usize) -> Known {
        let taken = |n: usize| quote.taken.get(n).copied().unwrap_or(0.0);
        let mut order: Vec<usize> = (0..self.columns.len()).collect();
        order.sort_by(|a, b| taken(*b).total_cmp(&taken(*a)).then(a.cmp(b)));
        order.truncate(most);
        order.sort_unstable();
        let mut known: Known = vec![Vec::new(); self.model.classes.len()];
        for k in self.components {
            known[k.class].push(Vec::new());
        }
        let columns = std::mem::take(&mut self.columns).into_iter();
        let mut columns: Vec<Option<Column>> = columns.map(Some).collect();
        for n in order {
            if let Some(c) = columns[n].take() {
                known[c.class][c.component].push(c.route);
            }
        }
        known
    }
}
