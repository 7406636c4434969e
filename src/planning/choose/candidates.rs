//! Every protocol at every start around the wished dates, with what it breaks.

use chrono::{NaiveDate, NaiveDateTime, NaiveTime, TimeDelta, Timelike};

use crate::base::time::{Instant, Zone};
use crate::planning::dating::{self, DatedSeason, Work};
use crate::planning::wishes::{Broken, Demands};
use crate::trade::protocol::{Library, Protocol};
use crate::trade::season::{Group, GroupFacts, Season, Wishes};

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

impl Candidate {
    /// Of a group with its dates: `protocol` is the place of its protocol. `None` if it is not bred.
    pub(super) fn of(
        season: &Season,
        demands: &Demands<'_>,
        protocol: usize,
        group: &Group,
    ) -> Option<Self> {
        let dated = dating::date_groups(season, std::slice::from_ref(group));
        let (bred, broken) = demands.of_dates(group, &dated)?;
        Some(Self {
            protocol,
            start: group.start,
            broken: demands.of_protocol(&group.protocol) | broken,
            first: bred.first,
            first_day: bred.first_day,
            mean: bred.mean,
            night: night(season.zone, &dated),
        })
    }
}

/// The protocols that are published for these animals and this semen, for a first service.
pub(super) fn published<'a>(
    library: &'a Library,
    group: &GroupFacts,
    wishes: &Wishes,
) -> impl Iterator<Item = &'a Protocol> {
    let suiting = library.iter().filter(|p| p.class.serves(group.class));
    suiting.filter(|p| wishes.suit(p))
}

/// Those of them that are permitted in the season's country, or that the season file allows.
pub(super) fn considered<'a>(
    season: &Season,
    library: &'a Library,
    group: &GroupFacts,
    wishes: &Wishes,
) -> Vec<&'a Protocol> {
    let all = published(library, group, wishes);
    all.filter(|p| season.refuses(p, group.class).is_none())
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
    group: &GroupFacts,
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
                let candidate = Candidate::of(season, demands, n, &one);
                let looked_at = |c: &Candidate| (from..=to).contains(&season.zone.date(c.first));
                found.extend(candidate.filter(looked_at));
            }
            date += TimeDelta::days(1);
        }
    }
    found
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
