//! The phone calendar (RFC 5545): one for the whole season, one for each technician.
//!
//! * Chute passes, sessions, feeding and heat watch are events; every event carries the id of its
//!   pass (`X-THAWLINE-PASS`) or session (`X-THAWLINE-SESSION`).
//! * Times are local with the zone's own VTIMEZONE in the file, so a reader without a time-zone
//!   database gets them right.
//! * UIDs are made from names, so that a new export of a changed plan updates the old events.

mod alarm;
mod component;
mod events;
#[cfg(test)]
mod hostile_tests;
#[cfg(test)]
mod tests;
mod uid;
mod vtimezone;
mod when;
mod words;

use icalendar::Property;

use crate::plan::Plan;
use crate::time::{Instant, Zone};
use component::Component;
use events::Maker;

/// Names the maker of the file (RFC 5545, section 3.7.3).
const PRODID: &str = concat!("-//Thawline//Thawline ", env!("CARGO_PKG_VERSION"), "//EN");

/// The calendar of the season, or the sessions of one technician (by id), as the text of an
/// `.ics` file. `stamp` is the DTSTAMP of every event. Same input, same bytes.
///
/// # Panics
/// Never: UTC is a known zone.
#[must_use]
pub fn calendar(plan: &Plan, technician: Option<&str>, stamp: Instant) -> String {
    // A plan's zone is a known one. Should it ever not be, UTC still tells the right moments.
    let zone = Zone::parse(&plan.zone)
        .or_else(|_| Zone::parse("UTC"))
        .expect("UTC is a zone");
    let maker = Maker { plan, zone, stamp };
    let mut events = match technician {
        None => maker.season(),
        Some(id) => maker.technician(id),
    };
    events.sort_by(|a, b| a.order().cmp(&b.order()));

    let name = technician.map_or_else(
        || plan.season.clone(),
        |id| format!("{}: {}", plan.technician_name(id), plan.season),
    );
    // No METHOD: the file is a calendar to keep, not an invitation (RFC 5546).
    let mut calendar = Component::new("VCALENDAR")
        .text("VERSION", "2.0")
        .text("PRODID", PRODID)
        .text("CALSCALE", "GREGORIAN")
        // RFC 7986, section 5.1. The crate does not know NAME; told that it is text, it escapes it.
        .with(
            Property::new("NAME", component::plain(&name))
                .add_parameter("VALUE", "TEXT")
                .done(),
        )
        .text("X-WR-CALNAME", &name)
        .text("X-WR-TIMEZONE", zone.name());
    if let Some(id) = technician {
        calendar = calendar.text("X-THAWLINE-TECHNICIAN", id);
    }
    // Without events the zone alone keeps the file valid: a calendar holds at least one component
    // (RFC 5545, section 3.6).
    let from = events.iter().map(|e| e.from).min().unwrap_or(stamp);
    let to = events.iter().map(|e| e.to).max().unwrap_or(stamp);
    calendar = calendar.part(vtimezone::vtimezone(zone, from, to));
    for event in events {
        calendar = calendar.part(event.component);
    }
    calendar.to_text()
}
