//! The library and one protocol as tables for spreadsheets.

use super::answer::{Answer, Kind};
use super::document::Document;
use super::protocol_facts::{self, delay_days, delay_hours};
use super::table::Table;
use super::{json, protocol_list, protocols};
use crate::base::units::Units;
use crate::trade::protocol::select::Selection;
use crate::trade::protocol::{Library, Protocol};

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

    fn tables(&self) -> Vec<Kind<Self>> {
        vec![Kind::new("protocols", list)]
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

    fn tables(&self) -> Vec<Kind<Self>> {
        vec![Kind::new("steps", steps)]
    }
}

fn list(chosen: &Chosen<'_>) -> String {
    let mut t = Table::of(chosen.selection.protocols.iter().copied());
    t.column("protocol", |p| p.id.as_str());
    t.column("name", |p| &p.name);
    t.column("origin", |p| protocol_facts::origin(p, chosen.library));
    t.column("class", |p| p.class.as_str());
    t.column("cattle", |p| {
        p.cattle.iter().map(|c| c.as_str()).collect::<Vec<_>>()
    });
    t.column("semen", |p| {
        p.semen.iter().map(|s| s.as_str()).collect::<Vec<_>>()
    });
    t.column("kind", |p| p.kind.as_str());
    t.column("days_to_breeding", Protocol::days_to_breeding);
    t.column("chute_passes", Protocol::chute_passes);
    t.column("pregnancy", protocol_facts::pregnant);
    t.column("research", |p| p.research);
    t.column("second_service", |p| p.second_service);
    t.column("from_memory", Protocol::has_unverified);
    t.column("suits", |p| &p.suits);
    t.csv()
}

fn steps(one: &One<'_>) -> String {
    let protocol = one.protocol;
    let mut t = Table::of(protocol.steps.iter().zip(protocol.nominal_offsets()));
    t.column("protocol", |_| protocol.id.as_str());
    t.column("name", |_| &protocol.name);
    t.column("step", |(s, _)| s.id.as_str());
    t.column("actions", |(s, _)| protocol_facts::actions(s));
    t.column("what", |(s, _)| s.words());
    t.column("after", |(s, _)| protocol_facts::anchor(protocol, s));
    t.column("day", |(_, offset)| offset.num_days());
    t.column("after_days", |(s, _)| delay_days(s));
    t.column("earliest_hours", |(s, _)| delay_hours(s).map(|h| h[0]));
    t.column("aim_hours", |(s, _)| delay_hours(s).map(|h| h[1]));
    t.column("latest_hours", |(s, _)| delay_hours(s).map(|h| h[2]));
    t.column("lasts_days", |(s, _)| s.lasts_days);
    t.column("share_percent", |(s, _)| {
        s.share.as_ref().map(|p| p.expected)
    });
    t.column("cautions", |(s, _)| protocol_facts::cautions(s));
    t.column("note", |(s, _)| &s.note);
    t.csv()
}
