//! When a group is bred, whoever breeds it.

use chrono::{NaiveDate, TimeDelta};

use crate::base::time::Instant;
use crate::base::units::Head;
use crate::planning::dating::{DatedSeason, Work};
use crate::trade::season::{Group, Season};

/// When a group is bred.
pub(crate) struct Bred {
    /// The first breeding: its aim for the first animal, or the first day of heat watch.
    pub(crate) first: Instant,
    /// The mean breeding.
    pub(crate) mean: Instant,
    /// The first day on which any animal of any pen may be bred: somewhere in her hours.
    pub(crate) first_day: NaiveDate,
    /// The last such day.
    pub(crate) last_day: NaiveDate,
}

impl Bred {
    /// `None` for a group that is not bred.
    pub(crate) fn of(season: &Season, group: &Group, dated: &DatedSeason) -> Option<Self> {
        let zone = season.zone;
        let breeding = season.rules.heat.breeding;
        let mut first = None::<Instant>;
        let mut days: Vec<NaiveDate> = Vec::new();
        // Moments from the first breeding, each weighed by its animals.
        let mut moments: Vec<(Instant, f64)> = Vec::new();
        let timed: u32 = dated.dues.iter().map(|d| d.head.0).sum();
        // Where half-days are planned they say when heat is bred; else it is the middle of the watch.
        let by_heat = if dated.heats.is_empty() {
            f64::from(group.head().0.saturating_sub(timed)).max(1.0)
        } else {
            0.0
        };
        for pass in &dated.passes {
            let (at, middle, head) = match (pass.work, pass.days) {
                (Work::Breeding, _) if pass.head > Head(0) => {
                    let hours = pass.hours?;
                    days.extend([hours.earliest, hours.latest].map(|at| zone.date(at)));
                    (pass.start, hours.aim, f64::from(pass.head.0))
                }
                (Work::HeatWatch, Some((first, last))) => {
                    days.extend([first, last]);
                    // Who is seen at the last check is bred hours later.
                    let check = season.rules.heat.checks.last().filter(|_| by_heat > 0.0);
                    let seen = check.map(|c| zone.resolve(last.and_time(*c)).at);
                    days.extend(seen.map(|at| zone.date(at + breeding.latest)));
                    let middle = pass.start + (pass.end - pass.start) / 2;
                    (pass.start, middle, by_heat)
                }
                _ => continue,
            };
            first = Some(first.map_or(at, |f| f.min(at)));
            moments.push((middle, head));
        }
        // Somebody may come in heat where nobody is expected.
        for half_day in dated.heats.iter().flat_map(|h| &h.half_days) {
            let window = [breeding.earliest, breeding.latest];
            days.extend(window.map(|after| zone.date(half_day.check + after)));
        }
        let first = first?;
        let all: f64 = moments.iter().map(|(_, w)| w).sum();
        let late: f64 = moments
            .iter()
            .map(|(at, w)| (*at - first).num_seconds() as f64 * w)
            .sum();
        Some(Self {
            first,
            first_day: days.iter().min().copied()?,
            last_day: days.iter().max().copied()?,
            mean: first + TimeDelta::seconds((late / all.max(1.0)).round() as i64),
        })
    }
}
