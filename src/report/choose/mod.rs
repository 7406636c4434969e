//! What was found for the wishes of groups.

mod json;
mod text;

pub use json::json;
pub use text::text;
