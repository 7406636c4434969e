//! What is said of the tanks, as it is written to JSON and read by the reports.
//!
//! Levels are in the unit that the tank's full level is given in; times carry their offset.

use chrono::NaiveDate;
use serde::{Deserialize, Serialize};

use crate::base::units::Clock;
use crate::planning::plan::{Moment, Remark};

/// Form and version.
pub const FORMAT: &str = "thawline.tank/1";

/// The tanks of a season.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
#[serde(deny_unknown_fields)]
#[schemars(title = "Thawline tank")]
pub struct TankReport {
    /// `thawline.tank/1`.
    pub format: String,
    /// Version of the program that made it.
    pub program: String,
    /// Name of the season.
    pub season: String,
    /// IANA time zone of the local readings.
    pub zone: String,
    /// Tanks: those listed first, then those only named, then straws of no tank.
    pub tanks: Vec<TankView>,
    /// Straws that the plan calls for and no place has: 0 in every plan that holds.
    pub short_straws: u32,
    /// Groups that are short of straws, as the plan has it.
    #[serde(default)]
    pub lacking_straws: Vec<LackingStraws>,
    /// What was noticed.
    pub findings: Vec<Remark>,
    /// Clock of the times in sentences; absent for the 24-hour clock. Moments have that.
    #[serde(default, skip_serializing_if = "Clock::is_usual")]
    pub clock: Clock,
}

/// Straws that a group is short of.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, schemars::JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct LackingStraws {
    /// Group id.
    pub group: String,
    /// How many.
    pub straws: u32,
}

/// One tank.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct TankView {
    /// Short name; empty for straws of no tank.
    pub id: String,
    /// Full name.
    pub name: String,
    /// True if the season lists it under `tanks`.
    pub listed: bool,
    /// Straws before the season.
    pub straws: u32,
    /// Straws after its last session.
    pub left_straws: u32,
    /// Canisters by number, the empty ones too; straws of no canister last.
    pub canisters: Vec<Canister>,
    /// Sessions that take straws from it, by time.
    pub sessions: Vec<SessionLeft>,
    /// Its liquid nitrogen, where something is known of it.
    pub nitrogen: Option<NitrogenAnswer>,
}

/// A canister.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Canister {
    /// Its number; absent for straws of no canister.
    pub number: Option<u32>,
    /// Straws before the season.
    pub straws: u32,
    /// Straws after it.
    pub left_straws: u32,
    /// What is in it, in the file's order.
    pub holdings: Vec<Holding>,
}

/// Straws of one bull in one place.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Holding {
    /// Code of the cane.
    pub cane: Option<String>,
    /// `top` or `bottom`.
    pub goblet: Option<String>,
    /// The bull's id.
    pub bull: String,
    /// The bull's name.
    pub bull_name: String,
    /// Size of a straw in millilitres.
    pub straw_ml: f64,
    /// `conventional` or `sexed`.
    pub sort: String,
    /// Straws before the season.
    pub straws: u32,
    /// Straws after it.
    pub left_straws: u32,
}

/// What a session takes from a tank, and what it leaves.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct SessionLeft {
    /// The session's id in the plan.
    pub session: String,
    /// Its first cow, or where there is none its first open hour.
    pub begins: Moment,
    /// Canisters that are lifted.
    pub lifted_canisters: Vec<u32>,
    /// Straws taken, in the order they are taken.
    pub taken: Vec<Taken>,
    /// Straws left in the tank.
    pub left_straws: u32,
    /// The nitrogen's level at the end of that day, where it can be told.
    pub level: Option<f64>,
}

/// Straws taken from one place.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, schemars::JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Taken {
    /// The bull's id.
    pub bull: String,
    /// Number of the canister.
    pub canister: Option<u32>,
    /// Code of the cane.
    pub cane: Option<String>,
    /// `top` or `bottom`.
    pub goblet: Option<String>,
    /// How many.
    pub straws: u32,
}

/// The liquid nitrogen of a tank.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct NitrogenAnswer {
    /// Unit of the levels: `in.`, `cm` or `L`.
    pub unit: String,
    /// The full tank.
    pub full: f64,
    /// The last level read, or the last filling where none was read after it.
    pub last_level: f64,
    /// Its day.
    pub last_date: NaiveDate,
    /// What is lost a day, if the readings tell.
    pub loss: Option<Loss>,
    /// What one session takes beside that; 0 unless the season states it.
    pub lost_an_opening: f64,
    /// The level below which to refill, if it is known.
    pub limit: Option<f64>,
    /// Whose limit it is: `your own`, or the tag of its source.
    pub limit_from: Option<String>,
    /// Published minimum levels in inches: they disagree.
    pub published: Vec<Minimum>,
    /// Level at the end of each day, from the last reading to the last session.
    pub days: Vec<Day>,
    /// The first day below the limit.
    pub below_on: Option<NaiveDate>,
    /// The same with the highest loss that the readings allow.
    pub below_at_the_earliest: Option<NaiveDate>,
    /// Days between the day to refill by and the limit.
    pub margin_days: u32,
    /// The day to refill by.
    pub refill_by: Option<NaiveDate>,
    /// The tank's last session.
    pub last_session: Option<NaiveDate>,
    /// True if the level falls below the limit on or before that day.
    pub runs_low: bool,
    /// In words.
    pub words: Vec<String>,
    /// Which of the words is the day to refill by.
    #[serde(skip)]
    pub refill: Option<usize>,
}

impl NitrogenAnswer {
    /// The words: the day to refill by, and what else is said.
    pub fn refill_and_rest(&self) -> (Option<&String>, impl Iterator<Item = &String>) {
        let rest = self.words.iter().enumerate();
        let rest = rest.filter(|(n, w)| Some(*n) != self.refill && !w.is_empty());
        let refill = self.refill.and_then(|n| self.words.get(n));
        (refill, rest.map(|(_, w)| w))
    }
}

/// What a tank loses standing, fitted by least squares.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Loss {
    /// Loss a day.
    pub a_day: f64,
    /// Standard error of that; absent where no reading is left over to tell.
    pub standard_error: Option<f64>,
    /// The end of the band that holds the true loss 19 times in 20, on the high side.
    pub a_day_at_most: Option<f64>,
    /// Levels that the fit rests on: readings, and fillings followed by a reading.
    pub levels: u32,
    /// Degrees of freedom.
    pub spare: u32,
}

/// A published minimum level.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Minimum {
    /// Inches on the dipstick.
    pub inches: f64,
    /// The upper end where a range is given.
    pub to_inches: Option<f64>,
    /// Tag of the source.
    pub source: String,
}

/// The level on one day.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Day {
    /// The day.
    pub date: NaiveDate,
    /// Level at its end.
    pub level: f64,
    /// Sessions that open the tank.
    pub openings: u32,
    /// True if it is filled that day.
    pub filled: bool,
}

impl TankReport {
    /// True if no tank runs low.
    #[must_use]
    pub fn is_well(&self) -> bool {
        !self
            .tanks
            .iter()
            .any(|t| t.nitrogen.as_ref().is_some_and(|n| n.runs_low))
    }
}
