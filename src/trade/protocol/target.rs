//! What the start of a protocol is counted back from, as one thing for a command to carry.

use chrono::{NaiveDate, NaiveDateTime, NaiveTime, TimeDelta};
use schemars::JsonSchema;
use serde::Serialize;

use super::Protocol;
use super::backwards::{
    Backwards, GESTATION_SPREAD_DAYS, breeding_day, in_years, start_for_breeding, start_for_calving,
};
use crate::base::error::Finding;
use crate::base::time::{Reading, Zone};

/// What dates are counted back from: breeding, or the first calves.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, JsonSchema)]
pub struct Target {
    /// The zone of its local times.
    #[serde(skip)]
    pub zone: Zone,
    /// Breeding, with the offset.
    #[schemars(with = "Option<String>")]
    pub breeding: Reading,
    /// Elapsed hours after the last drug, where these are asked for.
    pub hours: Option<f64>,
    /// Mean due date.
    #[schemars(with = "Option<String>")]
    pub calf: Option<NaiveDate>,
    /// Days of gestation counted.
    pub gestation_days: Option<u32>,
    /// Day of the first calves expected: the published spread before the mean (TORELL).
    #[schemars(with = "Option<String>")]
    pub calves_from: Option<NaiveDate>,
    /// Last day of calves expected.
    #[schemars(with = "Option<String>")]
    pub calves_to: Option<NaiveDate>,
}

impl Target {
    /// Breeding at a local time; `hours` after the step that it counts from, the aim unless given.
    #[must_use]
    pub fn of_breeding(zone: Zone, at: NaiveDateTime, hours: Option<f64>) -> Self {
        Self {
            zone,
            breeding: zone.reading(at),
            hours,
            calf: None,
            gestation_days: None,
            calves_from: None,
            calves_to: None,
        }
    }

    /// First calves on a date, the published spread (TORELL) before the mean length of gestation, which decides the
    /// day of breeding.
    ///
    /// # Errors
    /// As [`breeding_day`].
    pub fn of_first_calf(
        zone: Zone,
        date: NaiveDate,
        gestation_days: u32,
        clock: NaiveTime,
    ) -> Result<Self, Finding> {
        let spread = TimeDelta::days(i64::from(GESTATION_SPREAD_DAYS));
        in_years(date)?;
        let due = date + spread;
        let breeding = breeding_day(due, gestation_days)?.and_time(clock);
        Ok(Self {
            calf: Some(due),
            gestation_days: Some(gestation_days),
            calves_from: Some(date),
            calves_to: Some(due + spread),
            ..Self::of_breeding(zone, breeding, None)
        })
    }

    /// A skipped or repeated time that is asked for.
    #[must_use]
    pub fn findings(&self) -> Vec<Finding> {
        let doubt = self.zone.resolve(self.breeding.local).doubt;
        let finding = doubt.map(|d| d.finding(self.zone));
        let finding = finding.map(|f| f.hint("ask for another hour if this matters"));
        finding.into_iter().collect()
    }

    /// The start of a protocol.
    ///
    /// # Errors
    /// As [`start_for_breeding`] and [`start_for_calving`].
    pub fn start(&self, protocol: &Protocol) -> Result<Backwards, Finding> {
        let Reading { local, at } = self.breeding;
        match self.calf.zip(self.gestation_days) {
            None => start_for_breeding(protocol, self.zone, at.0.to_utc(), self.hours),
            Some((calf, days)) => start_for_calving(protocol, self.zone, calf, days, local.time()),
        }
    }
}
