//! A dated pass of a pen through the chute, or the breeding of it.

use chrono::NaiveDate;

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
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Work {
    /// Injections, inserts, patches: a trip through the chute.
    Chute,
    /// Feeding on each of these days.
    Feeding {
        /// First day.
        first: NaiveDate,
        /// Last day.
        last: NaiveDate,
    },
    /// Watching for heat on each of these days.
    HeatWatch {
        /// First day.
        first: NaiveDate,
        /// Last day.
        last: NaiveDate,
    },
    /// Breeding at set hours.
    Breeding,
}
