//! Straws: which bulls run short, and how many of each go to which group.
//!
//! Animals due at set hours come first; those bred by detected heat get what is left, and a
//! finding says so where it does not suffice.
//!
//! Animals due at set hours, or expected on a half-day, cannot wait. Those of a heat watch who are
//! expected on none may come in heat all the same: each has a straw set aside from what is left. A
//! group whose share in heat nobody knows is planned whole for both of its breedings. Where straws are
//! short they are set aside for it first, and then the coverage of the others is not called proven.

use std::collections::{BTreeMap, BTreeSet};

use super::mated::{self, Mated, Ordered};
use super::network::{Network, SINK, SOURCE};
use super::send::Guess;
use super::{Allotted, Session, solve};
use crate::base::error::{Code, Finding, quoted};
use crate::base::watch::Unwatched;
use crate::planning::expand::Expanded;
use crate::trade::season::Season;

/// Bulls without straws for everyone. Sessions that draw on them are planned together; the
/// straws of all other bulls suffice.
#[derive(Debug, Default)]
pub(super) struct Short {
    /// Straws of each such bull for groups that are not in `reserved`.
    pub(super) bulls: BTreeMap<usize, u32>,
    /// Straws of groups planned twice over, since nobody knows who of them will be in heat: no
    /// animal takes two, so each of their sessions may use all of these.
    pub(super) reserved: BTreeMap<usize, u32>,
}

/// What a group wants: at set hours, and by heat.
#[derive(Clone, Copy, Default)]
pub(super) struct Want {
    pub(super) timed: u32,
    pub(super) by_heat: u32,
}

/// All straws of a bull.
fn on_hand(season: &Season) -> impl Fn(usize) -> u32 + '_ {
    |bull| season.bulls[bull].straws().0
}

fn due_head(season: &Season, expanded: &Expanded) -> Vec<u32> {
    let mut due = vec![0; season.groups.len()];
    for d in &expanded.dues {
        due[d.group] += d.head.0;
    }
    due
}

pub(super) fn short(season: &Season, expanded: &Expanded) -> Short {
    let due = due_head(season, expanded);
    let wants: Vec<Want> = season
        .groups
        .iter()
        .zip(&due)
        .map(|(g, due)| Want {
            timed: g.head().0.min(*due),
            by_heat: g.head().0.saturating_sub(*due),
        })
        .collect();
    // Groups tied by common bulls, one set after the other.
    let mut left: Vec<usize> = (0..season.groups.len()).collect();
    let mut short = Short::default();
    while let Some(first) = left.first().copied() {
        let (groups, bulls) = tied(season, first, &left);
        left.retain(|g| !groups.contains(g));
        let all: u32 = groups
            .iter()
            .map(|g| wants[*g].timed + wants[*g].by_heat)
            .sum();
        let given = flow(season, &groups, &wants, on_hand(season)).unwrap_or_default();
        if given.iter().map(|a| a.straws).sum::<u32>() >= all {
            continue;
        }
        for b in bulls {
            short.bulls.insert(b, season.bulls[b].straws().0);
        }
        for g in groups
            .iter()
            .filter(|g| due[**g] > season.groups[**g].head().0)
        {
            let mine = given.iter().filter(|a| a.group == *g);
            short
                .reserved
                .insert(*g, mine.clone().map(|a| a.straws).sum());
            for a in mine {
                *short.bulls.entry(a.bull).or_default() -= a.straws;
            }
        }
    }
    short
}

/// The groups that share bulls with one, directly or through others, and all their bulls.
fn tied(season: &Season, first: usize, left: &[usize]) -> (Vec<usize>, BTreeSet<usize>) {
    let mut groups = vec![first];
    let mut bulls: BTreeSet<usize> = season.groups[first].bulls.iter().copied().collect();
    loop {
        let more: Vec<usize> = left
            .iter()
            .copied()
            .filter(|g| {
                !groups.contains(g) && season.groups[*g].bulls.iter().any(|b| bulls.contains(b))
            })
            .collect();
        if more.is_empty() {
            return (groups, bulls);
        }
        for g in more {
            bulls.extend(&season.groups[g].bulls);
            groups.push(g);
        }
    }
}

/// Straws that are lacking for an animal each of all groups, whenever they are bred.
///
/// # Errors
/// What the solver says.
pub fn lacking(season: &Season) -> Result<u32, String> {
    let heads: Vec<u32> = season.groups.iter().map(|g| g.head().0).collect();
    let wants: Vec<Want> = heads
        .iter()
        .map(|head| Want {
            timed: *head,
            by_heat: 0,
        })
        .collect();
    let all: Vec<usize> = (0..heads.len()).collect();
    let given: u32 = flow(season, &all, &wants, on_hand(season))?
        .iter()
        .map(|a| a.straws)
        .sum();
    Ok(heads.iter().sum::<u32>() - given)
}

/// What is set aside.
#[derive(Default)]
pub(super) struct SetAside {
    pub(super) straws: Vec<Allotted>,
    pub(super) findings: Vec<Finding>,
    /// Head without a straw, of those bred as they come in heat, by group.
    pub(super) by_heat_short: BTreeMap<usize, u32>,
    /// Groups whose animals are known by their order, with each one's straw.
    pub(super) in_order: BTreeMap<usize, Vec<Vec<Ordered>>>,
}

/// Straws for what is really bred: as the matings have it, or first choices first.
pub(super) fn allot(
    season: &Season,
    expanded: &Expanded,
    short: &Short,
    sessions: &[Session],
    mated: Option<&[Mated]>,
) -> Result<SetAside, String> {
    let due = due_head(season, expanded);
    let mut missed = vec![0u32; season.groups.len()];
    for u in sessions.iter().flat_map(|s| &s.uncovered) {
        missed[expanded.dues[u.due].group] += u.head.0;
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
    if let Some(mated) = mated {
        match mated::allot(season, expanded, sessions, &wants, mated)? {
            Some(by) => {
                aside = SetAside {
                    straws: by.given,
                    findings: by.findings,
                    in_order: by.in_order,
                    by_heat_short: BTreeMap::new(),
                };
            }
            None => aside.findings.push(mated::not_kept(season)),
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

/// How many head more of a group could have a straw, up to `most`, with everyone else keeping
/// theirs, if need be of another bull.
pub(super) fn room(season: &Season, given: &[Allotted], group: usize, most: u32) -> u32 {
    let used = |b: usize| -> u32 { given.iter().filter(|a| a.bull == b).map(|a| a.straws).sum() };
    let bulls = &season.groups[group].bulls;
    let spare: u32 = bulls
        .iter()
        .map(|b| season.bulls[*b].straws().0.saturating_sub(used(*b)))
        .sum();
    if spare >= most {
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

/// Straws by group and bull: as many as can be, set hours first, first choices first.
pub(super) fn flow(
    season: &Season,
    groups: &[usize],
    wants: &[Want],
    stock: impl Fn(usize) -> u32,
) -> Result<Vec<Allotted>, String> {
    let mut network = Network::new();
    let mut nodes = vec![None; season.bulls.len()];
    let mut arcs = Vec::new();
    let mut by_heat = Vec::new();
    for g in groups {
        let node = network.node();
        let want = wants[*g];
        network.arc(node, SINK, want.timed);
        by_heat.push(network.arc(node, SINK, want.by_heat));
        let most = want.timed + want.by_heat;
        for (choice, b) in season.groups[*g].bulls.iter().enumerate() {
            let bull = *nodes[*b].get_or_insert_with(|| {
                let bull = network.node();
                network.arc(SOURCE, bull, stock(*b));
                bull
            });
            let arc = network.arc(bull, node, most);
            network.arcs[arc].distance = choice as i64;
            arcs.push((arc, *g, *b));
        }
    }
    // Dearer than any change of bulls: set hours come first.
    let dear = network.worth(|a| a.distance);
    for arc in by_heat {
        network.arcs[arc].distance = dear;
    }
    let solved = solve::solve(&network, &Guess::none(), &Unwatched)?;
    Ok(arcs
        .into_iter()
        .map(|(arc, group, bull)| Allotted {
            group,
            bull,
            sexed: None,
            straws: solved.flow[arc],
        })
        .filter(|a| a.straws > 0)
        .collect())
}
