//! Limits of the season, as they stand in YAML. The doc comments are the schema's text.

use schemars::JsonSchema;
use serde::Deserialize;

use crate::trade::season::free_hours::FreeRules;

/// Limits that hold for the whole season.
#[derive(Debug, Default, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Rules {
    /// The plan counts breeding in steps of so many minutes: 5, 10, 15, 20 or 30. Unless given 15, or
    /// finer where that breeds more.
    #[schemars(range(min = 5, max = 30))]
    pub slot_minutes: Option<u32>,
    /// Most minutes from thaw bath to cow, counted from when the straw goes into the bath.
    /// 15 unless given.
    #[schemars(extend("exclusiveMinimum" = 0), range(max = 60))]
    pub bath_to_cow_minutes: Option<f64>,
    /// Accepted chance, in percent, that the last straw of a round is later than that. 5 unless
    /// given.
    #[schemars(extend("exclusiveMinimum" = 0), range(max = 50))]
    pub late_straw_risk_percent: Option<f64>,
    /// Seconds a straw stays in the bath. 45 unless given.
    #[schemars(range(min = 10, max = 300))]
    pub thaw_seconds: Option<f64>,
    /// Seconds to dry a straw and load a gun. 30 unless given.
    #[schemars(range(min = 0, max = 600))]
    pub load_seconds: Option<f64>,
    /// Seconds between two rounds of a technician who works alone. 60 unless given.
    #[schemars(range(min = 0, max = 1800))]
    pub reset_seconds: Option<f64>,
    /// Of the straws that are thawed, the percent that no cow comes for: a cow that balks, a straw
    /// that bursts. Straws for it are set aside (`thawline thaw`). 0 unless given.
    #[schemars(range(min = 0, max = 50))]
    #[schemars(extend("x-also-called" = ["waste_percent", "wasted_percent", "straw_waste_percent"]))]
    pub straws_wasted_percent: Option<f64>,
    /// Seconds that a canister is in the neck of the tank each time it is lifted (`thawline thaw`).
    /// 5 unless given (common practice, no source): time your own.
    #[schemars(range(min = 1, max = 60))]
    pub lift_seconds: Option<f64>,
    /// Straws taken out each time a canister is lifted (`thawline thaw`). 2 unless given (common
    /// practice, no source).
    #[schemars(range(min = 1, max = 10))]
    pub straws_a_lift: Option<u32>,
    /// Minutes on the road between two sites for which no `minutes_to` is given. 60 unless given.
    #[schemars(range(min = 0, max = 1440))]
    pub road_minutes: Option<f64>,
    /// Most minutes on the road, there and back from the home site, for each head that a technician
    /// breeds there: nobody drives two hours for three cows, unless fewer would be bred without.
    /// 10 unless given.
    #[schemars(range(min = 0, max = 1440))]
    pub road_minutes_per_head: Option<f64>,
    /// Hours of work after which a technician rests. Give it with `rest_minutes`.
    #[schemars(range(min = 0.5, max = 24))]
    #[schemars(extend("x-also-called" = ["break_after_hours", "rest_after"]))]
    pub rest_after_hours: Option<f64>,
    /// Minutes of that rest. A drive is no rest.
    #[schemars(range(min = 5, max = 600))]
    #[schemars(extend("x-also-called" = ["break_minutes", "pause_minutes"]))]
    pub rest_minutes: Option<f64>,
    /// Most hours from leaving home to being back, between two nights. A night is a break of at
    /// least 8 hours. No limit unless given.
    #[schemars(range(min = 1, max = 24))]
    pub longest_day_hours: Option<f64>,
    /// Fewest days from calving to breeding for a cow to be ready (`thawline herd`). 50 unless
    /// given.
    #[schemars(range(min = 20, max = 200))]
    pub calving_to_breeding_days: Option<u32>,
    /// Least body condition, 1 to 9, for a cow to be ready (`thawline herd`). 5 unless given.
    #[schemars(range(min = 1, max = 9))]
    pub least_body_condition: Option<f64>,
    /// Least weight of a heifer at breeding, in percent of her mature weight, to be ready
    /// (`thawline herd`). 65 unless given.
    #[schemars(range(min = 40, max = 100))]
    pub heifer_mature_weight_percent: Option<f64>,
    /// What the heifers gain a day, in pounds, from weighing to breeding (`thawline herd`). No
    /// gain is counted on unless given.
    #[schemars(range(min = 0, max = 6))]
    pub heifer_gain_lb_per_day: Option<f64>,
    /// Local clock times at which heat is checked on each day of a heat watch. What is first seen
    /// at checks before noon is bred that evening, counted from the first of them; what is seen
    /// later is bred next morning, counted from the last check of the day (AM/PM rule,
    /// COWS-IN-SYNCH). `["06:00", "18:00"]` unless given (common practice, no source).
    #[schemars(length(min = 1, max = 12))]
    #[schemars(extend("x-also-called" = ["checks", "heat_check_times", "watch_times"]))]
    pub heat_checks: Option<Vec<String>>,
    /// Elapsed hours after such a check at which those first seen in heat are bred. 9 to 15 with
    /// aim 12 unless given: about 12 h (COWS-IN-SYNCH, HEIFER-GUIDE), 3 h to either side (common
    /// practice, no source).
    pub heat_breeding_hours: Option<HeatBreeding>,
    #[serde(flatten)]
    #[allow(missing_docs)]
    pub free: FreeRules,
}

/// Elapsed hours from a check for heat to breeding.
#[derive(Clone, Copy, Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct HeatBreeding {
    /// Not sooner than.
    #[schemars(range(min = 0, max = 36))]
    pub earliest: f64,
    /// Best.
    #[schemars(range(min = 0, max = 36))]
    pub aim: f64,
    /// Not later than.
    #[schemars(range(min = 0, max = 36))]
    pub latest: f64,
}

/// Minutes on the road.
#[derive(JsonSchema)]
pub(super) struct Minutes(
    #[schemars(range(min = 0, max = 1440))]
    #[allow(dead_code)]
    f64,
);

/// Miles or kilometers on the road.
#[derive(JsonSchema)]
pub(super) struct Length(
    #[schemars(range(min = 0, max = 2000))]
    #[allow(dead_code)]
    f64,
);
