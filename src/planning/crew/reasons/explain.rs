//! What margin is left and what binds, by plain arithmetic: never read from the solver.
//!
//! Animals with a first and a last slot each, and so many places a slot: taking at each slot
//! those whose last slot comes first covers as many as can be covered. Lifting one limit after
//! the other and counting again shows which of them bind.

use std::cmp::Reverse;
use std::collections::{BTreeMap, BTreeSet};
use std::fmt::Write as _;
use std::sync::atomic::{AtomicUsize, Ordering};

use rayon::iter::{IndexedParallelIterator, IntoParallelRefMutIterator, ParallelIterator};

use super::lift;
use super::shortfall::Why;
use crate::base::error::quoted;
use crate::base::progress::{Progress, Stage};
use crate::base::time::Instant;
use crate::base::units::{Head, human_minutes};
use crate::planning::crew::bounds::coverage::{covered, places};
use crate::planning::crew::margin::{Binding, LIMIT, Margin, Reasons};
use crate::planning::crew::sessions::parts::conflict;
use crate::planning::crew::sessions::place::{Place, Relax};
use crate::planning::crew::sessions::unstaffed::{self, Able, Lot, Slots, Unstaffed};
use crate::planning::crew::straws::allot;
use crate::planning::crew::{Allotted, Present, Session};
use crate::planning::dating::{DatedSeason, Due};
use crate::trade::season::{Order, Season};

/// A session under study.
struct Study<'a> {
    season: &'a Season,
    /// The season with one limit lifted each.
    without: &'a [(Binding, Season)],
    dated: &'a DatedSeason,
    unstaffed: &'a Unstaffed,
    session: &'a Session,
    slots: Slots,
    /// Technicians who breed elsewhere at the same time.
    busy: BTreeSet<usize>,
    /// Those who are here for a part of the session, and for which.
    stays: Stays,
}

/// Technicians who serve a part of a session, from when and to when.
type Stays = BTreeMap<usize, (Instant, Instant)>;

/// The crew under some of the limits, to be asked what it could breed up to a last slot.
struct Crew<'s> {
    study: &'s Study<'s>,
    season: &'s Season,
    /// Those who are elsewhere, too.
    all: bool,
    boxes: u32,
    /// Places up to far beyond the session's end.
    wide: BTreeMap<i64, u32>,
}

impl<'s> Crew<'s> {
    fn new(study: &'s Study<'s>, season: &'s Season, all: bool, boxes: u32) -> Self {
        let mut crew = Self {
            study,
            season,
            all,
            boxes,
            wide: BTreeMap::new(),
        };
        let unstaffed = study.unstaffed;
        if unstaffed.first <= unstaffed.last {
            crew.wide = crew.until(unstaffed.last + study.slots.in_hours(GROWTH_HOURS));
        }
        crew
    }

    /// Places of a session that lasts to a slot.
    fn until(&self, last: i64) -> BTreeMap<i64, u32> {
        let study = self.study;
        let mut unstaffed = study.unstaffed.clone();
        unstaffed.last = last;
        let place = Place::new(self.season, &unstaffed, study.slots, Relax::default());
        let stay = |t: usize| study.stays.get(&t).copied().filter(|_| !self.all).unzip();
        let comes = |t: &usize| self.all || !study.busy.contains(t);
        let able: Vec<Able> = (0..self.season.crew.len())
            .filter(comes)
            .filter_map(|t| place.able(t, stay(t).0, stay(t).1))
            .collect();
        places(able.iter().map(|a| &a.ticks), self.boxes)
    }

    /// True if all of these can be bred.
    fn covers(&self, lots: &[Lot]) -> bool {
        let all: u32 = lots.iter().map(|l| l.head).sum();
        // Which hours of a long session are worked on a longest day hangs on how long it is.
        let people = self.season.crew.iter();
        if self.season.rules.longest_day.is_some()
            || people.clone().any(|t| t.longest_day.is_some())
        {
            let last = lots.iter().filter(|l| l.first <= l.last).map(|l| l.last);
            let last = last.max().unwrap_or(self.study.unstaffed.last);
            return covered(lots, &self.until(last)) == all;
        }
        covered(lots, &self.wide) == all
    }
}

impl<'s> Study<'s> {
    fn lots(&self) -> Vec<Lot> {
        self.unstaffed.all_lots()
    }

    fn due(&self, n: usize) -> &Due {
        &self.dated.dues[self.unstaffed.dues[n]]
    }

    fn boxes(&self) -> u32 {
        self.season.sites[self.unstaffed.site].breeding_boxes
    }

    /// The crew with one limit lifted, for each that might be one.
    fn crews(&'s self) -> Vec<(Binding, Crew<'s>)> {
        let lifted = self.without.iter();
        let mut all: Vec<(Binding, Crew<'s>)> = lifted
            .map(|(limit, season)| (*limit, Crew::new(self, season, false, self.boxes())))
            .collect();
        if !self.busy.is_empty() || !self.stays.is_empty() {
            let crew = Crew::new(self, self.season, true, self.boxes());
            all.push((Binding::Elsewhere, crew));
        }
        if self.season.crew.len() as u32 > self.boxes() {
            let crew = Crew::new(self, self.season, false, u32::MAX);
            all.push((Binding::Boxes, crew));
        }
        all
    }

    /// The most head that due `n` could have more, taken as `due`, with this crew.
    fn room(&self, n: usize, due: &Due, crew: &Crew<'_>) -> u32 {
        const MOST: u32 = 2000;
        let others: Vec<Lot> = (0..self.unstaffed.lots.len())
            .filter(|k| *k != n)
            .flat_map(|k| self.unstaffed.lots[k].iter().copied())
            .collect();
        let fits = |more: u32| {
            let mut lots = others.clone();
            lots.extend(unstaffed::lots(&grow(due, more), self.slots));
            crew.covers(&lots)
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

    fn tightest(&self, crew: &Crew<'_>) -> (usize, u32) {
        (0..self.unstaffed.dues.len())
            .map(|n| (n, self.room(n, self.due(n), crew)))
            .min_by_key(|(_, room)| *room)
            .unwrap_or((0, 0))
    }

    /// Minutes that everybody could start later.
    fn delay(&self, crew: &Crew<'_>) -> i64 {
        let lots = self.lots();
        let all: u32 = lots.iter().map(|l| l.head).sum();
        let planned = self
            .session
            .bred
            .iter()
            .map(|b| self.slots.holding(b.at[0]))
            .min();
        let Some(first) = planned else { return 0 };
        let places = crew.until(self.unstaffed.last);
        let most = self.unstaffed.last - first + 1;
        let late = (1..=most)
            .take_while(|n| {
                let later: BTreeMap<i64, u32> =
                    places.range(first + n..).map(|(k, c)| (*k, *c)).collect();
                covered(&lots, &later) == all
            })
            .last()
            .unwrap_or(0);
        late * self.season.rules.grain().num_minutes()
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

/// Fills in margin, binding limit and the reasons for what is not covered. Straws that are short for
/// want of straws alone, by group.
pub(crate) fn explain(
    season: &Season,
    dated: &DatedSeason,
    all_unstaffed: &[Unstaffed],
    straws: &[Allotted],
    sessions: &mut [Session],
    (reasons, progress): (Reasons<'_>, &dyn Progress),
) -> BTreeMap<usize, u32> {
    // A due is in one session only.
    let by_due: BTreeMap<usize, &Unstaffed> =
        all_unstaffed.iter().map(|s| (s.dues[0], s)).collect();
    let unstaffed = |s: &Session| by_due[&s.dues[0]];
    let busy: Vec<BTreeSet<usize>> = sessions
        .iter()
        .map(|s| {
            let others = sessions.iter().filter(|o| o.dues[0] != s.dues[0]);
            others
                .flat_map(|o| clashing(season, unstaffed(s), o, unstaffed(o)))
                .collect()
        })
        .collect();
    let why = Why::new(season, dated, straws, sessions, (reasons, progress));
    let without: Vec<(Binding, Season)> = lift::SEASON_LIMITS
        .into_iter()
        .filter_map(|limit| Some((limit, lift::without(season, limit)?)))
        .collect();
    let all = sessions.len();
    let done = AtomicUsize::new(0);
    progress.reached(Stage::Margins, 0, all);
    let fill = |(session, busy): (&mut Session, BTreeSet<usize>)| {
        let unstaffed = by_due[&session.dues[0]];
        if session.uncovered.is_empty() {
            let stay = |p: &Present| Some((p.technician, p.stay?));
            let stays: Stays = session.crew.iter().filter_map(stay).collect();
            let study = Study {
                season,
                without: &without,
                dated,
                unstaffed,
                session,
                slots: Slots::new(season),
                busy: busy
                    .into_iter()
                    .filter(|t| !stays.contains_key(t))
                    .collect(),
                stays,
            };
            session.margin = margin(&study, straws);
        } else {
            why.fill(session, unstaffed, &busy);
        }
        let now = done.fetch_add(1, Ordering::Relaxed) + 1;
        progress.reached(Stage::Margins, now, all);
    };
    match crate::planning::crew::threads() {
        Some(threads) => threads.install(|| sessions.par_iter_mut().zip(busy).for_each(fill)),
        None => sessions.iter_mut().zip(busy).for_each(fill),
    }
    why.straws_short()
}

/// Those who breed at another session and therefore cannot be at this one.
fn clashing(season: &Season, mine: &Unstaffed, other: &Session, theirs: &Unstaffed) -> Vec<usize> {
    // No road takes more than a day.
    let far = chrono::TimeDelta::days(2);
    if theirs.open > mine.close + far || mine.open > theirs.close + far {
        return Vec::new();
    }
    let able =
        |unstaffed: &Unstaffed, t: usize| unstaffed.able.iter().position(|a| a.technician == t);
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
    let now = Crew::new(study, study.season, false, study.boxes());
    let (tight, room) = study.tightest(&now);
    let due = study.due(tight);
    let spare = allot::room(study.season, straws, due.group, room);
    let minutes = study.delay(&now);
    let (binding, gain) = if spare < room {
        (Binding::Straws, 0)
    } else {
        let mut gains: Vec<(Binding, u32)> = study
            .crews()
            .into_iter()
            .map(|(limit, crew)| (limit, study.room(tight, due, &crew)))
            .collect();
        if due.order == Order::Mixed && due.half_day.is_none() {
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
    let mut words = LIMIT.to_owned();
    if binding == Binding::Straws {
        words += &straws_words(study.season, straws, due.group, spare);
    } else {
        let more = room + gain;
        words += &margin_words(study, due, binding, more, &now);
        let there = allot::room(study.season, straws, due.group, more);
        if gain > 0 && there < more {
            let _ = write!(words, "; there are straws for {there}");
        }
    }
    if head > 0 && minutes == 0 {
        let _ = write!(
            words,
            "; no later start: the first cows would miss their window, but there is room for {head} more head after the last"
        );
    }
    if head == 0 && minutes > 0 {
        let _ = write!(
            words,
            "; a start up to {} later, but no more head",
            human_minutes(minutes)
        );
    }
    Margin {
        head,
        minutes,
        binding: Some(binding),
        words,
    }
}

/// Straws that are left for a group: its own bulls', or more if others leave it theirs.
fn straws_words(season: &Season, straws: &[Allotted], group: usize, spare: u32) -> String {
    let others = if spare > allot::left(season, straws, group) {
        " if other groups take other bulls"
    } else {
        ""
    };
    let group = quoted(season.groups[group].id.as_str());
    format!("straws, {spare} left for {group}{others}")
}

fn margin_words(
    study: &Study<'_>,
    due: &Due,
    binding: Binding,
    more: u32,
    now: &Crew<'_>,
) -> String {
    let group = quoted(study.season.groups[due.group].id.as_str());
    let people = study.session.crew.len();
    let who = if people == 1 {
        "1 technician breeds".to_owned()
    } else {
        format!("{people} technicians breed")
    };
    match binding {
        Binding::Window => {
            format!("the AI window. Run {group} in treatment order and {more} more head fit")
        }
        Binding::Shifts => {
            format!("shifts. With shifts through the whole AI window {more} more head fit")
        }
        Binding::LongestDay => format!("the longest day. Without it {more} more head fit"),
        Binding::Rest => format!("rest. Without it {more} more head fit"),
        Binding::Elsewhere => {
            format!("the crew. With everyone on shift here {more} more head fit")
        }
        Binding::Boxes => format!("breeding boxes. With a box for everyone {more} more head fit"),
        Binding::FreeHours => format!("hours without work. Without them {more} more head fit"),
        Binding::Pace | Binding::Tank | Binding::Straws => format!(
            "pace, {who} about {} head in the AI window",
            now.until(study.unstaffed.last).values().sum::<u32>()
        ),
    }
}
