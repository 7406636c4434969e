//! What the start of a protocol is counted back from, as one thing for a command to carry.

use chrono::{NaiveDate, NaiveDateTime, NaiveTime, TimeDelta};

use super::Protocol;
use super::backwards::{
    Backwards, GESTATION_SPREAD_DAYS, breeding_day, start_for_breeding, start_for_first_calf,
};
use crate::base::error::Finding;
use crate::base::time::Zone;

/// What a start is counted back from.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Target {
    /// Breeding at a local time.
    Breeding {
        /// The local time.
        at: NaiveDateTime,
        /// Elapsed hours from the step that breeding counts from; the aim unless given.
        hours: Option<f64>,
    },
    /// A first calf on a date, which decides the day of breeding.
    FirstCalf {
        /// The date.
        date: NaiveDate,
        /// Mean length of gestation in days.
        gestation_days: u32,
        /// Clock time of breeding.
        clock: NaiveTime,
    },
}

impl Target {
    /// The local time of breeding.
    ///
    /// # Errors
    /// As [`breeding_day`].
    pub fn breeding(&self) -> Result<NaiveDateTime, Finding> {
        match *self {
            Self::Breeding { at, .. } => Ok(at),
            Self::FirstCalf {
                date,
                gestation_days,
                clock,
            } => Ok(breeding_day(date, gestation_days)?.and_time(clock)),
        }
    }

    /// The start of a protocol.
    ///
    /// # Errors
    /// As [`start_for_breeding`] and [`start_for_first_calf`].
    pub fn start(&self, protocol: &Protocol, zone: Zone) -> Result<Backwards, Finding> {
        match *self {
            Self::Breeding { at, hours } => {
                start_for_breeding(protocol, zone, zone.resolve(at).at, hours)
            }
            Self::FirstCalf {
                date,
                gestation_days,
                clock,
            } => start_for_first_calf(protocol, zone, date, gestation_days, clock),
        }
    }

    /// First and last day on which calves are likely, at the published spread (TORELL); none
    /// unless a first calf was asked for.
    #[must_use]
    pub fn calves(&self) -> Option<(NaiveDate, NaiveDate)> {
        let spread = TimeDelta::days(i64::from(GESTATION_SPREAD_DAYS));
        match *self {
            Self::Breeding { .. } => None,
            Self::FirstCalf { date, .. } => Some((date - spread, date + spread)),
        }
    }
}
