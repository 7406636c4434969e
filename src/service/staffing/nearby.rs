//! Which dues are near those asked about: in hours, and in sessions.

use chrono::TimeDelta;

use crate::base::time::Instant;
use crate::planning::dating::Due;

/// The hours of a pen, whichever comes first.
pub(super) fn hours(due: &Due) -> (Instant, Instant) {
    let h = due.safe_hours();
    (h.earliest.min(h.latest), h.earliest.max(h.latest))
}

pub(super) fn within(a: (Instant, Instant), b: (Instant, Instant), far: TimeDelta) -> bool {
    a.0 < b.1 + far && b.0 < a.1 + far
}

/// Dues chosen, those whose hours are within `far` of theirs, so many times over, and those of
/// the same sessions.
pub(super) fn grown(all: &[Due], mut chosen: Vec<bool>, far: TimeDelta, times: usize) -> Vec<bool> {
    let hours: Vec<_> = all.iter().map(hours).collect();
    let mut new: Vec<usize> = (0..all.len()).filter(|n| chosen[*n]).collect();
    let mut every = new.clone();
    for _ in 0..times {
        let near = |n: &usize| !chosen[*n] && new.iter().any(|m| within(hours[*n], hours[*m], far));
        let more: Vec<usize> = (0..all.len()).filter(near).collect();
        if more.is_empty() {
            break;
        }
        for n in &more {
            chosen[*n] = true;
        }
        every.extend(&more);
        new = more;
    }
    // Hours of one site that touch are of one session.
    new = every;
    while !new.is_empty() {
        let touches = |n: &usize| {
            let same = |m: &&usize| {
                let (a, b) = (hours[*n], hours[**m]);
                all[*n].site == all[**m].site && a.0 <= b.1 && b.0 <= a.1
            };
            !chosen[*n] && new.iter().any(|m| same(&m))
        };
        let more: Vec<usize> = (0..all.len()).filter(touches).collect();
        for n in &more {
            chosen[*n] = true;
        }
        new = more;
    }
    chosen
}
