//! A first season file from the answers to five questions. All else is assumed, and marked as such in the
//! file, so that people see what to correct.

use std::fmt::Write as _;

use chrono::NaiveDateTime;

use super::{FORMAT, assume};
use crate::base::time::Zone;
use crate::base::units::Id;
use crate::trade::protocol::{Cattle, Class, Kind, Library, Protocol, Semen, law};

/// What is asked.
#[derive(Clone, Debug)]
pub struct First<'a> {
    /// How many animals.
    pub head: u32,
    /// Cows or heifers.
    pub class: Class,
    /// Zone of the local times.
    pub zone: Zone,
    /// Local time of the first animal's first treatment.
    pub start: NaiveDateTime,
    /// Who breeds, by name.
    pub people: Vec<Id>,
    /// How.
    pub protocol: &'a Protocol,
}

/// Protocols that a first season is offered for cattle of a class in a country: fixed time, published for beef
/// cattle, and permitted there; those with the highest figure of pregnancy
/// first, then those with the fewest trips through the chute.
#[must_use]
pub fn offered<'a>(library: &'a Library, class: Class, country: &str) -> Vec<&'a Protocol> {
    let fits = |p: &&Protocol| {
        p.class.serves(class)
            && p.kind == Kind::FixedTime
            && p.cattle.contains(&Cattle::Beef)
            && !p.research
            && !p.second_service
            && law::refused(country, p, class).next().is_none()
    };
    let mean = |p: &Protocol| p.rate(Semen::Conventional).map_or(0.0, |r| r.mean);
    let trips = |p: &Protocol| (p.chute_passes(), p.days_to_breeding());
    let mut all: Vec<&Protocol> = library.iter().filter(fits).collect();
    all.sort_by(|a, b| {
        mean(b)
            .total_cmp(&mean(a))
            .then_with(|| trips(a).cmp(&trips(b)))
    });
    all
}

impl First<'_> {
    /// The season file.
    #[must_use]
    pub fn text(&self) -> String {
        let (zone, class) = (self.zone.name(), self.class.as_str());
        let (head, start) = (self.head, self.start.format("%Y-%m-%dT%H:%M"));
        let protocol = &self.protocol.id;
        let mut text = format!(
            "# A first season. Lines marked `assumed` are not yours yet: correct them, then run `thawline plan` again.
format: {FORMAT}
name: Breeding season {year}
zone: {zone}

sites:
  - id: home
    breeding_boxes: {boxes} # assumed: one for each technician (common practice, no source)
    injections_head_per_hour: {injections} # assumed: {}
    inserts_head_per_hour: {inserts} # assumed: {}

groups:
  - id: {class}s
    site: home
    class: {class}
    head: {head}
    protocol: {protocol} # {name}
    start: {start}
    order: kept # assumed: animals come to be bred in the order of their treatment; `mixed` if they do not
    bulls: [bull] # assumed: name the bulls that may be used, the first choice first

crew:
",
            assume::INJECTIONS.1,
            assume::INSERTS.1,
            year = self.start.format("%Y"),
            boxes = self.people.len(),
            injections = assume::INJECTIONS.0,
            inserts = assume::INSERTS.0,
            name = self.protocol.name,
        );
        for who in &self.people {
            let (from, to) = assume::SHIFT;
            let _ = write!(
                text,
                "  - id: {who}
    cows_per_hour: {pace} # assumed: {why}
    shifts: [{{from: \"{from}\", to: \"{to}\"}}] # assumed: {}
",
                assume::SHIFTS,
                who = quoted_if_needed(who),
                pace = assume::PACE.0,
                why = assume::PACE.1,
            );
        }
        let straws = u64::from(head) * 2;
        let _ = write!(
            text,
            "
# Without `semen` enough straws are assumed, and the order list buys them all. When they are counted:
# semen: [{{bull: bull, straws: {straws}}}]
"
        );
        text
    }
}

/// An id as YAML takes it for text: a number or `true` would be read as such.
fn quoted_if_needed(id: &Id) -> String {
    let plain = id.as_str().chars().next().is_some_and(char::is_alphabetic)
        && !["true", "false", "null"].contains(&id.as_str().to_lowercase().as_str())
        && !id.as_str().contains(" #");
    if plain {
        id.to_string()
    } else {
        format!("\"{id}\"")
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::base::time::parse_local;
    use crate::trade::season;

    /// What the five answers make is read without a fault, and says what they said.
    #[test]
    fn each_protocol_that_is_offered_makes_a_season() {
        let library = Library::built_in();
        for class in [Class::Cow, Class::Heifer] {
            let offered = offered(&library, class, "US");
            assert!(offered.len() >= 3);
            for protocol in offered {
                let first = First {
                    head: 60,
                    class,
                    zone: Zone::parse("America/Denver").unwrap(),
                    start: parse_local("2027-05-03T17:00").unwrap(),
                    people: vec![Id::new("Ana Ruiz").unwrap(), Id::new("12 #a").unwrap()],
                    protocol,
                };
                let text = first.text();
                let (read, found) = season::read("s.yaml", text.as_bytes(), &library).unwrap();
                assert_eq!(read.groups[0].protocol.id, protocol.id);
                assert_eq!(read.groups[0].start, first.start);
                let crew: Vec<&Id> = read.crew.iter().map(|t| &t.id).collect();
                assert_eq!(crew, first.people.iter().collect::<Vec<_>>());
                // All but the straws stands in the file.
                let assumed = found.iter().filter(|f| f.code.as_str() == "S135");
                let assumed: Vec<&str> = assumed.map(|f| f.what.as_str()).collect();
                assert!(
                    assumed.len() == 1 && assumed[0].contains("semen"),
                    "{assumed:?}"
                );
            }
        }
    }
}
