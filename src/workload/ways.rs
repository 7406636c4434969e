//! A part, solved: technicians sent to whole sessions where that breeds as many as could be; else
//! also on routes that divide a day, if these breed more.

use super::crew::Shape;
use super::formulate::{Model, Ways, formulate};
use super::parts::Part;
use super::send::{self, Guess};
use super::shapes_of;
use super::solve::{self, Solved};
use super::straws::Short;
use crate::expand::Expanded;
use crate::season::Season;

/// How a part is bred.
pub(super) struct Way {
    pub(super) model: Model,
    pub(super) solved: Solved,
    /// No way breeds more head than this.
    pub(super) bound: u32,
}

impl Way {
    pub(super) fn proven(&self) -> bool {
        self.solved.head >= self.bound
    }
}

/// The best way found for a part.
pub(super) fn best(
    season: &Season,
    expanded: &Expanded,
    shapes: &[Shape],
    part: &Part,
    short: &Short,
) -> Result<Way, String> {
    let model = formulate(season, expanded, shapes, part, short, Ways::Whole);
    let guess = send::by_rule(season, shapes_of(part, shapes), &model);
    let first = (model, &guess);
    best_from(season, expanded, shapes, part, short, first, Ways::Split)
}

/// The same, with the model of whole sessions and a first choice at hand; with days divided only
/// where that is asked for.
pub(super) fn best_from(
    season: &Season,
    expanded: &Expanded,
    shapes: &[Shape],
    part: &Part,
    short: &Short,
    (model, guess): (Model, &Guess),
    ways: Ways,
) -> Result<Way, String> {
    let solved = solve::solve(&model.network, guess)?;
    let divided = model.clashes.iter().any(|c| !c.is_empty());
    let whole = Way {
        bound: solved.bound.min(guess.bound),
        model,
        solved,
    };
    if whole.solved.head >= guess.bound || !divided || ways == Ways::Whole {
        return Ok(whole);
    }
    let model = formulate(season, expanded, shapes, part, short, Ways::Split);
    // Who takes turns at boxes of a session does so only if sent there whole.
    let turns = !whole.model.at_box.is_empty();
    let most = solve::most(&model.network)?;
    // Without routes for everybody nothing but each session by itself bounds what they do.
    let bound = if model.complete { most } else { guess.bound };
    let bound = if turns { bound.max(whole.bound) } else { bound };
    if most <= whole.solved.head {
        return Ok(Way {
            bound: bound.min(guess.bound),
            ..whole
        });
    }
    let guess_of_routes = send::by_rule(season, shapes_of(part, shapes), &model);
    let solved = solve::solve(&model.network, &guess_of_routes)?;
    let bound = match (model.complete, turns) {
        (false, _) => guess.bound,
        (true, false) => solved.bound.min(guess.bound),
        (true, true) => solved.bound.max(whole.bound).min(guess.bound),
    };
    if solved.head > whole.solved.head {
        Ok(Way {
            model,
            solved,
            bound,
        })
    } else {
        Ok(Way { bound, ..whole })
    }
}
