//! The answer as JSON: `thawline.cover/1`.

use crate::service::cover::Answer;

/// The whole answer.
#[must_use]
pub fn json(answer: &Answer) -> String {
    super::super::json::text(answer)
}
