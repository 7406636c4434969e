//! A half of a day on which heat is first seen.

use chrono::{NaiveDate, NaiveTime, Timelike};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// Which checks for heat of a day.
#[derive(
    Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Deserialize, Serialize, JsonSchema,
)]
#[serde(rename_all = "kebab-case")]
pub enum HalfOfDay {
    /// Those before noon.
    Morning,
    /// Those from noon on.
    Evening,
}

impl HalfOfDay {
    pub(super) fn of(clock: NaiveTime) -> Self {
        if clock.hour() < 12 {
            Self::Morning
        } else {
            Self::Evening
        }
    }

    /// The word in files.
    #[must_use]
    pub const fn as_str(self) -> &'static str {
        match self {
            Self::Morning => "morning",
            Self::Evening => "evening",
        }
    }
}

/// A half of a day on which heat is first seen.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Half {
    /// The day.
    pub seen: NaiveDate,
    /// Which half of it.
    pub part: HalfOfDay,
}

impl Half {
    /// `2027-05-20-am`, as in the ids of passes.
    #[must_use]
    pub fn id(self) -> String {
        let part = match self.part {
            HalfOfDay::Morning => "am",
            HalfOfDay::Evening => "pm",
        };
        format!("{}-{part}", self.seen)
    }
}
