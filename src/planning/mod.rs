//! From a season to a plan: dates, who breeds whom and when, starts, and what follows AI.

pub mod aftercare;
pub mod choose;
pub mod crew;
pub mod dating;
pub mod plan;
pub(crate) mod wishes;
