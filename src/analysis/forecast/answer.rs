//! What is said of calves and money, as it is written to JSON and read by the reports.
//!
//! Head are expected ones, real numbers to the ten-thousandth; dates are local days.

use chrono::NaiveDate;
use serde::{Deserialize, Serialize};

use crate::base::units::Units;
use crate::planning::plan::Remark;
use crate::trade::figures::{GestationLaw, Money};

/// Form and version.
pub const FORMAT: &str = "thawline.forecast/1";

/// What comes of a season.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
#[serde(deny_unknown_fields)]
#[schemars(title = "Thawline forecast")]
pub struct Forecast {
    /// `thawline.forecast/1`.
    pub format: String,
    /// Version of the program that made it.
    pub program: String,
    /// Name of the season.
    pub season: String,
    /// IANA time zone of the local days.
    pub zone: String,
    /// All groups together, but for those that are not counted.
    pub all: Outcome,
    /// All their calves by day; absent where none is expected.
    pub calving: Option<Calving>,
    /// The first 21 days, each group counted from its own first calves; absent without calves.
    pub first_21_days: Option<First21Days>,
    /// Group by group, in the plan's order.
    pub groups: Vec<GroupCalves>,
    /// Costs and budget; absent where the season has neither `prices` nor `money`.
    pub money: Option<MoneyAnswer>,
    /// How it is counted, in sentences with sources.
    pub notes: Vec<String>,
    /// What was noticed.
    pub findings: Vec<Remark>,
    /// Units that people read; absent where none are chosen.
    #[serde(default, skip_serializing_if = "Units::is_open")]
    pub units: Units,
}

/// An expected number of head with its spread.
#[derive(Clone, Copy, Debug, Default, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Expected {
    /// Expected: a mean, not a whole number.
    pub head: f64,
    /// With the percentages at the ends of their spread that make it least.
    pub low_head: f64,
    /// With those that make it most.
    pub high_head: f64,
    /// Fewer, even then, in at most 5 of 100 seasons (binomial, exact).
    pub least_head: u32,
    /// More, even then, in at most 5 of 100 seasons.
    pub most_head: u32,
}

/// What animals come to.
#[derive(Clone, Copy, Debug, Default, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Outcome {
    /// Animals.
    pub head: u32,
    /// Bred to AI.
    pub bred_head: u32,
    /// Pregnant to AI.
    pub ai: Expected,
    /// Pregnant to clean-up bulls.
    pub bulls: Expected,
    /// Pregnant to either.
    pub pregnant: Expected,
    /// Open at the end.
    pub open: Expected,
    /// Taken to be pregnant to the service before, where the protocol is one of a second service: in none of the
    /// others.
    pub pregnant_before_head: f64,
    /// AI calves.
    pub ai_calves_head: f64,
    /// Clean-up bull calves.
    pub bull_calves_head: f64,
}

/// Where a percentage comes from.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize, schemars::JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum From {
    /// The season file.
    Own,
    /// A publication on this protocol and semen.
    Published,
    /// A publication on the like in general.
    General,
}

/// A percentage that was counted with.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Rate {
    /// Lowest.
    pub low_percent: f64,
    /// Expected: of several publications their mean by random effects.
    pub percent: f64,
    /// Highest.
    pub high_percent: f64,
    /// Whose it is.
    pub from: From,
    /// Source tags, or `your own figure`.
    pub source: String,
}

/// A group.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct GroupCalves {
    /// Its id.
    pub group: String,
    /// Its name.
    pub name: String,
    /// Protocol id.
    pub protocol: String,
    /// False where nobody knows on which days it is bred: nothing of it is counted.
    pub counted: bool,
    /// What its animals come to.
    pub outcome: Outcome,
    /// Head bred to AI, by local day.
    pub ai_days: Vec<AiDay>,
    /// Pregnant of those bred to AI.
    pub ai_rate: Rate,
    /// Of the straws set aside, percent sexed semen.
    pub sexed_percent: f64,
    /// Those bred to AI that come back in heat; absent where nobody does.
    pub returns: Option<Returns>,
    /// Clean-up bulls, where there are any.
    pub clean_up: Option<CleanUp>,
    /// Head that do not cycle: few of them settle to AI, and they are taken to be in no heat later.
    pub not_cycling: Rate,
    /// Pregnancies lost before calving.
    pub lost: Rate,
    /// Gestation of the AI calves.
    pub gestation: GestationLaw,
    /// Gestation of the clean-up bull calves, where it is another.
    pub bulls_gestation: Option<GestationLaw>,
    /// Its calves by day; absent where none is expected.
    pub calving: Option<Calving>,
}

/// Head bred to AI on a day.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize, schemars::JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct AiDay {
    /// Local day.
    pub date: NaiveDate,
    /// Head bred.
    pub head: u32,
}

/// Animals that come back in heat after AI.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Returns {
    /// 18 days after the first of them was bred: the first day of the plan's watch for return heat. A
    /// few heats come sooner, or later than `to`.
    pub from: NaiveDate,
    /// 21 days after the mean day.
    pub mean: NaiveDate,
    /// 24 days after the last one, the last day of the watch.
    pub to: NaiveDate,
    /// Expected head.
    pub head: f64,
}

/// Clean-up bulls with a group.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct CleanUp {
    /// Turned out.
    pub turned_in: NaiveDate,
    /// The last day with the group.
    pub taken_out: NaiveDate,
    /// Days with the group, both counted.
    pub days: i64,
    /// Bulls.
    pub bulls_head: u32,
    /// Head of the group for each bull.
    pub head_a_bull: f64,
    /// Heats that they settle.
    pub settled: Rate,
    /// The first, second, third heat of each animal that is open while they are in.
    pub heats: Vec<Heat>,
}

/// A heat of those open, with bulls.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Heat {
    /// Its mean day.
    pub mean: NaiveDate,
    /// Expected head in heat.
    pub in_heat_head: f64,
    /// Of these, settled.
    pub settled_head: f64,
}

/// Calves by day, and what people ask of them.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Calving {
    /// Expected calves.
    pub calves_head: f64,
    /// Of these, percent AI calves.
    pub ai_percent: f64,
    /// Earliest calves are expected: 12 days before the first due date (TORELL).
    pub first: NaiveDate,
    /// The due date of the first animals bred.
    pub first_due: NaiveDate,
    /// Mean day of all calves.
    pub mean: NaiveDate,
    /// 5 in 100 are born by the end of this day.
    pub born_5_percent: NaiveDate,
    /// Half are born by the end of this day.
    pub born_50_percent: NaiveDate,
    /// 95 in 100 are born by the end of this day.
    pub born_95_percent: NaiveDate,
    /// Percent born in 21 days that begin with `first`: the earliest-calf count.
    pub percent_in_21_days: f64,
    /// Percent born by the end of the 21st day after `first_due`, those before it too: the due-date count,
    /// which published tables use (not checked against them). Due on the 10th, it ends with the 31st.
    pub percent_by_21_days_from_due: f64,
    /// Day by day, without gaps.
    pub curve: Vec<Day>,
}

/// Percent of all calves born in the first 21 days, each group counted by itself.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct First21Days {
    /// In 21 days that begin with the group's earliest calves: the earliest-calf count.
    pub percent: f64,
    /// By the end of the 21st day after the group's first due date, those before it too: the due-date
    /// count, which published tables use (not checked against them).
    pub percent_from_due: f64,
}

/// Calves of one day.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Day {
    /// Local day.
    pub date: NaiveDate,
    /// Expected AI calves.
    pub ai_head: f64,
    /// Expected clean-up bull calves.
    pub bulls_head: f64,
    /// Percent of all born by its end.
    pub born_percent: f64,
}

impl Forecast {
    /// The answer with one group alone; sums, money and what was noticed stay those of all.
    #[must_use]
    pub fn only(mut self, group: &str) -> Self {
        self.groups.retain(|g| g.group == group);
        self
    }
}

/// What the season's AI and bulls cost, and what they bring.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct MoneyAnswer {
    /// The currency, if the season names one.
    pub currency: Option<String>,
    /// What synchronization and AI cost, group by group; empty where the season has no `prices`.
    pub groups: Vec<GroupCost>,
    /// The same of all groups, and their bulls.
    pub spent: Spent,
    /// Natural service in place of AI, where it is to be compared.
    pub natural: Option<Natural>,
    /// Keys of the season file that are needed and not given, each with what it leaves out.
    pub missing: Vec<String>,
}

/// An amount: units x price.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Entry {
    /// For what.
    pub what: String,
    /// How many units, to as many digits as the amount needs.
    pub units: f64,
    /// The unit.
    pub unit: String,
    /// Price of a unit, to as many digits as the amount needs.
    pub price: f64,
    /// Units x price, to the cent.
    pub amount: Money,
}

/// What synchronization and AI cost in a group.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct GroupCost {
    /// Group id.
    pub group: String,
    /// Animals.
    pub head: u32,
    /// What it is made of, a head.
    pub entries: Vec<Entry>,
    /// For each of them. While anything is missing it is the least.
    pub a_head: Money,
    /// For each expected pregnancy to AI.
    pub a_pregnancy: Option<Money>,
    /// For each expected AI calf.
    pub an_ai_calf: Option<Money>,
    /// Percent seen in heat that it was counted with, where that matters.
    pub in_heat_percent: Option<f64>,
    /// Where that comes from.
    pub in_heat_source: Option<String>,
    /// Prices that are needed and not given.
    pub missing: Vec<String>,
}

/// What the season costs.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Spent {
    /// Synchronization and AI of all groups; absent without `prices`.
    pub ai: Option<Money>,
    /// The technicians' road, as in the plan; absent without a price.
    pub road: Option<Money>,
    /// Both, for each head.
    pub a_head: Option<Money>,
    /// Both, for each expected pregnancy to AI.
    pub a_pregnancy: Option<Money>,
    /// Both, for each expected AI calf.
    pub an_ai_calf: Option<Money>,
    /// Clean-up bulls that are needed at one time.
    pub bulls_head: u32,
    /// A bull's cost a year; absent without `money.bull`.
    pub bull_a_year: Option<Money>,
    /// These bulls, for a year.
    pub bulls: Option<Money>,
    /// They, for each expected pregnancy to bulls.
    pub a_bull_pregnancy: Option<Money>,
    /// AI, road and bulls, as far as there are prices, for each expected pregnancy of either.
    pub any_pregnancy: Option<Money>,
}

/// Natural service: bulls alone from each group's first day of AI.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Natural {
    /// Bulls that are needed at one time.
    pub bulls_head: u32,
    /// Heats that they settle.
    pub settled: Rate,
    /// Pregnant.
    pub pregnant: Expected,
    /// Calves.
    pub calves_head: f64,
    /// Mean day of calving.
    pub mean_calving: Option<NaiveDate>,
    /// The first 21 days, each group counted by itself; absent without calves.
    pub first_21_days: Option<First21Days>,
    /// These bulls for a year.
    pub bulls: Option<Money>,
    /// They, for each expected pregnancy.
    pub a_pregnancy: Option<Money>,
    /// AI with clean-up bulls in its place.
    pub budget: Budget,
}

/// A partial budget of the change from natural service to AI.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Budget {
    /// Returns that the change adds.
    pub added_returns: Vec<Entry>,
    /// Costs that it saves.
    pub reduced_costs: Vec<Entry>,
    /// Costs that it adds.
    pub added_costs: Vec<Entry>,
    /// Returns that it loses.
    pub reduced_returns: Vec<Entry>,
    /// What is left of the gains.
    pub net: Money,
    /// The same at the lowest percentage pregnant to AI.
    pub net_low: Money,
    /// The same at the highest.
    pub net_high: Money,
    /// For each head.
    pub net_a_head: Option<Money>,
}
