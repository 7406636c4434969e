//! How many can be bred, without saying who breeds whom: what many seasons are compared by.
//!
//! The same sessions, crew and choices as in a plan. Where who goes where by plain rules covers
//! as many as the bound allows, counting is enough; where the choices are few, each is counted; else the model is
//! solved as for a plan.
//! Straws are left out: who wants how many does not hang on the hours.

use std::collections::BTreeMap;

use chrono::TimeDelta;

use crate::base::progress::{NoProgress, Progress};
use crate::base::time::Instant;
use crate::planning::crew::assign::best::{self, ANEW_ON_TRIAL, Task};
use crate::planning::crew::assign::greedy::Tried;
use crate::planning::crew::assign::model::{Model, Ways};
use crate::planning::crew::assign::{formulate, greedy};
use crate::planning::crew::bounds::coverage::covered;
use crate::planning::crew::flow::guess::Guess;
use crate::planning::crew::schedule::readback;
use crate::planning::crew::sessions::parts::Short;
use crate::planning::crew::sessions::place::{self, Relax};
use crate::planning::crew::sessions::unstaffed::{Lot, Slots, Unstaffed};
use crate::planning::crew::sessions::{gather, parts};
use crate::planning::crew::{Fault, Session, unstaffed_of};
use crate::planning::dating::{DatedSeason, Due};
use crate::trade::season::pace::{Rounds, rounds_at};
use crate::trade::season::{Season, Technician};

/// A session, counted.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Counted {
    /// Which of the parts that share nobody.
    pub part: usize,
    /// Site, by its place in the season.
    pub site: usize,
    /// Dues bred here, by their place in [`DatedSeason::dues`].
    pub dues: Vec<usize>,
    /// First moment of the hours.
    pub open: Instant,
    /// Animals due.
    pub head: u32,
    /// Of these, how many can be bred in their hours.
    pub covered: u32,
    /// How much later than at the first possible moment the crew could begin and still breed all
    /// of them; nothing where not all can be bred.
    pub spare: TimeDelta,
}

/// Counts what can be bred in each session, if everybody goes to whole sessions: fast, and never
/// more than a plan covers, which may divide a technician's day between sites as well. Asked to stop,
/// it counts by plain rules: a little less now and then.
///
/// # Errors
/// A [`Fault`] if the solver fails on a model that always has an answer.
pub fn count(
    season: &Season,
    dated: &DatedSeason,
    progress: &dyn Progress,
) -> Result<Vec<Counted>, Fault> {
    Ok(count_by(season, dated, Ask::WholeSessions, progress)?.counted)
}

/// Counts what a plan would breed in each session.
///
/// # Errors
/// As [`count`].
pub fn count_as_planned(season: &Season, dated: &DatedSeason) -> Result<Vec<Counted>, Fault> {
    Ok(count_by(season, dated, Ask::AsPlanned, &NoProgress)?.counted)
}

/// Head that a plan would leave; or, where everybody goes to whole sessions, would be left at the most.
pub(crate) fn left(
    season: &Season,
    dated: &DatedSeason,
    as_planned: bool,
    progress: &dyn Progress,
) -> Result<u32, Fault> {
    let ask = if as_planned {
        Ask::HeadAsPlanned
    } else {
        Ask::WholeSessions
    };
    let all = count_by(season, dated, ask, progress)?;
    Ok(all.counted.iter().map(|c| c.head - c.covered).sum())
}

/// Dues that share somebody with one of those meant, directly or by others, and these themselves: what is
/// bred of all others does not hang on them.
pub(crate) fn hang_together(
    season: &Season,
    dated: &DatedSeason,
    meant: impl Fn(&Due) -> bool,
) -> Vec<Due> {
    let all_unstaffed = gather::sessions(season, dated, Slots::new(season));
    let parts = parts::cut(season, dated, &all_unstaffed, &Short::default());
    let dues = |part: &parts::Part| -> Vec<&Due> {
        let all = part.sessions.iter().flat_map(|s| &all_unstaffed[*s].dues);
        all.map(|d| &dated.dues[*d]).collect()
    };
    let mine = parts.iter().map(dues);
    let mine = mine.filter(|dues| dues.iter().any(|d| meant(d)));
    mine.flatten().cloned().collect()
}

/// Head due, how many of them a plan would breed, and how many at the most, as far as that is known.
///
/// # Errors
/// As [`count`].
pub fn planned_at_most(
    season: &Season,
    dated: &DatedSeason,
    progress: &dyn Progress,
) -> Result<(u32, u32, u32), Fault> {
    let Count { counted, most, .. } = count_by(season, dated, Ask::AsPlanned, progress)?;
    let due = counted.iter().map(|c| c.head).sum();
    let covered: u32 = counted.iter().map(|c| c.covered).sum();
    Ok((due, covered, most.max(covered)))
}

/// Work of counting a session by plain rules, in about microseconds.
const SESSION: usize = 500;

/// What is counted.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Ask {
    /// Everybody goes to whole sessions.
    WholeSessions,
    /// What each session of a plan would breed.
    AsPlanned,
    /// The same, in all: which session breeds them is left as it comes.
    HeadAsPlanned,
}

/// What is bred in each session.
struct Count {
    counted: Vec<Counted>,
    /// No plan breeds more.
    most: u32,
}

fn count_by(
    season: &Season,
    dated: &DatedSeason,
    ask: Ask,
    progress: &dyn Progress,
) -> Result<Count, Fault> {
    let divide = ask != Ask::WholeSessions;
    let only_head = ask == Ask::HeadAsPlanned;
    let slots = Slots::new(season);
    let all_unstaffed = gather::sessions(season, dated, slots);
    let short = Short::default();
    let mut counted = Vec::new();
    let mut most = 0;
    for (n, part) in parts::cut(season, dated, &all_unstaffed, &short)
        .iter()
        .enumerate()
    {
        let here = unstaffed_of(part, &all_unstaffed);
        let size: u64 = here.iter().map(|s| s.people_slots()).sum();
        progress.worked(SESSION * here.len() + size as usize);
        let model = formulate::formulate(season, dated, &all_unstaffed, part, &short, Ways::Whole);
        let mut guess = greedy::by_rule(season, here.clone(), &model);
        guess.only_head = only_head;
        let by_count: Vec<u32> = here
            .iter()
            .zip(&guess.places)
            .map(|(unstaffed, places)| covered(&unstaffed.all_lots(), places))
            .collect();
        let due: u32 = here.iter().map(|s| s.head()).sum();
        let divided = model.clashes.iter().any(|c| !c.is_empty());
        let all: u32 = by_count.iter().sum();
        // A day that the longest one cuts short may lie elsewhere than round the middle.
        let at_best = all == due || all >= guess.bound && !(divide && model.is_cut_by_day());
        let (head, places) = if at_best {
            // Rounds begin anew with each visit: where days may be divided, that may be worth a cow.
            most += if divided { due } else { guess.bound };
            (by_count, guess.places)
        } else if let Some(exact) = tried(season, &here, &model, divide).and_then(|t| t.exact) {
            let all: u32 = exact.0.iter().sum();
            most += if divided { due } else { all };
            exact
        } else if progress.stop() {
            most += if divided { due } else { guess.bound };
            (by_count, guess.places)
        } else {
            let task = Task {
                season,
                dated,
                all_unstaffed: &all_unstaffed,
                part,
                short: &short,
                only_head,
                anew: if only_head { 0 } else { ANEW_ON_TRIAL },
            };
            let (bred, bound) = solved(task, model, &guess, divide, progress)?;
            most += bound;
            (bred, guess.places)
        };
        for ((unstaffed, places), covered) in here.iter().zip(&places).zip(head) {
            let lots = unstaffed.all_lots();
            let due = unstaffed.head();
            counted.push(Counted {
                part: n,
                site: unstaffed.site,
                dues: unstaffed.dues.clone(),
                open: unstaffed.open,
                head: due,
                covered,
                spare: if covered == due {
                    season.rules.grain() * spare(&lots, places, due) as i32
                } else {
                    TimeDelta::zero()
                },
            });
        }
    }
    counted.sort_by_key(|c| (c.open, c.site));
    Ok(Count { counted, most })
}

/// Head bred in each session of a part as its plan has it, and the most that any could breed in all.
fn solved(
    task: Task<'_>,
    model: Model,
    guess: &Guess,
    divide: bool,
    progress: &dyn Progress,
) -> Result<(Vec<u32>, u32), Fault> {
    let here = unstaffed_of(task.part, task.all_unstaffed);
    let fault = |cause| Fault {
        day: task.season.zone.human(here[0].open),
        cause,
    };
    let way = best::best_from(task, (model, guess), divide, progress).map_err(fault)?;
    let read = readback::sessions(
        task.season,
        task.dated,
        task.all_unstaffed,
        task.part,
        &way,
        progress,
    );
    let bred = |unstaffed: &&Unstaffed| {
        let mine = read.iter().filter(|s| s.dues == unstaffed.dues);
        mine.map(Session::head_bred).sum()
    };
    Ok((here.iter().map(bred).collect(), way.bound))
}

/// With everybody at whole sessions: head that plain rules cover, and the most that any plan covers; without ever asking
/// the solver. [`count`] counts what lies between.
#[must_use]
pub fn covered_about(season: &Season, dated: &DatedSeason) -> (u32, u32) {
    let all_unstaffed = gather::sessions(season, dated, Slots::new(season));
    let short = Short::default();
    let parts = parts::cut(season, dated, &all_unstaffed, &short);
    let (mut by_rule, mut most) = (0, 0);
    for part in &parts {
        let here = unstaffed_of(part, &all_unstaffed);
        let model = formulate::formulate(season, dated, &all_unstaffed, part, &short, Ways::Whole);
        let guess = greedy::by_rule(season, here.clone(), &model);
        let by_count: u32 = here
            .iter()
            .zip(&guess.places)
            .map(|(unstaffed, places)| covered(&unstaffed.all_lots(), places))
            .sum();
        by_rule += by_count;
        most += if by_count >= guess.bound {
            by_count
        } else {
            tried(season, &here, &model, false).map_or(guess.bound, |t| t.most.min(guess.bound))
        };
    }
    (by_rule, most)
}

/// The most head that the crew could breed between two moments: no plan breeds more.
pub struct MostBetween<'a> {
    season: &'a Season,
    /// Of each technician, the sites that differ for him or her: in rounds, or in the road from home.
    sites: Vec<Vec<(usize, Rounds)>>,
    known: BTreeMap<(Instant, Instant), (u32, u32)>,
}

impl<'a> MostBetween<'a> {
    /// The crew of a season.
    #[must_use]
    pub fn new(season: &'a Season) -> Self {
        let of = |technician: &Technician| {
            let mut sites: Vec<(usize, Rounds)> = Vec::new();
            for (n, site) in season.sites.iter().enumerate() {
                let road = season.road_home(technician, n);
                let same = |(other, rounds): &(usize, Rounds), mine: &Rounds| {
                    rounds == mine && season.road_home(technician, *other) == road
                };
                if let Some(mine) = rounds_at(season, technician, site)
                    && !sites.iter().any(|known| same(known, &mine))
                {
                    sites.push((n, mine));
                }
            }
            sites
        };
        Self {
            season,
            sites: season.crew.iter().map(of).collect(),
            known: BTreeMap::new(),
        }
    }

    /// Head wherever it is, and at one site with so many boxes.
    pub fn head(&mut self, from: Instant, to: Instant, boxes: u32) -> (u32, u32) {
        let known = self.known.get(&(from, to)).copied();
        let (all, fastest) = known.unwrap_or_else(|| self.counted(from, to));
        self.known.insert((from, to), (all, fastest));
        (all, all.min(fastest.saturating_mul(boxes)))
    }

    /// About the same, without looking at shifts.
    #[must_use]
    pub fn about(&self, from: Instant, to: Instant, boxes: u32) -> f64 {
        let pace = |sites: &Vec<(usize, Rounds)>| {
            let each = sites.iter().map(|(_, rounds)| rounds.cows_per_hour());
            each.fold(0.0, f64::max)
        };
        let mut paces: Vec<f64> = self.sites.iter().map(pace).collect();
        paces.sort_by(|a, b| b.total_cmp(a));
        let hours = (to - from).num_seconds() as f64 / 3600.0;
        paces.iter().take(boxes as usize).sum::<f64>() * hours
    }

    /// Head of all technicians, and of the one who breeds most.
    fn counted(&self, from: Instant, to: Instant) -> (u32, u32) {
        let each = self.season.crew.iter().zip(&self.sites);
        let most = each.map(|(technician, sites)| {
            let at = |(site, rounds): &(usize, Rounds)| {
                let early = from - rounds.to_first_cow();
                let there =
                    place::present(self.season, technician, *site, early, to, Relax::default());
                // A round more than fits, for the one that is under way.
                let rounds_in = |(a, b): &(Instant, Instant)| {
                    let seconds = ((*b).min(to) - (*a).max(early)).num_seconds().max(0) as f64;
                    (seconds / rounds.period.0).floor() as u32 + 1
                };
                there.iter().map(rounds_in).sum::<u32>() * rounds.straws.0
            };
            sites.iter().map(at).max().unwrap_or(0)
        });
        most.fold((0, 0), |(all, fastest), most| {
            (all + most, fastest.max(most))
        })
    }
}

/// Every choice tried, where nobody may divide a day between sessions or could.
fn tried(season: &Season, here: &[&Unstaffed], model: &Model, divide: bool) -> Option<Tried> {
    let divided = model.clashes.iter().any(|c| !c.is_empty());
    if divide && divided {
        return None;
    }
    greedy::by_trying(season, here.to_vec(), model)
}

/// Slots by which everybody could begin later than in the first slot with places.
fn spare(lots: &[Lot], places: &BTreeMap<i64, u32>, due: u32) -> usize {
    let open = lots.iter().map(|l| l.first).min().unwrap_or(0);
    let slots: Vec<i64> = places.range(open..).map(|(slot, _)| *slot).collect();
    // Fewer places never cover more, so those that suffice stand at the front.
    let suffice = slots.partition_point(|from| {
        let later = places.range(*from..).map(|(k, c)| (*k, *c)).collect();
        covered(lots, &later) == due
    });
    suffice.saturating_sub(1)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn spare_is_what_can_be_left_out_at_the_front() {
        let lot = Lot::within(1, 6, 4);
        let places: BTreeMap<i64, u32> = (0..8).map(|k| (k, 2)).collect();
        // Slots 5 and 6 suffice: four slots later than slot 1.
        assert_eq!(spare(&[lot], &places, 4), 4);
        assert_eq!(spare(&[], &BTreeMap::new(), 0), 0);
    }
}
