//! Calves and money: in words, as JSON, and as tables.

mod csv;
mod document;
mod money;

pub use document::document;

use super::answer::Kind;
use crate::analysis::forecast::Forecast;
use crate::output::document::Document;

/// The whole answer for the terminal.
#[must_use]
pub fn text(answer: &Forecast) -> String {
    super::document::terminal::text(&document(answer))
}

/// The whole answer as JSON: `thawline.forecast/1`.
#[must_use]
pub fn json(answer: &Forecast) -> String {
    super::json::text(answer)
}

impl super::answer::Answer for Forecast {
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
        csv::table(self, kind)
    }
}
