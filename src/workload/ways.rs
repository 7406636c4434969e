//! A part, solved: technicians sent to whole sessions where that breeds as many as could be; else
//! also on routes that divide a day, if these breed more.

use std::sync::atomic::AtomicBool;

use super::crew::Shape;
use super::formulate::{Model, Ways, formulate};
use super::parts::Part;
use super::send::{self, Guess};
use super::shapes_of;
use super::solve::{self, Solved};
use super::straws::Short;
use crate::expand::Expanded;
use crate::season::Season;
use crate::watch::Watch;

/// With more routes than this the plain rules' choice of them is not searched any further.
const MOST_SEARCHED: usize = 500;

/// How a part is bred.
pub(super) struct Way {
    pub(super) model: Model,
    pub(super) solved: Solved,
    /// No way breeds more head than this.
    pub(super) bound: u32,
    /// What the sessions could breed each by itself, had they straws for all.
    pub(super) apart: u32,
}

impl Way {
    pub(super) fn proven(&self) -> bool {
        self.solved.head >= self.bound
    }
}

/// A part to be bred.
#[derive(Clone, Copy)]
pub(super) struct Task<'a> {
    pub(super) season: &'a Season,
    pub(super) expanded: &'a Expanded,
    pub(super) shapes: &'a [Shape],
    pub(super) part: &'a Part,
    pub(super) short: &'a Short,
}

impl<'a> Task<'a> {
    fn model(&self, ways: Ways) -> Model {
        let (expanded, short) = (self.expanded, self.short);
        formulate(self.season, expanded, self.shapes, self.part, short, ways)
    }

    fn here(&self) -> Vec<&'a Shape> {
        shapes_of(self.part, self.shapes)
    }
}

/// The best way found for a part.
pub(super) fn best(task: Task<'_>, watch: &dyn Watch) -> Result<Way, String> {
    let model = task.model(Ways::Whole);
    let guess = send::by_rule(task.season, task.here(), &model);
    best_from(task, (model, &guess), Ways::Split, watch)
}

/// The same, with the model of whole sessions and a first choice at hand; with days divided only
/// where that is asked for.
pub(super) fn best_from(
    task: Task<'_>,
    (model, guess): (Model, &Guess),
    ways: Ways,
    watch: &dyn Watch,
) -> Result<Way, String> {
    let solved = solve::solve(&model.network, guess, watch)?;
    let divided = model.clashes.iter().any(|c| !c.is_empty());
    let whole = Way {
        bound: solved.bound.min(guess.bound),
        apart: guess.bound,
        model,
        solved,
    };
    if whole.solved.head >= guess.bound || !divided || ways == Ways::Whole {
        return Ok(whole);
    }
    if watch.stop() {
        // A search of routes might have bred more.
        let bound = guess.bound;
        return Ok(Way { bound, ..whole });
    }
    let model = task.model(Ways::Split);
    if model.pieces.is_empty() {
        return Ok(Way {
            bound: guess.bound,
            ..whole
        });
    }
    let guess_of_routes = send::by_rule(task.season, task.here(), &model);
    let apart = guess_of_routes.bound.max(guess.bound);
    let many = model.pieces.len() > MOST_SEARCHED;
    if many {
        // The plain rules' routes stand.
        let solved = solve::solve(&model.network, &guess_of_routes, &AtomicBool::new(true))?;
        let better = solved.head > whole.solved.head;
        return Ok(Way {
            bound: apart,
            ..if better {
                Way {
                    model,
                    solved,
                    ..whole
                }
            } else {
                whole
            }
        });
    }
    // Who takes turns at boxes of a session does so only if sent there whole.
    let turns = !whole.model.at_box.is_empty();
    let most = solve::most(&model.network)?;
    // Without routes for everybody nothing but each session by itself bounds what they do.
    let bound = if model.complete { most } else { apart };
    let bound = if turns { bound.max(whole.bound) } else { bound };
    if most <= whole.solved.head {
        return Ok(Way {
            bound: bound.min(apart),
            ..whole
        });
    }
    let solved = solve::solve(&model.network, &guess_of_routes, watch)?;
    let bound = match (model.complete, turns) {
        (false, _) => apart,
        (true, false) => solved.bound.min(apart),
        (true, true) => solved.bound.max(whole.bound).min(apart),
    };
    if solved.head > whole.solved.head {
        Ok(Way {
            model,
            solved,
            bound,
            apart,
        })
    } else {
        Ok(Way { bound, ..whole })
    }
}
