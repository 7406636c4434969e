//! A dated pass of a pen through the chute, or the breeding of it.

use chrono::NaiveDate;
use serde::{Deserialize, Serialize};

use super::due::Hours;
use super::half::Half;
use crate::base::time::{Doubt, Instant};
use crate::base::units::Head;
use crate::trade::protocol::Caution;

/// One trip of a pen through a chute for one step, or the days of a feeding or heat watch.
#[derive(Clone, Debug, PartialEq)]
pub struct Pass {
    /// Group, by its place in the season.
    pub group: usize,
    /// Pen, from 0. Feeding and heat watch are of the whole group, and stand with pen 0.
    pub pen: usize,
    /// Step, by its place in the protocol.
    pub step: usize,
    /// Where those seen in heat are bred: when they are seen. The pass is of the whole group then.
    pub half_day: Option<Half>,
    /// What kind of work it is.
    pub work: Work,
    /// The first and the last day of feeding or watching.
    pub days: Option<(NaiveDate, NaiveDate)>,
    /// When the first animal is due. For breeding: the first animal's aim, which later steps count
    /// from; the session says when each is really bred.
    pub start: Instant,
    /// When the last animal is through.
    pub end: Instant,
    /// Animals.
    pub head: Head,
    /// Hours in which the work must lie, for steps in elapsed hours.
    pub hours: Option<Hours>,
    /// Cautions that go with it.
    pub cautions: Vec<Caution>,
    /// Local readings that the clocks skip or repeat.
    pub doubt: Option<Doubt>,
}

/// What kind of work a pass is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize, schemars::JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Work {
    /// Injections, inserts, patches.
    Chute,
    /// Feeding each day.
    Feeding,
    /// Watching for heat.
    HeatWatch,
    /// Breeding at set hours, or of those seen in heat on a half-day; the session has the details.
    Breeding,
}
