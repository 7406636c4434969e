//! Every protocol at every start around the wished dates, with what it breaks.

use chrono::{NaiveDate, NaiveDateTime, NaiveTime, TimeDelta, Timelike};

use super::demand::{Broken, Demands};
use crate::base::time::{Instant, Zone};
use crate::base::units::Head;
use crate::planning::dating::{self, DatedSeason, Work};
use crate::trade::protocol::{Library, Protocol};
use crate::trade::season::{Group, Season, Undecided, Wishes};

/// Days beyond the wished dates that are looked at too, so that giving up a date can be weighed:
/// one cycle (WYLR).
const BEYOND_DAYS: i64 = 21;

/// A protocol and a start.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Candidate {
    /// Protocol, by its place among those considered.
    pub(super) protocol: usize,
    pub(super) start: NaiveDateTime,
    /// The wishes that it breaks.
    pub(super) broken: Broken,
    /// The first breeding: its aim for the first animal, or the first day of heat watch.
    pub(super) first: Instant,
    /// The first day on which any of its animals may be bred.
    pub(super) first_day: NaiveDate,
    /// The mean breeding.
    pub(super) mean: Instant,
    /// Chute work, and breeding at its aim, at night.
    pub(super) night: TimeDelta,
}

/// The protocols that are published for these animals and this semen, for a first service.
pub(super) fn considered<'a>(
    library: &'a Library,
    group: &Undecided,
    wishes: &Wishes,
) -> Vec<&'a Protocol> {
    library
        .iter()
        .filter(|p| p.class.serves(group.class))
        .filter(|p| wishes.suit(p))
        .collect()
}

/// The days of first breeding that are looked at.
fn span(demands: &Demands<'_>) -> Option<(NaiveDate, NaiveDate)> {
    let (from, to) = demands.bounds();
    let (from, to) = (from.or(to)?, to.or(from)?);
    let beyond = TimeDelta::days(BEYOND_DAYS);
    Some((from.min(to) - beyond, from.max(to) + beyond))
}

/// All candidates, by protocol and start.
pub(super) fn enumerate(
    season: &Season,
    group: &Undecided,
    wishes: &Wishes,
    protocols: &[&Protocol],
    demands: &Demands<'_>,
) -> Vec<Candidate> {
    let mut found = Vec::new();
    let Some((from, to)) = span(demands) else {
        return found;
    };
    let every = wishes.start_every.num_minutes().max(15) as usize;
    for (n, protocol) in protocols.iter().enumerate() {
        let always = demands.of_protocol(protocol);
        let lead = TimeDelta::days(protocol.days_to_breeding());
        let mut one = group
            .clone()
            .decided((*protocol).clone(), NaiveDateTime::MIN);
        // The lead is to the nearest day.
        let mut date = from - lead - TimeDelta::days(1);
        while date <= to - lead + TimeDelta::days(1) {
            for minute in (0..24 * 60).step_by(every) {
                let clock = NaiveTime::MIN + TimeDelta::minutes(i64::from(minute));
                one.start = date.and_time(clock);
                let dated = dating::date_groups(season, std::slice::from_ref(&one));
                let Some(bred) = Bred::of(season, &one, &dated) else {
                    continue;
                };
                let first = season.zone.date(bred.first);
                if (from..=to).contains(&first) {
                    found.push(Candidate {
                        protocol: n,
                        start: one.start,
                        broken: always
                            | demands.of_dates(&dated.passes, bred.first_day, bred.last_day),
                        first: bred.first,
                        first_day: bred.first_day,
                        mean: bred.mean,
                        night: night(season.zone, &dated),
                    });
                }
            }
            date += TimeDelta::days(1);
        }
    }
    found
}

/// When a group is bred.
struct Bred {
    first: Instant,
    mean: Instant,
    /// The first and the last day on which any animal of any pen may be bred: somewhere in her hours.
    first_day: NaiveDate,
    last_day: NaiveDate,
}

impl Bred {
    fn of(season: &Season, group: &Group, dated: &DatedSeason) -> Option<Self> {
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
            let (at, middle, head) = match pass.work {
                Work::Breeding if pass.head > Head(0) => {
                    let hours = pass.hours?;
                    days.extend([hours.earliest, hours.latest].map(|at| zone.date(at)));
                    (pass.start, hours.aim, f64::from(pass.head.0))
                }
                Work::HeatWatch { first, last } => {
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

/// The night: nobody likes to work from nine in the evening to five in the morning.
const NIGHT: (u32, u32) = (21, 5);

/// Time of chute work, and of breeding at its aim, that lies in the night.
fn night(zone: Zone, dated: &DatedSeason) -> TimeDelta {
    let mut sum = TimeDelta::zero();
    for pass in &dated.passes {
        if pass.work == Work::Chute {
            sum += in_the_night(zone, pass.start, pass.end);
        }
    }
    for due in &dated.dues {
        let (from, to) = (
            due.from.start + due.window.aim,
            due.from.end() + due.window.aim,
        );
        sum += in_the_night(zone, from, to);
    }
    sum
}

/// The part of a stretch that lies in the night, by local clocks.
fn in_the_night(zone: Zone, from: Instant, to: Instant) -> TimeDelta {
    let (mut at, end) = (zone.local(from), zone.local(to));
    let mut sum = TimeDelta::zero();
    while at < end {
        let hour = at.time().hour();
        let dark = !(NIGHT.1..NIGHT.0).contains(&hour);
        let next_hour = at.date().and_time(NaiveTime::MIN) + TimeDelta::hours(i64::from(hour) + 1);
        let next = next_hour.min(end);
        if dark {
            sum += next - at;
        }
        at = next;
    }
    sum
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::base::time::parse_local;

    #[test]
    fn the_night_is_counted_by_local_clocks() {
        let zone = Zone::parse("America/Denver").unwrap();
        let at = |t: &str| zone.resolve(parse_local(t).unwrap()).at;
        let night = |a: &str, b: &str| in_the_night(zone, at(a), at(b)).num_minutes();
        assert_eq!(night("2027-05-03T20:30", "2027-05-03T21:10"), 10);
        assert_eq!(night("2027-05-03T04:30", "2027-05-03T06:00"), 30);
        assert_eq!(night("2027-05-03T23:30", "2027-05-04T00:30"), 60);
        assert_eq!(night("2027-05-03T06:00", "2027-05-03T09:00"), 0);
    }
}
