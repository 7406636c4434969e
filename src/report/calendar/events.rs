//! Which events there are, and their properties.

use chrono::Utc;
use icalendar::{CalendarDateTime, DatePerhapsTime, Property};

use super::alarm::alarms;
use super::component::{Component, categories};
use super::uid::uid;
use super::when::When;
use super::words::Words;
use crate::plan::{AtSession, Moment, Pass, Plan, Session, Work};
use crate::time::{Instant, Zone};

/// An event with what it is sorted by.
pub(super) struct Event {
    pub(super) from: Instant,
    pub(super) to: Instant,
    id: String,
    pub(super) component: Component,
}

impl Event {
    /// Events come by start, then id, then whether they are a pass or a session.
    pub(super) fn order(&self) -> (Instant, &str) {
        (self.from, &self.id)
    }
}

/// What is said of one event.
struct Told<'a> {
    /// Property that holds the id.
    key: &'static str,
    id: &'a str,
    uid: String,
    when: When,
    summary: String,
    description: String,
    site: &'a str,
    kind: &'static str,
}

/// Makes events of a plan.
pub(super) struct Maker<'a> {
    pub(super) plan: &'a Plan,
    pub(super) zone: Zone,
    pub(super) stamp: Instant,
}

impl<'a> Maker<'a> {
    /// Everything: chute passes, feeding, heat watch and sessions. A breeding pass at set hours is
    /// told by its session.
    pub(super) fn season(&self) -> Vec<Event> {
        let passes = self.plan.passes.iter().filter(|p| p.work != Work::Breeding);
        let passes = passes.map(|p| self.event(&self.pass(p)));
        let sessions = self
            .plan
            .sessions
            .iter()
            .map(|s| self.event(&self.session(s)));
        passes.chain(sessions).collect()
    }

    /// The sessions that a technician is in, each for as long as he or she is in it.
    pub(super) fn technician(&self, id: &str) -> Vec<Event> {
        let sessions = self.plan.sessions.iter();
        sessions
            .filter_map(|s| Some((s, s.technicians.iter().find(|t| t.id == id)?)))
            .map(|(s, t)| self.event(&self.turn(s, t)))
            .collect()
    }

    fn words(&self) -> Words<'a> {
        Words {
            plan: self.plan,
            zone: self.zone,
        }
    }

    fn pass(&self, p: &'a Pass) -> Told<'a> {
        let pen = p.pen.map_or("all".to_owned(), |n| n.to_string());
        Told {
            key: "X-THAWLINE-PASS",
            id: &p.id,
            uid: uid(&self.plan.season, &["pass", &p.group, &pen, &p.step]),
            when: match (p.first_day, p.last_day) {
                (Some(first), Some(last)) => When::Daily { first, last },
                _ => between(p.start, p.end),
            },
            summary: self.words().pass_summary(p),
            description: self.words().pass(p),
            site: &p.site,
            kind: match p.work {
                Work::Chute => "Chute work",
                Work::Feeding => "Feeding",
                Work::HeatWatch => "Heat watch",
                Work::Breeding => "Breeding",
            },
        }
    }

    fn session(&self, s: &'a Session) -> Told<'a> {
        let begins = s.technicians.iter().map(|t| t.begins);
        let begins = begins.chain(s.first_cow).min();
        Told {
            uid: uid(&self.plan.season, &session_names(s)),
            when: match (begins, s.last_cow) {
                (Some(begins), Some(last)) => between(begins, last),
                // Nobody is bred: the hours in which it should be.
                _ => between(s.open, s.close),
            },
            summary: self.words().session_summary(s),
            description: self.words().session(s),
            ..breeding(s)
        }
    }

    fn turn(&self, s: &'a Session, t: &'a AtSession) -> Told<'a> {
        let names = [&session_names(s)[..], &["technician", &t.id]].concat();
        Told {
            uid: uid(&self.plan.season, &names),
            when: between(t.begins, t.last_cow),
            summary: self.words().turn_summary(s, t),
            description: self.words().turn(s, t),
            ..breeding(s)
        }
    }

    fn event(&self, told: &Told) -> Event {
        let site = self.plan.site_name(told.site);
        let stamp = DatePerhapsTime::DateTime(CalendarDateTime::Utc(self.stamp));
        let mut component = Component::new("VEVENT")
            .text("UID", &told.uid)
            .with(stamp.to_property("DTSTAMP"))
            .with(Property::new("SEQUENCE", "0"));
        for property in told.when.properties(self.zone) {
            component = component.with(property);
        }
        component = component
            .text("SUMMARY", &told.summary)
            .text("LOCATION", site)
            .text("DESCRIPTION", &told.description)
            .with(categories(&[told.kind, site]))
            .text(told.key, told.id);
        for alarm in alarms(self.zone, told.when, &told.summary) {
            component = component.part(alarm);
        }
        Event {
            from: told.when.start(self.zone),
            to: told.when.end(self.zone),
            id: format!("{} {}", told.id, told.key),
            component,
        }
    }
}

/// What every event of a session shares.
fn breeding(s: &Session) -> Told<'_> {
    Told {
        key: "X-THAWLINE-SESSION",
        id: &s.id,
        uid: String::new(),
        when: between(s.open, s.close),
        summary: String::new(),
        description: String::new(),
        site: &s.site,
        kind: "Breeding",
    }
}

/// What a session is known by. Its id alone could be read in two ways, as ids may hold slashes.
fn session_names(s: &Session) -> [&str; 4] {
    let first = s.pens.first().map_or("", |p| p.group.as_str());
    ["session", &s.site, first, &s.id]
}

fn between(start: Moment, end: Moment) -> When {
    When::Timed {
        start: start.with_timezone(&Utc),
        end: end.with_timezone(&Utc),
    }
}
