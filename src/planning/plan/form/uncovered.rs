//! Head that are not covered, with why.

use serde::{Deserialize, Serialize};

use super::Hours;
use crate::planning::crew::{self, Binding, Hint};

/// Limits of a pen that falls short.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, schemars::JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Limit {
    /// One, or two where none alone keeps animals from being bred.
    pub limits: Vec<Binding>,
    /// Head of the pen that could be bred without, at the most.
    pub head: u32,
}

impl From<&crew::Lifted> for Limit {
    fn from(of: &crew::Lifted) -> Self {
        Self {
            limits: of.limits.clone(),
            head: of.head,
        }
    }
}

/// Head that cannot be bred in their hours.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Uncovered {
    /// Session id.
    pub session: String,
    /// Id of the breeding pass.
    pub pass: String,
    /// Group id.
    pub group: String,
    /// Pen, from 1; absent for a whole group bred by heat.
    pub pen: Option<u32>,
    /// How many.
    pub head: u32,
    /// For order kept: which animals of the pen, from 1.
    pub animals: Vec<u32>,
    /// Their hours.
    pub hours: Hours,
    /// Why, in words with figures.
    pub why: Vec<String>,
    /// The limit that costs most.
    #[serde(default)]
    pub binding: Option<Binding>,
    /// Limits without which more could be bred, the one that costs most first: planned again, each of
    /// them lifted for the whole season. Empty where none does alone, nor with one other.
    #[serde(default)]
    pub limits: Vec<Limit>,
    /// No more head than this is bred in the session by those at hand, whatever their shifts; absent
    /// where that is not sure.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub at_most_head: Option<u32>,
    /// Changes of the season file that breed more, each planned.
    #[serde(default)]
    pub hints: Vec<Hint>,
}

impl Uncovered {
    /// The verdict's sentence, of the group and its pen.
    #[must_use]
    pub fn words(&self, who: &str) -> String {
        format!(
            "{} head of {who} ({}): {}.",
            self.head,
            self.hours.aim.format("%a %-d %b"),
            self.why.join("; ")
        )
    }
}
