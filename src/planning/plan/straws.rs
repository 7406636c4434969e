//! Which straws, of those set aside for a group, each session takes. One answer for the plan and for
//! all who read it.

use std::collections::BTreeMap;

use super::{BullStraws, DuePen, Group, Plan, Session, Work};
use crate::trade::season::Season;

/// Straws of a bull that a session takes for a group.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct Want {
    /// The group, by its place in the plan.
    pub(crate) group: usize,
    /// The bull, by his place in the season.
    pub(crate) bull: usize,
    /// Whether they are sexed; none if any will do.
    pub(crate) sexed: Option<bool>,
    pub(crate) straws: u32,
    /// The step of a group that is planned for two breedings.
    pub(crate) step: Option<String>,
}

/// The straw of a known animal: its bull, by his place in the season, and whether it is sexed.
type Own = (usize, bool);

/// Straws set aside of one bull, of one sort or of any, and not yet taken.
#[derive(Clone, Copy)]
struct Aside {
    bull: usize,
    sexed: Option<bool>,
    left: u32,
}

impl Aside {
    fn is_of(self, bull: usize, sexed: bool) -> bool {
        self.bull == bull && self.sexed.is_none_or(|s| s == sexed)
    }
}

/// For each group whether it is planned whole for both of its breedings.
fn twice(plan: &Plan) -> Vec<bool> {
    let mut due: BTreeMap<&str, u32> = BTreeMap::new();
    for pass in plan.passes.iter().filter(|p| p.work == Work::Breeding) {
        *due.entry(&pass.group).or_default() += pass.head;
    }
    let groups = plan.groups.iter();
    groups
        .map(|g| due.get(g.id.as_str()).copied().unwrap_or(0) > g.pen_head.iter().sum())
        .collect()
}

/// What each session takes for each group: where its animals are known by their order, the straws
/// of those it breeds, else of the straws set aside for it the first bull's first.
pub(crate) fn wants(season: &Season, plan: &Plan) -> Vec<Vec<Want>> {
    let bulls = season.bulls_by_id();
    let groups = plan.groups.iter().enumerate();
    let groups: BTreeMap<&str, usize> = groups.map(|(n, g)| (g.id.as_str(), n)).collect();
    let passes = plan.passes.iter();
    let steps: BTreeMap<&str, &str> = passes.map(|p| (p.id.as_str(), p.step.as_str())).collect();
    let twice = twice(plan);
    // Straws left of those set aside; for each breeding of a group that is planned for two.
    let mut aside: BTreeMap<(usize, Option<&str>), Vec<Aside>> = BTreeMap::new();
    // Straws of the matings of animals that are bred later: nobody else's, as long as there are others.
    // The order is known of groups alone that are bred once.
    let mut to_come: BTreeMap<usize, Vec<Own>> = BTreeMap::new();
    for (s, pen) in plan
        .sessions
        .iter()
        .flat_map(|s| s.pens.iter().map(move |p| (s, p)))
    {
        if let Some(group) = groups.get(pen.group.as_str()).copied() {
            let own = own_straws(&plan.groups[group], s, pen, &bulls);
            to_come.entry(group).or_default().extend(own);
        }
    }
    let of_session = |s: &Session| {
        let mut all = Vec::new();
        for pen in &s.pens {
            let Some(group) = groups.get(pen.group.as_str()).copied() else {
                continue;
            };
            let step = steps.get(pen.pass.as_str()).filter(|_| twice[group]);
            let mine = aside
                .entry((group, step.copied()))
                .or_insert_with(|| set_aside(&plan.groups[group], &bulls));
            let own = own_straws(&plan.groups[group], s, pen, &bulls);
            let to_come = to_come.entry(group).or_default();
            for straw in &own {
                if let Some(n) = to_come.iter().position(|t| t == straw) {
                    to_come.swap_remove(n);
                }
            }
            for (from, straws) in taken(mine, &own, to_come, pen.bred_head) {
                all.push(Want {
                    group,
                    bull: from.bull,
                    sexed: from.sexed,
                    straws,
                    step: step.map(|s| (*s).to_owned()),
                });
            }
        }
        all
    };
    plan.sessions.iter().map(of_session).collect()
}

/// A group's straws; conventional before sexed ones.
fn set_aside(group: &Group, bulls: &BTreeMap<&str, usize>) -> Vec<Aside> {
    let mut all = Vec::new();
    for of in &group.straws {
        let Some(bull) = bulls.get(of.bull.as_str()).copied() else {
            continue;
        };
        let lots = match of.sexed_straws {
            None => vec![(None, of.straws)],
            Some(n) => vec![(Some(false), of.straws.saturating_sub(n)), (Some(true), n)],
        };
        all.extend(
            lots.into_iter()
                .map(|(sexed, left)| Aside { bull, sexed, left }),
        );
    }
    all
}

/// The straws of the animals that a session breeds of a pen, where their order is known.
fn own_straws(
    group: &Group,
    session: &Session,
    pen: &DuePen,
    bulls: &BTreeMap<&str, usize>,
) -> Vec<Own> {
    if group.animals_in_order.is_none() {
        return Vec::new();
    }
    let slots = session.slots.iter().filter(|s| s.pass == pen.pass);
    let animals = slots.flat_map(|s| s.animals.iter().map(|a| (s.pen, *a)));
    animals
        .filter_map(|(pen, animal)| {
            let known = group.in_order(pen, Some(animal))?;
            let bull = bulls.get(known.bull.as_deref()?)?;
            Some((*bull, known.sexed))
        })
        .collect()
}

/// Takes so many of the straws set aside: those of animals that are known, then the first of which
/// more are left than are to come, and at last what there is.
fn taken(mine: &mut [Aside], own: &[Own], to_come: &[Own], head: u32) -> Vec<(Aside, u32)> {
    let mut straws = vec![0; mine.len()];
    let mut need = head;
    for (bull, sexed) in own {
        let from = mine
            .iter()
            .position(|a| a.left > 0 && a.is_of(*bull, *sexed));
        if let Some(n) = from.filter(|_| need > 0) {
            mine[n].left -= 1;
            straws[n] += 1;
            need -= 1;
        }
    }
    for spared in [true, false] {
        for (aside, straws) in mine.iter_mut().zip(&mut straws) {
            let wanted = to_come
                .iter()
                .filter(|(b, s)| spared && aside.is_of(*b, *s));
            let spare = aside.left.saturating_sub(wanted.count() as u32);
            let more = need.min(spare);
            aside.left -= more;
            *straws += more;
            need -= more;
        }
    }
    let all = mine.iter().copied().zip(straws);
    all.filter(|(_, straws)| *straws > 0).collect()
}

/// The straws to bring to a session, by bull.
pub(crate) fn by_bull(season: &Season, wants: &[Want]) -> Vec<BullStraws> {
    let mut all: BTreeMap<usize, (u32, Option<u32>)> = BTreeMap::new();
    for want in wants {
        let (straws, sexed) = all.entry(want.bull).or_default();
        *straws += want.straws;
        if let Some(is) = want.sexed {
            *sexed.get_or_insert(0) += if is { want.straws } else { 0 };
        }
    }
    let all = all.into_iter();
    all.map(|(bull, (straws, sexed_straws))| BullStraws {
        bull: season.bulls[bull].id.to_string(),
        straws,
        sexed_straws,
    })
    .collect()
}
