//! A finding as a plan and other answers carry it.

use serde::{Deserialize, Serialize};

use crate::error::visible;

/// A finding.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, schemars::JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Remark {
    /// Stable code.
    pub code: String,
    /// note, warning or error.
    pub severity: String,
    /// `file:line:column field`, where it stands in a file.
    pub place: Option<String>,
    /// What is wrong.
    pub what: String,
    /// What was expected.
    pub expected: Option<String>,
    /// What to do.
    pub hint: Option<String>,
}

/// Findings quote files that others wrote: nothing hidden in them goes on from here.
impl From<&crate::error::Finding> for Remark {
    fn from(f: &crate::error::Finding) -> Self {
        Self {
            code: f.code.to_string(),
            severity: f.severity.to_string(),
            place: f.place.as_ref().map(ToString::to_string),
            what: visible(&f.what),
            expected: f.expected.as_deref().map(visible),
            hint: f.hint.as_deref().map(visible),
        }
    }
}
