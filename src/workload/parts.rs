//! Cuts the season into parts that share nobody and nothing, so that each model is small.
//!
//! Two sessions belong together if a technician could be wanted at both at once, or if both draw
//! on bulls whose straws do not suffice. Bulls with straws for everyone tie nothing together.

use chrono::TimeDelta;

use super::crew::{Able, NIGHT, Shape};
use super::straws::Short;
use crate::expand::Expanded;
use crate::season::Season;

/// Sessions to be planned together, by their place among the shapes.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct Part {
    pub(super) sessions: Vec<usize>,
}

/// True if a technician cannot serve both sessions, one after the other.
pub(super) fn conflict(season: &Season, a: (&Shape, &Able), b: (&Shape, &Able)) -> bool {
    let opens = |s: (&Shape, &Able)| s.0.with_straws.0;
    let (early, late) = if opens(a) <= opens(b) { (a, b) } else { (b, a) };
    let road = season.sites[early.0.site].road[late.0.site];
    let lead = TimeDelta::seconds(late.1.rounds.lead.0.ceil() as i64);
    let in_time = opens(late) - lead >= early.0.with_straws.1 + road;
    // Sessions of one site follow each other.
    let one_site = early.0.site == late.0.site;
    !(one_site || in_time) || !is_one_day(season, early, late, road)
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
