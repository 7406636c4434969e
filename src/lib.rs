//! Thawline.
pub mod document;
pub mod error;
pub mod time;
pub mod units;
pub mod sources;
pub mod protocol;
pub mod season;
