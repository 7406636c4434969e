//! What is bought for a season, as it stands in YAML. The doc comments are the schema's text.

use schemars::JsonSchema;
use serde::Deserialize;

use crate::trade::figures::Price;

/// What you buy, for `thawline supplies`: sizes of packages and what your labels say. Whatever is
/// left out is counted all the same, as far as it can be.
#[derive(Debug, Default, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Supplies {
    /// Percent bought extra, beside what is used, for spills and misses. Nothing unless given.
    /// It holds for all that comes in packages.
    #[schemars(range(min = 0, max = 100))]
    #[schemars(extend("x-also-called" = ["spoilage", "spill_percent", "waste_percent", "spoilage_share"]))]
    pub spoilage_percent: Option<f64>,
    /// Days from the order to delivery. None unless given.
    #[schemars(range(min = 0, max = 365))]
    #[schemars(extend("x-also-called" = ["lead", "delivery_days", "lead_time"]))]
    pub lead_days: Option<u32>,
    /// The `GnRH` that you buy.
    pub gnrh: Option<Injectable>,
    /// The PG that you buy.
    #[schemars(extend("x-also-called" = ["prostaglandin"]))]
    pub pg: Option<Injectable>,
    /// The estradiol that you buy.
    pub estradiol: Option<Injectable>,
    /// Progesterone inserts. Each is used once.
    #[schemars(extend("x-also-called" = ["insert", "progesterone"]))]
    pub inserts: Option<Counted>,
    /// Applicators for inserts: two for each site.
    #[schemars(extend("x-also-called" = ["applicator"]))]
    pub applicators: Option<Counted>,
    /// Disinfectant for applicators, counted in batches of it ready to use: one for each site and day.
    #[schemars(extend("x-also-called" = ["disinfectants"]))]
    pub disinfectant: Option<Counted>,
    /// The feed that carries MGA.
    #[schemars(extend("x-also-called" = ["mga", "feed"]))]
    pub mga_feed: Option<Feed>,
    /// Estrus-detection patches.
    #[schemars(extend("x-also-called" = ["patch"]))]
    pub patches: Option<Counted>,
    /// Needles.
    #[schemars(extend("x-also-called" = ["needle"]))]
    pub needles: Option<Changed>,
    /// Syringes.
    #[schemars(extend("x-also-called" = ["syringe"]))]
    pub syringes: Option<Changed>,
    /// Sheaths of breeding guns: one for each insemination.
    #[schemars(extend("x-also-called" = ["sheath"]))]
    pub sheaths: Option<Counted>,
    /// Gloves for breeding.
    #[schemars(extend("x-also-called" = ["glove"]))]
    pub gloves: Option<Used>,
    /// Paper towels for breeding.
    #[schemars(extend("x-also-called" = ["towel", "paper_towels"]))]
    pub towels: Option<Used>,
}

/// A drug that is injected.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Injectable {
    /// What you call it.
    #[schemars(length(min = 1, max = 200))]
    pub name: Option<String>,
    /// Milliliters of one dose, as the label of your product has it.
    #[schemars(extend("exclusiveMinimum" = 0), range(max = 50))]
    #[schemars(extend("x-also-called" = ["ml_per_dose", "dose_ml", "ml_dose"]))]
    pub ml_a_dose: Option<f64>,
    /// Days that a bottle keeps once it is open, by its label; the day of opening is day 0. Without
    /// it a bottle keeps for the season.
    #[schemars(range(min = 0, max = 730))]
    #[schemars(extend("x-also-called" = ["shelf_days", "days_opened", "open_days"]))]
    pub opened_days: Option<u32>,
    /// Sizes that it is sold in, all in mL or all in doses.
    #[serde(default)]
    #[schemars(length(max = 8))]
    #[schemars(extend("x-also-called" = ["bottles", "sizes"]))]
    pub packages: Vec<Bottle>,
    /// Percent extra for this, in place of that of all.
    #[schemars(range(min = 0, max = 100))]
    pub spoilage_percent: Option<f64>,
    /// Days from the order to delivery of this, in place of those of all.
    #[schemars(range(min = 0, max = 365))]
    pub lead_days: Option<u32>,
}

/// A bottle. Give `ml` or `doses`.
#[derive(Clone, Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Bottle {
    /// Milliliters in it.
    #[schemars(range(min = 1, max = 1000))]
    pub ml: Option<u32>,
    /// Doses in it.
    #[schemars(range(min = 1, max = 1000))]
    pub doses: Option<u32>,
    /// Its price.
    pub price: Option<Price>,
}

/// Feed that carries MGA: its strength, the pounds or kilograms that a head gets a day, or both.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Feed {
    /// What you call it.
    #[schemars(length(min = 1, max = 200))]
    pub name: Option<String>,
    /// Milligrams of MGA in a pound of it. Give one of `mg_per_lb`, `mg_per_kg` and `g_per_ton`.
    #[schemars(extend("exclusiveMinimum" = 0), range(max = 1000))]
    pub mg_per_lb: Option<f64>,
    /// Milligrams of MGA in a kilogram of it.
    #[schemars(extend("exclusiveMinimum" = 0), range(max = 2000))]
    pub mg_per_kg: Option<f64>,
    /// Grams of MGA in a ton of 2000 lb of it.
    #[schemars(extend("exclusiveMinimum" = 0), range(max = 2000))]
    #[schemars(extend("x-also-called" = ["grams_per_ton", "g_ton"]))]
    pub g_per_ton: Option<f64>,
    /// Pounds of it that a head gets a day.
    #[schemars(extend("exclusiveMinimum" = 0), range(max = 50))]
    #[schemars(extend("x-also-called" = ["lb_per_head", "pounds_per_head", "lb_a_day"]))]
    pub lb_a_head: Option<f64>,
    /// Kilograms of it that a head gets a day; give one of the two.
    #[schemars(extend("exclusiveMinimum" = 0), range(max = 25))]
    #[schemars(extend("x-also-called" = ["kg_per_head", "kg_a_day"]))]
    pub kg_a_head: Option<f64>,
    /// Sizes that it is sold in, all in pounds or all in kilograms.
    #[serde(default)]
    #[schemars(length(max = 8))]
    #[schemars(extend("x-also-called" = ["bags", "sizes"]))]
    pub packages: Vec<Bag>,
    /// Percent extra for this, in place of that of all.
    #[schemars(range(min = 0, max = 100))]
    pub spoilage_percent: Option<f64>,
    /// Days from the order to delivery of this, in place of those of all.
    #[schemars(range(min = 0, max = 365))]
    pub lead_days: Option<u32>,
}

/// A bag or a load of feed. Give `lb` or `kg`.
#[derive(Clone, Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Bag {
    /// Pounds in it.
    #[schemars(range(min = 1, max = 2000))]
    pub lb: Option<u32>,
    /// Kilograms in it.
    #[schemars(range(min = 1, max = 2000))]
    pub kg: Option<u32>,
    /// Its price.
    pub price: Option<Price>,
}

/// What is counted, one for each animal or insemination.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Counted {
    /// What you call it.
    #[schemars(length(min = 1, max = 200))]
    pub name: Option<String>,
    /// Sizes that it is sold in.
    #[serde(default)]
    #[schemars(length(max = 8))]
    #[schemars(extend("x-also-called" = ["boxes", "bags", "sizes"]))]
    pub packages: Vec<Pack>,
    /// Percent extra for this, in place of that of all.
    #[schemars(range(min = 0, max = 100))]
    pub spoilage_percent: Option<f64>,
    /// Days from the order to delivery of this, in place of those of all.
    #[schemars(range(min = 0, max = 365))]
    pub lead_days: Option<u32>,
}

/// What is changed after so many head.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Changed {
    /// What you call it.
    #[schemars(length(min = 1, max = 200))]
    pub name: Option<String>,
    /// Head that one serves. Needles: 10 unless given (UI-BUL923: change at least every 10 to 15
    /// head). Syringes are not counted unless given.
    #[schemars(range(min = 1, max = 1000))]
    #[schemars(extend("x-also-called" = ["change_every", "head_per_needle", "head_per_syringe", "change_head"]))]
    pub head_each: Option<u32>,
    /// Sizes that it is sold in.
    #[serde(default)]
    #[schemars(length(max = 8))]
    #[schemars(extend("x-also-called" = ["boxes", "sizes"]))]
    pub packages: Vec<Pack>,
    /// Percent extra for this, in place of that of all.
    #[schemars(range(min = 0, max = 100))]
    pub spoilage_percent: Option<f64>,
    /// Days from the order to delivery of this, in place of those of all.
    #[schemars(range(min = 0, max = 365))]
    pub lead_days: Option<u32>,
}

/// What each insemination uses some of.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Used {
    /// What you call it.
    #[schemars(length(min = 1, max = 200))]
    pub name: Option<String>,
    /// How many for each head bred. 1 unless given (common practice, no source).
    #[schemars(range(min = 0, max = 20))]
    #[schemars(extend("x-also-called" = ["per_head", "each"]))]
    pub a_head: Option<f64>,
    /// Sizes that it is sold in.
    #[serde(default)]
    #[schemars(length(max = 8))]
    #[schemars(extend("x-also-called" = ["boxes", "rolls", "sizes"]))]
    pub packages: Vec<Pack>,
    /// Percent extra for this, in place of that of all.
    #[schemars(range(min = 0, max = 100))]
    pub spoilage_percent: Option<f64>,
    /// Days from the order to delivery of this, in place of those of all.
    #[schemars(range(min = 0, max = 365))]
    pub lead_days: Option<u32>,
}

/// A box, bag or roll.
#[derive(Clone, Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Pack {
    /// How many in it.
    #[schemars(range(min = 1, max = 1000))]
    #[schemars(extend("x-also-called" = ["pieces", "number", "each"]))]
    pub count: u32,
    /// Its price.
    pub price: Option<Price>,
}
