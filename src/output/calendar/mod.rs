//! The phone calendar (RFC 5545): one for the whole season, one for each technician.
//!
//! * Chute passes, sessions, feeding, heat watch and what follows AI are events; every event
//!   carries the id of its pass (`X-THAWLINE-PASS`), session (`X-THAWLINE-SESSION`) or follow-up
//!   (`X-THAWLINE-FOLLOW`).
//! * Times are local with the zone's own VTIMEZONE in the file, so a reader without a time-zone
//!   database gets them right.
//! * UIDs are made from names, so that a new export of a changed plan updates the old events; told
//!   the earlier export ([`read_previous`]), it counts SEQUENCE on and cancels what went away.

mod alarm;
mod component;
mod events;
#[cfg(test)]
mod hostile_tests;
mod previous;
#[cfg(test)]
mod previous_tests;
mod revision;
#[cfg(test)]
mod tests;
mod uid;
mod vtimezone;
mod when;
mod words;

use std::collections::{BTreeMap, BTreeSet};

use icalendar::Property;

pub use previous::{MOST_BYTES, Previous, read as read_previous};

use crate::base::error::{Code, Finding, Place, quoted};
use crate::base::time::{Instant, Zone};
use crate::planning::plan::Plan;
use component::{Component, PRODID};
use events::Maker;
use revision::Revision;

/// The calendar of the season, or the sessions of one technician (by id), as the text of an
/// `.ics` file. `stamp` is the DTSTAMP of every event. Same input, same bytes.
#[must_use]
pub fn calendar(plan: &Plan, technician: Option<&str>, stamp: Instant) -> String {
    made(plan, technician, stamp, &BTreeMap::new())
}

/// The same after an earlier export. An event that says the same keeps its SEQUENCE and time
/// stamps, one that changed has the next SEQUENCE and `stamp`, and one that the plan no longer has
/// stays as cancelled.
///
/// # Errors
/// A finding if the earlier export is another person's.
pub fn calendar_after(
    plan: &Plan,
    technician: Option<&str>,
    stamp: Instant,
    previous: &Previous,
    file: &str,
) -> Result<String, Finding> {
    if previous.technician.as_deref() != technician {
        let whose = |t: Option<&str>| {
            t.map_or("the whole season".to_owned(), |id| {
                format!("technician {}", quoted(id))
            })
        };
        return Err(Finding::error(
            Code::CalendarOther,
            format!(
                "this calendar is that of {}, and the one of {} is asked for",
                whose(previous.technician.as_deref()),
                whose(technician)
            ),
        )
        .at(Place::top(file))
        .expected("an earlier export of the same calendar")
        .hint("name the other file, or choose with `--for`"));
    }
    Ok(made(plan, technician, stamp, &previous.events))
}

/// # Panics
/// Never: UTC is a known zone.
fn made(
    plan: &Plan,
    technician: Option<&str>,
    stamp: Instant,
    previous: &BTreeMap<String, previous::Old>,
) -> String {
    // A plan's zone is a known one. Should it ever not be, UTC still tells the right moments.
    let zone = Zone::parse(&plan.zone)
        .or_else(|_| Zone::parse("UTC"))
        .expect("UTC is a zone")
        .on(plan.units.clock);
    let maker = Maker { plan, zone };
    let told = match technician {
        None => maker.season(),
        Some(id) => maker.technician(id),
    };
    let mut zones = Zones::new(zone);
    let mut events = Vec::new();
    for t in &told {
        if t.when.is_timed() {
            zones.need(zone, t.when.start(zone), t.when.end(zone));
        }
        let mut event = maker.event(t, Revision::first(stamp));
        if let Some(old) = previous.get(&t.uid) {
            let same = old.says_the_same_as(&event.to_text());
            event = maker.event(t, old.revision.after(same, stamp));
        }
        events.push((t.order(zone), event));
    }
    let planned: BTreeSet<&str> = told.iter().map(|t| t.uid.as_str()).collect();
    for (uid, old) in previous
        .iter()
        .filter(|(u, _)| !planned.contains(u.as_str()))
    {
        if let Some(zone) = old.zone {
            zones.need(zone, old.from, old.to);
        }
        let order = (old.from, uid.clone());
        events.push((order, cancelled(uid, old, stamp)));
    }
    events.sort_by(|a, b| a.0.cmp(&b.0));

    let mut calendar = frame(plan, technician, zone);
    for part in zones.parts(stamp) {
        calendar = calendar.part(part);
    }
    for (_, event) in events {
        calendar = calendar.part(event);
    }
    calendar.to_text()
}

/// What stands in front of a cancelled event's summary, for programs that do not show the status.
const CANCELLED: &str = "CANCELLED: ";

/// An event that the new plan does not have: as it was, but cancelled, without reminders.
fn cancelled(uid: &str, old: &previous::Old, stamp: Instant) -> Component {
    let revision = old.revision.after(old.cancelled, stamp);
    let mut made = revision.tell(Component::new("VEVENT").text("UID", uid), "CANCELLED");
    let again = ["UID", "DTSTAMP", "LAST-MODIFIED", "SEQUENCE"];
    let again = [&again[..], &["STATUS", "TRANSP"]].concat();
    for line in &old.lines {
        made = match line.name.as_str() {
            name if again.contains(&name) => made,
            "SUMMARY" if !line.value.starts_with(CANCELLED) => {
                made.text("SUMMARY", &format!("{CANCELLED}{}", line.value))
            }
            _ => made.kept(&line.text),
        };
    }
    made.with(Property::new("TRANSP", "TRANSPARENT"))
}

fn frame(plan: &Plan, technician: Option<&str>, zone: Zone) -> Component {
    let name = technician.map_or_else(
        || plan.season.clone(),
        |id| format!("{}: {}", plan.technician_name(id), plan.season),
    );
    // No METHOD: the file is a calendar to keep, not an invitation (RFC 5546).
    let calendar = Component::new("VCALENDAR")
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
        .text("X-WR-TIMEZONE", zone.name())
        .text("X-THAWLINE-SEASON", &plan.season)
        .text("X-THAWLINE-PLAN", &plan.id);
    match technician {
        Some(id) => calendar.text("X-THAWLINE-TECHNICIAN", id),
        None => calendar,
    }
}

/// The zones that times in the file are told in, each for the span that is used: whole days are
/// of no zone.
struct Zones {
    own: Zone,
    spans: BTreeMap<&'static str, (Zone, Instant, Instant)>,
}

impl Zones {
    const fn new(own: Zone) -> Self {
        Self {
            own,
            spans: BTreeMap::new(),
        }
    }

    fn need(&mut self, zone: Zone, from: Instant, to: Instant) {
        let span = self.spans.entry(zone.name()).or_insert((zone, from, to));
        (span.1, span.2) = (span.1.min(from), span.2.max(to));
    }

    /// The season's zone comes first. Without times it alone keeps the file valid: a calendar
    /// holds at least one component (RFC 5545, section 3.6).
    fn parts(mut self, stamp: Instant) -> Vec<Component> {
        let (zone, from, to) = self
            .spans
            .remove(self.own.name())
            .unwrap_or((self.own, stamp, stamp));
        let mut parts = vec![vtimezone::vtimezone(zone, from, to)];
        parts.extend(
            self.spans
                .into_values()
                .map(|(z, a, b)| vtimezone::vtimezone(z, a, b)),
        );
        parts
    }
}
