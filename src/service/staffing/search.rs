//! Climbs every ladder from the least change on, and takes two together where one does not suffice.

use std::cell::Cell;

use super::answer::Tried;
use super::candidate::{Candidate, all_applied, effort, last_holds_all};
use super::change::Change;
use super::evaluate::Brings;
use super::remedies::{Kind, Ladder, Neighborhood, finer};
use crate::base::error::Error;
use crate::trade::season::Season;

/// Pairs that are shown: each of them asks twice.
pub(super) const MOST_PAIRS: usize = 5;
/// Changes that suffice but bring warnings, before the first of them is taken.
const PATIENCE: usize = 8;
/// Seasons that are planned to see what they leave, at the most, where counting rules nothing out.
const MOST_TRIALS: u32 = 60;
/// Starts by half hours that are looked at about by minutes.
const FINER: usize = 3;
/// Points for a warning that a change brings, and for night work.
const WARNING_POINTS: u32 = 15;
const NIGHT_POINTS: u32 = 5;

/// Candidates that suffice; and those that lessen, with the head that each leaves at the least.
pub(super) type Singles = (Vec<Candidate>, Vec<(u32, Candidate)>);

/// What climbing a ladder came to.
#[derive(Default)]
struct Climbed {
    counted: u32,
    /// The fewest head left by any rung, and the first rung that leaves so few.
    fewest: Option<(u32, usize)>,
    /// The first rung that suffices in a plan of what is near.
    good: Option<usize>,
    /// What each rung that was counted leaves.
    lefts: Vec<(u32, usize)>,
}

pub(super) fn brought(brings: &Brings) -> u32 {
    let warnings = brings.iter().filter(|(warning, _)| *warning).count() as u32;
    WARNING_POINTS * warnings + NIGHT_POINTS * (brings.len() as u32 - warnings)
}

pub(super) struct Search<'a> {
    pub(super) field: &'a Neighborhood<'a>,
    /// For two changes together: at a coarser grain, of what is asked about alone.
    pub(super) coarse: &'a Neighborhood<'a>,
    pub(super) tried: Vec<Tried>,
    /// Seasons planned so far to see what they leave.
    pub(super) trials: Cell<u32>,
    /// Changes that do not suffice as planned, though another plan might: neither counting nor a
    /// bound rules them out.
    pub(super) doubt: Cell<u32>,
    /// What was not tried, or not all of it, as the search was stopped by hand.
    pub(super) not_tried: Vec<String>,
}

impl Search<'_> {
    pub(super) fn stopped(&self) -> bool {
        self.field.evaluator.stopped()
    }

    /// True if no more seasons are planned to see what they leave.
    pub(super) fn is_out_of_trials(&self) -> bool {
        self.trials.get() == MOST_TRIALS || self.field.evaluator.has_tried_enough()
    }

    pub(super) fn base(&self) -> &Season {
        self.field.evaluator.season
    }

    pub(super) fn candidate(&self, kinds: &[Kind], changes: Vec<Change>) -> Option<Candidate> {
        Some(Candidate {
            kinds: kinds.to_vec(),
            season: all_applied(self.base(), &changes)?,
            effort: effort(self.base(), &changes),
            changes,
            hopeful: true,
        })
    }

    /// Tries one rung: the head it leaves at the least, and whether it suffices; and what it brings.
    pub(super) fn rung(&self, changed: &Season) -> Result<(u32, Option<u32>), Error> {
        let evaluator = self.field.evaluator;
        let left = evaluator.left_at_least(changed);
        if left > 0 {
            return Ok((left, None));
        }
        if self.is_out_of_trials() {
            self.doubt.set(self.doubt.get() + 1);
            return Ok((evaluator.left_about(changed), None));
        }
        self.trials.set(self.trials.get() + 1);
        let trial = evaluator.trial(changed)?;
        if !trial.certain {
            self.doubt.set(self.doubt.get() + 1);
        }
        Ok((trial.left, trial.brings.as_ref().map(brought)))
    }

    fn climb(
        &self,
        season: &Season,
        ladder: &Ladder,
        mut patience: usize,
    ) -> Result<Climbed, Error> {
        let mut found = Climbed::default();
        // A shorter span of hours seldom covers more than the whole: the last rung decides.
        let whole_first = last_holds_all(season, ladder);
        if whole_first
            && let Some((n, last)) = ladder.iter().enumerate().next_back()
            && let Some(changed) = last.applied(season)
        {
            let (left, _) = self.rung(&changed)?;
            found.counted += 1;
            found.fewest = Some((left, n));
            if left > 0 {
                return Ok(found);
            }
        }
        let mut with_warnings: Option<(u32, usize)> = None;
        for (n, change) in ladder.iter().enumerate() {
            if self.stopped() {
                break;
            }
            let Some(changed) = change.applied(season) else {
                continue;
            };
            let (left, good) = self.rung(&changed)?;
            found.counted += 1;
            found.lefts.push((left, n));
            if found
                .fewest
                .is_none_or(|(f, at)| left < f || (left == f && n < at))
            {
                found.fewest = Some((left, n));
            }
            match good {
                Some(0) => {
                    found.good = Some(n);
                    return Ok(found);
                }
                Some(points) if with_warnings.is_none_or(|(p, _)| points < p) => {
                    with_warnings = Some((points, n));
                }
                _ => {}
            }
            if with_warnings.is_some() {
                patience -= 1;
                if patience == 0 {
                    break;
                }
            }
        }
        found.good = with_warnings.map(|(_, n)| n);
        Ok(found)
    }

    fn note(&mut self, kind: String, words: String, climbed: &[Climbed]) {
        self.tried.push(Tried {
            kind,
            words,
            counted: climbed.iter().map(|c| c.counted).sum(),
            fewest_left_head: climbed
                .iter()
                .filter_map(|c| c.fewest)
                .map(|(left, _)| left)
                .min(),
        });
    }

    /// Candidates that suffice by one change; and of each kind the one that lessens most, with the head
    /// that it leaves at the least, the fewest first.
    pub(super) fn singles(&mut self) -> Result<Singles, Error> {
        let mut good = Vec::new();
        let mut some: Vec<(u32, Candidate)> = Vec::new();
        for (n, &kind) in Kind::ALL.iter().enumerate() {
            if self.field.evaluator.stops_at(n, 2 * Kind::ALL.len()) {
                self.not_tried.push(kind.words().to_owned());
                continue;
            }
            let ladders = self.field.ladders(kind, self.base());
            let mut climbed = Vec::new();
            let mut best: Option<(u32, Candidate)> = None;
            for ladder in ladders {
                let mut ladder = ladder;
                let mut c = self.climb(self.base(), &ladder, PATIENCE)?;
                if kind == Kind::StartHour && c.good.is_none() {
                    // Half hours miss a few minutes that would do.
                    c.lefts.sort_unstable();
                    let near = c.lefts.iter().take(FINER).map(|(_, n)| &ladder[*n]);
                    let fine = finer(self.base(), &near.collect::<Vec<_>>());
                    let other = self.climb(self.base(), &fine, PATIENCE)?;
                    let fewer = |a: &Climbed, b: &Climbed| {
                        let left = |c: &Climbed| c.fewest.map_or(u32::MAX, |f| f.0);
                        left(a) < left(b)
                    };
                    let counted = c.counted + other.counted;
                    if other.good.is_some() || fewer(&other, &c) {
                        (ladder, c) = (fine, other);
                    }
                    c.counted = counted;
                }
                if let Some(n) = c.good {
                    good.extend(self.candidate(&[kind], vec![ladder[n].clone()]));
                } else if let Some((left, n)) = c.fewest
                    && left < self.field.evaluator.left
                    && let Some(candidate) = self.candidate(&[kind], vec![ladder[n].clone()])
                    && best
                        .as_ref()
                        .is_none_or(|(l, w)| (left, candidate.effort) < (*l, w.effort))
                {
                    best = Some((left, candidate.only_lessens()));
                }
                climbed.push(c);
            }
            self.note(kind.as_str().to_owned(), kind.words().to_owned(), &climbed);
            if self.stopped() {
                self.not_tried.push(kind.words().to_owned());
            }
            some.extend(best);
        }
        some.sort_by_key(|(left, candidate)| (*left, candidate.effort));
        Ok((good, some))
    }

    /// Rungs of a kind that another change is tried with: of each ladder the first and the one that
    /// leaves fewest; the fewest left come first.
    fn partners(&self, kind: Kind) -> Vec<(Ladder, usize)> {
        const MOST: usize = 4;
        let evaluator = self.field.evaluator;
        let mut found: Vec<(u32, Ladder, usize)> = Vec::new();
        for ladder in self.coarse.ladders(kind, self.base()) {
            let left: Vec<u32> = ladder
                .iter()
                .map(|c| {
                    c.applied(self.base())
                        .map_or(u32::MAX, |s| evaluator.left_about(&s))
                })
                .collect();
            let fewest = (0..left.len()).min_by_key(|n| (left[*n], *n));
            // Pens lend their number to other changes.
            let firsts = if kind == Kind::Pens { 3 } else { 1 };
            let mut rungs: Vec<usize> = fewest.into_iter().chain(0..firsts).collect();
            rungs.sort_unstable();
            rungs.dedup();
            for n in rungs
                .into_iter()
                .filter(|n| left.get(*n).is_some_and(|l| *l < u32::MAX))
            {
                found.push((left[n], ladder.clone(), n));
            }
        }
        found.sort_by_key(|(left, _, n)| (*left, *n));
        found.truncate(MOST);
        found.into_iter().map(|(_, l, n)| (l, n)).collect()
    }

    /// Candidates that suffice by two changes of different kinds; and the one that lessens most.
    pub(super) fn pairs(&mut self) -> Result<(Vec<Candidate>, Option<Candidate>), Error> {
        let mut good: Vec<Candidate> = Vec::new();
        let mut some: Option<(u32, Candidate)> = None;
        let mut climbed = Vec::new();
        for (n, &first) in Kind::ALL.iter().enumerate() {
            let kinds = Kind::ALL.len();
            if self.field.evaluator.stops_at(kinds + n, 2 * kinds) {
                break;
            }
            for (ladder, rung) in self.partners(first) {
                let Some(after) = ladder[rung].applied(self.base()) else {
                    continue;
                };
                for &second in &Kind::ALL[n + 1..] {
                    if self.stopped() {
                        break;
                    }
                    for other in self.coarse.ladders(second, &after) {
                        // What asks more than those found would not be shown.
                        let least = ladder[0].effort(self.base()) + other[0].effort(&after);
                        if good.len() >= MOST_PAIRS && good[MOST_PAIRS - 1].effort <= least {
                            continue;
                        }
                        let c = self.climb(&after, &other, 1)?;
                        if let Some(k) = c.good {
                            let least = self.least_first(&ladder, rung, &other[k])?;
                            let changes = vec![ladder[least].clone(), other[k].clone()];
                            good.extend(self.candidate(&[first, second], changes));
                            good.sort_by_key(|w| w.effort);
                        } else if let Some((left, k)) = c.fewest
                            && left < some.as_ref().map_or(self.field.evaluator.left, |(l, _)| *l)
                        {
                            let changes = vec![ladder[rung].clone(), other[k].clone()];
                            let candidate = self.candidate(&[first, second], changes);
                            some = candidate.map(|w| (left, w.only_lessens())).or(some);
                        }
                        climbed.push(c);
                    }
                }
            }
        }
        self.note(
            "two-together".to_owned(),
            "any two of these together".to_owned(),
            &climbed,
        );
        Ok((good, some.map(|(_, candidate)| candidate)))
    }

    /// The least of the first change that suffices with the second.
    fn least_first(&self, ladder: &Ladder, most: usize, second: &Change) -> Result<usize, Error> {
        for (n, first) in ladder.iter().enumerate().take(most) {
            let both = [first.clone(), second.clone()];
            if let Some(changed) = all_applied(self.base(), &both)
                && self.rung(&changed)?.1 == Some(0)
            {
                return Ok(n);
            }
        }
        Ok(most)
    }
}
