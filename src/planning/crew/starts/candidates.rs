//! What a pen comes to for each start that it could have.

use chrono::{NaiveDateTime, TimeDelta};

use crate::base::time::Instant;
use crate::planning::dating::{self, Due, Pass, Work};
use crate::trade::season::{Group, PenStarts, Season};

/// Starts of a pen that are looked at, at the most: with more, only every second, third ... slot.
const MOST_CANDIDATES: i64 = 96;

/// A start that a pen could have.
#[derive(Clone, Debug)]
pub(crate) struct Candidate {
    pub(crate) local: NaiveDateTime,
    /// When it is in the chute.
    pub(crate) chute: Vec<(Instant, Instant)>,
    pub(crate) dues: Vec<Due>,
}

/// A pen whose start is open.
#[derive(Clone, Debug)]
pub(crate) struct Pen {
    pub(crate) group: usize,
    pub(crate) site: usize,
    pub(crate) candidates: Vec<Candidate>,
}

impl Pen {
    /// True if the chute is wanted by both pens at once.
    pub(crate) fn meets(&self, k: usize, other: &Pen, j: usize) -> bool {
        let both = |(a, b): &(Instant, Instant)| {
            let theirs = other.candidates[j].chute.iter();
            theirs.clone().any(|(c, d)| a < d && c < b)
        };
        self.site == other.site && self.candidates[k].chute.iter().any(both)
    }
}

/// All pens whose start is open, and everything else of the season that they touch.
pub(crate) struct Open {
    pub(crate) pens: Vec<Pen>,
    /// Dues of the other groups in the days of the open ones.
    pub(crate) others: Vec<Due>,
    /// When chutes are held by other groups: site, from, to.
    held: Vec<(usize, Instant, Instant)>,
    /// Hours kept free.
    free: Vec<(Instant, Instant)>,
}

impl Open {
    /// Passes of a pen that meet other groups in a chute, or lie in hours kept free.
    pub(crate) fn held_alone(&self, pen: &Pen, k: usize) -> usize {
        let meets = |(a, b): &&(Instant, Instant)| {
            let held = self
                .held
                .iter()
                .any(|(s, c, d)| *s == pen.site && a < d && c < b);
            held || self.free.iter().any(|(c, d)| a < d && c < b)
        };
        pen.candidates[k].chute.iter().filter(meets).count()
    }
}

pub(crate) fn open(season: &Season) -> Open {
    let is_open = |g: &Group| matches!(g.pen_starts, PenStarts::Until(_));
    let pens: Vec<Pen> = season
        .groups
        .iter()
        .enumerate()
        .filter(|(_, g)| is_open(g))
        .flat_map(|(n, g)| (0..g.pens.len()).map(move |pen| pen_of(season, n, g, pen)))
        .collect();
    let all = dating::date_groups(season, &season.groups);
    let other = |g: usize| !is_open(&season.groups[g]);
    let candidates = || pens.iter().flat_map(|p| &p.candidates);
    let hours = || candidates().flat_map(|c| &c.dues).map(Due::safe_hours);
    let far = TimeDelta::days(2);
    let first = hours().map(|h| h.earliest.min(h.latest)).min();
    let last = hours().map(|h| h.earliest.max(h.latest)).max();
    let near = |d: &Due| {
        let mine = d.safe_hours();
        first.is_some_and(|f| mine.latest.max(mine.earliest) > f - far)
            && last.is_some_and(|l| mine.earliest.min(mine.latest) < l + far)
    };
    let chute = |p: &&Pass| other(p.group) && p.work == Work::Chute;
    let held = all
        .passes
        .iter()
        .filter(chute)
        .map(|p| (season.groups[p.group].site, p.start, p.end))
        .collect();
    let passes = || candidates().flat_map(|c| &c.chute);
    let span = passes().map(|p| p.0).min().zip(passes().map(|p| p.1).max());
    let free = span.map_or(Vec::new(), |(a, b)| {
        let free = season.free_between(a, b).into_iter();
        free.map(|(a, b, _)| (a, b)).collect()
    });
    let others = all.dues.into_iter();
    Open {
        others: others.filter(|d| other(d.group) && near(d)).collect(),
        pens,
        held,
        free,
    }
}

fn pen_of(season: &Season, n: usize, group: &Group, pen: usize) -> Pen {
    let latest = match group.pen_starts {
        PenStarts::Until(latest) => latest,
        _ => group.start,
    };
    let slots = (latest - group.start).num_seconds() / season.rules.slot.num_seconds().max(1);
    let stride = slots / MOST_CANDIDATES + 1;
    let mut alone = group.clone();
    alone.pens = vec![group.pens[pen]];
    let at = |local| season.zone.resolve(local).at;
    // A latest start that is the later reading of the clock may be no later as a moment.
    let (first, last) = (at(group.start), at(latest).max(at(group.start)));
    // Where clocks change, a later reading may be an earlier moment, or off the slots.
    let on_time = |local: &NaiveDateTime| {
        let slot = season.rules.slot.num_seconds();
        let at = at(*local);
        first <= at && at <= last && (at - first).num_seconds() % slot == 0
    };
    let candidates = (0..=slots / stride)
        .map(|k| group.start + season.rules.slot * (k * stride) as i32)
        .filter(on_time)
        .map(|local| {
            alone.pen_starts = PenStarts::Given(vec![local]);
            let dated = dating::date_groups(season, std::slice::from_ref(&alone));
            let chute = dated.passes.iter().filter(|p| p.work == Work::Chute);
            Candidate {
                local,
                chute: chute.map(|p| (p.start, p.end)).collect(),
                dues: dated
                    .dues
                    .into_iter()
                    .map(|d| Due { group: n, pen, ..d })
                    .collect(),
            }
        })
        .collect();
    Pen {
        group: n,
        site: group.site,
        candidates,
    }
}
