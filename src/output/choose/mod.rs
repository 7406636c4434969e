//! What was found for the wishes of groups.

mod csv;
mod document;
mod json;

pub use csv::csv;
pub use document::document;
pub use json::{json, schema};

use crate::planning::choose::Chosen;
use crate::trade::season::Season;

/// The lists of all groups, and the choice for them together, for the terminal.
#[must_use]
pub fn text(chosen: &Chosen, season: &Season) -> String {
    super::document::terminal::text(&document(chosen, season))
}
