//! What is to come of the season, as it stands in YAML. The doc comments are the schema's text.

use schemars::JsonSchema;
use serde::Deserialize;

use crate::trade::figures::{Breed, Price};

/// Of a group, for `thawline forecast`: its calves and its clean-up bulls.
#[derive(Debug, Default, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Calves {
    /// The breed that sires the AI calves, for the published gestation length. That of the wishes,
    /// or else `other`, unless given.
    #[schemars(extend("x-also-called" = ["sire_breed", "calf_breed"]))]
    pub breed: Option<Breed>,
    /// Mean gestation length of the AI calves in days. That of the breed unless given.
    #[schemars(range(min = 250, max = 310))]
    pub gestation_days: Option<f64>,
    /// How much it varies: one standard deviation. 4.6 of Angus (ANGUS-GL) and 5.52 of all others, as
    /// published of Simmental (BIF-GL), unless given.
    #[schemars(range(min = 1, max = 15))]
    #[schemars(extend("x-also-called" = ["gestation_sd_days", "spread_days"]))]
    pub gestation_spread_days: Option<f64>,
    /// Percent pregnant of those that are bred to AI, from your own records. That published for
    /// the protocol unless given, or where nothing is, that of timed AI in general.
    #[schemars(extend("x-also-called" = ["pregnant_percent", "conception_percent", "ai_percent"]))]
    pub pregnancy_percent: Option<Share>,
    /// Percent of pregnancies that are lost before calving, from your own records. 3.46 unless given, as
    /// published after a check before day 53 (PREG-EARLY).
    #[schemars(range(min = 0, max = 50))]
    pub lost_percent: Option<f64>,
    /// Percent of the group that do not cycle in the breeding season, from your own records. 11.5 unless
    /// given, 8 to 15: as many as do not come in heat in published herds (TIMED-2010).
    #[schemars(extend("x-also-called" = ["anestrous_percent", "anestrus_percent"]))]
    pub not_cycling_percent: Option<Share>,
    /// Bulls that are turned out after AI. None unless given.
    #[schemars(extend("x-also-called" = ["cleanup", "clean_up_bulls", "bulls"]))]
    pub clean_up: Option<CleanUp>,
}

/// A percentage with how far it may be off.
#[derive(Clone, Copy, Debug, PartialEq, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Share {
    /// The lowest likely. As expected unless given.
    #[schemars(range(min = 0, max = 100))]
    pub low: Option<f64>,
    /// Expected.
    #[schemars(range(min = 0, max = 100))]
    pub expected: f64,
    /// The highest likely. As expected unless given.
    #[schemars(range(min = 0, max = 100))]
    pub high: Option<f64>,
}

/// Bulls with a group after AI.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct CleanUp {
    /// The local date on which they are turned out.
    #[serde(rename = "in")]
    #[schemars(extend("x-also-called" = ["from", "turnout", "bulls_in"]))]
    pub turned_in: String,
    /// The last local date on which they are with the group.
    #[serde(rename = "out")]
    #[schemars(extend("x-also-called" = ["to", "until", "bulls_out"]))]
    pub taken_out: String,
    /// How many bulls.
    #[schemars(range(min = 1, max = 10_000))]
    #[schemars(extend("x-also-called" = ["bulls", "number", "count"]))]
    pub head: u32,
    /// Percent of heats that they settle, from your own records. 65 to 70 unless given, as
    /// published of one service at a natural heat (DEJ-ES).
    #[schemars(extend("x-also-called" = ["settle_percent", "conception_percent"]))]
    pub settled_percent: Option<Share>,
    /// Their breed, for the published gestation length. That of the AI calves unless given.
    pub breed: Option<Breed>,
    /// Mean gestation length of their calves in days. That of the breed unless given.
    #[schemars(range(min = 250, max = 310))]
    pub gestation_days: Option<f64>,
}

/// What calves bring and bulls cost, beside `prices`, for `thawline forecast`. All of it is your own, in
/// one currency; what is not given is listed, and left out of totals.
#[derive(Debug, Default, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct MoneyFacts {
    /// Weight of a calf when it is sold, in pounds. Give this or `calf_weight_kg`.
    #[schemars(range(min = 1, max = 2000))]
    #[schemars(extend("x-also-called" = ["calf_weight", "weaning_weight_lb", "weaning_weight"]))]
    pub calf_weight_lb: Option<f64>,
    /// The same in kilograms.
    #[schemars(range(min = 1, max = 1000))]
    pub calf_weight_kg: Option<f64>,
    /// What a pound of calf brings. Give this or `calf_price_per_kg`.
    #[schemars(extend("x-also-called" = ["calf_price", "price_per_lb"]))]
    pub calf_price_per_lb: Option<Price>,
    /// What a kilogram of calf brings.
    pub calf_price_per_kg: Option<Price>,
    /// What a calf gains a day until it is sold, in pounds: one born a day sooner is so much
    /// heavier. Give this or `calf_gain_kg_per_day`.
    #[schemars(range(min = 0, max = 10))]
    #[schemars(extend("x-also-called" = ["calf_gain", "gain_lb_per_day"]))]
    pub calf_gain_lb_per_day: Option<f64>,
    /// The same in kilograms.
    #[schemars(range(min = 0, max = 5))]
    pub calf_gain_kg_per_day: Option<f64>,
    /// What an AI calf brings more than a calf by a bull.
    #[schemars(extend("x-also-called" = ["premium", "ai_premium"]))]
    pub ai_calf_premium: Option<Price>,
    /// What a bull of your own is bought for, kept for and used for.
    pub bull: Option<BullFigures>,
    /// Natural service, to compare AI with: bulls alone, turned out on the day of AI.
    #[schemars(extend("x-also-called" = ["natural_service"]))]
    pub natural: Option<Natural>,
}

/// What a bull costs over his years.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct BullFigures {
    /// Price when bought.
    pub price: Price,
    /// Value when sold after the last season.
    pub sold_for: Price,
    /// Seasons of use, one a year.
    #[schemars(range(min = 1, max = 20))]
    pub seasons: u32,
    /// Percent of bulls that are lost in a year.
    #[schemars(range(min = 0, max = 100))]
    pub lost_a_year_percent: f64,
    /// Feed, pasture, health and the rest, a year.
    pub keep_a_year: Price,
    /// Interest a year in percent, on his mean value, and half of it on the keep.
    #[schemars(range(min = 0, max = 100))]
    pub interest_a_year_percent: f64,
}

/// Bulls alone.
#[derive(Debug, Default, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Natural {
    /// How many head one bull is given.
    #[schemars(range(min = 1, max = 200))]
    #[schemars(extend("x-also-called" = ["head_a_bull", "cows_per_bull", "ratio"]))]
    pub cows_a_bull: Option<u32>,
    /// Days with bulls. Until the clean-up bulls are out unless given.
    #[schemars(range(min = 1, max = 366))]
    pub days: Option<u32>,
    /// Percent of heats that they settle, from your own records. 65 to 70 unless given (DEJ-ES).
    pub settled_percent: Option<Share>,
}
