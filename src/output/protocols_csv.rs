//! The library and one protocol as tables for spreadsheets.

use serde::Serialize;

use super::answer::{Answer, Kind};
use super::document::Document;
use super::table::Table;
use super::{protocol_facts, protocol_list, protocols};
use crate::base::units::Units;
use crate::trade::protocol::Protocol;
use crate::trade::protocol::select::Selection;

impl Answer for Selection<'_> {
    fn document(&self) -> Document {
        protocol_list::document(self)
    }

    fn tables(&self) -> Vec<Kind<Self>> {
        vec![Kind::new("protocols", list)]
    }
}

/// One protocol as it is printed.
#[derive(Serialize)]
#[serde(transparent)]
pub struct One<'a> {
    /// The protocol.
    pub protocol: &'a Protocol,
    /// The units of its text.
    #[serde(skip)]
    pub units: Units,
}

impl Answer for One<'_> {
    fn document(&self) -> Document {
        protocols::document(self.protocol, self.units)
    }

    fn tables(&self) -> Vec<Kind<Self>> {
        vec![Kind::new("steps", steps)]
    }
}

fn list(selection: &Selection<'_>) -> String {
    let mut t = Table::of(selection.protocols.iter().copied());
    t.column("protocol", |p| &p.id);
    t.column("name", |p| &p.name);
    t.column("origin", |p| p.origin.as_str());
    t.column("class", |p| p.class);
    t.column("cattle", |p| &p.cattle);
    t.column("semen", |p| &p.semen);
    t.column("kind", |p| p.kind);
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
    let steps = protocol.steps.iter().zip(protocol.nominal_offsets());
    let rows: Vec<_> = steps.map(|(s, at)| (s.shown(protocol), s, at)).collect();
    let mut t = Table::of(&rows);
    t.column("protocol", |_| &protocol.id);
    t.column("name", |_| &protocol.name);
    t.column("step", |(s, ..)| s.id);
    t.column("actions", |(s, ..)| s.actions);
    t.column("what", |(_, step, _)| step.words());
    t.column("after", |(s, ..)| s.after);
    t.column("day", |(.., offset)| offset.num_days());
    t.column("after_days", |(s, ..)| s.days);
    t.column("earliest_hours", |(s, ..)| s.earliest_hours);
    t.column("aim_hours", |(s, ..)| s.aim_hours);
    t.column("latest_hours", |(s, ..)| s.latest_hours);
    t.column("lasts_days", |(s, ..)| s.lasts_days);
    t.column("share_percent", |(s, ..)| s.share_percent);
    t.column("cautions", |(s, ..)| &s.cautions);
    t.column("note", |(s, ..)| s.note);
    t.csv()
}
