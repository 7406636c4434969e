//! The largest group that a crew covers with nothing else to do: a search over head, each counted
//! as a plan counts it.

use super::answer::{Largest, LargestRow};
use super::change::even_pens;
use super::question::fastest_first;
use crate::base::error::Error;
use crate::base::progress::Progress;
use crate::base::units::{Id, tenths};
use crate::planning::crew;
use crate::planning::dating;
use crate::trade::season::pace::rounds_at;
use crate::trade::season::{Order, PenStarts, Season, Technician};

/// Head beyond which no group is looked at.
pub(super) const MOST_HEAD: u32 = 2_000;

/// Technicians in the table, at the least and at the most.
const LEAST_ROWS: usize = 3;
const MOST_ROWS: usize = 6;

/// A group alone, whose head is varied.
pub(super) struct Alone {
    season: Season,
    pens: u32,
}

impl Alone {
    pub(super) fn new(season: &Season, group: usize) -> Self {
        let mut alone = season.clone();
        alone.groups = vec![season.groups[group].clone()];
        alone.open.clear();
        let pens = alone.groups[0].pens.len() as u32;
        Self {
            season: alone,
            pens,
        }
    }

    /// The same with something changed.
    pub(super) fn with(&self, change: impl FnOnce(&mut Season)) -> Self {
        let mut season = self.season.clone();
        change(&mut season);
        Self {
            season,
            pens: self.pens,
        }
    }

    fn sized(&self, head: u32) -> Season {
        let mut season = self.season.clone();
        let group = &mut season.groups[0];
        let pens = self.pens.min(head);
        group.pens = even_pens(head, pens);
        if pens < self.pens {
            group.pen_starts = PenStarts::InTurn;
        }
        season
    }

    /// True if all of so many are bred with everybody there, the fastest at the boxes.
    fn reaches(&self, head: u32) -> bool {
        let season = self.sized(head);
        let dated = dating::date_groups(&season, &season.groups);
        let (due, bred) = crew::bound_by_session(&season, &dated);
        due == bred
    }

    /// The same as a plan counts it, where people take turns at the boxes.
    fn covers(&self, head: u32) -> Result<bool, Error> {
        let season = self.sized(head);
        let site = season.groups[0].site;
        if season.crew.len() as u32 <= season.sites[site].breeding_boxes {
            return Ok(self.reaches(head));
        }
        let dated = dating::date_groups(&season, &season.groups);
        let counted = crew::count_as_planned(&season, &dated)?;
        Ok(counted.iter().all(|c| c.covered == c.head))
    }

    /// The largest number of head; `None` if any number looked at is covered.
    pub(super) fn head(&self) -> Result<Option<u32>, Error> {
        let most = largest_to(MOST_HEAD, |head| Ok(self.reaches(head)))?;
        if most > 0 && !self.covers(most)? {
            // No fewer than with those alone who are first at the boxes.
            let season = &self.season;
            let site = season.groups[0].site;
            let first = self.with(|s| {
                let boxes = s.sites[site].breeding_boxes as usize;
                let order = fastest_first(s, Some(site));
                let some = order.iter().take(boxes).map(|n| season.crew[*n].clone());
                s.crew = some.collect();
            });
            let least = largest_to(most, |head| Ok(first.reaches(head)))?;
            return Ok(Some(largest_between(least, most, |head| {
                self.covers(head)
            })?));
        }
        Ok((most < MOST_HEAD).then_some(most))
    }
}

/// The largest number up to `most` that holds, where fewer hold if more do.
fn largest_to(most: u32, mut holds: impl FnMut(u32) -> Result<bool, Error>) -> Result<u32, Error> {
    let (mut low, mut high) = (0, 8.min(most));
    while high < most && holds(high)? {
        low = high;
        high = (high * 2).min(most);
    }
    if high == most && holds(most)? {
        return Ok(most);
    }
    largest_between(low, high, holds)
}

/// The largest number from `low`, which holds, that is below `high`, which does not.
fn largest_between(
    mut low: u32,
    mut high: u32,
    mut holds: impl FnMut(u32) -> Result<bool, Error>,
) -> Result<u32, Error> {
    while high - low > 1 {
        let middle = low + (high - low) / 2;
        if holds(middle)? {
            low = middle;
        } else {
            high = middle;
        }
    }
    Ok(low)
}

/// One technician, two, three and so on: those asked about, then those left out, each the fastest
/// first; then others like the slowest of them all.
pub(super) fn largest(
    season: &Season,
    left_out: &[Technician],
    group: usize,
    progress: &dyn Progress,
) -> Result<Largest, Error> {
    let of = &season.groups[group];
    let alone = Alone::new(season, group);
    let mut others = season.clone();
    others.crew = left_out.to_vec();
    let in_turn = |s: &Season| -> Vec<Technician> {
        let order = fastest_first(s, Some(of.site));
        order.into_iter().map(|n| s.crew[n].clone()).collect()
    };
    let mut people = in_turn(season);
    people.extend(in_turn(&others));
    let known = people.len();
    if let Some(slowest) = people.last().cloned() {
        for n in 1..=LEAST_ROWS.saturating_sub(known) {
            let id = format!("{} {}", slowest.id, n + 1);
            people.push(Technician {
                id: Id::new(&id).unwrap_or_else(|| slowest.id.clone()),
                // Somebody hired has days off of their own, if any.
                days_off: Vec::new(),
                ..slowest.clone()
            });
        }
    }
    people.truncate(MOST_ROWS);
    let boxes = season.sites[of.site].breeding_boxes;
    let mut rows = Vec::new();
    for n in 1..=people.len() {
        if progress.stop() {
            break;
        }
        let crew = &people[..n];
        let with_crew = alone.with(|s| s.crew = crew.to_vec());
        let head = |order: Order| with_crew.with(|s| s.groups[0].order = order).head();
        let site = &with_crew.season.sites[of.site];
        let pace = |t: &Technician| {
            rounds_at(&with_crew.season, t, site).map_or(0.0, |r| r.cows_per_hour())
        };
        rows.push(LargestRow {
            technicians: n as u32,
            with: people[n.min(known) - 1].id.to_string(),
            hired: n > known,
            head_per_hour: tenths(crew.iter().map(pace).sum()),
            mixed_head: head(Order::Mixed)?,
            kept_head: head(Order::Kept)?,
            boxes_short: n as u32 > boxes,
        });
    }
    Ok(Largest {
        group: of.id.to_string(),
        head: of.head().0,
        order: of.order,
        pens: alone.pens,
        most_looked_at_head: MOST_HEAD,
        rows,
    })
}
