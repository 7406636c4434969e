//! The crew model: who breeds how many, where, in which slot.
//!
//! A season passes through these stages. Each has a folder, uses only those before it, and says on its page
//! what its sets, variables and constraints are:
//!
//! 1. `sessions`: what is due, and who could breed it when;
//! 2. `bounds`: what nobody can breed more than;
//! 3. `flow`: a network with decisions, solved;
//! 4. `straws`: which bulls run short, and who gets which straws;
//! 5. `routes`: ways through sessions at one time;
//! 6. `assign`: who goes where;
//! 7. `schedule`: cows, names and moments;
//! 8. `reasons`: why something is not bred, and what margin there is.
//!
//! [`starts`] chooses when groups start, and [`count`](count()) counts a season without planning it.
//!
//! The rules, the objectives, and what the search does not look at are a chapter of the guide, `crew_rules`.
//! `tests/outside/rules_check.py` holds plans to it.
//!
//! Parts share nothing. They are planned in any order, on all cores, and gathered in their own order,
//! so one thread and many give the same bytes.

mod answer;
mod assign;
mod bounds;
mod count;
mod flow;
mod margin;
mod reasons;
mod routes;
mod schedule;
mod search;
mod sessions;
pub mod starts;
mod straws;
mod threads;

use std::cmp::Reverse;
use std::collections::BTreeSet;
use std::sync::atomic::{AtomicUsize, Ordering};

use rayon::iter::{ParallelBridge, ParallelIterator};

use crate::base::error::Finding;
use crate::base::progress::{Budget, NoProgress, Progress, Stage};
use crate::planning::dating::DatedSeason;
use crate::trade::season::Season;

pub use answer::{
    Allotted, Bred, Fault, Hint, Lifted, Open, Ordered, Present, Search, Session, Set, Sort,
    Uncovered, Workload,
};
pub use bounds::by_session::bound_by_session;
pub use bounds::by_slot::bound_by_slot;
pub use count::{Counted, MostBetween, count, count_as_planned, covered_about, planned_at_most};
pub use margin::{Binding, LIMIT, Margin, Proof, Reasons, Replan};
pub use reasons::half_days::{FullHalfDay, HalfDays, full_findings, full_half_days};
pub use search::gap_percent;
pub(crate) use sessions::grain::{as_fine, finest};
pub(crate) use sessions::parts::NEAR;
pub use sessions::unstaffed::Slots;
pub use straws::demand::StrawDemand;
pub use straws::reserve::lacking as straws_lacking;

use assign::best::ANEW;
use reasons::{explain, words};
use schedule::{drives, readback};
use sessions::gather::{self, unstaffed_of};
use sessions::{parts, unstaffed};
use straws::{allot, reserve};
use threads::threads;

/// True if straws were set aside beforehand for a group of the part, which other groups might
/// have used better.
fn part_of_reserved(
    dated: &DatedSeason,
    all_unstaffed: &[unstaffed::Unstaffed],
    part: &parts::Part,
    short: &parts::Short,
) -> bool {
    let dues = part.sessions.iter().flat_map(|s| &all_unstaffed[*s].dues);
    dues.map(|d| dated.dues[*d].group)
        .any(|g| short.reserved.contains_key(&g))
}

/// How long to search for a draft, in about microseconds of work.
#[derive(Clone, Copy)]
pub struct Effort {
    /// All parts together.
    work: i64,
    /// Routes chosen anew in a part, at the least.
    anew: i64,
    /// Parts that are not proven, again, beside the work that others have left.
    again: i64,
}

impl Effort {
    /// Where finer steps of time come next.
    pub const QUICK: Self = Self {
        work: 1_500_000,
        anew: 0,
        again: 0,
    };
    /// A plan.
    pub const FULL: Self = Self {
        work: 6_000_000,
        anew: ANEW,
        again: 0,
    };
    /// A plan in finer steps of time.
    pub const FINE: Self = Self {
        work: 9_000_000,
        anew: ANEW,
        again: 12_000_000,
    };

    /// The same, and nothing again.
    #[must_use]
    pub const fn once(self) -> Self {
        Self { again: 0, ..self }
    }
}

/// A part that is not proven is planned again with so many times its work.
const AGAIN: i64 = 4;

/// A part, planned.
struct Planned {
    sessions: Vec<Session>,
    way: Outcome,
    /// Work left.
    left: i64,
}

/// What came of the search of a part.
#[derive(Clone, Copy)]
struct Outcome {
    choices: bool,
    proven: bool,
    stopped: bool,
    bound: u32,
    apart: u32,
}

impl Planned {
    fn head(&self) -> u32 {
        self.sessions.iter().map(Session::head_bred).sum()
    }

    /// Head that a better plan might breed.
    fn open(&self) -> u32 {
        self.way.bound.saturating_sub(self.head())
    }

    /// Takes another plan of the part if it is better. Bounds of both hold.
    fn improve(&mut self, other: Self) {
        let bound = self.way.bound.min(other.way.bound);
        let apart = self.way.apart.min(other.way.apart);
        if other.head() > self.head() {
            *self = other;
        }
        self.way.proven |= self.head() >= bound;
        (self.way.bound, self.way.apart) = (bound, apart);
    }
}

/// A season whose parts are planned.
struct Parts<'a> {
    season: &'a Season,
    dated: &'a DatedSeason,
    all_unstaffed: &'a [unstaffed::Unstaffed],
    short: &'a parts::Short,
    parts: &'a [parts::Part],
    effort: Effort,
}

impl Parts<'_> {
    /// Plans a part, with so much work.
    fn plan(&self, n: usize, work: i64, progress: &dyn Progress) -> Result<Planned, Fault> {
        let (season, all_unstaffed, part) = (self.season, self.all_unstaffed, &self.parts[n]);
        let own = Budget::apart(progress, work);
        let before = own.by_hand();
        let (way, sessions) = drives::without_idle(
            season,
            self.dated,
            all_unstaffed,
            part,
            self.short,
            self.effort.anew,
            &own,
        )
        .map_err(|cause| Fault {
            day: season.zone.human(all_unstaffed[part.sessions[0]].open),
            cause,
        })?;
        let outcome = Outcome {
            choices: !way.model.network.decisions.is_empty(),
            proven: way.proven(),
            // Stopped while it was searched: it counts only where something is left to prove.
            stopped: (before || own.by_hand()) && !way.proven(),
            bound: way.bound,
            apart: way.apart,
        };
        Ok(Planned {
            sessions,
            way: outcome,
            left: own.left(),
        })
    }

    /// Plans every part; then those again of which most is open and whose work is used up, as far as the work goes
    /// that others have left.
    fn planned(&self, works: &[i64], progress: &dyn Progress) -> Result<Vec<Planned>, Fault> {
        let all: Vec<usize> = (0..self.parts.len()).collect();
        let mut planned = self.each(&all, works, progress)?;
        if self.effort.anew == 0 || progress.stop() {
            return Ok(planned);
        }
        let mut left = self.effort.again.min(progress.left());
        left += planned.iter().map(|p| p.left).sum::<i64>();
        let open = |n: &usize| planned[*n].open() > 0 && planned[*n].left == 0;
        let mut open: Vec<usize> = all.into_iter().filter(open).collect();
        open.sort_by_key(|n| Reverse(planned[*n].open()));
        let more: Vec<i64> = works.iter().map(|work| AGAIN * work).collect();
        open.retain(|n| {
            let goes = more[*n] <= left;
            left -= if goes { more[*n] } else { 0 };
            goes
        });
        open.sort_unstable();
        let others = self.each(&open, &more, progress)?;
        for (n, other) in open.into_iter().zip(others) {
            planned[n].improve(other);
        }
        Ok(planned)
    }

    /// These parts, on all cores: the large ones first, so that none is left alone at the end. What
    /// comes back is in their order, whoever was done first.
    fn each(
        &self,
        parts: &[usize],
        works: &[i64],
        progress: &dyn Progress,
    ) -> Result<Vec<Planned>, Fault> {
        let mut order = parts.to_vec();
        order.sort_by_key(|n| Reverse(self.parts[*n].sessions.len()));
        let done = AtomicUsize::new(0);
        progress.reached(Stage::Crew, 0, parts.len());
        let one = |n: usize| {
            let planned = self.plan(n, works[n], progress);
            let now = done.fetch_add(1, Ordering::Relaxed) + 1;
            progress.reached(Stage::Crew, now, parts.len());
            (n, planned)
        };
        let order = order.into_iter();
        let mut planned: Vec<(usize, Result<Planned, Fault>)> = match threads() {
            Some(threads) => threads.install(|| order.par_bridge().map(one).collect()),
            None => order.map(one).collect(),
        };
        planned.sort_by_key(|(n, _)| *n);
        planned.into_iter().map(|(_, planned)| planned).collect()
    }

    /// What is said of the search of a part, and a finding where it was not searched to the end.
    fn told(&self, n: usize, planned: &Planned) -> (Search, Option<Finding>) {
        let (part, way) = (&self.parts[n], planned.way);
        let mut search = Search {
            parts: 1,
            with_choices: usize::from(way.choices),
            stopped: way.stopped,
            ..Search::default()
        };
        // Where straws were set aside only the bound that knows of none holds.
        let aside = part_of_reserved(self.dated, self.all_unstaffed, part, self.short);
        search.add(&planned.sessions, if aside { way.apart } else { way.bound });
        let covered = planned.head();
        let finding = (covered < way.bound).then(|| {
            let heads = (covered, way.bound);
            search::not_to_the_end(self.season, self.all_unstaffed, part, heads, way.proven)
        });
        (search, finding)
    }
}

/// Says of animals that would be bred if a tank were everywhere at once that it is not. No more of them
/// than would be bred in all: others may then have the crew, or the straws.
fn kept_by_tank(dated: &DatedSeason, sessions: &mut [Session]) {
    let left = sessions.iter().flat_map(|s| &s.uncovered);
    let all: u32 = left.map(|u| u.head.0).sum();
    let mut lost: Option<u32> = None;
    for u in sessions.iter_mut().flat_map(|s| &mut s.uncovered) {
        let Some(turn) = &dated.dues[u.due].turn else {
            continue;
        };
        let [own, in_all] = turn.left_anyway;
        let lost = lost.get_or_insert(all.saturating_sub(in_all));
        let more = u.head.0.saturating_sub(own).min(*lost);
        if more == 0 {
            continue;
        }
        *lost -= more;
        let whom = if more == u.head.0 {
            u.why.clear();
            "they".to_owned()
        } else {
            format!("up to {more} of them")
        };
        let words = turn.words.join("; ");
        let why = format!("{whom} could be bred if the tank were at both sites: {words}");
        u.why.insert(0, why);
        u.binding = Binding::Tank;
    }
}

/// Spreads the breeding over the crew.
///
/// # Errors
/// A [`Fault`] if the solver fails on a model that always has an answer.
pub fn assign(season: &Season, dated: &DatedSeason) -> Result<Workload, Fault> {
    let draft = draft(season, dated, None, Effort::FULL, &NoProgress)?;
    Ok(draft.explained(season, dated, Reasons::Told(None), &NoProgress))
}

/// A workload that does not say yet why something is not covered, nor what margin there is.
pub struct Draft {
    /// Who breeds what, and who is left.
    pub workload: Workload,
    all_unstaffed: Vec<unstaffed::Unstaffed>,
    /// Dues of parts that were not searched to the end.
    unproven: BTreeSet<usize>,
}

/// Spreads the breeding over the crew, with straws as matings have them, by group. Asked to stop, it
/// searches no further: what is left is planned by plain rules.
///
/// # Errors
/// A [`Fault`] if the solver fails on a model that always has an answer.
pub fn draft(
    season: &Season,
    dated: &DatedSeason,
    demand: Option<&[StrawDemand]>,
    effort: Effort,
    progress: &dyn Progress,
) -> Result<Draft, Fault> {
    let slots = Slots::new(season);
    let all_unstaffed = gather::sessions(season, dated, slots);
    let short = reserve::short(season, dated);
    let parts = parts::cut(season, dated, &all_unstaffed, &short);
    let works = parts::works(&parts, &all_unstaffed, effort.work.min(progress.left()));
    let all = Parts {
        season,
        dated,
        all_unstaffed: &all_unstaffed,
        short: &short,
        parts: &parts,
        effort,
    };
    let planned = all.planned(&works, progress)?;
    let mut sessions = Vec::new();
    let mut findings = Vec::new();
    let mut unproven = BTreeSet::new();
    let mut search = Search::default();
    for (n, part) in planned.into_iter().enumerate() {
        let (of_part, finding) = all.told(n, &part);
        search.and(of_part);
        if let Some(finding) = finding {
            unproven.extend(part.sessions.iter().flat_map(|s| s.dues.iter().copied()));
            findings.push(finding);
        }
        sessions.extend(part.sessions);
    }
    let aside = allot::allot(season, dated, &short, &sessions, demand).map_err(|cause| Fault {
        day: "the whole season".into(),
        cause,
    })?;
    findings.extend(aside.findings);
    sessions.sort_by_key(|s| (s.open, s.site));
    Ok(Draft {
        workload: Workload {
            sessions,
            straws: aside.straws,
            straws_short: aside.by_heat_short,
            in_order: aside.in_order,
            findings,
            search,
        },
        all_unstaffed,
        unproven,
    })
}

impl Draft {
    /// Head bred.
    #[must_use]
    pub fn bred(&self) -> u32 {
        self.workload.sessions.iter().map(Session::head_bred).sum()
    }

    /// The workload with reasons, or only with who is left; and with findings for all that is not covered.
    pub fn explained(
        self,
        season: &Season,
        dated: &DatedSeason,
        reasons: Reasons<'_>,
        progress: &dyn Progress,
    ) -> Workload {
        let Self {
            mut workload,
            all_unstaffed,
            unproven,
        } = self;
        let sessions = &mut workload.sessions;
        let straws = &workload.straws;
        let short = explain::explain(
            season,
            dated,
            &all_unstaffed,
            straws,
            sessions,
            (reasons, progress),
        );
        for (group, lacking) in short {
            *workload.straws_short.entry(group).or_default() += lacking;
        }
        // Each animal takes one straw, however often she is planned.
        for (group, lacking) in &mut workload.straws_short {
            let mine = straws.iter().filter(|a| a.group == *group);
            let has: u32 = mine.map(|a| a.straws).sum();
            let head = season.groups[*group].head().0;
            *lacking = (*lacking).min(head.saturating_sub(has));
        }
        kept_by_tank(dated, sessions);
        for u in sessions.iter_mut().flat_map(|s| &mut s.uncovered) {
            if unproven.contains(&u.due) {
                u.why
                    .push("the search was not finished, and more might be covered".into());
            }
        }
        let findings = &mut workload.findings;
        for session in &*sessions {
            findings.extend(words::findings(season, dated, session, &unproven));
        }
        findings.extend(readback::chute_in_use(season, dated, sessions));
        if workload.search.stopped {
            // One finding for all: that each of the parts left was not searched follows from it.
            let said = |f: &Finding| f.code == crate::base::error::Code::SearchStopped;
            workload.findings.retain(|f| !said(f));
            let stopped = search::stopped_by_hand(&workload);
            workload.findings.push(stopped);
        }
        workload
    }
}
