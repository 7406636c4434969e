//! Numbers of those bred by detected heat.

use chrono::NaiveDate;
use serde::{Deserialize, Serialize};

use crate::base::time::Moment;
use crate::planning::dating::HalfOfDay;

/// How many of a group are bred by detected heat. Low and high: the number is below the one, and
/// above the other, in at most 5 of 100 seasons each (binomial, exact).
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct GroupHeat {
    /// Mean hours from treatment to heat, to the hundredth; absent for animals without treatment.
    pub mean_hours: Option<f64>,
    /// One standard deviation of these hours.
    pub spread_hours: Option<f64>,
    /// Where they come from: source tags, or that the season gives them.
    pub source: String,
    /// Of which other animals the figures are, where none are published of these.
    pub borrowed_from: Option<String>,
    /// Half-days on which anybody is likely to be seen in heat, by time.
    pub half_days: Vec<HalfDay>,
    /// Bred by heat, all half-days together.
    pub bred_head: u32,
    /// Low end of that.
    pub bred_low_head: u32,
    /// High end of that.
    pub bred_high_head: u32,
    /// Not bred by heat: left for the clean-up, if there is one.
    pub left_head: u32,
    /// Low end of that.
    pub left_low_head: u32,
    /// High end of that.
    pub left_high_head: u32,
}

/// Those first seen in heat on a half-day.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct HalfDay {
    /// Step id of the heat watch.
    pub step: String,
    /// Id of the breeding pass; absent where nobody is expected, but somebody may come.
    pub pass: Option<String>,
    /// Local day on which they are seen.
    pub seen_day: NaiveDate,
    /// Which half of it.
    pub seen: HalfOfDay,
    /// The best moment to breed them.
    pub aim: Moment,
    /// Head planned for.
    pub head: u32,
    /// Low end.
    pub low_head: u32,
    /// High end.
    pub high_head: u32,
    /// How many of the high end the crew could not breed.
    pub high_uncovered_head: u32,
}

/// Animals first seen in heat on a half-day.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, schemars::JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct ByHeat {
    /// Local day on which they are seen.
    pub seen_day: NaiveDate,
    /// Which half of it.
    pub seen: HalfOfDay,
    /// Fewer in at most 5 of 100 seasons.
    pub low_head: u32,
    /// More in at most 5 of 100 seasons.
    pub high_head: u32,
    /// How many of the high end the crew could not breed.
    pub high_uncovered_head: u32,
}
