//! What a session asks of people beside time: many cows without a change, and work in the dark.

use chrono::{DateTime, Utc};
use sunrise::{Coordinates, SolarDay, SolarEvent};

use super::{Moment, Session};
use crate::base::error::{Code, Finding, quoted};
use crate::trade::season::Season;

/// Cows after which many technicians lose efficiency (BREEDER-PACE).
const TIRING_HEAD: u32 = 50;

/// Sessions that a sentence names at the most.
const NAMED: usize = 4;

/// What is to say of the sessions of a plan.
pub(super) fn findings(season: &Season, sessions: &[Session]) -> impl Iterator<Item = Finding> {
    let both = [tiring(season, sessions), dark(season, sessions)];
    both.into_iter().flatten()
}

fn tiring(season: &Season, sessions: &[Session]) -> Option<Finding> {
    let all = sessions.iter().flat_map(|s| {
        let many = s.technicians.iter().filter(|t| t.head > TIRING_HEAD);
        many.map(|t| {
            let day = season.zone.human_short(t.first_cow.to_utc());
            format!("{} {} from {day}", quoted(&t.id), t.head)
        })
    });
    let who = listed(all)?;
    Some(
        Finding::note(Code::Tiring, format!("many head for one person: {who}"))
            .expected("fewer than 50 in a session: some technicians lose efficiency after 30 cows, others after 50, a few after about 100 (BREEDER-PACE)")
            .hint("let people change places, or bring one more: `thawline cover` shows what it saves"),
    )
}

fn dark(season: &Season, sessions: &[Session]) -> Option<Finding> {
    let zone = season.zone;
    let all = sessions.iter().filter_map(|s| {
        let site = season.sites.iter().find(|x| x.id.as_str() == s.site)?;
        let (first, last) = (s.first_cow?, s.last_cow?);
        let (rises, _) = sun(site.position?, first)?;
        let (_, sets) = sun(site.position?, last)?;
        let (what, at, sun, light) = if first < rises {
            ("first", first, "sunrise", rises)
        } else if last > sets {
            ("last", last, "sunset", sets)
        } else {
            return None;
        };
        let (at, light) = (zone.human_short(at.to_utc()), zone.clock(light));
        let site = quoted(&s.site);
        Some(format!("{what} cow {at} at {site}, {sun} {light}"))
    });
    let when = listed(all)?;
    Some(
        Finding::note(Code::Dark, format!("cows are bred in the dark: {when}"))
            .expected("light at the chute, and on the way to it")
            .hint("bring lights, or hold the cows where they see (common practice, no source)"),
    )
}

/// Sunrise and sunset at a place on a local day; none where the sun does not rise or set.
fn sun((north, east): (f64, f64), day: Moment) -> Option<(DateTime<Utc>, DateTime<Utc>)> {
    let day = SolarDay::new(Coordinates::new(north, east)?, day.date_naive());
    let at = |event| day.event_time(event);
    at(SolarEvent::Sunrise).zip(at(SolarEvent::Sunset))
}

fn listed(all: impl Iterator<Item = String>) -> Option<String> {
    let all: Vec<String> = all.collect();
    let more = match all.len().saturating_sub(NAMED) {
        0 => String::new(),
        n => format!("; and {n} more"),
    };
    let named = all[..all.len().min(NAMED)].join("; ");
    (!all.is_empty()).then(|| named + &more)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Places (invented), local days, sunrise and sunset by Python's astral 3.2.
    const REFERENCE: [((f64, f64), &str, &str, &str); 4] = [
        (
            (40.25, -108.75),
            "2027-05-27",
            "2027-05-27T11:50:19Z",
            "2027-05-28T02:34:29Z",
        ),
        (
            (40.25, -108.75),
            "2027-12-21",
            "2027-12-21T14:34:17Z",
            "2027-12-21T23:51:54Z",
        ),
        (
            (-33.4, 149.6),
            "2027-06-21",
            "2027-06-20T21:05:23Z",
            "2027-06-21T07:01:10Z",
        ),
        (
            (52.5, -1.2),
            "2027-03-20",
            "2027-03-20T06:08:24Z",
            "2027-03-20T18:17:13Z",
        ),
    ];

    /// The two differ by less than two minutes.
    #[test]
    fn the_sun_rises_as_a_reference_library_says() {
        for (place, day, rises, sets) in REFERENCE {
            let noon = format!("{day}T12:00:00Z");
            let noon = DateTime::parse_from_rfc3339(&noon).unwrap();
            let (got, set) = sun(place, noon).unwrap();
            for (got, wanted) in [(got, rises), (set, sets)] {
                let wanted = DateTime::parse_from_rfc3339(wanted).unwrap();
                let off = (got - wanted.to_utc()).num_seconds().abs();
                assert!(off <= 120, "{place:?} {day}: {got} {wanted}");
            }
        }
        let noon = DateTime::parse_from_rfc3339("2027-06-21T12:00:00Z").unwrap();
        assert_eq!(sun((80.0, 20.0), noon), None);
    }
}
