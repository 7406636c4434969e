//! Whether a crew can breed what was asked about, and what would make it so.

mod csv;
mod document;
mod json;
mod remedies;

pub use document::document;
pub use json::json;

use super::answer::Kind;
use crate::output::document::Document;
use crate::service::staffing::Staffing;

/// The whole answer for the terminal.
#[must_use]
pub fn text(answer: &Staffing) -> String {
    super::document::terminal::text(&document(answer))
}

impl super::answer::Answer for Staffing {
    fn document(&self) -> Document {
        document(self)
    }

    fn json(&self) -> String {
        json(self)
    }

    fn tables(&self) -> &'static [Kind] {
        csv::TABLES
    }

    fn table(&self, kind: &Kind) -> String {
        kind.of(&csv::rows(self))
    }
}
