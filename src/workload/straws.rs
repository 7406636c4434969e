//! Straws: which bulls run short, and how many of each go to which group.

use std::collections::BTreeSet;

use super::network::{Network, SINK, SOURCE};
use super::send::Guess;
use super::{Allotted, Session, solve};
use crate::expand::Expanded;
use crate::season::Season;

/// Bulls of groups whose animals cannot all have a straw: sessions that draw on these must be
/// planned together. The straws of all other bulls suffice for everyone.
pub(super) fn short_bulls(season: &Season, expanded: &Expanded) -> BTreeSet<usize> {
    let wants: Vec<u32> = season.groups.iter().map(|g| g.head().0).collect();
    debug_assert!(expanded.dues.iter().all(|d| d.group < wants.len()));
    // Groups tied by common bulls, one after the other.
    let mut left: Vec<usize> = (0..season.groups.len()).collect();
    let mut short = BTreeSet::new();
    while let Some(first) = left.first().copied() {
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
                break;
            }
            for g in more {
                bulls.extend(&season.groups[g].bulls);
                groups.push(g);
            }
        }
        left.retain(|g| !groups.contains(g));
        let all: u32 = groups.iter().map(|g| wants[*g]).sum();
        let served: u32 = flow(season, &groups, &wants)
            .map(|f| f.iter().map(|a| a.straws).sum())
            .unwrap_or(0);
        if served < all {
            short.extend(bulls);
        }
    }
    short
}

/// Straws for what is really bred: first choices first.
pub(super) fn allot(
    season: &Season,
    expanded: &Expanded,
    sessions: &[Session],
) -> Result<Vec<Allotted>, String> {
    let mut due = vec![0u32; season.groups.len()];
    let mut missed = vec![0u32; season.groups.len()];
    for d in &expanded.dues {
        due[d.group] += d.head.0;
    }
    for u in sessions.iter().flat_map(|s| &s.uncovered) {
        missed[expanded.dues[u.due].group] += u.head.0;
    }
    // Animals in no session are bred by detected heat and need straws too.
    let wants: Vec<u32> = season
        .groups
        .iter()
        .enumerate()
        .map(|(g, group)| {
            let all = group.head().0;
            let by_heat = all.saturating_sub(due[g]);
            all.min(by_heat + (due[g] - missed[g]))
        })
        .collect();
    flow(
        season,
        &(0..season.groups.len()).collect::<Vec<_>>(),
        &wants,
    )
}

fn flow(season: &Season, groups: &[usize], wants: &[u32]) -> Result<Vec<Allotted>, String> {
    let mut network = Network::new();
    let mut nodes = vec![None; season.bulls.len()];
    let mut arcs = Vec::new();
    for g in groups {
        let node = network.node();
        network.arc(node, SINK, wants[*g]);
        for (choice, b) in season.groups[*g].bulls.iter().enumerate() {
            let bull = *nodes[*b].get_or_insert_with(|| {
                let bull = network.node();
                network.arc(SOURCE, bull, season.bulls[*b].straws().0);
                bull
            });
            let arc = network.arc(bull, node, wants[*g]);
            network.arcs[arc].distance = choice as i64;
            arcs.push((arc, *g, *b));
        }
    }
    let solved = solve::solve(&network, &Guess::none())?;
    Ok(arcs
        .into_iter()
        .map(|(arc, group, bull)| Allotted {
            group,
            bull,
            straws: solved.flow[arc],
        })
        .filter(|a| a.straws > 0)
        .collect())
}
