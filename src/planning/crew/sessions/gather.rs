//! Sessions, and what each technician could breed in each of their slots.
//!
//! A technician works in the rounds of his or her pace, within shifts less the road, rests as the
//! rules say, and is at work for no longer than the longest day.
//!
//! A session is the stretch in which the hours of any pen at a site are open. A half-day cut at noon
//! would tear windows apart; with sessions a technician is at one site for all of one.

use super::parts::{self, Part};
use super::place::{Relax, able};
use super::unstaffed::{Lot, Slots, Unstaffed, lots};
use crate::base::time::Instant;
use crate::planning::dating::{DatedSeason, Due};
use crate::trade::season::Season;

/// Groups dues into sessions: one site, hours that touch.
pub(crate) fn sessions(season: &Season, dated: &DatedSeason, slots: Slots) -> Vec<Unstaffed> {
    let mut all_unstaffed: Vec<Unstaffed> = Vec::new();
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
        let mut current: Option<Unstaffed> = None;
        for (n, lots, open, close) in here {
            match &mut current {
                Some(unstaffed) if open <= unstaffed.close => {
                    unstaffed.dues.push(n);
                    unstaffed.lots.push(lots);
                    unstaffed.close = unstaffed.close.max(close);
                }
                _ => {
                    all_unstaffed.extend(current.take());
                    current = Some(Unstaffed {
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
        all_unstaffed.extend(current.take());
    }
    // Shapes of a site stand together, by opening time.
    for n in 1..all_unstaffed.len() {
        if all_unstaffed[n].site == all_unstaffed[n - 1].site {
            all_unstaffed[n].after = all_unstaffed[n - 1].close;
        }
    }
    for unstaffed in &mut all_unstaffed {
        let usable = || {
            unstaffed
                .lots
                .iter()
                .flatten()
                .filter(|l| l.first <= l.last)
        };
        unstaffed.first = usable().map(|l| l.first).min().unwrap_or(0);
        unstaffed.last = usable().map(|l| l.last).max().unwrap_or(-1);
        unstaffed.with_straws = (unstaffed.open, unstaffed.close);
        let dues = unstaffed.dues.iter().map(|d| &dated.dues[*d]);
        if dues.clone().any(|d| d.turn.is_some()) {
            let hours = dues.map(Due::safe_hours_with_straws);
            let (open, close) = (unstaffed.open, unstaffed.close);
            unstaffed.with_straws = (
                hours.clone().map(|h| h.earliest).min().unwrap_or(open),
                hours.map(|h| h.latest).max().unwrap_or(close),
            );
        }
        unstaffed.able = able(season, unstaffed, slots, Relax::default());
    }
    all_unstaffed.sort_by_key(|s| (s.open, s.site));
    for technician in 0..season.crew.len() {
        parts::chain(season, &mut all_unstaffed, technician);
    }
    all_unstaffed
}

pub(crate) fn unstaffed_of<'a>(part: &Part, all_unstaffed: &'a [Unstaffed]) -> Vec<&'a Unstaffed> {
    part.sessions.iter().map(|s| &all_unstaffed[*s]).collect()
}
