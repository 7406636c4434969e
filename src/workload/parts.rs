//! Cuts the season into parts that share nobody and nothing, so that each model is small.
//!
//! Two sessions belong together if a technician could be wanted at both at once, or if both draw
//! on bulls whose straws do not suffice. Bulls with straws for everyone tie nothing together.

use chrono::TimeDelta;

use super::crew::{Able, NIGHT, Shape};
use super::straws::Short;
use crate::expand::Expanded;
use crate::season::Season;
use crate::time::Instant;

/// Sessions to be planned together, by their place among the shapes.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct Part {
    pub(super) sessions: Vec<usize>,
}

/// True if a technician cannot serve both sessions, one after the other.
pub(super) fn conflict(season: &Season, a: (&Shape, &Able), b: (&Shape, &Able)) -> bool {
    let (early, late) = if a.0.open <= b.0.open { (a, b) } else { (b, a) };
    let road = season.sites[early.0.site].road[late.0.site];
    let lead = TimeDelta::seconds(late.1.rounds.lead.0.ceil() as i64);
    let in_time = late.0.open - lead >= early.0.close + road;
    // Sessions of one site follow each other.
    let one_site = early.0.site == late.0.site;
    let chained = a.1.chain.is_some() && a.1.chain == b.1.chain;
    chained || !(one_site || in_time) || !is_one_day(season, early, late, road)
}

/// Marks a technician's sessions that hang together, one by one, where all of them would break the
/// rules of rest or of the longest day: two with a night between are one day if a third fills it.
pub(super) fn chain(season: &Season, shapes: &mut [Shape], technician: usize) {
    let who = &season.crew[technician];
    let rest = season.rules.rest;
    let longest = who.longest_day.or(season.rules.longest_day);
    if rest.is_none() && longest.is_none() {
        return;
    }
    let able = |s: &Shape| s.able.iter().position(|a| a.technician == technician);
    let mut stays: Vec<(usize, usize)> = Vec::new();
    stays.extend(
        shapes
            .iter()
            .enumerate()
            .filter_map(|(n, s)| Some((n, able(s)?))),
    );
    stays.sort_by_key(|(n, a)| (shapes[*n].able[*a].span, *n));
    let of = |n: usize| (&shapes[stays[n].0], &shapes[stays[n].0].able[stays[n].1]);
    let mut chains: Vec<Option<Instant>> = vec![None; stays.len()];
    for first in 0..stays.len() {
        for by_day in [true, false] {
            let (from, begins) = (of(first).0.site, of(first).1.span.0);
            // What may be served one after the other, from the first on.
            let mut reached = vec![first];
            for next in first + 1..stays.len() {
                let (shape, able) = of(next);
                let hangs = |n: usize| {
                    let (before, then) = of(n);
                    let road = season.sites[before.site].road[shape.site];
                    let apart = match rest {
                        _ if by_day => NIGHT,
                        Some(rest) => rest.long + road,
                        None => TimeDelta::zero(),
                    };
                    able.span.0 - then.span.1 < apart
                };
                if !reached.iter().any(|n| hangs(*n)) {
                    break;
                }
                let both = |n: usize| !conflict(season, of(n), of(next));
                if !both(first) || !reached.iter().any(|n| hangs(*n) && both(*n)) {
                    continue;
                }
                reached.push(next);
                let home = season.road_home(who, from) + season.road_home(who, shape.site);
                let long = able.span.1 - begins;
                let broken = if by_day {
                    longest.is_some_and(|longest| long + home > longest)
                } else {
                    rest.is_some_and(|rest| long > rest.after)
                };
                if broken {
                    let known: Vec<Instant> = reached.iter().filter_map(|n| chains[*n]).collect();
                    for n in reached {
                        chains[n] = Some(begins);
                    }
                    for chain in chains.iter_mut().flatten() {
                        if known.contains(chain) {
                            *chain = begins;
                        }
                    }
                    break;
                }
            }
        }
    }
    for ((n, able), chain) in stays.into_iter().zip(chains) {
        shapes[n].able[able].chain = chain;
    }
}

/// True if the rules of rest and of the longest day let a technician serve both sessions whole.
fn is_one_day(
    season: &Season,
    early: (&Shape, &Able),
    late: (&Shape, &Able),
    road: TimeDelta,
) -> bool {
    let who = &season.crew[early.1.technician];
    let (a, b) = (early.1.span, late.1.span);
    let gap = b.0 - a.1;
    let rested = season
        .rules
        .rest
        .is_none_or(|r| b.1 - a.0 <= r.after || gap >= road + r.long);
    let longest = who.longest_day.or(season.rules.longest_day);
    let short = longest.is_none_or(|longest| {
        let home = season.road_home(who, early.0.site) + season.road_home(who, late.0.site);
        gap >= NIGHT || b.1 - a.0 + home <= longest
    });
    rested && short
}

pub(super) fn cut(
    season: &Season,
    expanded: &Expanded,
    shapes: &[Shape],
    short: &Short,
) -> Vec<Part> {
    let mut union = Union::new(shapes.len());
    for (i, a) in shapes.iter().enumerate() {
        for (j, b) in shapes.iter().enumerate().skip(i + 1) {
            // Sessions come by opening; no road takes more than a day.
            if b.open > a.close + TimeDelta::days(2) {
                break;
            }
            let shared = a.able.iter().any(|x| {
                b.able
                    .iter()
                    .any(|y| x.technician == y.technician && conflict(season, (a, x), (b, y)))
            });
            if shared {
                union.join(i, j);
            }
        }
    }
    let mut with_short: Option<usize> = None;
    for (i, shape) in shapes.iter().enumerate() {
        let draws = shape.dues.iter().any(|d| {
            let group = &season.groups[expanded.dues[*d].group];
            group.bulls.iter().any(|b| short.bulls.contains_key(b))
        });
        if draws {
            if let Some(first) = with_short {
                union.join(first, i);
            }
            with_short.get_or_insert(i);
        }
    }
    union
        .groups()
        .into_iter()
        .map(|sessions| Part { sessions })
        .collect()
}

struct Union {
    parent: Vec<usize>,
}

impl Union {
    fn new(n: usize) -> Self {
        Self {
            parent: (0..n).collect(),
        }
    }

    fn root(&mut self, mut n: usize) -> usize {
        while self.parent[n] != n {
            self.parent[n] = self.parent[self.parent[n]];
            n = self.parent[n];
        }
        n
    }

    fn join(&mut self, a: usize, b: usize) {
        let (a, b) = (self.root(a), self.root(b));
        self.parent[a.max(b)] = a.min(b);
    }

    fn groups(mut self) -> Vec<Vec<usize>> {
        let mut by_root = std::collections::BTreeMap::<usize, Vec<usize>>::new();
        for n in 0..self.parent.len() {
            by_root.entry(self.root(n)).or_default().push(n);
        }
        by_root.into_values().collect()
    }
}
