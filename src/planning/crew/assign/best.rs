//! A part, solved: technicians sent to whole sessions where that breeds as many as could be; else
//! also on routes that divide a day, if these breed more.
//!
//! Whole sessions come first because most days nobody needs to divide a day. They are searched only
//! where routes do not breed more than fractions of people at whole sessions could.

use std::collections::BTreeMap;
use std::sync::atomic::AtomicBool;

use super::formulate::formulate;
use super::model::{Model, Ways};
use super::pricing::Component;
use super::reassign::reassigned;
use super::{columns, greedy, pricing};
use crate::base::progress::{Budget, Progress};
use crate::planning::crew::flow::guess::Guess;
use crate::planning::crew::flow::solve::{self, Solved};
use crate::planning::crew::routes::list::Known;
use crate::planning::crew::sessions::parts::{Part, Short};
use crate::planning::crew::sessions::unstaffed::Unstaffed;
use crate::planning::crew::unstaffed_of;
use crate::planning::dating::DatedSeason;
use crate::trade::season::Season;

/// How far to search where nothing would be proven by it: nodes times arcs.
const SHORT_SEARCH: usize = 400_000;

/// Arcs of a network in which no search is made to leave out a drive.
const LARGE: usize = 2_000;

/// With more routes than this not all of them are searched, but those worth looking at.
const MOST_SEARCHED: usize = 500;

/// So many of these.
const MOST_PRICED: usize = 300;

/// Where more than this share might still be bred, more routes are looked at;
const NEAR: f64 = 0.02;

/// so many.
const MOST_MORE: usize = 1_200;

/// Work of choosing routes anew in a part at the most, in about microseconds;
const MOST_ANEW: i64 = 3_000_000;

/// at the least for a plan, however much went before;
pub(crate) const ANEW: i64 = 2_000_000;

/// and for a plan that is only made to see how many it breeds.
pub(crate) const ANEW_ON_TRIAL: i64 = 100_000;

/// Work of choosing by plain rules for each route, in about microseconds.
const ROUTE: usize = 40;

/// How a part is bred.
pub(crate) struct Way {
    pub(crate) model: Model,
    pub(crate) solved: Solved,
    /// No way breeds more head than this.
    pub(crate) bound: u32,
    /// No way would breed more, had they straws for all.
    pub(crate) apart: u32,
    /// The routes that were searched, where anybody takes one.
    pub(crate) routes: Option<Known>,
}

impl Way {
    pub(crate) fn proven(&self) -> bool {
        self.solved.head >= self.bound
    }
}

/// A part to be bred.
#[derive(Clone, Copy)]
pub(crate) struct Task<'a> {
    pub(crate) season: &'a Season,
    pub(crate) dated: &'a DatedSeason,
    pub(crate) all_unstaffed: &'a [Unstaffed],
    pub(crate) part: &'a Part,
    pub(crate) short: &'a Short,
    /// True if only the head bred counts.
    pub(crate) only_head: bool,
    /// Work of choosing routes anew at the least. None are where it is 0.
    pub(crate) anew: i64,
}

impl<'a> Task<'a> {
    fn model(&self, ways: Ways) -> Model {
        let (dated, short) = (self.dated, self.short);
        formulate(
            self.season,
            dated,
            self.all_unstaffed,
            self.part,
            short,
            ways,
        )
    }

    /// The choice by plain rules.
    fn guess(&self, model: &Model, progress: &dyn Progress) -> Guess {
        progress.worked(ROUTE * model.columns.len());
        Guess {
            only_head: self.only_head,
            ..greedy::by_rule(self.season, self.here(), model)
        }
    }

    /// The model of these routes, and a choice of them by plain rules, for a search that need not end.
    fn of_routes(&self, routes: &Known, bound: u32, progress: &dyn Progress) -> (Model, Guess) {
        let model = self.model(Ways::Routes(routes));
        let guess = self.guess(&model, progress);
        let guess = Guess {
            bound: guess.bound.min(bound),
            node_arcs: SHORT_SEARCH,
            ..guess
        };
        (model, guess)
    }

    fn here(&self) -> Vec<&'a Unstaffed> {
        unstaffed_of(self.part, self.all_unstaffed)
    }

    /// Head due.
    fn due(&self) -> u32 {
        self.here().into_iter().map(Unstaffed::head).sum()
    }

    /// No more head can be bred for want of straws.
    fn straws(&self) -> u32 {
        let (mut all, mut shared) = (0, 0);
        let mut reserved: BTreeMap<(usize, usize), u32> = BTreeMap::new();
        for unstaffed in self.here() {
            for (due, lots) in unstaffed.dues.iter().zip(&unstaffed.lots) {
                let due = &self.dated.dues[*due];
                let group = due.group;
                let head: u32 = lots.iter().map(|l| l.head).sum();
                let bulls = &self.season.groups[group].bulls;
                if self.short.reserved.contains_key(&group) {
                    *reserved.entry((group, due.step)).or_default() += head;
                } else if bulls.iter().any(|b| self.short.bulls.contains_key(b)) {
                    shared += head;
                } else {
                    all += head;
                }
            }
        }
        for ((group, _), head) in reserved {
            all += head.min(self.short.reserved[&group]);
        }
        all + shared.min(self.short.bulls.values().sum())
    }
}

/// The best way found for a part.
pub(crate) fn best(task: Task<'_>, progress: &dyn Progress) -> Result<Way, String> {
    let model = task.model(Ways::Whole);
    let guess = task.guess(&model, progress);
    best_from(task, (model, &guess), true, progress)
}

/// Another way for a part that is bred by `way`, with people left out here and there: of whole
/// sessions if that is what it takes, else of the routes that are left of those searched. Its bounds
/// are those of the first. `None` for a large part where the plain rules breed fewer head.
pub(crate) fn again(
    task: Task<'_>,
    way: &Way,
    progress: &dyn Progress,
) -> Result<Option<Way>, String> {
    let mut model = task.model(Ways::Whole);
    let known = way.routes.as_ref();
    let known = known.map(|k| columns::left(&task.here(), &model, &way.model, k));
    if let Some(known) = &known {
        model = task.model(Ways::Routes(known));
    }
    let mut guess = task.guess(&model, progress);
    // As many are enough.
    guess.bound = guess.bound.min(way.solved.head);
    guess.node_arcs = SHORT_SEARCH / 50;
    let large = model.network.arcs.len() > LARGE;
    if large && guess.head(&task.here()) < way.solved.head {
        return Ok(None);
    }
    let solved = solve::solve(&model.network, &guess, progress)?;
    Ok(Some(Way {
        model,
        solved,
        bound: way.bound,
        apart: way.apart,
        routes: known,
    }))
}

/// No choice of whole sessions breeds more head.
fn most_whole(model: &Model, guess: &Guess, progress: &dyn Progress) -> Result<u32, String> {
    // Sessions kept apart to be on the safe side may yet go together.
    if model.wary {
        return Ok(guess.bound);
    }
    Ok(solve::most(&model.network, progress)?.min(guess.bound))
}

/// The same, with the model of whole sessions and a first choice at hand; days are divided only
/// where that is asked for.
pub(crate) fn best_from(
    task: Task<'_>,
    (model, guess): (Model, &Guess),
    divide: bool,
    progress: &dyn Progress,
) -> Result<Way, String> {
    let whole = |model: Model| -> Result<Way, String> {
        let solved = solve::solve(&model.network, guess, progress)?;
        // Sessions kept apart to be on the safe side may yet go together.
        Ok(Way {
            bound: if model.wary {
                guess.bound
            } else {
                solved.bound.min(guess.bound)
            },
            apart: guess.bound.min(task.due()),
            model,
            solved,
            routes: None,
        })
    };
    // By whole sessions after all, and no proof that routes would not breed more.
    let no_routes = |model: Model, bound: u32, apart: u32| -> Result<Way, String> {
        Ok(Way {
            bound,
            apart,
            ..whole(model)?
        })
    };
    if !divide || model.clashes.iter().all(Vec::is_empty) {
        return whole(model);
    }
    // Routes might breed more than anybody at whole sessions.
    let due = task.due();
    let supplied = due.min(task.straws());
    if guess.head(&task.here()) >= supplied || progress.stop() {
        return no_routes(model, supplied, due);
    }
    let (routed, components) = routed(task, &model, guess, progress)?;
    let Some(routed) = routed else {
        let way = no_routes(model, supplied, due)?;
        return better(task, way, &components, progress);
    };
    let (routed, solved) = routed.solved(task, progress)?;
    let among_routes = if routed.all {
        routed.bound.min(solved.bound)
    } else {
        routed.bound
    };
    // Who takes turns at boxes of a session does so only if sent there whole.
    let turns = !model.at_box.is_empty();
    let at_most = |routes: u32, whole: u32| if turns { routes.max(whole) } else { routes };
    let most_whole = most_whole(&model, guess, progress)?;
    let mut by_routes = Way {
        model: routed.model,
        bound: at_most(among_routes, most_whole).min(supplied),
        apart: at_most(routed.apart, guess.bound).min(due),
        solved,
        routes: Some(routed.routes),
    };
    if by_routes.solved.head > most_whole {
        return better(task, by_routes, &components, progress);
    }
    let whole = whole(model)?;
    by_routes.bound = at_most(among_routes, whole.bound).min(supplied);
    if whole.solved.head < by_routes.bound {
        by_routes = better(task, by_routes, &components, progress)?;
    }
    let Way { bound, apart, .. } = by_routes;
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

/// A way with other routes for a few technicians at a time, where these breed more; then the best of these and of
/// all routes known before; and so on, until nothing is better.
fn better(
    task: Task<'_>,
    mut way: Way,
    components: &[Component<'_>],
    progress: &dyn Progress,
) -> Result<Way, String> {
    if way.proven() || task.anew == 0 || components.is_empty() || progress.by_hand() {
        return Ok(way);
    }
    let work = progress.left().min(MOST_ANEW).max(task.anew);
    let progress = Budget::apart(progress, work);
    let here = task.here();
    let mut pool = way.routes.clone().unwrap_or_default();
    while !way.proven() {
        let plan = (&way.model, &way.solved);
        let Some(routes) = reassigned(task.season, &here, components, plan, &progress) else {
            break;
        };
        columns::join(&mut pool, &routes);
        let before = way.solved.head;
        for routes in [&routes, &pool] {
            let (model, guess) = task.of_routes(routes, way.bound, &progress);
            let solved = solve::solve(&model.network, &guess, &progress)?;
            if solved.head > way.solved.head {
                way = Way {
                    model,
                    solved,
                    routes: Some(routes.clone()),
                    ..way
                };
            }
        }
        if way.solved.head == before {
            break;
        }
    }
    Ok(way)
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
    fn solved(self, task: Task<'_>, progress: &dyn Progress) -> Result<(Self, Solved), String> {
        let solved = solve::solve(&self.model.network, &self.guess, progress)?;
        let near = f64::from(solved.head) >= f64::from(self.bound) * (1.0 - NEAR);
        if self.all || near || task.only_head || progress.stop() {
            return Ok((self, solved));
        }
        let mut routes = self.routes.clone();
        columns::more(
            task.season,
            &task.here(),
            &self.model,
            &mut routes,
            MOST_MORE,
            progress,
        );
        let (model, guess) = task.of_routes(&routes, self.bound, progress);
        let few = model.columns.len() <= MOST_SEARCHED;
        if !few && guess.head(&task.here()) <= solved.head {
            return Ok((self, solved));
        }
        let by_rule = AtomicBool::new(true);
        let progress = if few { progress } else { &by_rule };
        let better = solve::solve(&model.network, &guess, progress)?;
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

/// A model of routes: of all, if they are few, else of some; and who could take others. None if nothing is known
/// of any.
fn routed<'a>(
    task: Task<'a>,
    model: &Model,
    guess: &Guess,
    progress: &dyn Progress,
) -> Result<(Option<Routed>, Vec<Component<'a>>), String> {
    let here = task.here();
    let all = columns::all(task.season, &here, model, MOST_SEARCHED, progress);
    if let Some(routes) = all {
        let routed = among_all(task, guess, routes, progress)?;
        return Ok((Some(routed), Vec::new()));
    }
    let components = pricing::components(task.season, &here, model, progress);
    let routed = among_priced(task, model, &components, progress);
    Ok((routed, components))
}

/// These routes, which are all there are.
fn among_all(
    task: Task<'_>,
    whole: &Guess,
    routes: Known,
    progress: &dyn Progress,
) -> Result<Routed, String> {
    let model = task.model(Ways::Routes(&routes));
    let guess = task.guess(&model, progress);
    Ok(Routed {
        bound: solve::most(&model.network, progress)?.min(guess.bound.max(whole.bound)),
        apart: guess.bound.max(whole.bound),
        all: true,
        model,
        guess,
        routes,
    })
}

/// Some routes, where they are too many to try all.
fn among_priced(
    task: Task<'_>,
    whole: &Model,
    components: &[Component<'_>],
    progress: &dyn Progress,
) -> Option<Routed> {
    let here = task.here();
    let priced = pricing::priced(task.season, &here, whole, components, MOST_PRICED, progress)?;
    let (model, guess) = task.of_routes(&priced.routes, priced.bound, progress);
    Some(Routed {
        bound: priced.bound,
        apart: priced.bound,
        all: false,
        model,
        guess,
        routes: priced.routes,
    })
}

#[cfg(test)]
mod tests {
    use std::fmt::Write as _;

    use super::*;
    use crate::base::dice::Dice;
    use crate::planning::crew::sessions::gather;
    use crate::planning::crew::sessions::parts;
    use crate::planning::crew::sessions::unstaffed;

    /// Two or three corrals near each other, a group at each, and a few people with or without rules of
    /// rest and of the longest day.
    fn season(seed: u64) -> String {
        let mut dice = Dice::seeded(seed);
        let mut below = |n: u64| dice.below(n);
        let mut y =
            String::from("format: thawline.season/1\nname: Made\nzone: America/Denver\nsites:\n");
        let corrals = if seed.is_multiple_of(5) { 3 } else { 2 };
        for s in 0..corrals {
            let roads: Vec<String> = (s + 1..corrals)
                .map(|o| format!("s{o}: {}", 10 + 7 * below(12)))
                .collect();
            let boxes = 1 + below(2);
            let _ = writeln!(
                y,
                "  - {{id: s{s}, injections_head_per_hour: 60, breeding_boxes: {boxes}, minutes_to: {{{}}}}}",
                roads.join(", ")
            );
        }
        y += "groups:\n";
        for g in 0..corrals {
            let (head, hour) = (20 + below(40), 12 + below(5));
            let order = ["kept", "mixed"][below(2) as usize];
            let _ = writeln!(
                y,
                "  - {{id: g{g}, site: s{g}, class: cow, head: {head}, protocol: cow-7-day-co-synch-insert, start: \"2027-05-17T{hour}:00\", order: {order}, bulls: [Ash 1]}}"
            );
        }
        y += "crew:\n";
        for t in 0..=below(3) {
            let (minutes, site) = (40 + 5 * below(5), below(corrals));
            let day = ["", ", longest_day_hours: 7"][below(2) as usize];
            let _ = writeln!(
                y,
                "  - {{id: t{t}, minutes_per_cow: {}.{}, minutes_spread: 0.5, helper: true, home_site: s{site}{day}}}",
                minutes / 10,
                minutes % 10
            );
        }
        let rest = ["", ", rest_after_hours: 3, rest_minutes: 30"][below(2) as usize];
        y + &format!(
            "semen:\n  - {{bull: Ash 1, straws: 900}}\nrules: {{slot_minutes: 30{rest}}}\n"
        )
    }

    /// Where all routes can be listed, fractions of people on them breed no more than the bound by
    /// prices, and hardly less: it knows ways that come back to a session, and routes do not.
    #[test]
    fn the_bound_by_prices_holds_for_all_routes() {
        let library = crate::trade::protocol::Library::built_in();
        let (mut listed, mut just, mut ruled) = (0, 0, 0);
        for seed in 0..60 {
            let text = season(seed);
            let (season, _) = crate::trade::season::read("s.yaml", text.as_bytes(), &library)
                .unwrap_or_else(|e| panic!("{e}\n{text}"));
            let dated = crate::planning::dating::date(&season);
            let all_unstaffed = gather::sessions(&season, &dated, unstaffed::Slots::new(&season));
            let short = Short::default();
            for part in &parts::cut(&season, &dated, &all_unstaffed, &short) {
                let task = Task {
                    season: &season,
                    dated: &dated,
                    all_unstaffed: &all_unstaffed,
                    part,
                    short: &short,
                    only_head: false,
                    anew: 0,
                };
                let model = task.model(Ways::Whole);
                if model.clashes.iter().all(Vec::is_empty) {
                    continue;
                }
                let Some(routes) = columns::all(
                    &season,
                    &task.here(),
                    &model,
                    900,
                    &crate::base::progress::NoProgress,
                ) else {
                    continue;
                };
                let progress = crate::base::progress::NoProgress;
                let here = task.here();
                let components = pricing::components(&season, &here, &model, &progress);
                let priced =
                    pricing::priced(&season, &here, &model, &components, 300, &progress).unwrap();
                let all = task.model(Ways::Routes(&routes));
                let most = solve::most(&all.network, &progress).unwrap();
                assert!(most <= priced.bound, "{most} {}\n{text}", priced.bound);
                assert!(
                    priced.bound <= most + 1 + most / 50,
                    "{most} {}\n{text}",
                    priced.bound
                );
                listed += 1;
                just += usize::from(priced.bound == most);
                ruled += usize::from(text.contains("rest_after") || text.contains("longest"));
            }
        }
        assert!(
            listed >= 20 && ruled >= 10 && 10 * just >= 8 * listed,
            "{listed} {just} {ruled}"
        );
    }
}
