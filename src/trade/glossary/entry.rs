//! A word as it is explained.

use serde::Serialize;

/// What something means.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, schemars::JsonSchema)]
pub struct Entry {
    /// The word, the code, the caution's word, the protocol's id, or the path of a key.
    pub name: String,
    /// `word`, `caution`, `code`, `protocol`, `source`, `season key` or `protocol key`.
    pub kind: &'static str,
    /// What it means, in sentences.
    pub means: String,
    /// Other words for it.
    pub also: Vec<String>,
    /// Words that lead on.
    pub see: Vec<String>,
    /// Tags of its sources, if it states a fact that needs one.
    pub source: Option<String>,
}
