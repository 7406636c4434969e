//! What people ask for: a season's verified plan, and whether a crew can breed it.

pub mod files;
pub mod pipeline;
pub mod staffing;
