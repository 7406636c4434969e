//! Days of the week, and over how many days a group may be spread.

use schemars::JsonSchema;
use serde::Deserialize;

/// Over how many days a group is spread, as written.
#[derive(Debug, Deserialize)]
#[serde(untagged)]
pub enum Days {
    /// A number.
    Number(u64),
    /// `up to 3`.
    Text(String),
}

impl Days {
    /// The most days; `None` if that is not how they are written.
    pub(in crate::trade::season) fn most(&self) -> Option<u32> {
        match self {
            Self::Number(1) => Some(1),
            Self::Number(_) => None,
            Self::Text(text) => {
                let mut words = text.split_whitespace();
                let up_to = words.next() == Some("up") && words.next() == Some("to");
                let most = words.next()?.parse().ok();
                most.filter(|n| up_to && words.next().is_none() && (1..=7).contains(n))
            }
        }
    }
}

/// A day of the week.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Deserialize, JsonSchema, strum::VariantArray)]
#[serde(rename_all = "kebab-case")]
#[allow(missing_docs)]
pub enum Weekday {
    Mon,
    Tue,
    Wed,
    Thu,
    Fri,
    Sat,
    Sun,
}
