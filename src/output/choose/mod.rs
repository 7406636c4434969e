//! What was found for the wishes of groups.

mod csv;
mod json;
mod text;

pub use csv::csv;
pub use json::{json, schema};
pub use text::text;
