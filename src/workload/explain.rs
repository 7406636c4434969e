//! What margin is left and what binds, by plain arithmetic: never read from the solver.
//!
//! Animals with a first and a last slot each, and so many places a slot: taking at each slot
//! those whose last slot comes first covers as many as can be covered. Lifting one limit after
//! the other and counting again shows which of them bind.

use std::cmp::Reverse;
use std::collections::{BTreeMap, BTreeSet};
use std::sync::atomic::{AtomicUsize, Ordering};

use rayon::iter::{IndexedParallelIterator, IntoParallelRefMutIterator, ParallelIterator};

use super::coverage::{covered, places};
use super::crew::{self, Able, Lot, Place, Relax, Shape, Slots, Ticks};
use super::parts::conflict;
use super::{Allotted, Present, Session, Uncovered, straws as stock};
use crate::error::quoted;
use crate::expand::{Due, Expanded};
use crate::season::{Order, Season};
use crate::time::Instant;
use crate::units::{Head, human_minutes};
use crate::watch::{Stage, Watch};

/// What is left over in a session, and what binds.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Margin {
    /// More head that could be bred in the tightest pen with the same crew.
    pub head: u32,
    /// Minutes that the crew could start later than planned and still breed everyone in time.
    pub minutes: i64,
    /// What binds.
    pub binding: Option<Binding>,
    /// That in words, with figures.
    pub words: String,
}

/// The limit that is met first.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Binding {
    /// Straws of the group's bulls.
    Straws,
    /// The protocol's window, for cows in any order.
    Window,
    /// Hours of work and days off.
    Shifts,
    /// Technicians who are at another site.
    Elsewhere,
    /// Breeding boxes.
    Boxes,
    /// Hours kept free.
    FreeHours,
    /// The pace of the technicians who are there.
    Pace,
    /// A tank that serves another site as well.
    Tank,
}

impl Binding {
    /// The word in JSON.
    #[must_use]
    pub const fn as_str(self) -> &'static str {
        match self {
            Self::Straws => "straws",
            Self::Window => "window",
            Self::Shifts => "shifts",
            Self::Elsewhere => "elsewhere",
            Self::Boxes => "boxes",
            Self::FreeHours => "free-hours",
            Self::Pace => "pace",
            Self::Tank => "tank",
        }
    }
}

/// A session under study.
struct Study<'a> {
    season: &'a Season,
    expanded: &'a Expanded,
    /// The session's shape, with hours for the pens to grow into.
    shape: Shape,
    session: &'a Session,
    slots: Slots,
    /// Last slot of the session's own hours; a grown pen's hours may go beyond it.
    last: i64,
    /// Technicians who breed elsewhere at the same time.
    busy: BTreeSet<usize>,
    /// Those who are here for a part of the session, and for which.
    stays: Stays,
}

/// Technicians who serve a part of a session, from when and to when.
type Stays = BTreeMap<usize, (Instant, Instant)>;

/// What each technician could do, those who stay for a part of the session in that part.
fn people(season: &Season, shape: &Shape, slots: Slots, relax: Relax, stays: &Stays) -> Vec<Able> {
    let place = Place::new(season, shape, slots, relax);
    let stay = |t: usize| stays.get(&t).copied().unzip();
    (0..season.crew.len())
        .filter_map(|t| place.able(t, stay(t).0, stay(t).1))
        .collect()
}

impl Study<'_> {
    fn lots(&self) -> Vec<Lot> {
        self.shape.lots.iter().flatten().copied().collect()
    }

    fn due(&self, n: usize) -> &Due {
        &self.expanded.dues[self.shape.dues[n]]
    }

    /// Everyone who could breed here and is not elsewhere.
    fn at_hand(&self) -> Vec<&Ticks> {
        let mine = self.shape.able.iter();
        mine.filter(|a| !self.busy.contains(&a.technician))
            .map(|a| &a.ticks)
            .collect()
    }

    /// Places in the session's own hours.
    fn in_session(&self, places: &BTreeMap<i64, u32>) -> u32 {
        places.range(..=self.last).map(|(_, n)| n).sum()
    }

    fn boxes(&self) -> u32 {
        self.season.sites[self.shape.site].breeding_boxes
    }

    /// Places with one limit lifted; `None` where that limit is not one of the crew's.
    fn lifted(&self, limit: Binding) -> Option<BTreeMap<i64, u32>> {
        let relaxed = |relax: Relax| {
            let mine = people(self.season, &self.shape, self.slots, relax, &self.stays);
            let mine = mine.iter().filter(|a| !self.busy.contains(&a.technician));
            places(mine.map(|a| &a.ticks), self.boxes())
        };
        match limit {
            Binding::Shifts => Some(relaxed(Relax {
                shifts: true,
                ..Relax::default()
            })),
            Binding::FreeHours => Some(relaxed(Relax {
                free_hours: true,
                ..Relax::default()
            })),
            Binding::Elsewhere => {
                let all = crew::able(self.season, &self.shape, self.slots, Relax::default());
                Some(places(all.iter().map(|a| &a.ticks), self.boxes()))
            }
            Binding::Boxes => Some(places(self.at_hand(), u32::MAX)),
            Binding::Straws | Binding::Window | Binding::Pace | Binding::Tank => None,
        }
    }

    /// The most head that due `n` could have more, taken as `due`, with these places.
    fn room(&self, n: usize, due: &Due, places: &BTreeMap<i64, u32>) -> u32 {
        const MOST: u32 = 2000;
        let others: Vec<Lot> = (0..self.shape.lots.len())
            .filter(|k| *k != n)
            .flat_map(|k| self.shape.lots[k].iter().copied())
            .collect();
        let fits = |more: u32| {
            let mut lots = others.clone();
            lots.extend(crew::lots(&grow(due, more), self.slots));
            covered(&lots, places) == lots.iter().map(|l| l.head).sum::<u32>()
        };
        let (mut low, mut high) = (0, 1);
        while high <= MOST && fits(high) {
            low = high;
            high *= 2;
        }
        while high - low > 1 {
            let middle = low + (high - low) / 2;
            if fits(middle) {
                low = middle;
            } else {
                high = middle;
            }
        }
        low
    }

    fn tightest(&self, places: &BTreeMap<i64, u32>) -> (usize, u32) {
        (0..self.shape.dues.len())
            .map(|n| (n, self.room(n, self.due(n), places)))
            .min_by_key(|(_, room)| *room)
            .unwrap_or((0, 0))
    }

    /// Minutes that everybody could start later.
    fn delay(&self, places: &BTreeMap<i64, u32>) -> i64 {
        let lots = self.lots();
        let all: u32 = lots.iter().map(|l| l.head).sum();
        let planned = self
            .session
            .bred
            .iter()
            .map(|b| self.slots.holding(b.at[0]))
            .min();
        let Some(first) = planned else { return 0 };
        let most = self.shape.last - first + 1;
        let late = (1..=most)
            .take_while(|n| {
                let later: BTreeMap<i64, u32> =
                    places.range(first + n..).map(|(k, c)| (*k, *c)).collect();
                covered(&lots, &later) == all
            })
            .last()
            .unwrap_or(0);
        late * self.season.rules.slot.num_minutes()
    }
}

/// A due with more animals, whose synchronizing pass takes longer by as much.
fn grow(due: &Due, more: u32) -> Due {
    let mut due = due.clone();
    due.head = Head(due.head.0 + more);
    due.from.head = Head(due.from.head.0 + more);
    due
}

/// How much longer a pen's hours may become when it grows.
const GROWTH_HOURS: i64 = 12;

const CREW_LIMITS: [Binding; 4] = [
    Binding::Shifts,
    Binding::Elsewhere,
    Binding::Boxes,
    Binding::FreeHours,
];

/// Fills in margin, binding limit and the reasons for what is not covered.
pub(super) fn explain(
    season: &Season,
    expanded: &Expanded,
    shapes: &[Shape],
    straws: &[Allotted],
    sessions: &mut [Session],
    watch: &dyn Watch,
) {
    // A due is in one session only.
    let by_due: BTreeMap<usize, &Shape> = shapes.iter().map(|s| (s.dues[0], s)).collect();
    let shape_of = |s: &Session| by_due[&s.dues[0]];
    let busy: Vec<BTreeSet<usize>> = sessions
        .iter()
        .map(|s| {
            let others = sessions.iter().filter(|o| o.dues[0] != s.dues[0]);
            others
                .flat_map(|o| clashing(season, shape_of(s), o, shape_of(o)))
                .collect()
        })
        .collect();
    let all = sessions.len();
    let done = AtomicUsize::new(0);
    watch.reached(Stage::Margins, 0, all);
    sessions
        .par_iter_mut()
        .zip(busy)
        .for_each(|(session, busy)| {
            let shape = by_due[&session.dues[0]];
            one(season, expanded, shape, straws, session, busy);
            let now = done.fetch_add(1, Ordering::Relaxed) + 1;
            watch.reached(Stage::Margins, now, all);
        });
}

/// Fills in one session.
fn one(
    season: &Season,
    expanded: &Expanded,
    shape: &Shape,
    straws: &[Allotted],
    session: &mut Session,
    mut busy: BTreeSet<usize>,
) {
    let stay = |p: &Present| Some((p.technician, p.stay?));
    let stays: Stays = session.crew.iter().filter_map(stay).collect();
    let slots = Slots::new(season);
    let mut wide = shape.clone();
    if shape.first <= shape.last {
        wide.last += slots.in_hours(GROWTH_HOURS);
        wide.able = people(season, &wide, slots, Relax::default(), &stays);
    }
    busy.retain(|t| !stays.contains_key(t));
    let study = Study {
        season,
        expanded,
        shape: wide,
        session,
        slots,
        last: shape.last,
        busy,
        stays,
    };
    let shortfall = (!session.uncovered.is_empty()).then(|| Shortfall::of(&study));
    let reasons: Vec<(Binding, Vec<String>)> = shortfall
        .iter()
        .flat_map(|shortfall| session.uncovered.iter().map(move |u| (shortfall, u)))
        .map(|(shortfall, u)| {
            let causes = causes(&study, shortfall, u.due, straws);
            let binding = causes.first().map_or(Binding::Pace, |(b, _)| *b);
            (binding, reasons(&study, shortfall, u, &causes))
        })
        .collect();
    let margin = match reasons.first() {
        None => margin(&study, straws),
        Some((binding, words)) => Margin {
            head: 0,
            minutes: 0,
            binding: Some(*binding),
            words: words.join("; "),
        },
    };
    session.margin = margin;
    for (u, (binding, why)) in session.uncovered.iter_mut().zip(reasons) {
        u.binding = binding;
        u.why = why;
    }
}

/// Those who breed at another session and therefore cannot be at this one.
fn clashing(season: &Season, mine: &Shape, other: &Session, theirs: &Shape) -> Vec<usize> {
    // No road takes more than a day.
    let far = chrono::TimeDelta::days(2);
    if theirs.open > mine.close + far || mine.open > theirs.close + far {
        return Vec::new();
    }
    let able = |shape: &Shape, t: usize| shape.able.iter().position(|a| a.technician == t);
    other
        .crew
        .iter()
        .map(|p| p.technician)
        .filter(|t| {
            let (Some(a), Some(b)) = (able(mine, *t), able(theirs, *t)) else {
                return false;
            };
            conflict(season, (mine, &mine.able[a]), (theirs, &theirs.able[b]))
        })
        .collect()
}

fn margin(study: &Study<'_>, straws: &[Allotted]) -> Margin {
    let now = places(study.at_hand(), study.boxes());
    let (tight, room) = study.tightest(&now);
    let due = study.due(tight);
    let spare = stock::room(study.season, straws, due.group, room);
    let minutes = study.delay(&now);
    let (binding, gain) = if spare < room {
        (Binding::Straws, 0)
    } else {
        let mut gains: Vec<(Binding, u32)> = CREW_LIMITS
            .into_iter()
            .filter_map(|l| Some((l, study.room(tight, due, &study.lifted(l)?))))
            .collect();
        if due.order == Order::Mixed {
            let mut kept = due.clone();
            kept.order = Order::Kept;
            gains.push((Binding::Window, study.room(tight, &kept, &now)));
        }
        gains.retain(|(_, r)| *r > room);
        let gains = gains.into_iter().map(|(l, r)| (l, r - room));
        gains
            .max_by_key(|(l, g)| (*g, Reverse(*l)))
            .unwrap_or((Binding::Pace, 0))
    };
    let head = room.min(spare);
    Margin {
        head,
        minutes,
        binding: Some(binding),
        words: margin_words(study, due, binding, gain, spare, &now),
    }
}

fn margin_words(
    study: &Study<'_>,
    due: &Due,
    binding: Binding,
    gain: u32,
    spare: u32,
    now: &BTreeMap<i64, u32>,
) -> String {
    let group = quoted(study.season.groups[due.group].id.as_str());
    let people = study.session.crew.len();
    let who = if people == 1 {
        "1 technician breeds".to_owned()
    } else {
        format!("{people} technicians breed")
    };
    match binding {
        Binding::Straws => format!("straws bind: {spare} are left of the bulls of {group}"),
        Binding::Window => format!(
            "the window binds for cows in any order: kept in the order of the earlier pass, {group} could have {gain} head more"
        ),
        Binding::Shifts => {
            format!("shifts bind: at work all day, the crew could breed {gain} head more")
        }
        Binding::Elsewhere => {
            format!("the crew binds: with everyone on shift sent here, {gain} head more")
        }
        Binding::Boxes => format!("breeding boxes bind: with a box for everyone, {gain} head more"),
        Binding::FreeHours => format!("hours kept free bind: without them, {gain} head more"),
        Binding::Pace | Binding::Tank => format!(
            "pace binds: {who} at most {} head in these hours",
            study.in_session(now)
        ),
    }
}

/// What a session's crew and hours leave unbred, whatever the pen.
struct Shortfall {
    /// Unbred head in the plan.
    missing: u32,
    /// Of these, beyond the crew that is at hand.
    beyond: u32,
    /// Of those, in whose hours no slot lies.
    no_hours: u32,
    /// What each limit of the crew costs, the largest first.
    by_crew: Vec<(Binding, u32)>,
    /// Technicians at hand, and how many head they breed at the most.
    people: usize,
    most: u32,
}

impl Shortfall {
    fn of(study: &Study<'_>) -> Self {
        let lots = study.lots();
        let at_hand = study.at_hand();
        let now = places(at_hand.iter().copied(), study.boxes());
        let all: u32 = lots.iter().map(|l| l.head).sum();
        let reach = covered(&lots, &now);
        let ever: BTreeMap<i64, u32> = (study.shape.first..=study.shape.last)
            .map(|k| (k, u32::MAX / 4))
            .collect();
        let mut by_crew: Vec<(Binding, u32)> = CREW_LIMITS
            .into_iter()
            .filter_map(|l| Some((l, covered(&lots, &study.lifted(l)?))))
            .filter(|(_, c)| *c > reach)
            .map(|(l, c)| (l, c - reach))
            .collect();
        by_crew.sort_by_key(|(l, gain)| (Reverse(*gain), *l));
        Self {
            missing: study.session.uncovered.iter().map(|u| u.head.0).sum(),
            beyond: all - reach,
            no_hours: all - covered(&lots, &ever),
            by_crew,
            people: at_hand.len(),
            most: study.in_session(&now),
        }
    }
}

/// What leaves animals of a due unbred, each with the head it costs; the largest first.
fn causes(
    study: &Study<'_>,
    shortfall: &Shortfall,
    due: usize,
    straws: &[Allotted],
) -> Vec<(Binding, u32)> {
    let mut found = Vec::new();
    // With crew and hours enough for more than was bred, this group's straws are what is missing;
    // or another's took the places, or people would have to take turns at a box.
    if shortfall.beyond < shortfall.missing {
        let group = study.expanded.dues[due].group;
        let limit = if stock::room(study.season, straws, group, 1) == 0 {
            Binding::Straws
        } else if study.shape.able.len() > study.boxes() as usize {
            Binding::Boxes
        } else {
            Binding::Pace
        };
        found.push((limit, shortfall.missing - shortfall.beyond));
    }
    if shortfall.no_hours > 0 {
        found.push((Binding::Window, shortfall.no_hours));
    }
    let mut by_crew = shortfall.by_crew.clone();
    by_crew.retain(|(l, _)| found.iter().all(|(f, _)| f != l));
    let explained: u32 = shortfall.no_hours + by_crew.first().map_or(0, |(_, g)| *g);
    found.extend(by_crew);
    if explained < shortfall.beyond {
        found.push((Binding::Pace, shortfall.beyond - shortfall.no_hours));
    }
    found
}

fn reasons(
    study: &Study<'_>,
    shortfall: &Shortfall,
    u: &Uncovered,
    causes: &[(Binding, u32)],
) -> Vec<String> {
    let missed = u.head;
    let some = |head: u32| {
        if head >= missed.0 {
            "they".to_owned()
        } else {
            format!("up to {head} of them")
        }
    };
    causes
        .iter()
        .map(|&(binding, head)| match binding {
            Binding::Straws => format!(
                "{} have no straw: the bulls of this group are used up",
                some(head)
            ),
            Binding::Window => window_reason(study.season, &study.expanded.dues[u.due]),
            Binding::Shifts => format!(
                "{} could be bred if no shift or day off stood in the way",
                some(head)
            ),
            Binding::Elsewhere => format!(
                "{} could be bred if nobody were held by a session at another site",
                some(head)
            ),
            Binding::Boxes => format!(
                "{} could be bred with more breeding boxes than {}",
                some(head),
                study.boxes()
            ),
            Binding::FreeHours => {
                format!("{} could be bred without the hours kept free", some(head))
            }
            Binding::Pace | Binding::Tank => match shortfall.people {
                0 => "no technician is there in these hours".to_owned(),
                1 => format!(
                    "the one technician at hand breeds at most {} head in these hours",
                    shortfall.most
                ),
                n => format!(
                    "the {n} technicians at hand breed at most {} head in these hours",
                    shortfall.most
                ),
            },
        })
        .collect()
}

fn window_reason(season: &Season, due: &Due) -> String {
    let taken = due.from.end() - due.from.start;
    let width = due.window.latest - due.window.earliest;
    match due.order {
        Order::Mixed => format!(
            "the pass that the hours count from takes {} and the window is {} wide: with cows in any order only {} are left{}",
            human_minutes(taken.num_minutes()),
            human_minutes(width.num_minutes()),
            human_minutes((width - taken).num_minutes().max(0)),
            if width - taken < season.rules.slot {
                ", less than one slot"
            } else {
                ""
            }
        ),
        Order::Kept => format!(
            "between the latest that an animal may have been treated and the window of {}, no whole slot of {} is left",
            human_minutes(width.num_minutes()),
            human_minutes(season.rules.slot.num_minutes())
        ),
    }
}
