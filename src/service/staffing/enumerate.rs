//! Where nothing was found that covers: every change, and every two of different kinds, so that
//! "nothing helps" is known and not guessed.
//!
//! Of changes that only add hours, the last of a ladder rules out all before it, by a bound that never
//! falls with more hours. All others are counted one by one.
//!
//! The search for pairs takes the most hopeful change of each kind: it finds what helps, but proves
//! nothing. What counting lets through here is planned near the hours; whether such a plan is the best
//! is known from its own bound, if all days that hang together with it are small enough to plan. Else
//! it is `undecided`. With too many pairs `every_pair_counted` is false. `proven` says that neither
//! happened.

use super::candidate::{Candidate, all_applied, last_holds_all};
use super::change::Change;
use super::remedies::{Kind, Ladder};
use super::search::Search;
use crate::base::error::Error;
use crate::trade::season::Season;

/// Changes that are counted, at the most; in a season of many groups each takes longer.
const MOST_COUNTED: u32 = 20_000;
const MOST_COUNTED_OF_MANY: u32 = 2_000;
/// Changes that are counted to make a ladder of pens' starts, about.
const TO_STAGGER: u32 = 50;

/// True if a ladder only adds hours of work: whatever an earlier change allows, the last does.
fn adds_hours(kind: Kind, season: &Season, ladder: &Ladder) -> bool {
    kind == Kind::Shifts || last_holds_all(season, ladder)
}

struct Enumeration<'a, 'b> {
    search: &'b Search<'a>,
    counted: u32,
    most: u32,
    good: Vec<Candidate>,
}

impl Enumeration<'_, '_> {
    fn left_by_hours(&mut self, season: &Season) -> u32 {
        self.counted += 1;
        self.search.field.evaluator.left_by_hours(season)
    }

    /// True with too many to count; and once one is in doubt and no more seasons are planned: then nothing
    /// further can be found or proven.
    fn is_too_much(&self) -> bool {
        self.counted >= self.most || (self.search.is_out_of_trials() && self.search.doubt.get() > 0)
    }

    fn is_over(&self) -> bool {
        self.is_too_much() || !self.good.is_empty() || self.search.stopped()
    }

    /// Counts a change, or two, to the end.
    fn decide(
        &mut self,
        kinds: &[Kind],
        changes: Vec<Change>,
        season: &Season,
    ) -> Result<(), Error> {
        if self.left_by_hours(season) == 0 && self.search.rung(season)?.1.is_some() {
            self.good.extend(self.search.candidate(kinds, changes));
        }
        Ok(())
    }

    fn base(&self) -> Season {
        self.search.base().clone()
    }

    /// True if a ladder only adds hours, and not even its last change suffices by counting.
    fn ruled_out(&mut self, kind: Kind, season: &Season, ladder: &Ladder) -> bool {
        adds_hours(kind, season, ladder)
            && ladder
                .last()
                .and_then(|c| c.applied(season))
                .is_some_and(|all| self.left_by_hours(&all) > 0)
    }

    fn alone(&mut self, kind: Kind, ladder: &Ladder) -> Result<(), Error> {
        let base = self.base();
        if self.ruled_out(kind, &base, ladder) {
            return Ok(());
        }
        for change in ladder {
            if self.is_over() {
                return Ok(());
            }
            if let Some(season) = change.applied(&base) {
                self.decide(&[kind], vec![change.clone()], &season)?;
            }
        }
        Ok(())
    }

    fn pairs(&mut self, first: Kind, second: Kind, ladder: &Ladder) -> Result<(), Error> {
        let base = self.base();
        let field = self.search.coarse;
        // The first changes that stand for all of their ladder.
        let first_adds = adds_hours(first, &base, ladder);
        let heads = if first_adds {
            ladder.len().saturating_sub(1)..ladder.len()
        } else {
            0..ladder.len()
        };
        for at in heads {
            let Some(after) = ladder[at].applied(&base) else {
                continue;
            };
            if second == Kind::PenStarts {
                self.counted += TO_STAGGER;
            }
            if self.is_over() {
                return Ok(());
            }
            for other in field.ladders(second, &after) {
                if self.ruled_out(second, &after, &other) {
                    continue;
                }
                for change in &other {
                    if self.is_over() {
                        return Ok(());
                    }
                    let Some(both) = change.applied(&after) else {
                        continue;
                    };
                    if !first_adds {
                        let two = vec![ladder[at].clone(), change.clone()];
                        self.decide(&[first, second], two, &both)?;
                        continue;
                    }
                    if self.left_by_hours(&both) > 0 {
                        continue;
                    }
                    for less in ladder {
                        let two = vec![less.clone(), change.clone()];
                        if let Some(season) = all_applied(&base, &two) {
                            self.decide(&[first, second], two, &season)?;
                        }
                        if self.is_over() {
                            return Ok(());
                        }
                    }
                }
            }
        }
        Ok(())
    }
}

impl Search<'_> {
    /// Counts every change and every two, until one suffices: the candidates that do; and true if none does,
    /// and there were not too many to count.
    pub(super) fn enumerate(&mut self, many: bool) -> Result<(Vec<Candidate>, bool), Error> {
        // What was doubted before is looked at again.
        self.doubt.set(0);
        let mut enumeration = Enumeration {
            search: self,
            counted: 0,
            most: if many {
                MOST_COUNTED_OF_MANY
            } else {
                MOST_COUNTED
            },
            good: Vec::new(),
        };
        for (n, &kind) in Kind::ALL.iter().enumerate() {
            if enumeration.search.stopped() {
                break;
            }
            for ladder in enumeration
                .search
                .coarse
                .ladders(kind, enumeration.search.base())
            {
                enumeration.alone(kind, &ladder)?;
                for &second in &Kind::ALL[n + 1..] {
                    enumeration.pairs(kind, second, &ladder)?;
                }
            }
        }
        let too_much = enumeration.is_too_much();
        let (good, counted) = (enumeration.good, enumeration.counted);
        let two = self.tried.iter_mut().find(|t| t.kind == "two-together");
        if let Some(two) = two {
            two.counted += counted;
        }
        let all_counted = !too_much && good.is_empty();
        Ok((good, all_counted))
    }
}
