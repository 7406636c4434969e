//! The printed and phone page: one self-contained HTML file without script.

use crate::plan::Plan;

/// The page of a whole season.
#[must_use]
pub fn page(plan: &Plan) -> String {
    plan.season.clone()
}
