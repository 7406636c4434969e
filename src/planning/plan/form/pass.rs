//! Steps of pens, dated.

use chrono::NaiveDate;
use serde::{Deserialize, Serialize};

use crate::base::time::Moment;
use crate::planning::dating::Work;
use crate::trade::protocol::{Action, Caution};

/// One step of one pen, dated.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Pass {
    /// `group/pen/step`, or `group/all/step`, with a half-day such as `2027-05-20-am` behind it for
    /// those first seen in heat then; stable from run to run.
    pub id: String,
    /// Group id.
    pub group: String,
    /// Pen, from 1; absent where the whole group is fed, watched, or bred by heat.
    pub pen: Option<u32>,
    /// Step id of the protocol.
    pub step: String,
    /// Site id.
    pub site: String,
    /// Kind of work.
    pub work: Work,
    /// What is done, in words.
    pub what: String,
    /// What is done.
    pub actions: Vec<Action>,
    /// First animal in. For breeding: the aim.
    pub start: Moment,
    /// Last animal out. For breeding: the aim.
    pub end: Moment,
    /// First day of feeding or watching.
    pub first_day: Option<NaiveDate>,
    /// Last day of feeding or watching.
    pub last_day: Option<NaiveDate>,
    /// Animals.
    pub head: u32,
    /// The hours that hold for the pen, where the step counts in elapsed hours.
    pub hours: Option<Hours>,
    /// Which cautions apply.
    #[schemars(with = "Vec<String>")]
    pub cautions: Vec<Caution>,
    /// A sentence of the protocol.
    pub note: Option<String>,
    /// Moments in it that the clocks skip or repeat, in words.
    pub clock: Option<String>,
}

/// Hours in which breeding must lie, or in which chute work must begin, so that the window holds
/// for every animal.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Hours {
    /// Not sooner. Later than `latest` where no animal could be safe.
    pub earliest: Moment,
    /// Best.
    pub aim: Moment,
    /// Not later.
    pub latest: Moment,
    /// The protocol's window: `60 to 66 h, aim 63`.
    pub window: String,
}
