//! Whether a crew can breed what was asked about, and what would make it so.

mod csv;
mod document;
mod json;
mod remedies;

pub use csv::csv;
pub use document::document;
pub use json::json;

use super::document::Document;
use crate::service::cover::Answer;

/// The whole answer for the terminal.
#[must_use]
pub fn text(answer: &Answer) -> String {
    super::document::terminal::text(&document(answer))
}

impl crate::output::answer::Answer for Answer {
    fn document(&self) -> Document {
        document(self)
    }

    fn json(&self) -> String {
        json(self)
    }

    fn tables(&self) -> &'static [&'static str] {
        &["sessions"]
    }

    fn table(&self, _: &str) -> String {
        csv(self)
    }
}
