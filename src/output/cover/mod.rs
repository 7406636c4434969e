//! Whether a crew can breed what was asked about, and what would make it so.

mod csv;
mod json;
mod remedies;
mod text;

pub use csv::csv;
pub use json::json;
pub use text::text;
