//! Routes as decisions: how many of a class of technicians take each.

use super::model::{Class, Model, RouteColumn, able_of, road};
use crate::base::progress::Progress;
use crate::planning::crew::flow::network::{Decision, Limit};
use crate::planning::crew::routes::list::{Known, Route, Visit, routes, some_routes};
use crate::planning::crew::sessions::unstaffed::Unstaffed;
use crate::trade::season::Season;

/// Every route of each class that cannot be everywhere, unless they are more than `most`.
pub(crate) fn all(
    season: &Season,
    here: &[&Unstaffed],
    model: &Model,
    most: usize,
    progress: &dyn Progress,
) -> Option<Known> {
    let mut left = most;
    let mut known = Known::new();
    for (class, components) in model.classes.iter().zip(&model.components) {
        let mut of_class = Vec::new();
        for component in components {
            let found = routes(season, here, component, class.members[0], progress)?;
            left = left.checked_sub(found.len())?;
            of_class.push(found);
        }
        known.push(of_class);
    }
    Some(known)
}

/// More routes beside those known, so many in all.
pub(crate) fn more(
    season: &Season,
    here: &[&Unstaffed],
    model: &Model,
    known: &mut Known,
    most: usize,
    progress: &dyn Progress,
) {
    let each = most / model.components.iter().map(Vec::len).sum::<usize>().max(1);
    for ((class, components), of_class) in model.classes.iter().zip(&model.components).zip(known) {
        for (component, routes) in components.iter().zip(of_class) {
            for route in some_routes(season, here, component, class.members[0], each, progress) {
                if !routes.contains(&route) {
                    routes.push(route);
                }
            }
        }
    }
}

/// Adds routes that are not known yet.
pub(crate) fn join(known: &mut Known, others: &Known) {
    known.resize(others.len(), Vec::new());
    for (known, others) in known.iter_mut().zip(others) {
        known.resize(others.len(), Vec::new());
        for (known, others) in known.iter_mut().zip(others) {
            for route in others {
                if !known.contains(route) {
                    known.push(route.clone());
                }
            }
        }
    }
}

/// Of the routes known for another model of the same sessions, those that are left with people
/// missing here and there.
pub(crate) fn left(here: &[&Unstaffed], model: &Model, before: &Model, known: &Known) -> Known {
    let of_class = |(class, components): (&Class, &Vec<Vec<usize>>)| {
        let who = class.members[0];
        let was = before.classes.iter().position(|c| c.members.contains(&who));
        let all: Vec<&Route> = was.map_or_else(Vec::new, |c| known[c].iter().flatten().collect());
        let mut of_class: Vec<Vec<Route>> = Vec::new();
        for component in components {
            let can = |v: &Visit| {
                component.contains(&v.session) && able_of(here[v.session], class).is_some()
            };
            let mine = all.iter().filter(|r| r.iter().all(can));
            of_class.push(mine.map(|r| (*r).clone()).collect());
        }
        of_class
    };
    let classes = model.classes.iter().zip(&model.components);
    classes.map(of_class).collect()
}

/// Decisions who takes which route, for a class that cannot be everywhere.
pub(crate) fn add(
    season: &Season,
    here: &[&Unstaffed],
    model: &mut Model,
    c: usize,
    known: &[Vec<Route>],
) {
    let technician = model.classes[c].members[0];
    let size = model.classes[c].members.len() as u32;
    let tied = model.components[c].iter().flatten().map(|s| (c, *s));
    model.routed.extend(tied);
    for (component, routes) in known.iter().enumerate() {
        let mut all = Vec::new();
        for route in routes {
            let road: i64 = road_of(season, here, technician, route);
            let cost = road / season.rules.grain().num_minutes().max(1);
            model.network.decisions.push(Decision { most: size, cost });
            let decision = model.network.decisions.len() - 1;
            all.push(decision);
            model.columns.push(RouteColumn {
                class: c,
                component,
                route: route.clone(),
                decision,
            });
        }
        model.network.limits.push(Limit {
            plus: all,
            minus: Vec::new(),
            most: size,
        });
    }
}

/// Minutes on the road to the first session of a route and on to the others.
fn road_of(season: &Season, here: &[&Unstaffed], technician: usize, route: &Route) -> i64 {
    let site = |v: &Visit| here[v.session].site;
    let between = route.windows(2).map(|w| {
        let road = season.sites[site(&w[0])].road[site(&w[1])];
        road.num_minutes()
    });
    road(season, technician, site(&route[0])) + between.sum::<i64>()
}
