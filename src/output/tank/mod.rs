//! The tanks: what is where, what is left, and the nitrogen.

mod csv;
mod document;
mod drawing;

pub use document::{document, text};
pub(super) use document::{place, runs};
pub(super) use drawing::map;

use super::answer::Kind;
use crate::analysis::tank::TankReport;
use crate::output::document::Document;

/// The whole answer as JSON: `thawline.tank/1`.
#[must_use]
pub fn json(answer: &TankReport) -> String {
    super::json::text(answer)
}

impl super::answer::Answer for TankReport {
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
