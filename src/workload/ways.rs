//! A part, solved: technicians sent to whole sessions where that breeds as many as could be; else
//! also on routes that divide a day, if these breed more.

use super::crew::Shape;
use super::formulate::{Model, Ways, formulate};
use super::parts::Part;
use super::pieces;
use super::prices::{self, Known};
use super::send::{self, Guess};
use super::shapes_of;
use super::solve::{self, Solved};
use super::straws::Short;
use crate::expand::Expanded;
use crate::season::Season;
use crate::watch::Watch;

/// With more routes than this not all of them are searched, but those worth looking at.
const MOST_SEARCHED: usize = 500;

/// So many of these.
const MOST_PRICED: usize = 300;

/// How a part is bred.
pub(super) struct Way {
    pub(super) model: Model,
    pub(super) solved: Solved,
    /// No way breeds more head than this.
    pub(super) bound: u32,
    /// No way would breed more, had they straws for all.
    pub(super) apart: u32,
    /// The routes that were searched, where anybody takes one.
    pub(super) routes: Option<Known>,
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

    /// Head due.
    fn due(&self) -> u32 {
        let here = self.here().into_iter();
        here.flat_map(|s| s.lots.iter().flatten())
            .map(|l| l.head)
            .sum()
    }

    /// No more head can be bred for want of straws.
    fn straws(&self) -> u32 {
        let (mut all, mut shared) = (0, 0);
        for shape in self.here() {
            for (due, lots) in shape.dues.iter().zip(&shape.lots) {
                let group = self.expanded.dues[*due].group;
                let head: u32 = lots.iter().map(|l| l.head).sum();
                let bulls = &self.season.groups[group].bulls;
                if let Some(straws) = self.short.reserved.get(&group) {
                    all += head.min(*straws);
                } else if bulls.iter().any(|b| self.short.bulls.contains_key(b)) {
                    shared += head;
                } else {
                    all += head;
                }
            }
        }
        all + shared.min(self.short.bulls.values().sum())
    }
}

/// The best way found for a part.
pub(super) fn best(task: Task<'_>, watch: &dyn Watch) -> Result<Way, String> {
    let model = task.model(Ways::Whole);
    let guess = send::by_rule(task.season, task.here(), &model);
    best_from(task, (model, &guess), true, watch)
}

/// Another way for a part that is bred by `way`, with people left out here and there: of whole
/// sessions if that is what it takes, else of the routes that are left of those searched. Its bounds
/// are those of the first.
pub(super) fn again(task: Task<'_>, way: &Way, watch: &dyn Watch) -> Result<Way, String> {
    let mut model = task.model(Ways::Whole);
    let known = way.routes.as_ref();
    let known = known.map(|k| pieces::left(&task.here(), &model, &way.model, k));
    if let Some(known) = &known {
        model = task.model(Ways::Routes(known));
    }
    let guess = send::by_rule(task.season, task.here(), &model);
    let solved = solve::solve(&model.network, &guess, watch)?;
    Ok(Way {
        model,
        solved,
        bound: way.bound,
        apart: way.apart,
        routes: known,
    })
}

/// The same, with the model of whole sessions and a first choice at hand; days are divided only
/// where that is asked for.
pub(super) fn best_from(
    task: Task<'_>,
    (model, guess): (Model, &Guess),
    divide: bool,
    watch: &dyn Watch,
) -> Result<Way, String> {
    let solved = solve::solve(&model.network, guess, watch)?;
    let divided = divide && model.clashes.iter().any(|c| !c.is_empty());
    let due = task.due();
    let whole = Way {
        bound: solved.bound.min(guess.bound),
        apart: guess.bound,
        model,
        solved,
        routes: None,
    };
    if !divided {
        return Ok(whole);
    }
    // Routes might breed more than anybody at whole sessions.
    let supplied = due.min(task.straws());
    if whole.solved.head >= supplied || watch.stop() {
        return Ok(Way {
            bound: supplied,
            apart: due,
            ..whole
        });
    }
    match pieces::all(task.season, &task.here(), &whole.model, MOST_SEARCHED) {
        Some(routes) => among_all(task, whole, guess, routes, watch),
        None => among_priced(task, whole, supplied, watch),
    }
}

/// The better of whole sessions and of these routes, which are all there are.
fn among_all(
    task: Task<'_>,
    whole: Way,
    guess: &Guess,
    routes: Known,
    watch: &dyn Watch,
) -> Result<Way, String> {
    let model = task.model(Ways::Routes(&routes));
    let guess_of_routes = send::by_rule(task.season, task.here(), &model);
    let apart = guess_of_routes.bound.max(guess.bound);
    // Who takes turns at boxes of a session does so only if sent there whole.
    let or_turns = |bound: u32| {
        let turns = !whole.model.at_box.is_empty();
        if turns { bound.max(whole.bound) } else { bound }.min(apart)
    };
    let most = solve::most(&model.network)?;
    if most <= whole.solved.head {
        let bound = or_turns(most);
        return Ok(Way {
            bound,
            apart,
            ..whole
        });
    }
    let solved = solve::solve(&model.network, &guess_of_routes, watch)?;
    let bound = or_turns(solved.bound);
    Ok(if solved.head > whole.solved.head {
        Way {
            model,
            solved,
            bound,
            apart,
            routes: Some(routes),
        }
    } else {
        Way {
            bound,
            apart,
            ..whole
        }
    })
}

/// The better of whole sessions and of some routes, where they are too many to try all.
fn among_priced(
    task: Task<'_>,
    whole: Way,
    supplied: u32,
    watch: &dyn Watch,
) -> Result<Way, String> {
    let priced = prices::priced(task.season, &task.here(), &whole.model, MOST_PRICED, watch);
    let Some(priced) = priced else {
        return Ok(Way {
            bound: supplied,
            apart: task.due(),
            ..whole
        });
    };
    let turns = !whole.model.at_box.is_empty();
    let apart = if turns {
        priced.bound.max(whole.apart)
    } else {
        priced.bound
    };
    let bound = if turns {
        priced.bound.max(whole.bound)
    } else {
        priced.bound
    };
    let bound = bound.min(supplied);
    if whole.solved.head >= bound {
        return Ok(Way {
            bound,
            apart,
            ..whole
        });
    }
    let model = task.model(Ways::Routes(&priced.routes));
    let guess = send::by_rule(task.season, task.here(), &model);
    let solved = solve::solve(&model.network, &guess, watch)?;
    Ok(if solved.head > whole.solved.head {
        Way {
            model,
            solved,
            bound,
            apart,
            routes: Some(priced.routes),
        }
    } else {
        Way {
            bound,
            apart,
            ..whole
        }
    })
}
