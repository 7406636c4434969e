//! What is wished of a choice, and how choices are weighed, as it stands in YAML. The doc comments are
//! the schema's text.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use crate::trade::figures::Breed;
use crate::trade::protocol::{Cattle, Semen as SemenSort};
use crate::trade::season::free_hours::NoChuteWork;

/// What a group wants of its protocol and start. Each holds, unless `may_break` names it.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Wishes {
    /// No breeding before this local date.
    pub breed_from: Option<String>,
    /// No breeding after this local date.
    pub breed_to: Option<String>,
    /// No calves before this local date. The first calves are counted `early_days` before those
    /// of the mean gestation length.
    pub first_calves_from: Option<String>,
    /// The breed that sires the calves, for the published gestation length. `other` unless given.
    #[schemars(extend("x-also-called" = ["sire_breed", "calf_breed"]))]
    pub breed: Option<Breed>,
    /// Mean gestation length in days. That of the breed unless given.
    #[schemars(range(min = 250, max = 310))]
    pub gestation_days: Option<u32>,
    /// Days before the mean on which the first calves are expected. 12 unless given (TORELL).
    #[schemars(range(min = 0, max = 30))]
    pub early_days: Option<u32>,
    /// Ids of the only protocols to consider.
    #[serde(default)]
    #[schemars(length(max = 200))]
    pub protocols: Vec<String>,
    /// Ids of protocols to leave out.
    #[serde(default)]
    #[schemars(length(max = 200))]
    pub leave_out: Vec<String>,
    /// For which cattle a protocol must be published, beside their class: `beef` unless given.
    pub cattle: Option<Cattle>,
    /// For which semen: `conventional` unless given.
    pub semen: Option<SemenSort>,
    /// True to look at protocols, too, that were tried in research only. False unless given.
    #[serde(default)]
    pub research: bool,
    /// Most trips through the chute, breeding included.
    #[schemars(range(min = 1, max = 20))]
    pub most_passes: Option<u32>,
    /// Most days from the first treatment to the first breeding.
    #[schemars(range(min = 0, max = 400))]
    pub most_days: Option<u32>,
    /// `wanted` for protocols in which heat is watched for, `unwanted` for those without. Either
    /// unless given.
    pub heat_watch: Option<HeatWatch>,
    /// The local date on which bulls are turned out.
    #[schemars(extend("x-also-called" = ["bull_turnout", "turnout", "bulls_in_on"]))]
    pub bulls_in: Option<String>,
    /// Days that must lie between the last AI and `bulls_in`, so that calves of the bulls can be
    /// told from AI calves. 10 unless given (ANDERSON).
    #[schemars(range(min = 0, max = 60))]
    pub bulls_gap_days: Option<u32>,
    /// Days or hours when nobody works: a sale, a branding. As nobody works then, they hold for
    /// the whole season, like `no_chute_work` of the rules. A choice keeps heat watch, too, off days
    /// that are free as a whole; feeding goes on every day.
    #[serde(default)]
    pub no_work: NoChuteWork,
    /// Clock times between which animals may be in the chute for treatments.
    pub work_hours: Option<ClockSpan>,
    /// Minutes from one start that is looked at to the next: 15, 30 or 60. 60 unless given.
    #[schemars(range(min = 15, max = 60))]
    pub start_every_minutes: Option<u32>,
    /// Wishes that may be broken; what breaks them is listed after what does not.
    #[serde(default)]
    #[schemars(length(max = 20))]
    pub may_break: Vec<WishName>,
}

/// Clock times of one day.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct ClockSpan {
    /// Local clock time, such as `06:00`.
    pub from: String,
    /// A later one of the same day.
    pub to: String,
}

/// Whether heat is to be watched for.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum HeatWatch {
    /// Only protocols with heat watch.
    Wanted,
    /// Only protocols without.
    Unwanted,
}

/// The name of a wish.
#[derive(
    Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Deserialize, Serialize, JsonSchema,
)]
#[serde(rename_all = "snake_case")]
#[allow(missing_docs)]
pub enum WishName {
    BreedFrom,
    BreedTo,
    FirstCalvesFrom,
    Protocols,
    LeaveOut,
    MostPasses,
    MostDays,
    HeatWatch,
    BullsIn,
    NoWork,
    WorkHours,
}

/// How much each thing counts against a choice, in points. Together with what it counts they make
/// the order of the list; 0 leaves a thing out.
#[derive(Debug, Default, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Weights {
    /// For each day from the first treatment to the first breeding.
    #[schemars(range(min = 0, max = 1000))]
    pub day: Option<f64>,
    /// For each trip through the chute.
    #[schemars(range(min = 0, max = 1000))]
    pub pass: Option<f64>,
    /// For each hour of anybody's work.
    #[schemars(range(min = 0, max = 1000))]
    pub work_hour: Option<f64>,
    /// For each hour of chute work or breeding between 21:00 and 05:00.
    #[schemars(range(min = 0, max = 1000))]
    pub night_hour: Option<f64>,
    /// For each dollar, or other unit of money, of the cost a head.
    #[schemars(range(min = 0, max = 1000))]
    pub cost_a_head: Option<f64>,
    /// For each dollar, or other unit of money, of the expected cost per pregnancy.
    #[schemars(range(min = 0, max = 1000))]
    pub cost_a_pregnancy: Option<f64>,
    /// For each percent not pregnant, by the mean of the published figures.
    #[schemars(range(min = 0, max = 1000))]
    pub percent_open: Option<f64>,
    /// For each day of the mean calving date after the earliest of the list.
    #[schemars(range(min = 0, max = 1000))]
    pub calving_day: Option<f64>,
    /// For each head that the crew cannot breed in time.
    #[schemars(range(min = 0, max = 1000))]
    pub head_not_bred: Option<f64>,
    /// For each minute by which the crew has less than an hour to spare.
    #[schemars(range(min = 0, max = 1000))]
    pub short_minute: Option<f64>,
    /// For each head of another group that can then not be bred in time.
    #[schemars(range(min = 0, max = 1000))]
    pub other_head: Option<f64>,
    /// For each quarter of an hour in which two groups want one chute at once.
    #[schemars(range(min = 0, max = 1000))]
    pub chute_quarter: Option<f64>,
    /// For each wish that is broken.
    #[schemars(range(min = 0, max = 1000))]
    pub wish: Option<f64>,
}
