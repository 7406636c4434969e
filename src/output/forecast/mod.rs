//! Calves and money: text, JSON and tables.

mod chart;
mod csv;
mod money;
mod text;

pub use csv::{Table, csv};
pub use text::text;

use crate::analysis::forecast::Answer;

/// The whole answer as JSON: `thawline.forecast/1`.
#[must_use]
pub fn json(answer: &Answer) -> String {
    super::json::text(answer)
}
