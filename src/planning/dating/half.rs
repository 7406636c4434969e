//! A half of a day on which heat is first seen.

use chrono::NaiveDate;

/// A half of a day on which heat is first seen.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Half {
    /// The day.
    pub seen: NaiveDate,
    /// True for checks from noon on.
    pub late: bool,
}

impl Half {
    /// `2027-05-20-am`, as in the ids of passes.
    #[must_use]
    pub fn id(self) -> String {
        format!("{}-{}", self.seen, if self.late { "pm" } else { "am" })
    }

    /// `morning` or `evening`.
    #[must_use]
    pub const fn word(self) -> &'static str {
        if self.late { "evening" } else { "morning" }
    }
}
