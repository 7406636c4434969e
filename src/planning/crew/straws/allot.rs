//! Straws: which bulls run short, and how many of each go to which group.
//!
//! Animals due at set hours come first; those bred by detected heat get what is left, and a
//! finding says so where it does not suffice.
//!
//! Animals due at set hours, or expected on a half-day, cannot wait. Those of a heat watch who are
//! expected on none may come in heat all the same: each has a straw set aside from what is left. A
//! group whose share in heat nobody knows is planned whole for both of its breedings. Where straws are
//! short they are set aside for it first, and then the coverage of the others is not called proven.

use std::collections::BTreeMap;

use super::demand::{self, StrawDemand};
use super::reserve::{Want, due_head, flow, on_hand, tied};
use crate::base::error::{Code, Finding, quoted};
use crate::planning::crew::sessions::parts::Short;
use crate::planning::crew::{Allotted, Ordered, Session};
use crate::planning::dating::DatedSeason;
use crate::trade::season::Season;

/// What is set aside.
#[derive(Default)]
pub(crate) struct SetAside {
    pub(crate) straws: Vec<Allotted>,
    pub(crate) findings: Vec<Finding>,
    /// Head without a straw, of those bred as they come in heat, by group.
    pub(crate) by_heat_short: BTreeMap<usize, u32>,
    /// Groups whose animals are known by their order, with each one's straw.
    pub(crate) in_order: BTreeMap<usize, Vec<Vec<Ordered>>>,
}

/// Straws for what is really bred: as the matings have it, or first choices first.
pub(crate) fn allot(
    season: &Season,
    dated: &DatedSeason,
    short: &Short,
    sessions: &[Session],
    demand: Option<&[StrawDemand]>,
) -> Result<SetAside, String> {
    let due = due_head(season, dated);
    let mut missed = vec![0u32; season.groups.len()];
    for u in sessions.iter().flat_map(|s| &s.uncovered) {
        missed[dated.dues[u.due].group] += u.head.0;
    }
    let wants: Vec<Want> = season
        .groups
        .iter()
        .enumerate()
        .map(|(g, group)| {
            let most = short.reserved.get(&g).copied().unwrap_or(u32::MAX);
            Want {
                timed: group.head().0.min(due[g] - missed[g]).min(most),
                by_heat: group.head().0.saturating_sub(due[g]),
            }
        })
        .collect();
    let all: Vec<usize> = (0..season.groups.len()).collect();
    let mut aside = SetAside::default();
    if let Some(demand) = demand {
        match demand::allot(season, dated, sessions, &wants, demand)? {
            Some(by) => {
                aside = SetAside {
                    straws: by.given,
                    findings: by.findings,
                    in_order: by.in_order,
                    by_heat_short: BTreeMap::new(),
                };
            }
            None => aside.findings.push(season.matings_not_kept()),
        }
    }
    if aside.straws.is_empty() {
        aside.straws = flow(season, &all, &wants, on_hand(season))?;
    }
    let given = &aside.straws;
    let lacking = |g: &usize| {
        let mine = given.iter().filter(|a| a.group == *g);
        wants[*g].timed + wants[*g].by_heat - mine.map(|a| a.straws).sum::<u32>()
    };
    let short = all.iter().map(|g| (*g, lacking(g)));
    aside.by_heat_short = short.filter(|(_, lacking)| *lacking > 0).collect();
    let found = aside.by_heat_short.iter();
    let found: Vec<Finding> = found.map(|(g, n)| by_heat_short(season, *g, *n)).collect();
    aside.findings.extend(found);
    Ok(aside)
}

/// Straws of a group's bulls that nobody has.
pub(crate) fn left(season: &Season, given: &[Allotted], group: usize) -> u32 {
    let used = |b: usize| -> u32 { given.iter().filter(|a| a.bull == b).map(|a| a.straws).sum() };
    let bulls = season.groups[group].bulls.iter();
    bulls
        .map(|b| season.bulls[*b].straws().0.saturating_sub(used(*b)))
        .sum()
}

/// How many head more of a group could have a straw, up to `most`, with everyone else keeping
/// theirs, if need be of another bull.
pub(crate) fn room(season: &Season, given: &[Allotted], group: usize, most: u32) -> u32 {
    if left(season, given, group) >= most {
        return most;
    }
    let all: Vec<usize> = (0..season.groups.len()).collect();
    let mut wants: Vec<Want> = all
        .iter()
        .map(|g| Want {
            timed: given
                .iter()
                .filter(|a| a.group == *g)
                .map(|a| a.straws)
                .sum(),
            by_heat: 0,
        })
        .collect();
    let now = wants[group].timed;
    wants[group].by_heat = most;
    let (groups, _) = tied(season, group, &all);
    let after: u32 = flow(season, &groups, &wants, on_hand(season))
        .unwrap_or_default()
        .iter()
        .filter(|a| a.group == group)
        .map(|a| a.straws)
        .sum();
    after.saturating_sub(now)
}

fn by_heat_short(season: &Season, group: usize, lacking: u32) -> Finding {
    let group = &season.groups[group];
    Finding::warning(
        Code::StrawsShort,
        format!(
            "{lacking} head of {}, to be bred as they come in heat, have no straw: animals due at set hours, or expected on a half-day, come first",
            quoted(group.id.as_str())
        ),
    )
    .at(group.start_place.clone())
    .expected("a straw for each animal")
    .hint("order straws, or name another bull for the group")
}
