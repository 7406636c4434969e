//! When the pens of a group begin, where the season leaves that open: by slots between the group's
//! start and its latest.
//!
//! A pen that begins later has its later treatments and its breeding hours later by as much. Each
//! choice is judged by the real thing: chutes by the passes' own minutes, the crew by counting as
//! for a plan. Choices come from even spacing, from a mixed-integer model (`model`) which picks
//! starts and head together, and from moving one pen after the other. Where the choices are few,
//! all are tried. Best is, in this order: no chute wanted twice and no hours kept free; most head
//! bred; least delay in all.

mod candidates;
mod model;

use chrono::NaiveDateTime;

use self::candidates::{Open, Pen};
use super::{Fault, count};
use crate::error::{Code, Finding, quoted};
use crate::expand::{Due, Expanded};
use crate::season::{PenStarts, Season};

/// Choices that are all tried, at the most.
const MOST_TRIED: usize = 600;

/// Rounds of moving one pen after the other.
const MOST_ROUNDS: usize = 6;

/// What a choice comes to; less is better.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
struct Cost {
    /// Passes that meet in a chute, or lie in hours kept free.
    held: usize,
    uncovered: u32,
    delay: usize,
}

/// The season with a start for each pen of the groups that leave it open, and what to say of it.
///
/// # Errors
/// A [`Fault`] if the crew cannot be counted.
pub fn settle(season: &Season) -> Result<(Season, Vec<Finding>), Fault> {
    let open = candidates::open(season);
    let mut search = Search {
        season,
        open: &open,
        known: std::collections::BTreeMap::new(),
        all_tried: false,
    };
    let best = search.best()?;
    let cost = search.cost(&best)?;
    let proven = cost.uncovered == 0 && cost.held == 0 || search.all_tried;
    let mut settled = season.clone();
    let mut findings = Vec::new();
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
                    if proven {
                        ", the least delay found that serves most head"
                    } else {
                        "; other starts might serve more"
                    }
                ),
            )
            .at(group.start_place.clone())
            .hint("give `pen_starts` to fix them"),
        );
        group.pen_starts = PenStarts::Given(starts);
    }
    Ok((settled, findings))
}

struct Search<'a> {
    season: &'a Season,
    open: &'a Open,
    /// What was counted before, by candidate of each pen.
    known: std::collections::BTreeMap<Vec<usize>, Cost>,
    /// True if no choice was left out.
    all_tried: bool,
}

impl Search<'_> {
    /// The best choice found: a candidate for each pen.
    fn best(&mut self) -> Result<Vec<usize>, Fault> {
        let mut best = self.in_turn();
        if self.ways() <= MOST_TRIED {
            return self.try_all(best);
        }
        if self.is_ideal(&best)? {
            return Ok(best);
        }
        for choice in self.evenly() {
            self.keep_better(&mut best, choice)?;
        }
        self.improve(&mut best)?;
        if self.cost(&best)?.uncovered > 0
            && let Some(choice) = model::propose(self.season, self.open)
        {
            let mut other = choice;
            self.improve(&mut other)?;
            self.keep_better(&mut best, other)?;
        }
        Ok(best)
    }

    /// Everybody is bred, and no chute is wanted twice.
    fn is_ideal(&mut self, choice: &[usize]) -> Result<bool, Fault> {
        let cost = self.cost(choice)?;
        Ok(cost.held == 0 && cost.uncovered == 0)
    }

    fn ways(&self) -> usize {
        let each = self.open.pens.iter().map(|p| p.candidates.len());
        each.fold(1, usize::saturating_mul)
    }

    fn try_all(&mut self, mut best: Vec<usize>) -> Result<Vec<usize>, Fault> {
        let mut choice = vec![0; self.open.pens.len()];
        loop {
            self.keep_better(&mut best, choice.clone())?;
            let more = (0..choice.len()).find(|n| {
                choice[*n] += 1;
                let carry = choice[*n] == self.open.pens[*n].candidates.len();
                if carry {
                    choice[*n] = 0;
                }
                !carry
            });
            if more.is_none() {
                self.all_tried = true;
                return Ok(best);
            }
        }
    }

    fn keep_better(&mut self, best: &mut Vec<usize>, other: Vec<usize>) -> Result<(), Fault> {
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

    fn cost(&mut self, choice: &[usize]) -> Result<Cost, Fault> {
        if let Some(known) = self.known.get(choice) {
            return Ok(*known);
        }
        let pens = self.open.pens.iter().zip(choice.iter().copied());
        let mut dues: Vec<Due> = self.open.others.clone();
        dues.extend(pens.flat_map(|(p, k)| p.candidates[k].dues.clone()));
        dues.sort_by_key(|d| (d.safe_hours().earliest, d.group, d.pen, d.step));
        let expanded = Expanded {
            passes: Vec::new(),
            dues,
            heats: Vec::new(),
            findings: Vec::new(),
        };
        let counted = count::count_as_planned(self.season, &expanded)?;
        let cost = Cost {
            uncovered: counted.iter().map(|c| c.head - c.covered).sum(),
            ..self.uncounted(choice)
        };
        self.known.insert(choice.to_vec(), cost);
        Ok(cost)
    }
}
