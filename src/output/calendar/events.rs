//! Which events there are, and their properties.

use std::collections::BTreeSet;

use chrono::Utc;
use icalendar::Property;

use super::alarm::alarms;
use super::component::{Component, categories};
use super::revision::Revision;
use super::uid::uid;
use super::when::When;
use super::words::Words;
use crate::base::time::{Instant, Zone};
use crate::planning::plan::{
    AtSession, FollowKind, FollowUp, GroupFollowUp, Moment, Pass, Plan, Session, Work,
};

/// What is said of one event.
pub(super) struct Printed<'a> {
    /// Property that holds the id.
    key: &'static str,
    id: &'a str,
    pub(super) uid: String,
    pub(super) when: When,
    summary: String,
    description: String,
    site: &'a str,
    kind: &'static str,
}

impl Printed<'_> {
    /// Events come by start, then id, then whether they are a pass or a session.
    pub(super) fn order(&self, zone: Zone) -> (Instant, String) {
        (self.when.start(zone), format!("{} {}", self.id, self.key))
    }
}

/// Makes events of a plan.
pub(super) struct Maker<'a> {
    pub(super) plan: &'a Plan,
    pub(super) zone: Zone,
}

impl<'a> Maker<'a> {
    /// Everything: chute passes, feeding, heat watch, sessions, and what follows AI. A breeding
    /// pass at set hours is told by its session.
    pub(super) fn season(&self) -> Vec<Printed<'a>> {
        let passes = self.plan.passes.iter().filter(|p| p.work != Work::Breeding);
        let passes = passes.map(|p| self.pass(p));
        let sessions = self.plan.sessions.iter().map(|s| self.session(s));
        let later = self.plan.follow_up.iter().flat_map(|g| {
            let group = g.group.as_str();
            g.events.iter().map(move |f| self.follow(group, f, &[]))
        });
        passes.chain(sessions).chain(later).collect()
    }

    /// The sessions that a technician is in, each for as long as he or she is in it, and the
    /// return heats of the groups that he or she bred.
    pub(super) fn technician(&self, id: &str) -> Vec<Printed<'a>> {
        let sessions = self.plan.sessions.iter();
        let turns = sessions
            .filter_map(|s| Some((s, s.technicians.iter().find(|t| t.id == id)?)))
            .map(|(s, t)| self.turn(s, t));
        let slots = self.plan.sessions.iter().flat_map(|s| &s.slots);
        let bred: BTreeSet<&str> = slots
            .filter(|l| l.technician == id)
            .map(|l| l.group.as_str())
            .collect();
        let bred = |g: &&GroupFollowUp| bred.contains(g.group.as_str());
        let returns = self.plan.follow_up.iter().filter(bred).flat_map(|g| {
            let heats = g.events.iter().filter(|f| f.kind == FollowKind::ReturnHeat);
            heats.map(|f| self.follow(&g.group, f, &["technician", id]))
        });
        turns.chain(returns).collect()
    }

    fn follow(&self, group: &'a str, f: &'a FollowUp, whose: &[&str]) -> Printed<'a> {
        let names = [&["follow", group, f.kind.as_str()], whose].concat();
        let first = f.first_day;
        let last = f.last_day.unwrap_or(first);
        Printed {
            key: "X-THAWLINE-FOLLOW",
            id: &f.id,
            uid: uid(&self.plan.season, &names),
            when: if f.kind.is_daily() {
                When::Daily { first, last }
            } else {
                When::Span { first, last }
            },
            summary: self.words().follow_summary(group, f),
            description: self.words().follow(group, f),
            site: self.plan.group(group).map_or("", |g| g.site.as_str()),
            kind: f.kind.category(),
        }
    }

    fn words(&self) -> Words<'a> {
        Words {
            plan: self.plan,
            zone: self.zone,
        }
    }

    fn pass(&self, p: &'a Pass) -> Printed<'a> {
        let pen = p.pen.map_or("all".to_owned(), |n| n.to_string());
        Printed {
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

    fn session(&self, s: &'a Session) -> Printed<'a> {
        let begins = s.technicians.iter().map(|t| t.begins);
        let begins = begins.chain(s.first_cow).min();
        Printed {
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

    fn turn(&self, s: &'a Session, t: &'a AtSession) -> Printed<'a> {
        let names = [&session_names(s)[..], &["technician", &t.id]].concat();
        Printed {
            uid: uid(&self.plan.season, &names),
            when: between(t.begins, t.last_cow),
            summary: self.words().turn_summary(s, t),
            description: self.words().turn(s, t),
            ..breeding(s)
        }
    }

    /// An event as it stands in a file.
    pub(super) fn event(&self, told: &Printed<'_>, revision: Revision) -> Component {
        let site = self.plan.site_name(told.site);
        let made = Component::new("VEVENT").text("UID", &told.uid);
        let mut made = revision.tell(made, "CONFIRMED");
        for property in told.when.properties(self.zone) {
            made = made.with(property);
        }
        made = made.text("SUMMARY", &told.summary).text("LOCATION", site);
        if let Some(place) = self.position(told.site) {
            made = made.with(place);
        }
        made = made
            .text("DESCRIPTION", &told.description)
            .with(categories(&[told.kind, site]))
            .text(told.key, told.id);
        for alarm in alarms(self.zone, told.when, &told.summary) {
            made = made.part(alarm);
        }
        made
    }

    /// GEO: degrees north, then east (section 3.8.1.6), to about ten centimetres.
    fn position(&self, site: &str) -> Option<Property> {
        let site = self.plan.sites.iter().find(|s| s.id == site)?;
        let (north, east) = site.latitude.zip(site.longitude)?;
        Some(Property::new(
            "GEO",
            format!("{};{}", degrees(north), degrees(east)),
        ))
    }
}

/// `40.25`: no more than six decimals, no fewer than one.
fn degrees(of: f64) -> String {
    let long = format!("{of:.6}");
    let short = long.trim_end_matches('0');
    if short.ends_with('.') {
        format!("{short}0")
    } else {
        short.to_owned()
    }
}

/// What every event of a session shares.
fn breeding(s: &Session) -> Printed<'_> {
    Printed {
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

#[cfg(test)]
mod tests {
    use super::degrees;

    #[test]
    fn degrees_are_plain_numbers() {
        for (of, text) in [
            (40.25, "40.25"),
            (-108.0, "-108.0"),
            (0.0, "0.0"),
            (0.000_001, "0.000001"),
            (12.345_678_9, "12.345679"),
        ] {
            assert_eq!(degrees(of), text);
        }
    }
}
