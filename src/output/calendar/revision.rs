//! How an event of a new export stands to the one of the earlier export (RFC 5545, section 3.8.7).
//!
//! - Not there before: SEQUENCE 0, the new time stamp.
//! - The same as before: SEQUENCE and time stamps as they were, so that the same plan gives the
//!   same bytes.
//! - Changed: SEQUENCE one higher, the new time stamp (never one before the old).
//! - Gone: the event stays, cancelled, with SEQUENCE one higher, and stays so in later exports.
//!
//! An event that says the same is the same revision. So a plan made again gives the same bytes,
//! whatever the clock says, and SEQUENCE counts changes, not exports.
//!
//! The last export is the only state: it is what phones have. A state file beside it could say
//! something else.

use icalendar::{CalendarDateTime, DatePerhapsTime, Property};

use super::component::Component;
use crate::base::time::Instant;

/// Which revision of an event this is, and when it was made.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Revision {
    pub(super) sequence: u32,
    pub(super) stamp: Instant,
}

impl Revision {
    /// That of an event that was not there before.
    pub(super) const fn first(stamp: Instant) -> Self {
        Self { sequence: 0, stamp }
    }

    fn next(self, stamp: Instant) -> Self {
        Self {
            sequence: self.sequence.saturating_add(1),
            stamp: stamp.max(self.stamp),
        }
    }

    /// That of an event which was there before with this one, and is now as `same` says.
    pub(super) fn after(self, same: bool, stamp: Instant) -> Self {
        if same { self } else { self.next(stamp) }
    }

    /// Adds DTSTAMP, LAST-MODIFIED, SEQUENCE and STATUS. Without METHOD the first two mean the
    /// same (section 3.8.7.2); programs look at either.
    pub(super) fn tell(self, component: Component, status: &str) -> Component {
        let stamp = DatePerhapsTime::DateTime(CalendarDateTime::Utc(self.stamp));
        component
            .with(stamp.to_property("DTSTAMP"))
            .with(stamp.to_property("LAST-MODIFIED"))
            .with(Property::new("SEQUENCE", self.sequence.to_string()))
            .with(Property::new("STATUS", status))
    }
}
