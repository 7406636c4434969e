//! Sessions, and what each technician could breed in each of their slots.
//!
//! A technician works in the rounds of his or her pace, within shifts less the road, rests as the
//! rules say, and is at work for no longer than the longest day.
//!
//! A session is the stretch in which the hours of any pen at a site are open. A half-day cut at noon
//! would tear windows apart; with sessions a technician is at one site for all of one.

use super::parts::{self, Part};
use super::place::{Relax, able};
use super::shape::{Lot, Shape, Slots, lots};
use crate::base::time::Instant;
use crate::planning::dating::{DatedSeason, Due};
use crate::trade::season::Season;

/// Groups dues into sessions: one site, hours that touch.
pub(crate) fn sessions(season: &Season, dated: &DatedSeason, slots: Slots) -> Vec<Shape> {
    let mut shapes: Vec<Shape> = Vec::new();
    for site in 0..season.sites.len() {
        let mut here: Vec<(usize, Vec<Lot>, Instant, Instant)> = dated
            .dues
            .iter()
            .enumerate()
            .filter(|(_, d)| d.site == site)
            .map(|(n, d)| {
                let hours = d.safe_hours();
                let (a, b) = (
                    hours.earliest.min(hours.latest),
                    hours.earliest.max(hours.latest),
                );
                (n, lots(d, slots), a, b)
            })
            .collect();
        here.sort_by_key(|(n, _, a, _)| (*a, *n));
        let mut current: Option<Shape> = None;
        for (n, lots, open, close) in here {
            match &mut current {
                Some(shape) if open <= shape.close => {
                    shape.dues.push(n);
                    shape.lots.push(lots);
                    shape.close = shape.close.max(close);
                }
                _ => {
                    shapes.extend(current.take());
                    current = Some(Shape {
                        site,
                        dues: vec![n],
                        lots: vec![lots],
                        open,
                        close,
                        with_straws: (open, close),
                        after: Instant::MIN_UTC,
                        first: 0,
                        last: -1,
                        able: Vec::new(),
                    });
                }
            }
        }
        shapes.extend(current.take());
    }
    // Shapes of a site stand together, by opening time.
    for n in 1..shapes.len() {
        if shapes[n].site == shapes[n - 1].site {
            shapes[n].after = shapes[n - 1].close;
        }
    }
    for shape in &mut shapes {
        let usable = || shape.lots.iter().flatten().filter(|l| l.first <= l.last);
        shape.first = usable().map(|l| l.first).min().unwrap_or(0);
        shape.last = usable().map(|l| l.last).max().unwrap_or(-1);
        shape.with_straws = (shape.open, shape.close);
        let dues = shape.dues.iter().map(|d| &dated.dues[*d]);
        if dues.clone().any(|d| d.turn.is_some()) {
            let hours = dues.map(Due::safe_hours_with_straws);
            let (open, close) = (shape.open, shape.close);
            shape.with_straws = (
                hours.clone().map(|h| h.earliest).min().unwrap_or(open),
                hours.map(|h| h.latest).max().unwrap_or(close),
            );
        }
        shape.able = able(season, shape, slots, Relax::default());
    }
    shapes.sort_by_key(|s| (s.open, s.site));
    for technician in 0..season.crew.len() {
        parts::chain(season, &mut shapes, technician);
    }
    shapes
}

pub(crate) fn shapes_of<'a>(part: &Part, shapes: &'a [Shape]) -> Vec<&'a Shape> {
    part.sessions.iter().map(|s| &shapes[*s]).collect()
}
