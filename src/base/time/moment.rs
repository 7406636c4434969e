//! Moments with their offset, as answers carry them.

use std::fmt;

use chrono::{DateTime, FixedOffset, NaiveDateTime};
use schemars::JsonSchema;
use serde::{Serialize, Serializer};

use super::zone::{Instant, Zone};

/// A moment with its offset. Data in universal time end in `Z`.
pub type Moment = DateTime<FixedOffset>;

/// A moment that is written as `2027-05-18T17:00:00-06:00`: the offset in digits, in universal time too.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, JsonSchema)]
#[schemars(with = "String", inline)]
pub struct Timestamp(pub Moment);

impl fmt::Display for Timestamp {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        self.0.format("%Y-%m-%dT%H:%M:%S%:z").fmt(f)
    }
}

impl Serialize for Timestamp {
    fn serialize<S: Serializer>(&self, to: S) -> Result<S::Ok, S::Error> {
        to.collect_str(self)
    }
}

/// A local reading, and the moment that it means, which data have.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, JsonSchema)]
#[serde(transparent)]
#[schemars(inline)]
pub struct Reading {
    /// As the clocks show it; where they skip it, as it was asked for.
    #[serde(skip)]
    pub local: NaiveDateTime,
    /// The moment.
    pub at: Timestamp,
}

impl Zone {
    /// An instant with the zone's offset at it.
    #[must_use]
    pub fn moment(self, at: Instant) -> Moment {
        at.with_timezone(&self).fixed_offset()
    }

    /// The same, as it is written.
    #[must_use]
    pub fn timestamp(self, at: Instant) -> Timestamp {
        Timestamp(self.moment(at))
    }

    /// A local reading with the moment that it means.
    #[must_use]
    pub fn reading(self, local: NaiveDateTime) -> Reading {
        let at = self.timestamp(self.resolve(local).at);
        Reading { local, at }
    }

    /// `2027-05-18T17:00:00-06:00`.
    #[must_use]
    pub fn rfc3339(self, at: Instant) -> String {
        self.timestamp(at).to_string()
    }
}
