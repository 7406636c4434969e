//! What the user says of a table that its cells leave open.

use std::collections::BTreeMap;

use schemars::JsonSchema;
use serde::Deserialize;

/// Which number stands first in a date such as 3/4/2027.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Deserialize, JsonSchema)]
#[serde(rename_all = "lowercase")]
pub enum DateOrder {
    /// Day, month, year.
    Dmy,
    /// Month, day, year.
    Mdy,
}

/// How a table is to be read where it leaves that open.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Asked {
    /// The order of dates in numbers.
    pub dates: Option<DateOrder>,
    /// Columns by their heading in the table; `none` leaves one out.
    pub columns: BTreeMap<String, String>,
    /// True if a weight without a unit is in kilograms.
    pub kilograms: bool,
}
