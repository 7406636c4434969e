//! The order list, as it is written to JSON and read by the reports. Quantities carry their unit in
//! the key, or beside them; days are local.

use chrono::NaiveDate;
use serde::{Deserialize, Serialize};

use crate::planning::plan::Remark;

/// Form and version.
pub const FORMAT: &str = "thawline.supplies/1";

/// What to have at hand for a season, and when.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
#[serde(deny_unknown_fields)]
#[schemars(title = "Thawline order list")]
pub struct OrderList {
    /// `thawline.supplies/1`.
    pub format: String,
    /// Version of the program that made it.
    pub program: String,
    /// Name of the season.
    pub season: String,
    /// IANA time zone of the local days.
    pub zone: String,
    /// The currency of the prices, if stated.
    pub currency: Option<String>,
    /// What holds for the whole list, in sentences.
    pub words: Vec<String>,
    /// What must be on hand by which day, the earliest first.
    pub on_hand: Vec<OnHand>,
    /// Drugs, feed and goods that the season uses.
    pub items: Vec<Item>,
    /// Straws by bull.
    pub straws: Vec<BullNeed>,
    /// Straws that a group needs and none of its bulls has.
    pub lacking_straws: Vec<Lacking>,
    /// Liquid nitrogen by tank.
    pub nitrogen: Vec<TankNitrogen>,
    /// What all packages with a price cost together; absent where none has one.
    pub price: Option<f64>,
    /// Items that are bought, or would be, without a known price.
    pub without_price: Vec<String>,
    /// What was noticed.
    pub findings: Vec<Remark>,
}

/// Something that must be on hand by a day.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct OnHand {
    /// The day of the first use.
    pub by: NaiveDate,
    /// That day less the days from order to delivery, where these are stated.
    pub order_by: Option<NaiveDate>,
    /// Key of the item; `straws` or `nitrogen` for these.
    pub item: String,
    /// What it is, in words.
    pub what: String,
    /// How much of it, in words.
    pub amount: String,
}

/// One kind of thing.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Item {
    /// Its key under `supplies` in the season file.
    pub item: String,
    /// What it is called.
    pub name: String,
    /// What the user calls it.
    pub own_name: Option<String>,
    /// What `amount` counts: `doses`, `inserts`, `head-days`, `needles` and so on.
    pub unit: String,
    /// How much is used; absent where that cannot be told.
    pub amount: Option<f64>,
    /// How it is counted, in sentences, with sources.
    pub basis: Vec<String>,
    /// Label doses of the class, with volumes; empty for goods.
    pub labels: Vec<LabelDose>,
    /// Millilitres of a dose, by the user's label.
    pub own_ml_a_dose: Option<f64>,
    /// For MGA: what a head gets.
    pub feed: Option<FeedDose>,
    /// Use day by day.
    pub days: Vec<DayUse>,
    /// First day of use.
    pub first_use: Option<NaiveDate>,
    /// That day less the days from order to delivery, where these are stated.
    pub order_by: Option<NaiveDate>,
    /// Percent bought extra.
    pub spoilage_percent: f64,
    /// Days that a package keeps once open, if stated.
    pub opened_days: Option<u32>,
    /// What is used and what is bought extra, in `buy_unit`; absent where that cannot be told.
    pub to_cover: Option<f64>,
    /// What packages are counted in: `mL`, `doses`, `lb`, `kg` or `pieces`.
    pub buy_unit: Option<String>,
    /// The packages with the fewest leftovers; absent where no sizes are stated.
    pub buy: Option<Purchase>,
    /// Packages that cost less, where there are any.
    pub cheaper: Option<Purchase>,
}

/// A dose of a label, with volumes.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct LabelDose {
    /// The active substance.
    pub substance: String,
    /// The dose for one animal, in words: `25 mg`.
    pub dose: String,
    /// Source tag of the dose.
    pub source: String,
    /// Published strengths and the volumes that follow; empty for what is not injected.
    pub strengths: Vec<StrengthVolume>,
}

/// A published strength.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct StrengthVolume {
    /// In words: `5 mg`.
    pub in_each_ml: String,
    /// Millilitres of one dose.
    pub ml_a_dose: f64,
    /// Millilitres of all doses of the season, without extra.
    pub ml: f64,
    /// Source tag of the strength; absent where it was not checked against a label.
    pub source: Option<String>,
}

/// What a head gets of MGA.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct FeedDose {
    /// Milligrams a head a day.
    pub mg_a_head: f64,
    /// Source tag of that.
    pub source: String,
    /// What feed is weighed in: `lb` or `kg`.
    pub unit: String,
    /// Milligrams in each of it, stated or following from what a head gets.
    pub mg_in_each: Option<f64>,
    /// Least feed a head a day: that stated or following, else the label's least.
    pub a_head_least: f64,
    /// Most feed a head a day: that stated or following, else the label's most.
    pub a_head_most: f64,
}

/// What is used on one day.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct DayUse {
    /// The day.
    pub date: NaiveDate,
    /// How much, in the item's unit.
    pub amount: f64,
    /// The passes that use it.
    pub passes: Vec<PassUse>,
    /// Volumes of the day: by the user's own dose, else by each published one.
    pub volumes: Vec<Volume>,
    /// Milligrams of MGA.
    pub mga_mg: Option<f64>,
    /// Feed, least and most, in the unit of the item's feed: the same where that is known.
    pub feed: Option<(f64, f64)>,
}

/// What one treatment of a pen uses.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct PassUse {
    /// Id of the pass.
    pub pass: String,
    /// Group id.
    pub group: String,
    /// Pen, from 1; absent for a whole group, or one of one pen.
    pub pen: Option<u32>,
    /// Head of the pass.
    pub head: u32,
    /// How much, in the item's unit.
    pub amount: f64,
}

/// A volume of all doses of a day.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Volume {
    /// Millilitres of one dose.
    pub ml_a_dose: f64,
    /// Millilitres of all.
    pub ml: f64,
}

/// Packages to buy.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Purchase {
    /// Packages, the largest first.
    pub packages: Vec<PackageCount>,
    /// What they hold, in the item's `buy_unit`.
    pub holds: f64,
    /// What is left over, too old or at the end, when all that is to be covered is used.
    pub left_over: f64,
    /// Of that, what goes out of date once opened.
    pub too_old: f64,
    /// Price of all; absent where a price is not stated.
    pub price: Option<f64>,
    /// True if no choice leaves less over (or, for cheaper packages, costs less).
    pub proven: bool,
    /// When which are opened, where they keep for some days only.
    pub opened: Vec<OpenedOn>,
}

/// Packages of one size.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct PackageCount {
    /// What one holds, in the item's `buy_unit`.
    pub size: u32,
    /// How many.
    pub count: u64,
    /// Price of one, if stated.
    pub price: Option<f64>,
}

/// Packages opened on a day.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct OpenedOn {
    /// The day.
    pub date: NaiveDate,
    /// Which.
    pub packages: Vec<PackageCount>,
    /// What is left in the last of them in the evening, in the item's `buy_unit`.
    pub left: f64,
    /// The last day on which that may be used.
    pub use_by: NaiveDate,
}

/// A bull's straws.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct BullNeed {
    /// Id.
    pub bull: String,
    /// Name.
    pub name: String,
    /// Straws on hand.
    pub on_hand: u32,
    /// Set aside by the plan.
    pub set_aside: u32,
    /// Extra straws for cows that never come, at the season's share.
    pub waste: u32,
    /// Straws to buy, so that both are there.
    pub to_buy: u32,
    /// First day of use.
    pub first_use: Option<NaiveDate>,
    /// That day less the days from order to delivery, where these are stated and straws are lacking.
    pub order_by: Option<NaiveDate>,
    /// Straws to bring, day by day.
    pub days: Vec<StrawDay>,
}

/// A bull's straws of one day.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, schemars::JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct StrawDay {
    /// The day.
    pub date: NaiveDate,
    /// Id of the session.
    pub session: String,
    /// Straws.
    pub straws: u32,
}

/// Straws that a group lacks.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, schemars::JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Lacking {
    /// Group id.
    pub group: String,
    /// Straws to buy of any of its bulls.
    pub straws: u32,
    /// Ids of its bulls, the first choice first.
    pub bulls: Vec<String>,
    /// First day of breeding.
    pub first_use: Option<NaiveDate>,
    /// That day less the days from order to delivery, where these are stated.
    pub order_by: Option<NaiveDate>,
}

/// Liquid nitrogen of one tank.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct TankNitrogen {
    /// Tank id.
    pub tank: String,
    /// Its name.
    pub name: String,
    /// The last day on which it must hold.
    pub last_day: Option<NaiveDate>,
    /// Fillings from the last reading to that day.
    pub fills: Vec<Fill>,
    /// Liters of all fillings; absent where the tank's liters are not stated.
    pub liters: Option<f64>,
    /// In words.
    pub words: Vec<String>,
}

/// One filling.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Fill {
    /// The day, at the latest.
    pub date: NaiveDate,
    /// That day less the days from order to delivery, where these are stated.
    pub order_by: Option<NaiveDate>,
    /// True if the season states it; false if it follows from the level.
    pub stated: bool,
    /// Percent of the tank that goes in.
    pub percent: f64,
    /// Liters that go in; absent where the tank's liters are not stated.
    pub liters: Option<f64>,
}

impl OrderList {
    /// The item of a key.
    #[must_use]
    pub fn item(&self, key: &str) -> Option<&Item> {
        self.items.iter().find(|i| i.item == key)
    }
}
