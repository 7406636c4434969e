//! Whether a crew can breed what was asked about, and what would make it so.

mod json;
mod remedies;
mod text;

pub use json::json;
pub use text::text;
