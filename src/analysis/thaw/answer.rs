//! Thaw rounds, as they are written to JSON.

use serde::{Deserialize, Serialize};

use crate::base::units::{Clock, Units};
use crate::planning::plan::{Moment, Remark};

/// Form and version of the JSON.
pub const FORMAT: &str = "thawline.thaw/1";

/// The sessions of a season, and the rounds of the one that is asked about.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
#[serde(deny_unknown_fields)]
#[schemars(title = "Thawline thaw rounds")]
pub struct Thaw {
    /// `thawline.thaw/1`.
    pub format: String,
    /// Name of the season.
    pub season: String,
    /// IANA time zone of the local readings.
    pub zone: String,
    /// Sessions in which cows are bred, by time.
    pub sessions: Vec<Listed>,
    /// The one that was asked about.
    pub session: Option<SessionThaw>,
    /// Clock of the times in sentences; absent for the 24-hour clock. Moments have that.
    #[serde(default, skip_serializing_if = "Clock::is_usual")]
    pub clock: Clock,
}

/// A session to ask about.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Listed {
    /// Its id.
    pub session: String,
    /// Name of the site.
    pub site_name: String,
    /// First cow.
    pub first_cow: Moment,
    /// Last cow.
    pub last_cow: Moment,
    /// Head bred.
    pub head: u32,
    /// Ids of its technicians.
    pub technicians: Vec<String>,
}

/// The rounds of a session.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct SessionThaw {
    /// Id of the session.
    pub session: String,
    /// Site id.
    pub site: String,
    /// Name of the site.
    pub site_name: String,
    /// The answer, in sentences.
    pub words: Vec<String>,
    /// Head bred.
    pub head: u32,
    /// Seconds a straw stays in the bath, by the season's rules.
    pub thaw_seconds: f64,
    /// Most minutes from bath to cow, by the season's rules.
    pub bath_to_cow_minutes: f64,
    /// Seconds that a canister is in the neck at each lift.
    pub lift_seconds: f64,
    /// Straws taken out at a lift at the most.
    pub straws_a_lift: u32,
    /// Most straws in the site's bath.
    pub bath_straws: u32,
    /// Technicians, as in the plan.
    pub technicians: Vec<TechnicianThaw>,
    /// Canisters by how often they are lifted.
    pub canisters: Vec<CanisterUse>,
    /// Straws for cows that never come, by bull; empty where no share is given.
    pub waste: Vec<Waste>,
    /// What the bath's water can do.
    pub bath: BathFigures,
    /// What was noticed.
    pub findings: Vec<Remark>,
    /// What the figures rest on, in sentences, with sources.
    pub notes: Vec<String>,
    /// Units that people read; absent where none are chosen.
    #[serde(default, skip_serializing_if = "Units::is_open")]
    pub units: Units,
}

/// A technician of a session.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct TechnicianThaw {
    /// Technician id.
    pub id: String,
    /// Name.
    pub name: String,
    /// True if a helper thaws and loads.
    pub helper: bool,
    /// Head bred.
    pub head: u32,
    /// Straws at once in the plan.
    pub straws_at_once: u32,
    /// Minutes a cow with loaded guns at hand.
    pub minutes_per_cow: f64,
    /// True if these were worked out from cows an hour, and are held for other rounds.
    pub from_cows_per_hour: bool,
    /// Rounds, by time.
    pub rounds: Vec<Round>,
    /// What other numbers of straws at once would do, alone.
    pub alone: Vec<PaceRow>,
    /// The same with a helper.
    pub helped: Vec<PaceRow>,
}

/// Straws that are in the bath together for one technician.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Round {
    /// From 1.
    pub number: u32,
    /// When its first straws go into the bath.
    pub bath_at: Moment,
    /// When the first straw may come out.
    pub earliest_out: Moment,
    /// When the first gun is loaded.
    pub first_gun: Moment,
    /// When the last straw must be in its cow.
    pub cow_by: Moment,
    /// Minutes from the bath to the last cow, as planned.
    pub last_straw_minutes: f64,
    /// Seconds by which a gun is ready later than planned, as the tank is in use.
    pub gun_late_seconds: i64,
    /// True if the order of its animals is not known and they have straws of several bulls or sorts: then the
    /// straws are each bull's share, and whose straw goes into the bath is decided by the tag.
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub by_tag: bool,
    /// Canisters lifted, in order.
    pub lifts: Vec<Lift>,
    /// Straws in the order in which guns are loaded.
    pub straws: Vec<Straw>,
}

/// One lift of one canister.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Lift {
    /// When the canister comes up.
    pub at: Moment,
    /// When it is down again and the straws are in the bath.
    pub down: Moment,
    /// The tank, if given.
    pub tank: Option<String>,
    /// Number of the canister, if given.
    pub canister: Option<u32>,
    /// Straws taken out.
    pub straws: u32,
}

/// A straw and its cow.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Straw {
    /// The bull.
    pub bull: String,
    /// Millilitres.
    pub straw_ml: f64,
    /// Which place of the bull's in the season's list of semen, from 1.
    pub place: u32,
    /// Where it is, in words.
    pub where_words: String,
    /// The tank, if given.
    pub tank: Option<String>,
    /// Number of the canister, if given.
    pub canister: Option<u32>,
    /// Code on the cane, if given.
    pub cane: Option<String>,
    /// `top` or `bottom`, if given.
    pub goblet: Option<String>,
    /// Into the bath.
    pub in_at: Moment,
    /// Out of the bath, to be dried and loaded.
    pub out_at: Moment,
    /// In the cow, by the plan.
    pub bred_at: Moment,
    /// Group id.
    pub group: String,
    /// Pen, from 1; absent for a whole group bred by heat.
    pub pen: Option<u32>,
    /// Id of the breeding pass.
    pub pass: String,
    /// Which animal of the pen, from 1, where the order is kept.
    pub animal: Option<u32>,
    /// Her id, where the herd file has the order; the straw is of her mating then.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub tag: Option<String>,
}

/// How often a canister is lifted.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct CanisterUse {
    /// The tank, if given.
    pub tank: Option<String>,
    /// Number of the canister, if given.
    pub canister: Option<u32>,
    /// Lifts.
    pub lifts: u32,
    /// Seconds in the neck, all lifts together.
    pub seconds: f64,
    /// Straws taken out.
    pub straws: u32,
    /// Seconds that a lift may take, for its straws.
    pub most_seconds_a_lift: f64,
}

/// Straws of one bull for cows that never come.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Waste {
    /// The bull.
    pub bull: String,
    /// Straws counted as waste.
    pub straws: u32,
    /// Of these, no straw is left for.
    pub lacking_straws: u32,
    /// Where those set aside are, in words.
    pub places: Vec<String>,
}

/// A technician's pace with so many straws at once, by the planner's formula.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct PaceRow {
    /// Straws at once.
    pub straws_at_once: u32,
    /// Head an hour over whole rounds.
    pub head_per_hour: f64,
    /// Mean age in minutes of the last straw when it is in the cow.
    pub last_straw_minutes: f64,
    /// Chance in percent that it is older than the season allows.
    pub late_percent: f64,
    /// True if it is within the season's limit and risk.
    pub safe: bool,
    /// True if it is the plan's way.
    pub planned: bool,
}

/// The bath of a session.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct BathFigures {
    /// Litres, if the season file has them.
    pub liters: Option<f64>,
    /// Watts of its heater; 0 without one.
    pub heater_watts: f64,
    /// Degrees Fahrenheit of the hot water at hand.
    pub hot_water_f: f64,
    /// The same in degrees Celsius.
    pub hot_water_c: f64,
    /// The straws counted, in millilitres: the largest of the session.
    pub straw_ml: f64,
    /// Joules that one of them takes.
    pub joules_a_straw: f64,
    /// Degrees Fahrenheit at which the bath starts, and below and above which it must not be.
    pub range_f: [f64; 3],
    /// The same in degrees Celsius.
    pub range_c: [f64; 3],
    /// Straws of the largest rounds of all technicians together.
    pub straws_at_once: u32,
    /// Litres in which these keep the bath in its range without heat.
    pub least_liters: f64,
    /// Watts that win back what straws take at the pace of the session.
    pub watts_for_pace: f64,
    /// For the site's bath, or for usual volumes.
    pub volumes: Vec<Volume>,
}

/// What a volume of water can do.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Volume {
    /// Litres.
    pub liters: f64,
    /// Degrees Celsius lost to a straw.
    pub straw_c: f64,
    /// Degrees Fahrenheit lost to a straw.
    pub straw_f: f64,
    /// Straws until it leaves its range, without heat.
    pub straws: u32,
    /// Litres of hot water to add to bring it back.
    pub add_liters: Option<f64>,
    /// Litres of hot water in place of as much taken out.
    pub swap_liters: Option<f64>,
    /// Degrees Celsius a minute that the heater wins back.
    pub heater_c_a_minute: f64,
    /// Degrees Fahrenheit a minute that the heater wins back.
    pub heater_f_a_minute: f64,
    /// Seconds in which the heater makes good for one straw; none without a heater.
    pub heater_seconds_a_straw: Option<f64>,
}
