//! Semen and tanks, as they stand in YAML. The doc comments are the schema's text.

use crate::base::file_words;
use crate::trade::protocol::Semen as SemenSort;
use schemars::JsonSchema;
use serde::Deserialize;

/// Straws of one bull in one place.
#[derive(Clone, Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Semen {
    /// Short name of the bull.
    pub bull: String,
    /// Full name of the bull.
    #[schemars(length(min = 1, max = 200))]
    pub name: Option<String>,
    /// Straws on hand. Enough for the plan are assumed unless given, and the order list buys them.
    #[schemars(range(min = 0, max = 100_000))]
    #[schemars(extend("x-also-called" = ["units", "doses", "count", "number"]))]
    pub straws: u32,
    /// Size of a straw in milliliters: 0.5 or 0.25. 0.5 unless given.
    #[schemars(extend("exclusiveMinimum" = 0), range(max = 1))]
    #[schemars(extend("x-also-called" = ["straw_size", "size", "ml"]))]
    pub straw_ml: Option<f64>,
    /// The tank: an id of `tanks`, if there are any.
    #[schemars(length(min = 1, max = 40))]
    pub tank: Option<String>,
    /// Number of the canister in the tank.
    #[schemars(range(min = 1, max = 50))]
    pub canister: Option<u32>,
    /// Code on the cane.
    #[schemars(length(min = 1, max = 40))]
    pub cane: Option<String>,
    /// The goblet of the cane that holds them, `top` or `bottom`.
    pub goblet: Option<Goblet>,
    /// `conventional` or `sexed`. Conventional unless given.
    #[schemars(extend("x-also-called" = ["sexed", "type", "kind"]))]
    pub sort: Option<SemenSort>,
}

/// Which goblet of a cane.
#[derive(Clone, Copy, Debug, Deserialize, PartialEq, Eq, PartialOrd, Ord, JsonSchema)]
#[serde(rename_all = "kebab-case")]
#[derive(strum::IntoStaticStr)]
#[strum(serialize_all = "kebab-case")]
pub enum Goblet {
    /// The upper one, nearer the neck.
    Top,
    /// The lower one.
    Bottom,
}

file_words!(Goblet);

/// A tank of liquid nitrogen.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Tank {
    /// Short name, as in `semen`.
    pub id: String,
    /// Full name.
    #[schemars(length(min = 1, max = 200))]
    pub name: Option<String>,
    /// How many canisters it has, numbered from 1.
    #[schemars(range(min = 1, max = 50))]
    pub canisters: u32,
    /// How many sites its straws can be at at one time: 2 if a second tank travels with a part of
    /// them. 1 unless given: the plan has the tank at one site at a time, with the drive between.
    #[schemars(range(min = 1, max = 50))]
    #[schemars(extend("x-also-called" = ["places", "sites_at_once", "tanks"]))]
    pub places_at_once: Option<u32>,
    /// Canes that one canister holds. Unless given, more than nine bring a note.
    #[schemars(range(min = 1, max = 1000))]
    #[schemars(extend("x-also-called" = ["canes", "canes_per_canister"]))]
    pub canes_a_canister: Option<u32>,
    /// Straws in the tank by your own count, for the list under `semen` to add up to.
    #[schemars(range(min = 0, max = 1_000_000))]
    #[schemars(extend("x-also-called" = ["count", "total", "total_straws"]))]
    pub straws: Option<u32>,
    /// Liters of liquid nitrogen in the full tank.
    #[schemars(extend("exclusiveMinimum" = 0), range(max = 10_000))]
    #[schemars(extend("x-also-called" = ["litres", "capacity", "capacity_liters", "working_liters"]))]
    pub liters: Option<f64>,
    /// What the dipstick shows in the full tank, in inches. Give this or `full_cm`.
    #[schemars(extend("exclusiveMinimum" = 0), range(max = 100))]
    pub full_inches: Option<f64>,
    /// What the dipstick shows in the full tank, in centimeters. Give this or `full_inches`.
    #[schemars(extend("exclusiveMinimum" = 0), range(max = 250))]
    pub full_cm: Option<f64>,
    /// Days on which the tank was filled to the top, or will be: `[2027-02-20]`.
    #[serde(default)]
    #[schemars(length(max = 500))]
    #[schemars(extend("x-also-called" = ["fills", "refilled", "fill_dates"]))]
    pub filled: Vec<String>,
    /// What was read off the dipstick or the scale, and when. Each on a day of its own; after the
    /// filling, if the tank was filled that day.
    #[serde(default)]
    #[schemars(length(max = 2000))]
    #[schemars(extend("x-also-called" = ["levels", "dipstick"]))]
    pub readings: Vec<Reading>,
    /// The level below which you refill, in inches on the dipstick. 6 unless given (KSU-BT);
    /// published ones range from 3 to 10.
    #[schemars(extend("exclusiveMinimum" = 0), range(max = 100))]
    pub refill_below_inches: Option<f64>,
    /// The same in centimeters.
    #[schemars(extend("exclusiveMinimum" = 0), range(max = 250))]
    pub refill_below_cm: Option<f64>,
    /// The same in liters.
    #[schemars(extend("exclusiveMinimum" = 0), range(max = 10_000))]
    pub refill_below_liters: Option<f64>,
    /// Days between the day to refill by and the day on which the level may reach the limit. 7
    /// unless given (common practice, no source).
    #[schemars(range(min = 0, max = 365))]
    #[schemars(extend("x-also-called" = ["margin_days"]))]
    pub refill_margin_days: Option<u32>,
    /// Liters that one session takes out of the tank by lifting canisters, beside what it loses
    /// standing. Nothing unless given: no figure is published.
    #[schemars(range(min = 0, max = 100))]
    pub liters_lost_an_opening: Option<f64>,
}

/// A level on a day, in one of three units.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Reading {
    /// The day, such as `2027-02-25`.
    #[schemars(extend("x-also-called" = ["day", "on"]))]
    pub date: String,
    /// Inches on the dipstick.
    #[schemars(range(min = 0, max = 100))]
    #[schemars(extend("x-also-called" = ["in", "inch"]))]
    pub inches: Option<f64>,
    /// Centimeters on the dipstick.
    #[schemars(range(min = 0, max = 250))]
    pub cm: Option<f64>,
    /// Liters.
    #[schemars(range(min = 0, max = 10_000))]
    #[schemars(extend("x-also-called" = ["litres"]))]
    pub liters: Option<f64>,
}
