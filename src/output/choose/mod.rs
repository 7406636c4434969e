//! What was found for the wishes of groups.

mod csv;
mod document;
mod json;

pub use document::document;
pub use json::{json, schema};

use super::answer::{Answer, Kind};
use crate::output::document::Document;
use crate::planning::choose::Chosen;
use crate::trade::season::Season;

/// The lists of all groups, and the choice for them together, for the terminal.
#[must_use]
pub fn text(chosen: &Chosen, season: &Season) -> String {
    super::document::terminal::text(&document(chosen, season))
}

/// What was found, with its season.
pub struct Printed<'a> {
    /// What was found.
    pub chosen: &'a Chosen,
    /// For which season.
    pub season: &'a Season,
}

impl Answer for Printed<'_> {
    fn document(&self) -> Document {
        document(self.chosen, self.season)
    }

    fn json(&self) -> String {
        json(self.chosen, self.season)
    }

    fn tables(&self) -> &'static [Kind] {
        csv::TABLES
    }

    fn table(&self, kind: &Kind) -> String {
        kind.of(&csv::rows(self.chosen, self.season))
    }
}
