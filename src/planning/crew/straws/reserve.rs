//! Which bulls run short, and straws shared out between groups.

use std::collections::BTreeSet;

use crate::base::progress::NoProgress;
use crate::planning::crew::Allotted;
use crate::planning::crew::flow::guess::Guess;
use crate::planning::crew::flow::network::{Network, SINK, SOURCE};
use crate::planning::crew::flow::solve;
use crate::planning::crew::sessions::parts::Short;
use crate::planning::dating::DatedSeason;
use crate::trade::season::Season;

/// What a group wants: at set hours, and by heat.
#[derive(Clone, Copy, Default)]
pub(crate) struct Want {
    pub(crate) timed: u32,
    pub(crate) by_heat: u32,
}

/// All straws of a bull.
pub(crate) fn on_hand(season: &Season) -> impl Fn(usize) -> u32 + '_ {
    |bull| season.bulls[bull].straws().0
}

pub(crate) fn due_head(season: &Season, dated: &DatedSeason) -> Vec<u32> {
    let mut due = vec![0; season.groups.len()];
    for d in &dated.dues {
        due[d.group] += d.head.0;
    }
    due
}

pub(crate) fn short(season: &Season, dated: &DatedSeason) -> Short {
    let due = due_head(season, dated);
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
pub(crate) fn tied(season: &Season, first: usize, left: &[usize]) -> (Vec<usize>, BTreeSet<usize>) {
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

/// Straws by group and bull: as many as can be, set hours first, first choices first.
pub(crate) fn flow(
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
    let solved = solve::solve(&network, &Guess::none(), &NoProgress)?;
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
