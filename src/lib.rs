//! Thawline.
pub mod document;
pub mod error;
pub mod time;
pub mod units;
pub mod sources;
pub mod protocol;
pub mod season;
pub mod expand;
pub mod workload;
pub mod plan;
pub mod verify;
pub mod pipeline;
pub mod report;
