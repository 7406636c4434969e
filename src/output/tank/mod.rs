//! The tanks: what is where, what is left, and the nitrogen.

mod csv;
mod drawing;
mod text;

pub use csv::csv;
pub use text::text;

use crate::analysis::tank::Answer;

/// The whole answer as JSON: `thawline.tank/1`.
#[must_use]
pub fn json(answer: &Answer) -> String {
    super::json::text(answer)
}
