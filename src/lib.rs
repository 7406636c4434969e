//! Thawline.
pub mod document;
pub mod error;
pub mod expand;
pub mod pipeline;
pub mod plan;
pub mod protocol;
pub mod report;
pub mod season;
pub mod sources;
pub mod time;
pub mod units;
pub mod verify;
pub mod workload;
