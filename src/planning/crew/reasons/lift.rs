//! What is bred with a limit lifted, or with the season file changed: planned again by the code that
//! makes the plan, so that nothing is said of a limit that a plan would not bear out.
//!
//! Arithmetic on one session says what people could breed there. It does not know that they then lack
//! straws, or are wanted elsewhere; so limits are lifted in the season and the season is planned again.
//! Work is counted from sizes (`progress::Budget`), never timed. A large part is not planned again, only
//! its session, by those who are nowhere else; what is left when the work is used up is not told as
//! looked for.

use std::cell::Cell;
use std::collections::{BTreeMap, BTreeSet};

use crate::base::progress::{Budget, Progress};
use crate::base::time::Instant;
use crate::base::units::Straws;
use crate::planning::crew::assign::best::{self, Task};
use crate::planning::crew::schedule::readback;
use crate::planning::crew::sessions::gather;
use crate::planning::crew::sessions::grain::as_fine;
use crate::planning::crew::sessions::parts::{self, NEAR};
use crate::planning::crew::sessions::unstaffed::{Slots, Unstaffed};
use crate::planning::crew::straws::{allot, reserve};
use crate::planning::crew::{Allotted, Binding, Proof, Session, unstaffed_of};
use crate::planning::dating::{self, DatedSeason, Due, Half};
use crate::trade::season::{Order, Season};

/// A due, whatever moves it: group, pen, step, half-day.
pub(crate) type Key = (usize, usize, usize, Option<Half>);

pub(crate) fn key(due: &Due) -> Key {
    (due.group, due.pen, due.step, due.half_day)
}

/// People times slots of sessions that are planned together. Of more only the session itself is
/// planned again, by those who breed nowhere else about that time.
const MOST_TOGETHER: u64 = 4_000;

/// More than so many dues are not looked through for those that hang together.
pub(crate) const MOST_DUES: usize = 120;

/// So many dues are all planned again: a limit that costs head here may save some elsewhere.
const FEW_DUES: usize = 40;

/// Limits that people can lift by a line of the season file, besides straws and pace.
pub(crate) const LIMITS: [Binding; 7] = [
    Binding::Window,
    Binding::Shifts,
    Binding::LongestDay,
    Binding::Rest,
    Binding::Elsewhere,
    Binding::Boxes,
    Binding::FreeHours,
];

/// A session with its plan, to hold changed seasons against.
pub(crate) struct Bench<'a> {
    pub(crate) season: &'a Season,
    pub(crate) dated: &'a DatedSeason,
    pub(crate) session: &'a Session,
    /// Head bred of each due of the plan.
    pub(crate) bred: &'a BTreeMap<Key, u32>,
    /// Straws set aside.
    pub(crate) straws: &'a [Allotted],
    /// True where so many dues hang together with these that only these are at hand.
    pub(crate) crowded: bool,
    /// Those who breed at another session about that time.
    pub(crate) away: BTreeSet<usize>,
    /// None where nothing more than the crew is planned.
    pub(crate) proof: Option<Again<'a>>,
    /// Asks for an end when enough was planned again.
    pub(crate) progress: Budget<'a>,
    /// True once something was too much work to be planned again.
    pub(crate) left_out: Cell<bool>,
}

/// The whole season, planned again.
pub(crate) struct Again<'a> {
    pub(crate) proof: Proof<'a>,
    /// The whole season of one that is changed here.
    pub(crate) whole: Box<dyn Fn(&Season) -> Season + 'a>,
    /// Head bred in all now.
    pub(crate) before: u32,
    pub(crate) progress: Budget<'a>,
}

/// Dues whose hours follow each other with less than [`NEAR`] between them.
pub(crate) struct Run {
    pub(crate) from: Instant,
    pub(crate) to: Instant,
    /// By their place in the list.
    pub(crate) dues: Vec<usize>,
}

/// The runs of some dues, by time.
pub(crate) fn runs(dues: &[Due]) -> Vec<Run> {
    let hours = dues.iter().enumerate().map(|(n, due)| {
        let h = due.safe_hours();
        (h.earliest.min(h.latest), h.earliest.max(h.latest), n)
    });
    let mut by_time: Vec<(Instant, Instant, usize)> = hours.collect();
    by_time.sort_unstable();
    let mut runs: Vec<Run> = Vec::new();
    for (from, to, n) in by_time {
        match runs.last_mut().filter(|run| from <= run.to + NEAR) {
            Some(run) => {
                run.to = run.to.max(to);
                run.dues.push(n);
            }
            None => runs.push(Run {
                from,
                to,
                dues: vec![n],
            }),
        }
    }
    runs
}

/// Head that a changed season breeds more.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub(crate) struct Gain {
    /// In all sessions that hang together with this one.
    pub(crate) all: u32,
    /// In the session's dues, together.
    pub(crate) here: u32,
    /// In each of them that has more.
    pub(crate) of: BTreeMap<Key, u32>,
}

/// A season with the dues that come of it.
#[derive(Clone)]
pub(crate) struct Changed {
    pub(crate) season: Season,
    pub(crate) dated: DatedSeason,
}

impl Changed {
    /// A changed season, dated anew.
    pub(crate) fn dated(season: &Season) -> Self {
        let dated = dating::date(season);
        let season = as_fine(season, &dated.dues).into_owned();
        Self { season, dated }
    }
}

/// Head bred of each due in the sessions given.
pub(crate) fn bred_of(dated: &DatedSeason, sessions: &[Session]) -> BTreeMap<Key, u32> {
    let mut bred: BTreeMap<Key, u32> = BTreeMap::new();
    for session in sessions {
        for due in &session.dues {
            bred.entry(key(&dated.dues[*due])).or_default();
        }
        for b in &session.bred {
            *bred.entry(key(&dated.dues[b.due])).or_default() += b.at.len() as u32;
        }
    }
    bred
}

/// Work of the flows of a part with so many slots of lots, in about microseconds. Of many more than this the
/// solver may take its time.
fn flows_work(lot_slots: u64) -> u64 {
    const MANY: u64 = 4_000;
    10 * lot_slots + lot_slots.saturating_sub(MANY).pow(2) / 10
}

/// Head bred of each due, where that is not too much work: of no part more people times slots than
/// `together`, and no more than is left of the work; or, as for a plan, each part with work of its own.
fn planned(
    changed: &Changed,
    away: &BTreeSet<usize>,
    together: Option<u64>,
    progress: &dyn Progress,
) -> Option<BTreeMap<Key, u32>> {
    let Changed { season, dated } = changed;
    let mut all_unstaffed: Vec<Unstaffed> = gather::sessions(season, dated, Slots::new(season));
    for unstaffed in &mut all_unstaffed {
        unstaffed.able.retain(|a| !away.contains(&a.technician));
    }
    let short = reserve::short(season, dated);
    let mut bred = BTreeMap::new();
    let parts = parts::cut(season, dated, &all_unstaffed, &short);
    let works = parts::works(&parts, &all_unstaffed, progress.left());
    for (part, work) in parts.iter().zip(works) {
        let here = unstaffed_of(part, &all_unstaffed);
        let size: u64 = here.iter().map(|s| s.people_slots()).sum();
        progress.worked(size as usize + 1);
        let flows = flows_work(here.iter().map(|s| s.lot_slots()).sum());
        let too_much = |most: u64| size > most || flows as i64 > progress.left();
        if together.is_some_and(too_much) || progress.stop() {
            return None;
        }
        let own = Budget::apart(progress, work);
        let own: &dyn Progress = if together.is_some() { progress } else { &own };
        let task = Task {
            season,
            dated,
            all_unstaffed: &all_unstaffed,
            part,
            short: &short,
            only_head: false,
            anew: best::ANEW_ON_TRIAL,
        };
        let way = best::best(task, own).ok()?;
        if progress.stop() {
            return None;
        }
        let read = readback::sessions(season, dated, &all_unstaffed, part, &way, own);
        bred.append(&mut bred_of(dated, &read));
    }
    Some(bred)
}

impl Bench<'_> {
    pub(crate) fn groups(&self) -> BTreeSet<usize> {
        let dues = self.session.dues.iter();
        dues.map(|d| self.dated.dues[*d].group).collect()
    }

    pub(crate) fn keys(&self) -> Vec<Key> {
        let dues = self.session.dues.iter();
        dues.map(|d| key(&self.dated.dues[*d])).collect()
    }

    /// Head of the session that the plan leaves.
    pub(crate) fn missing(&self) -> u32 {
        self.session.uncovered.iter().map(|u| u.head.0).sum()
    }

    /// The dues that are planned again: all, or of many those that may hang together with this
    /// session's.
    fn near(&self, changed: &Changed) -> Vec<Due> {
        let groups = self.groups();
        let dues = &changed.dated.dues;
        let short = reserve::short(&changed.season, &changed.dated);
        if dues.len() <= FEW_DUES || !short.bulls.is_empty() {
            return dues.clone();
        }
        let mine = |run: &Run| run.dues.iter().any(|d| groups.contains(&dues[*d].group));
        let near = runs(dues).into_iter().filter(mine);
        let mut found: Vec<Due> = near
            .flat_map(|run| run.dues)
            .map(|d| dues[d].clone())
            .collect();
        found.sort_by_key(|d| (d.safe_hours().earliest, d.group, d.pen, d.step, d.half_day));
        found
    }

    /// What a changed season breeds more; none if nothing, or if that would be too much work.
    pub(crate) fn gain(&self, changed: &Changed) -> Option<Gain> {
        // Dues are gone through for those near, and for who is short of straws.
        self.progress.worked(20 * changed.dated.dues.len());
        if self.progress.stop() {
            self.left_out.set(true);
            return None;
        }
        let (near, keys) = (self.near(changed), self.keys());
        let with = |dues: Vec<Due>| Changed {
            season: changed.season.clone(),
            dated: DatedSeason {
                passes: Vec::new(),
                dues,
                heats: changed.dated.heats.clone(),
                findings: Vec::new(),
            },
        };
        let everybody = BTreeSet::new();
        let whole = if near.len() <= MOST_DUES && !self.crowded {
            let all = with(near);
            planned(&all, &everybody, Some(MOST_TOGETHER), &self.progress)
        } else {
            None
        };
        self.left_out.set(self.left_out.get() || whole.is_none());
        let bred = if let Some(bred) = whole {
            bred
        } else {
            // The others as in the plan, with their straws: that is one way to do it, so no less is bred in all.
            let mine = changed.dated.dues.iter();
            let mine = mine.filter(|d| keys.contains(&key(d))).cloned();
            let mut alone = with(mine.collect());
            let groups = self.groups();
            let elsewhere = self.bred.iter().filter(|(k, _)| !keys.contains(k));
            let mut of_others: BTreeMap<usize, u32> = BTreeMap::new();
            for (k, head) in elsewhere {
                *of_others.entry(k.0).or_default() += head;
            }
            for a in self.straws {
                let mut theirs = a.straws;
                if groups.contains(&a.group) {
                    let left = of_others.entry(a.group).or_default();
                    theirs = theirs.min(*left);
                    *left -= theirs;
                }
                take_straws(&mut alone.season, a.bull, theirs);
            }
            planned(&alone, &self.away, Some(MOST_TOGETHER * 4), &self.progress)?
        };
        let before = |k: &Key| self.bred.get(k).copied().unwrap_or(0);
        // Heats come on other half-days with other hours: who was bred on those of before is no gain.
        let (mut all, mut here) = (-i64::from(self.bred_on_others(changed)), 0i64);
        let mut of = BTreeMap::new();
        for (k, n) in &bred {
            let more = i64::from(*n) - i64::from(before(k));
            all += more;
            if keys.contains(k) {
                here += more;
                if more > 0 {
                    of.insert(*k, more as u32);
                }
            }
        }
        (all > 0 && here > 0).then(|| Gain {
            all: all as u32,
            here: here.min(all) as u32,
            of,
        })
    }

    /// A gain as the whole plan bears it out; none where it does not, or where that was not looked for.
    pub(crate) fn proven(&self, changed: &Season, gain: Gain) -> Option<Gain> {
        let Some(again) = &self.proof else {
            return Some(gain);
        };
        let then = if again.progress.stop() {
            None
        } else {
            (again.proof.replan)(&(again.whole)(changed), &again.progress)
        };
        if then.is_none() && !again.proof.needed {
            return Some(gain);
        }
        self.left_out.set(self.left_out.get() || then.is_none());
        let all = then?.saturating_sub(again.before).min(gain.all);
        (all > 0).then(|| Gain {
            all,
            here: gain.here.min(all),
            of: gain.of,
        })
    }

    /// Head that the plan breeds in dues that a changed season does not have.
    fn bred_on_others(&self, changed: &Changed) -> u32 {
        let still: BTreeSet<Key> = changed.dated.dues.iter().map(key).collect();
        let gone = self.bred.iter().filter(|(k, _)| !still.contains(k));
        gone.map(|(_, n)| n).sum()
    }

    /// The season with one limit more lifted; none where it sets no limit here.
    pub(crate) fn lifted(&self, from: &Changed, limit: Binding) -> Option<Changed> {
        let as_before = |season: Season| Changed {
            season,
            dated: from.dated.clone(),
        };
        match limit {
            Binding::Straws => {
                let missing = self.missing();
                let short = reserve::short(self.season, self.dated);
                let bulls: Vec<usize> = self
                    .groups()
                    .into_iter()
                    .filter_map(|g| from.season.groups[g].bulls.first().copied())
                    .filter(|b| short.bulls.contains_key(b))
                    .collect();
                if bulls.is_empty() || missing == 0 {
                    return None;
                }
                let mut season = from.season.clone();
                for bull in bulls {
                    add_straws(&mut season, bull, missing);
                }
                Some(as_before(season))
            }
            Binding::Window => {
                let kept = |g: &usize| from.season.groups[*g].order == Order::Kept;
                if self.groups().iter().all(kept) {
                    return None;
                }
                let mut season = from.season.clone();
                for group in self.groups() {
                    season.groups[group].order = Order::Kept;
                }
                Some(Changed::dated(&season))
            }
            Binding::Shifts | Binding::LongestDay | Binding::Rest | Binding::FreeHours => {
                Some(as_before(without(&from.season, limit)?))
            }
            Binding::Elsewhere => {
                let (site, dues) = (self.session.site, &from.dated.dues);
                if dues.iter().all(|d| d.site == site) {
                    return None;
                }
                let mut changed = from.clone();
                changed.dated.dues.retain(|d| d.site == site);
                // Their straws stay theirs.
                for a in self.straws {
                    if changed.season.groups[a.group].site != site {
                        take_straws(&mut changed.season, a.bull, a.straws);
                    }
                }
                Some(changed)
            }
            Binding::Boxes => {
                let site = &from.season.sites[self.session.site];
                let most = (from.season.crew.len() as u32).max(site.breeding_boxes);
                let mut free = site.clone();
                free.set_boxes(most);
                if free == *site {
                    return None;
                }
                let mut season = from.season.clone();
                season.sites[self.session.site] = free;
                Some(as_before(season))
            }
            // A tank's turns are lifted where they are made.
            Binding::Pace | Binding::Tank => None,
        }
    }

    pub(crate) fn as_it_is(&self) -> Changed {
        Changed {
            season: self.season.clone(),
            dated: self.dated.clone(),
        }
    }
}

/// Limits that hold for all sessions.
pub(crate) const SEASON_LIMITS: [Binding; 4] = [
    Binding::Shifts,
    Binding::LongestDay,
    Binding::Rest,
    Binding::FreeHours,
];

/// The season without one of the limits that hold for all sessions; none where it does not have it.
pub(crate) fn without(season: &Season, limit: Binding) -> Option<Season> {
    let (rules, mut crew) = (&season.rules, season.crew.iter());
    let stated = match limit {
        Binding::Shifts => crew.any(|t| !t.shifts.is_empty() || !t.days_off.is_empty()),
        Binding::LongestDay => rules.longest_day.is_some() || crew.any(|t| t.longest_day.is_some()),
        Binding::Rest => rules.rest.is_some(),
        Binding::FreeHours => !rules.free.is_empty(),
        _ => false,
    };
    if !stated {
        return None;
    }
    let mut free = season.clone();
    match limit {
        Binding::Shifts => {
            for who in &mut free.crew {
                who.shifts.clear();
                who.days_off.clear();
            }
        }
        Binding::LongestDay => {
            free.rules.longest_day = None;
            for who in &mut free.crew {
                who.longest_day = None;
            }
        }
        Binding::Rest => free.rules.rest = None,
        _ => free.rules.free.clear(),
    }
    Some(free)
}

/// So many straws more of a bull.
pub(crate) fn add_straws(season: &mut Season, bull: usize, more: u32) {
    let bought = season.bulls[bull].bought(Straws(more));
    season.bulls[bull].places.push(bought);
}

pub(crate) fn take_straws(season: &mut Season, bull: usize, mut fewer: u32) {
    for place in &mut season.bulls[bull].places {
        let less = fewer.min(place.straws.0);
        place.straws.0 -= less;
        fewer -= less;
    }
}

/// Head of each due that lack a straw: what would be bred more, had all bulls straws for all. Nothing
/// where nobody is short, or where the search is asked to stop.
pub(crate) fn short_of(
    season: &Season,
    dated: &DatedSeason,
    straws: &[Allotted],
    bred: &BTreeMap<Key, u32>,
    progress: &dyn Progress,
) -> Option<BTreeMap<Key, u32>> {
    let short = reserve::short(season, dated);
    if short.bulls.is_empty() {
        return None;
    }
    let draws = |g: &usize| {
        let bulls = &season.groups[*g].bulls;
        bulls.iter().any(|b| short.bulls.contains_key(b))
    };
    let groups: BTreeSet<usize> = (0..season.groups.len()).filter(draws).collect();
    let mut plenty = season.clone();
    let all: u32 = season.groups.iter().map(|g| g.head().0).sum();
    for bull in short.bulls.keys() {
        add_straws(&mut plenty, *bull, all);
    }
    let changed = Changed {
        season: plenty,
        dated: dated.clone(),
    };
    let everybody = BTreeSet::new();
    let then = planned(&changed, &everybody, None, progress)?;
    let before = |k: &Key| bred.get(k).copied().unwrap_or(0);
    // No more than are bred more in all; and where people then breed others, still those who lack a
    // straw now.
    let now: u32 = then.keys().map(before).sum();
    let mut left = then.values().sum::<u32>().saturating_sub(now);
    let out: BTreeSet<usize> = groups
        .into_iter()
        .filter(|g| allot::room(season, straws, *g, 1) == 0)
        .collect();
    let dues = dated.dues.iter().filter(|d| out.contains(&d.group));
    let missed = dues.map(|d| (key(d), d.head.0 - before(&key(d)).min(d.head.0)));
    let missed: Vec<(Key, u32)> = missed.collect();
    let mut found: BTreeMap<Key, u32> = BTreeMap::new();
    for most_of_all in [false, true] {
        for (k, missed) in &missed {
            let of = found.entry(*k).or_default();
            let more = then.get(k).copied().unwrap_or(0).saturating_sub(before(k));
            let most = if most_of_all { *missed } else { more };
            let add = most.min(*missed).saturating_sub(*of).min(left);
            *of += add;
            left -= add;
        }
    }
    found.retain(|_, n| *n > 0);
    Some(found)
}
