//! The library and one protocol as tables for spreadsheets.

use crate::output::document::Document;
use serde::Serialize;

use super::answer::{Answer, Kind};
use super::{json, protocol_facts, protocol_list, protocols, table};
use crate::base::units::Units;
use crate::trade::protocol::select::Selection;
use crate::trade::protocol::{Anchor, Delay, Library, Origin, Protocol};

#[derive(Default, Serialize)]
struct Listed<'a> {
    protocol: &'a str,
    name: &'a str,
    origin: &'a str,
    class: &'static str,
    cattle: String,
    semen: String,
    kind: &'static str,
    days_to_breeding: i64,
    chute_passes: usize,
    pregnancy: String,
    research: bool,
    second_service: bool,
    from_memory: bool,
    suits: &'a str,
}

#[derive(Default, Serialize)]
struct StepRow<'a> {
    protocol: &'a str,
    name: &'a str,
    step: &'a str,
    actions: String,
    what: String,
    after: &'a str,
    day: i64,
    after_days: Option<u32>,
    earliest_hours: Option<f64>,
    aim_hours: Option<f64>,
    latest_hours: Option<f64>,
    lasts_days: Option<u32>,
    share_percent: Option<f64>,
    cautions: String,
    note: &'a str,
}

/// Protocols as they are listed.
pub struct Chosen<'a> {
    /// Those that suit.
    pub selection: &'a Selection<'a>,
    /// All.
    pub library: &'a Library,
}

impl Answer for Chosen<'_> {
    fn document(&self) -> Document {
        protocol_list::document(self.selection)
    }

    fn json(&self) -> String {
        json::protocols(self.selection, self.library)
    }

    fn tables(&self) -> &'static [Kind] {
        const { &[Kind::whole("protocols")] }
    }

    fn table(&self, kind: &Kind) -> String {
        kind.of(&list(self.selection, self.library))
    }
}

/// One protocol as it is printed.
pub struct One<'a> {
    /// The protocol.
    pub protocol: &'a Protocol,
    /// Of which library.
    pub library: &'a Library,
    /// The units of its text.
    pub units: Units,
}

impl Answer for One<'_> {
    fn document(&self) -> Document {
        protocols::document(self.protocol, self.library, self.units)
    }

    fn json(&self) -> String {
        json::protocol(self.protocol, self.library)
    }

    fn tables(&self) -> &'static [Kind] {
        const { &[Kind::whole("steps")] }
    }

    fn table(&self, kind: &Kind) -> String {
        kind.of(&steps(self.protocol))
    }
}

fn list<'a>(selection: &'a Selection<'_>, library: &'a Library) -> Vec<Listed<'a>> {
    selection
        .protocols
        .iter()
        .map(|p| Listed {
            protocol: p.id.as_str(),
            name: &p.name,
            origin: match library.origin(p.id.as_str()) {
                Some(Origin::File(file)) => file,
                _ => "built-in",
            },
            class: p.class.as_str(),
            cattle: table::joined(&p.cattle.iter().map(|c| c.as_str()).collect::<Vec<_>>()),
            semen: table::joined(&p.semen.iter().map(|s| s.as_str()).collect::<Vec<_>>()),
            kind: p.kind.as_str(),
            days_to_breeding: p.days_to_breeding(),
            chute_passes: p.chute_passes(),
            pregnancy: protocol_facts::pregnant(p).join("; "),
            research: p.research,
            second_service: p.second_service,
            from_memory: p.has_unverified(),
            suits: &p.suits,
        })
        .collect()
}

fn steps(protocol: &Protocol) -> Vec<StepRow<'_>> {
    let hours = |d: chrono::TimeDelta| d.num_seconds() as f64 / 3600.0;
    let offsets = protocol.nominal_offsets();
    protocol
        .steps
        .iter()
        .zip(offsets)
        .map(|(s, offset)| {
            let (after_days, window) = match s.delay {
                Delay::Days(d) => (Some(d), None),
                Delay::Elapsed(w) => (None, Some(w)),
            };
            let mut cautions: Vec<&str> = Vec::new();
            for c in s.actions.iter().flat_map(|a| a.cautions()) {
                if !cautions.contains(&c.as_str()) {
                    cautions.push(c.as_str());
                }
            }
            StepRow {
                protocol: protocol.id.as_str(),
                name: &protocol.name,
                step: s.id.as_str(),
                actions: table::joined(&s.actions.iter().map(|a| a.as_str()).collect::<Vec<_>>()),
                what: s.words(),
                after: match s.anchor {
                    Anchor::Start => "start",
                    Anchor::Step(a) => protocol.steps[a].id.as_str(),
                },
                day: offset.num_days(),
                after_days,
                earliest_hours: window.map(|w| hours(w.earliest)),
                aim_hours: window.map(|w| hours(w.aim)),
                latest_hours: window.map(|w| hours(w.latest)),
                lasts_days: s.lasts_days,
                share_percent: s.share.as_ref().map(|p| p.expected),
                cautions: table::joined(&cautions),
                note: s.note.as_deref().unwrap_or(""),
            }
        })
        .collect()
}
