//! The answer as JSON: `thawline.cover/1`.

use crate::service::staffing::Staffing;

/// The whole answer.
#[must_use]
pub fn json(answer: &Staffing) -> String {
    super::super::json::text(answer)
}
