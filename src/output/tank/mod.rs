//! The tanks: what is where, what is left, and the nitrogen.

mod csv;
mod document;
mod drawing;

pub use csv::csv;
pub use document::{document, text};
pub(super) use document::{place, runs};
pub(super) use drawing::map;

use crate::analysis::tank::Answer;

/// The whole answer as JSON: `thawline.tank/1`.
#[must_use]
pub fn json(answer: &Answer) -> String {
    super::json::text(answer)
}
