//! A finding as a plan and other answers carry it.

use serde::{Deserialize, Serialize};

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

impl From<&crate::error::Finding> for Remark {
    fn from(f: &crate::error::Finding) -> Self {
        Self {
            code: f.code.to_string(),
            severity: f.severity.to_string(),
            place: f.place.as_ref().map(ToString::to_string),
            what: f.what.clone(),
            expected: f.expected.clone(),
            hint: f.hint.clone(),
        }
    }
}
