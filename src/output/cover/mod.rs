//! Whether a crew can breed what was asked about, and what would make it so.

mod csv;
mod document;
mod json;
mod remedies;

pub use csv::csv;
pub use document::document;
pub use json::json;

use crate::service::cover::Answer;

/// The whole answer for the terminal.
#[must_use]
pub fn text(answer: &Answer) -> String {
    super::document::terminal::text(&document(answer))
}
