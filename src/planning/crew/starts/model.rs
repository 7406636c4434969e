//! The mixed-integer model of pens' starts: a yes-or-no for each pen and start, head by slot, the
//! chutes' minutes and the crew's places.
//!
//! It proposes; what a proposal is worth is counted afterwards. Places a slot are those of everyone
//! who could be there, over all sites together no more than the crew has; so it sees a little more
//! than can be, and the distance between roads is left to the counting.

use std::collections::BTreeMap;

use super::candidates::Open;
use crate::base::progress::Progress;
use crate::base::solver::{Program, Sense, Var};
use crate::planning::crew::bounds::coverage::places;
use crate::planning::crew::sessions::gather;
use crate::planning::crew::sessions::unstaffed::{Slots, lots};
use crate::planning::dating::{DatedSeason, Due};
use crate::trade::season::Season;

/// Larger models are not asked.
const MOST_VARS: usize = 12_000;

/// Nodes that the search may open.
const NODES: usize = 200;

/// A candidate for each pen, if the model is small enough and gives one.
pub(crate) fn propose(season: &Season, open: &Open, progress: &dyn Progress) -> Option<Vec<usize>> {
    let slots = Slots::new(season);
    let mut program = Program::default();
    let (room, in_all) = crew_places(season, open, slots);
    let mut taken: BTreeMap<(usize, i64), Vec<(usize, f64)>> = BTreeMap::new();
    let mut add = |program: &mut Program, due: &Due, chosen: Option<usize>| -> Option<()> {
        for lot in lots(due, slots) {
            let mut mine = Vec::new();
            for slot in lot.first..=lot.last {
                if !room.contains_key(&(due.site, slot)) {
                    continue;
                }
                let var = program.var(Var {
                    low: 0.0,
                    high: f64::from(lot.head),
                    cost: -HEAD,
                    whole: false,
                });
                mine.push((var, 1.0));
                taken.entry((due.site, slot)).or_default().push((var, 1.0));
            }
            match chosen {
                Some(chosen) => {
                    mine.push((chosen, -f64::from(lot.head)));
                    program.row(mine, Sense::AtMost, 0.0);
                }
                None => program.row(mine, Sense::AtMost, f64::from(lot.head)),
            }
        }
        (program.vars.len() <= MOST_VARS).then_some(())
    };
    let mut starts: Vec<Vec<usize>> = Vec::new();
    for pen in &open.pens {
        let mut mine = Vec::new();
        for (k, candidate) in pen.candidates.iter().enumerate() {
            let held = open.held_alone(pen, k) as f64;
            let chosen = program.var(Var {
                low: 0.0,
                high: 1.0,
                cost: k as f64 + held * HELD,
                whole: true,
            });
            mine.push(chosen);
            for due in &candidate.dues {
                add(&mut program, due, Some(chosen))?;
            }
        }
        program.row(mine.iter().map(|v| (*v, 1.0)).collect(), Sense::Equal, 1.0);
        starts.push(mine);
    }
    for due in &open.others {
        add(&mut program, due, None)?;
    }
    for ((site, slot), terms) in &taken {
        program.row(
            terms.clone(),
            Sense::AtMost,
            f64::from(room[&(*site, *slot)]),
        );
    }
    for (slot, most) in in_all {
        let terms: Vec<(usize, f64)> = (0..season.sites.len())
            .filter_map(|site| taken.get(&(site, slot)))
            .flatten()
            .copied()
            .collect();
        program.row(terms, Sense::AtMost, f64::from(most));
    }
    chutes(open, &starts, &mut program);
    let answer = program.cheapest_until(NODES, progress).ok()?;
    let choice = starts.iter().map(|mine| {
        let yes = |a: &&usize, b: &&usize| answer.values[**a].total_cmp(&answer.values[**b]);
        let best = mine.iter().max_by(yes);
        best.and_then(|b| mine.iter().position(|v| v == b))
            .unwrap_or(0)
    });
    Some(choice.collect())
}

/// Places at a site and slot, were everybody there; and of all the crew in a slot.
type Places = (BTreeMap<(usize, i64), u32>, BTreeMap<i64, u32>);

/// What could be bred where and when, were everybody everywhere, and what the crew can do in all.
fn crew_places(season: &Season, open: &Open, slots: Slots) -> Places {
    let all: Vec<Due> = open
        .pens
        .iter()
        .flat_map(|p| &p.candidates)
        .flat_map(|c| c.dues.iter().cloned())
        .chain(open.others.iter().cloned())
        .collect();
    let dated = DatedSeason {
        dues: all,
        ..DatedSeason::default()
    };
    let mut room: BTreeMap<(usize, i64), u32> = BTreeMap::new();
    let mut each: BTreeMap<(usize, i64), u32> = BTreeMap::new();
    for unstaffed in gather::sessions(season, &dated, slots) {
        let boxes = season.sites[unstaffed.site].breeding_boxes;
        let here = places(unstaffed.able.iter().map(|a| &a.ticks), boxes);
        room.extend(
            here.into_iter()
                .map(|(slot, n)| ((unstaffed.site, slot), n)),
        );
        for a in &unstaffed.able {
            for (slot, cap) in a.ticks.caps() {
                let most = each.entry((a.technician, slot)).or_default();
                *most = (*most).max(cap);
            }
        }
    }
    let mut in_all: BTreeMap<i64, u32> = BTreeMap::new();
    for ((_, slot), n) in &each {
        *in_all.entry(*slot).or_default() += n;
    }
    (room, in_all)
}

/// A head weighs more than any delay, a chute held twice more than any head.
const HEAD: f64 = 1e4;
const HELD: f64 = 1e8;

/// At the moment at which a pen enters the chute nobody else of the open pens is in it.
fn chutes(open: &Open, starts: &[Vec<usize>], program: &mut Program) {
    for (n, pen) in open.pens.iter().enumerate() {
        for (k, candidate) in pen.candidates.iter().enumerate() {
            for (enters, _) in &candidate.chute {
                let mut terms = vec![(starts[n][k], 1.0)];
                for (m, other) in open.pens.iter().enumerate() {
                    if m == n || other.site != pen.site {
                        continue;
                    }
                    for (j, theirs) in other.candidates.iter().enumerate() {
                        if theirs.chute.iter().any(|(c, d)| c <= enters && enters < d) {
                            terms.push((starts[m][j], 1.0));
                        }
                    }
                }
                // One row a pair would be weaker; but of several pens that hold the chute then,
                // at most one may.
                program.row(terms, Sense::AtMost, 1.0);
            }
        }
    }
}
