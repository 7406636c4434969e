//! Straws by the matings: each group keeps the bulls, and the sort, that its animals are mated with.
//!
//! What a group breeds beyond its matings has straws that are left. Where these do not make it up
//! for everyone, the numbers of the matings cannot hold, and straws are set aside as without them.
//!
//! The plan keeps to the matings, and not the matings to the plan: matings know kinship, marks and
//! scores, the plan knows who is bred when. Numbers by group, bull and sort go from matings to plan,
//! and places come back (`matings::locate_straws`). Numbers do not depend on places, so nothing goes round in a
//! circle. A cow at the chute counts before a list.

use std::collections::BTreeMap;

use super::reserve::{Want, flow};
use crate::base::error::Finding;
use crate::planning::crew::{Allotted, Ordered, Session, Sort};
use crate::planning::dating::DatedSeason;
use crate::trade::season::{Order, Season};

/// What matings say of a group's straws.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct StrawDemand {
    /// Head by bull and sort of straw.
    pub by_bull: BTreeMap<Sort, u32>,
    /// Where the order of all its animals is known: these, by pen.
    pub in_order: Option<Vec<Vec<Ordered>>>,
}

/// The animals of a group by pen, where their order is known and kept until they are bred: at set
/// hours, once, and in pens of as many head.
pub(crate) fn in_order<'a>(
    season: &Season,
    dated: &DatedSeason,
    group: usize,
    demand: &'a StrawDemand,
) -> Option<&'a Vec<Vec<Ordered>>> {
    let pens = demand.in_order.as_ref()?;
    let own = &season.groups[group].pens;
    let heads = pens.iter().map(|p| p.len() as u32);
    let dues = || dated.dues.iter().filter(|d| d.group == group);
    let kept = dues().all(|d| d.order == Order::Kept && d.half_day.is_none());
    let once = dues().map(|d| d.head.0).sum::<u32>() == season.groups[group].head().0;
    (kept && once && heads.eq(own.iter().map(|p| p.0))).then_some(pens)
}

/// Straws set aside by the matings.
pub(crate) struct ByMatings {
    pub(crate) given: Vec<Allotted>,
    pub(crate) findings: Vec<Finding>,
    pub(crate) in_order: BTreeMap<usize, Vec<Vec<Ordered>>>,
}

/// Straws for what is really bred; none where these matings leave some without.
pub(crate) fn allot(
    season: &Season,
    dated: &DatedSeason,
    sessions: &[Session],
    wants: &[Want],
    demand: &[StrawDemand],
) -> Result<Option<ByMatings>, String> {
    let mut left: BTreeMap<Sort, u32> = BTreeMap::new();
    for (b, bull) in season.bulls.iter().enumerate() {
        for sexed in [false, true] {
            left.insert((b, sexed), bull.straws_of(sexed).map_or(0, |s| s.0));
        }
    }
    let mut given: Vec<BTreeMap<Sort, u32>> = Vec::new();
    let mut rest = Vec::new();
    let mut known = BTreeMap::new();
    for (g, demand) in demand.iter().enumerate() {
        let mut heads = demand.by_bull.clone();
        if let Some(pens) = in_order(season, dated, g, demand) {
            heads = bred(dated, sessions, g, pens);
            known.insert(g, pens.clone());
        }
        let mut need = wants[g].timed + wants[g].by_heat;
        let mut mine = BTreeMap::new();
        for b in &season.groups[g].bulls {
            for sort in [(*b, false), (*b, true)] {
                let has = left.entry(sort).or_default();
                let straws = heads.get(&sort).copied().unwrap_or(0).min(need).min(*has);
                *has -= straws;
                need -= straws;
                mine.insert(sort, straws);
            }
        }
        // Set hours come first.
        let timed = need.saturating_sub(wants[g].by_heat);
        rest.push(Want {
            timed,
            by_heat: need - timed,
        });
        given.push(mine);
    }
    let Some(findings) = others(season, &rest, &mut left, &mut given)? else {
        return Ok(None);
    };
    Ok(Some(ByMatings {
        given: by_sort(season, &given),
        findings,
        in_order: known,
    }))
}

/// Straws that the matings do not name, for who wants more than they do; none where set hours lack some.
fn others(
    season: &Season,
    rest: &[Want],
    left: &mut BTreeMap<Sort, u32>,
    given: &mut [BTreeMap<Sort, u32>],
) -> Result<Option<Vec<Finding>>, String> {
    if rest.iter().all(|w| w.timed + w.by_heat == 0) {
        return Ok(Some(Vec::new()));
    }
    let groups: Vec<usize> = (0..rest.len()).collect();
    let stock = |b: usize| left[&(b, false)] + left[&(b, true)];
    let more = flow(season, &groups, rest, stock)?;
    let straws_of = |g: usize| -> u32 {
        let mine = more.iter().filter(|a| a.group == g);
        mine.map(|a| a.straws).sum()
    };
    if groups.iter().any(|g| straws_of(*g) < rest[*g].timed) {
        return Ok(None);
    }
    let beyond = groups
        .iter()
        .filter(|g| straws_of(**g) > 0)
        .map(|g| season.beyond_matings(*g, straws_of(*g)));
    let findings = beyond.collect();
    for a in more {
        let has = left[&(a.bull, false)];
        let plain = a.straws.min(has);
        left.insert((a.bull, false), has - plain);
        for (sexed, straws) in [(false, plain), (true, a.straws - plain)] {
            *given[a.group].entry((a.bull, sexed)).or_default() += straws;
        }
    }
    Ok(Some(findings))
}

/// Straws of each group and bull, by sort where the bull has both.
fn by_sort(season: &Season, given: &[BTreeMap<Sort, u32>]) -> Vec<Allotted> {
    let mut all = Vec::new();
    for (group, mine) in given.iter().enumerate() {
        for bull in &season.groups[group].bulls {
            let straws = |sexed| mine.get(&(*bull, sexed)).copied().unwrap_or(0);
            let lots = if has_both(season, *bull) {
                vec![(Some(false), straws(false)), (Some(true), straws(true))]
            } else {
                vec![(None, straws(false) + straws(true))]
            };
            all.extend(lots.into_iter().map(|(sexed, straws)| Allotted {
                group,
                bull: *bull,
                sexed,
                straws,
            }));
        }
    }
    all.retain(|a| a.straws > 0);
    all
}

/// Only of these bulls the sort must be said.
fn has_both(season: &Season, bull: usize) -> bool {
    let of = |sexed| season.bulls[bull].straws_of(sexed).is_some();
    of(false) && of(true)
}

/// Head by bull and sort among the animals that are bred.
fn bred(
    dated: &DatedSeason,
    sessions: &[Session],
    group: usize,
    pens: &[Vec<Ordered>],
) -> BTreeMap<Sort, u32> {
    let mut heads = BTreeMap::new();
    for bred in sessions.iter().flat_map(|s| &s.bred) {
        let due = &dated.dues[bred.due];
        if due.group != group {
            continue;
        }
        for cow in &bred.cows {
            let animal = pens.get(due.pen).and_then(|p| p.get(*cow as usize));
            if let Some(sort) = animal.and_then(|a| a.straw) {
                *heads.entry(sort).or_default() += 1;
            }
        }
    }
    heads
}
