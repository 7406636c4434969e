//! When the pens of a group begin, where the season leaves that open: over which days (`days`), or by
//! slots between the group's start and its latest.
//!
//! A pen that begins later has its later treatments and its breeding hours later by as much. Each
//! choice is judged by the real thing: chutes by the passes' own minutes, the crew by counting as
//! for a plan. Choices come from even spacing, from a mixed-integer model (`model`) which picks
//! starts and head together, and from moving one pen after the other. Then all choices are gone
//! through that could still be better (`branch`), as far as so much counting allows. Best is, in this
//! order: no chute wanted twice and no hours kept free; most head bred; least delay in all.
//!
//! Starts are settled before the plan because a start moves a pen's hours, and with them what is a
//! session.

mod branch;
mod candidates;
pub mod days;
mod model;
pub mod spread;

use std::collections::BTreeMap;

use chrono::NaiveDateTime;

use self::candidates::{Open, Pen};
use crate::base::error::{Code, Finding, quoted};
use crate::base::progress::{Budget, Progress};
use crate::planning::crew::bounds::by_slot;
use crate::planning::crew::{Fault, count};
use crate::planning::dating::{self, DatedSeason, Due};
use crate::trade::season::{PenStarts, Season, Technician};

/// Rounds of moving one pen after the other.
const MOST_ROUNDS: usize = 6;

/// Work for all choices together, in about microseconds, and a third of it for days: where technicians may
/// divide theirs, each choice is as much of it as a plan.
const MOST_WORK: i64 = 12_000_000;

/// What a choice comes to; less is better.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
struct Cost {
    /// Passes that meet in a chute, or lie in hours kept free.
    held: usize,
    uncovered: u32,
    delay: usize,
}

impl Cost {
    /// Everybody is bred, and no chute is wanted twice.
    fn is_ideal(self) -> bool {
        self.held == 0 && self.uncovered == 0
    }
}

/// The season with a start for each pen of the groups that leave it open, and what to say of it.
///
/// Groups with wishes were chosen each by itself. As chosen ([`apart`]) they may be bred better than settled
/// one after the other: what breeds more is taken, so that a plan keeps what a choice says.
///
/// Asked to stop, it takes the best found so far and says so.
///
/// # Errors
/// A [`Fault`] if the crew cannot be counted.
pub fn settle(season: &Season, progress: &dyn Progress) -> Result<(Season, Vec<Finding>), Fault> {
    let mut settled = in_turn(season, progress)?;
    if season
        .groups
        .iter()
        .any(|g| g.days > 1 && g.wishes.is_some())
    {
        let other = apart(season, progress)?;
        let left = |(s, _): &(Season, Vec<Finding>)| {
            let dated = dating::date_groups(s, &s.groups);
            count::left(s, &dated, true, &Budget::new(progress, MOST_WORK / 3))
        };
        if other.0 != settled.0 && left(&other)? < left(&settled)? {
            settled = other;
        }
    }
    let (settled, said) = settled;
    let mut findings = spread::findings(season, &settled);
    findings.extend(said);
    Ok((settled, findings))
}

/// The season with each group that has wishes as if chosen for alone, beside those without: as `choose` counts
/// it.
///
/// # Errors
/// A [`Fault`] if the crew cannot be counted.
pub fn apart(season: &Season, progress: &dyn Progress) -> Result<(Season, Vec<Finding>), Fault> {
    let mut fixed = season.clone();
    fixed.groups.retain(|g| g.wishes.is_none());
    let (fixed, mut findings) = in_turn(&fixed, progress)?;
    let (mut settled, mut all) = (fixed.clone(), fixed.groups.clone());
    for group in season.groups.iter().filter(|g| g.wishes.is_some()) {
        let spread = spread::chosen(&fixed.groups, group, &mut settled, progress)?;
        all.push(spread::given(group, spread));
    }
    all.sort_by_key(|g| g.nth);
    settled.groups = all;
    let (settled, said) = pens(&settled, &Budget::new(progress, MOST_WORK))?;
    findings.extend(said);
    Ok((settled, findings))
}

/// Days of each group, one after the other, and then the pens of all.
fn in_turn(season: &Season, progress: &dyn Progress) -> Result<(Season, Vec<Finding>), Fault> {
    let budget = Budget::new(progress, MOST_WORK);
    let of_days = Budget::new(&budget, MOST_WORK / 3);
    pens(&spread::in_turn(season, &of_days)?, &budget)
}

/// A start for each pen that leaves it open.
fn pens(season: &Season, progress: &dyn Progress) -> Result<(Season, Vec<Finding>), Fault> {
    let mut findings = Vec::new();
    if season
        .groups
        .iter()
        .all(|g| !matches!(g.pen_starts, PenStarts::Until(_)))
    {
        return Ok((season.clone(), findings));
    }
    let open = candidates::open(season);
    let mut search = Search {
        season,
        open: &open,
        known: BTreeMap::new(),
        bounds: BTreeMap::new(),
        all_tried: false,
        progress,
    };
    let best = search.best()?;
    let said = if search.all_tried {
        ", the least delay that serves most head"
    } else if search.cost(&best)?.is_ideal() {
        ", the least delay found that serves most head"
    } else {
        "; other starts might serve more"
    };
    let mut settled = season.clone();
    for (g, group) in settled.groups.iter_mut().enumerate() {
        if !matches!(group.pen_starts, PenStarts::Until(_)) {
            continue;
        }
        let mine = open.pens.iter().zip(&best).filter(|(p, _)| p.group == g);
        let starts: Vec<NaiveDateTime> = mine.map(|(p, k)| p.candidates[*k].local).collect();
        let words: Vec<String> = starts
            .iter()
            .map(|s| season.zone.human_short(season.zone.resolve(*s).at))
            .collect();
        findings.push(
            Finding::note(
                Code::PenStartsChosen,
                format!(
                    "the pens of {} begin at {}{}",
                    quoted(group.id.as_str()),
                    words.join(", "),
                    said
                ),
            )
            .at(group.start_place.clone())
            .hint("give `pen_starts` to fix them"),
        );
        group.pen_starts = PenStarts::Given(starts);
        group.starts_planned = true;
    }
    if let Some(pen) = open
        .pens
        .first()
        .filter(|_| progress.by_hand() && !search.all_tried)
    {
        findings.push(
            Finding::warning(
                Code::StoppedByHand,
                "the search was stopped by hand: other starts of pens were not tried",
            )
            .at(season.groups[pen.group].start_place.clone())
            .expected("a search that runs to its end")
            .hint("the starts hold as they are; let the search run to its end for the least delay"),
        );
    }
    Ok((settled, findings))
}

struct Search<'a> {
    season: &'a Season,
    open: &'a Open,
    /// What was counted before, by candidate of each pen.
    known: BTreeMap<Vec<usize>, Cost>,
    /// What the first pens leave at the least, by their candidates.
    bounds: BTreeMap<Vec<usize>, u32>,
    /// True if no choice was left out that could be better.
    all_tried: bool,
    progress: &'a dyn Progress,
}

impl Search<'_> {
    /// The best choice found: a candidate for each pen.
    fn best(&mut self) -> Result<Vec<usize>, Fault> {
        let mut best = self.in_turn();
        if self.progress.stop() {
            return Ok(best);
        }
        if !self.cost(&best)?.is_ideal() {
            for choice in self.evenly() {
                self.keep_better(&mut best, choice)?;
            }
            self.improve(&mut best)?;
        }
        // What the others leave without any of these pens is left in any choice.
        let least = self.left_at_least(&[]);
        if self.cost(&best)?.uncovered > least
            && !self.is_over()
            && let Some(choice) = model::propose(self.season, self.open, self.progress)
        {
            let mut other = choice;
            self.improve(&mut other)?;
            self.keep_better(&mut best, other)?;
        }
        self.all_tried = self.go_through(&mut best)?;
        Ok(best)
    }

    /// True if nothing more is to be counted.
    fn is_over(&self) -> bool {
        self.progress.stop()
    }

    fn keep_better(&mut self, best: &mut Vec<usize>, other: Vec<usize>) -> Result<(), Fault> {
        if self.is_over() {
            return Ok(());
        }
        let now = self.cost(best)?;
        // The crew is counted only where the choice could be better with everybody bred.
        if self.uncounted(&other) < now && self.cost(&other)? < now {
            *best = other;
        }
        Ok(())
    }

    /// Pens one after the other, each as soon as no chute is wanted twice.
    fn in_turn(&self) -> Vec<usize> {
        let mut chosen: Vec<usize> = Vec::new();
        for (n, pen) in self.open.pens.iter().enumerate() {
            let free = |k: &usize| {
                let before = self.open.pens[..n].iter().zip(&chosen);
                self.open.held_alone(pen, *k) == 0
                    && before.clone().all(|(p, j)| !pen.meets(*k, p, *j))
            };
            let first = (0..pen.candidates.len()).find(free);
            chosen.push(first.unwrap_or(pen.candidates.len() - 1));
        }
        chosen
    }

    /// Pens of each group at even distances, for every distance that fits.
    fn evenly(&self) -> Vec<Vec<usize>> {
        let most = self.open.pens.iter().map(|p| p.candidates.len()).max();
        (1..most.unwrap_or(1))
            .map(|apart| {
                let mut group = usize::MAX;
                let mut turn = 0;
                let choice = self.open.pens.iter().map(|pen| {
                    turn = if pen.group == group { turn + 1 } else { 0 };
                    group = pen.group;
                    (turn * apart).min(pen.candidates.len() - 1)
                });
                choice.collect()
            })
            .collect()
    }

    /// Moves one pen after the other to where it is best, as long as that helps.
    fn improve(&mut self, best: &mut Vec<usize>) -> Result<(), Fault> {
        for _ in 0..MOST_ROUNDS {
            let before = self.cost(best)?;
            for n in 0..best.len() {
                for k in 0..self.open.pens[n].candidates.len() {
                    let mut other = best.clone();
                    other[n] = k;
                    self.keep_better(best, other)?;
                }
            }
            if self.cost(best)? == before {
                break;
            }
        }
        Ok(())
    }

    /// What a choice comes to if the crew can breed everybody.
    fn uncounted(&self, choice: &[usize]) -> Cost {
        let pens: Vec<(&Pen, usize)> = self.open.pens.iter().zip(choice.iter().copied()).collect();
        let alone: usize = pens.iter().map(|(p, k)| self.open.held_alone(p, *k)).sum();
        let met = pens
            .iter()
            .enumerate()
            .map(|(n, (p, k))| pens[..n].iter().filter(|(q, j)| p.meets(*k, q, *j)).count());
        Cost {
            held: alone + met.sum::<usize>(),
            uncovered: 0,
            delay: choice.iter().sum(),
        }
    }

    /// The dues of the first pens and of the other groups.
    fn dated(&self, choice: &[usize]) -> DatedSeason {
        let pens = self.open.pens.iter().zip(choice.iter().copied());
        let mut dues: Vec<Due> = self.open.others.clone();
        dues.extend(pens.flat_map(|(p, k)| p.candidates[k].dues.clone()));
        DatedSeason::of(dues)
    }

    /// Head that is left at the least with the first pens begun so, whenever the others begin: pens
    /// left out can only take people away.
    fn left_at_least(&mut self, choice: &[usize]) -> u32 {
        if let Some(known) = self.bounds.get(choice) {
            return *known;
        }
        let dated = self.dated(choice);
        self.progress.worked(by_slot::work(self.season, &dated));
        let (due, bred) = by_slot::bound_by_slot(self.season, &dated);
        let mut left = due - bred;
        let longest = |t: &Technician| t.longest_day.or(self.season.rules.longest_day);
        let whole =
            self.season.sites.len() == 1 && self.season.crew.iter().all(|t| longest(t).is_none());
        if whole && left == 0 {
            // Nobody divides a day, or works a part of a session: counting is exact.
            left = due - count::covered_about(self.season, &dated).1;
        }
        self.bounds.insert(choice.to_vec(), left);
        left
    }

    fn cost(&mut self, choice: &[usize]) -> Result<Cost, Fault> {
        if let Some(known) = self.known.get(choice) {
            return Ok(*known);
        }
        let left = count::left(self.season, &self.dated(choice), true, self.progress)?;
        let cost = Cost {
            uncovered: left,
            ..self.uncounted(choice)
        };
        self.known.insert(choice.to_vec(), cost);
        Ok(cost)
    }
}
