//! A part, solved: technicians sent to whole sessions where that breeds as many as could be; else
//! also on routes that divide a day, if these breed more.

use std::sync::atomic::AtomicBool;

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

/// Where more than this share might still be bred, more routes are looked at;
const NEAR: f64 = 0.005;

/// so many.
const MOST_MORE: usize = 1_200;

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
    let mut guess = send::by_rule(task.season, task.here(), &model);
    // As many are enough.
    guess.bound = guess.bound.min(way.solved.head);
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
    let whole = |model: Model| -> Result<Way, String> {
        let solved = solve::solve(&model.network, guess, watch)?;
        Ok(Way {
            bound: solved.bound.min(guess.bound),
            apart: guess.bound,
            model,
            solved,
            routes: None,
        })
    };
    if !divide || model.clashes.iter().all(Vec::is_empty) {
        return whole(model);
    }
    // Routes might breed more than anybody at whole sessions.
    let due = task.due();
    let supplied = due.min(task.straws());
    if guess.head(&task.here()) >= supplied || watch.stop() {
        return Ok(Way {
            bound: supplied,
            apart: due,
            ..whole(model)?
        });
    }
    let routed = match pieces::all(task.season, &task.here(), &model, MOST_SEARCHED) {
        Some(routes) => Some(among_all(task, guess, routes)?),
        None => among_priced(task, &model, watch),
    };
    let Some(routed) = routed else {
        return Ok(Way {
            bound: supplied,
            apart: due,
            ..whole(model)?
        });
    };
    let (routed, solved) = routed.solved(task, watch)?;
    let among_routes = if routed.all {
        routed.bound.min(solved.bound)
    } else {
        routed.bound
    };
    // Who takes turns at boxes of a session does so only if sent there whole.
    let turns = !model.at_box.is_empty();
    let at_most = |routes: u32, whole: u32| if turns { routes.max(whole) } else { routes };
    let most_whole = solve::most(&model.network)?.min(guess.bound);
    let by_routes = Way {
        model: routed.model,
        bound: at_most(among_routes, most_whole).min(supplied),
        apart: at_most(routed.apart, guess.bound),
        solved,
        routes: Some(routed.routes),
    };
    if by_routes.solved.head > most_whole {
        return Ok(by_routes);
    }
    let whole = whole(model)?;
    let bound = at_most(among_routes, whole.bound).min(supplied);
    let apart = by_routes.apart;
    let best = if by_routes.solved.head > whole.solved.head {
        by_routes
    } else {
        whole
    };
    Ok(Way {
        bound,
        apart,
        ..best
    })
}

/// A model of routes.
struct Routed {
    model: Model,
    guess: Guess,
    routes: Known,
    /// True if there are no others.
    all: bool,
    /// No routes breed more.
    bound: u32,
    /// Nor would they, had they straws for all.
    apart: u32,
}

impl Routed {
    /// Who takes which. Where much may be left to gain, more routes are looked at, by plain rules.
    fn solved(self, task: Task<'_>, watch: &dyn Watch) -> Result<(Self, Solved), String> {
        let solved = solve::solve(&self.model.network, &self.guess, watch)?;
        let near = f64::from(solved.head) >= f64::from(self.bound) * (1.0 - NEAR);
        if self.all || near || watch.stop() {
            return Ok((self, solved));
        }
        let mut routes = self.routes.clone();
        pieces::more(
            task.season,
            &task.here(),
            &self.model,
            &mut routes,
            MOST_MORE,
        );
        let model = task.model(Ways::Routes(&routes));
        let mut guess = send::by_rule(task.season, task.here(), &model);
        guess.bound = guess.bound.min(self.bound);
        let few = model.pieces.len() <= MOST_SEARCHED;
        if !few && guess.head(&task.here()) <= solved.head {
            return Ok((self, solved));
        }
        let by_rule = AtomicBool::new(true);
        let watch = if few { watch } else { &by_rule };
        let better = solve::solve(&model.network, &guess, watch)?;
        if better.head <= solved.head {
            return Ok((self, solved));
        }
        let more = Self {
            model,
            guess,
            routes,
            ..self
        };
        Ok((more, better))
    }
}

/// These routes, which are all there are.
fn among_all(task: Task<'_>, whole: &Guess, routes: Known) -> Result<Routed, String> {
    let model = task.model(Ways::Routes(&routes));
    let guess = send::by_rule(task.season, task.here(), &model);
    Ok(Routed {
        bound: solve::most(&model.network)?.min(guess.bound.max(whole.bound)),
        apart: guess.bound.max(whole.bound),
        all: true,
        model,
        guess,
        routes,
    })
}

/// Some routes, where they are too many to try all.
fn among_priced(task: Task<'_>, whole: &Model, watch: &dyn Watch) -> Option<Routed> {
    let priced = prices::priced(task.season, &task.here(), whole, MOST_PRICED, watch)?;
    let model = task.model(Ways::Routes(&priced.routes));
    let mut guess = send::by_rule(task.season, task.here(), &model);
    guess.bound = guess.bound.min(priced.bound);
    Some(Routed {
        bound: priced.bound,
        apart: priced.bound,
        all: false,
        model,
        guess,
        routes: priced.routes,
    })
}
