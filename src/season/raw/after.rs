//! What comes after AI, as it stands in YAML. The doc comments are the schema's text.

use schemars::JsonSchema;
use serde::Deserialize;

/// Bulls that run with a group after AI.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct CleanupBulls {
    /// The local date on which they are turned out with the group.
    #[serde(rename = "in")]
    #[schemars(extend("x-also-called" = ["from", "turn_out", "turnout", "bulls_in"]))]
    pub turned_out: String,
    /// The local date on which they are taken out again.
    #[schemars(extend("x-also-called" = ["to", "until", "bulls_out"]))]
    pub out: Option<String>,
    /// How many bulls.
    #[schemars(range(min = 1, max = 1000))]
    #[schemars(extend("x-also-called" = ["bulls", "number", "count"]))]
    pub head: Option<u32>,
}
