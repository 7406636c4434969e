//! Findings as answers carry them.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize, Serializer};

use super::{Code, Finding, Severity, visible};

/// A finding.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Remark {
    /// Stable code.
    #[schemars(with = "String")]
    pub code: Code,
    /// note, warning or error.
    pub severity: Severity,
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
impl From<&Finding> for Remark {
    fn from(f: &Finding) -> Self {
        Self {
            code: f.code,
            severity: f.severity,
            place: f.place.as_ref().map(ToString::to_string),
            what: visible(&f.what),
            expected: f.expected.as_deref().map(visible),
            hint: f.hint.as_deref().map(visible),
        }
    }
}

impl Serialize for Finding {
    fn serialize<S: Serializer>(&self, to: S) -> Result<S::Ok, S::Error> {
        Remark::from(self).serialize(to)
    }
}
