//! The form of a season file, as it stands in YAML. The doc comments are the schema's text.

mod calves;
mod days;
mod limits;
mod semen;
mod supplies;
mod wishes;

use schemars::JsonSchema;
use serde::Deserialize;

pub use calves::{BullFigures, Calves, CleanUp, MoneyFacts, Natural, Share};
pub use days::{Days, Weekday};
pub use limits::{HeatBreeding, Rules};
pub use semen::{Goblet, Reading, Semen, Tank};
pub use supplies::{Bag, Bottle, Changed, Counted, Feed, Injectable, Pack, Supplies, Used};
pub use wishes::{ClockSpan, HeatWatch, Weights, WishName, Wishes};

use crate::base::sheet::DateOrder;
use crate::base::units::Units;
use crate::trade::figures::Prices;
use crate::trade::protocol::Class;
use crate::trade::protocol::dose::Drug;
use crate::trade::season::free_hours::Rule;
use limits::{Length, Minutes};

/// A breeding season: groups, crew, sites, semen and rules.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
#[schemars(title = "Thawline season")]
pub struct Season {
    /// Form and version of this file: `thawline.season/1`, assumed unless given.
    #[schemars(length(min = 1, max = 40))]
    pub format: String,
    /// What the season is called.
    #[schemars(length(min = 1, max = 200))]
    pub name: String,
    /// Time zone of all local times in this file, such as `America/Denver`.
    #[schemars(length(min = 1, max = 60))]
    #[schemars(extend("x-also-called" = ["timezone", "time_zone", "tz"]))]
    pub zone: String,
    /// The country whose law holds, by its ISO 3166 code: `US`, `CA`, `AU`, `NZ`, `AR`, `BR`, `GB`. The
    /// country of the zone unless given.
    #[schemars(length(min = 1, max = 60))]
    #[schemars(extend("x-also-called" = ["nation", "law"]))]
    pub country: Option<String>,
    /// Drugs or protocols that are not permitted in the country and are planned all the same, each with
    /// the reason, which stands on every sheet. Without it they are refused.
    #[serde(default)]
    #[schemars(length(max = 20))]
    #[schemars(extend("x-also-called" = ["allowed", "permit", "exceptions"]))]
    pub allow: Vec<Allow>,
    /// Places where cattle are worked and bred. One, `home`, is assumed unless given.
    #[schemars(length(min = 1, max = 500))]
    #[schemars(extend("x-also-called" = ["locations", "places", "farms", "ranches", "pastures"]))]
    pub sites: Vec<Site>,
    /// Animals on one protocol and one start.
    #[schemars(length(min = 1, max = 5000))]
    #[schemars(extend("x-also-called" = ["herds", "herd", "cows", "heifers"]))]
    pub groups: Vec<Group>,
    /// People who inseminate. One is assumed unless given.
    #[schemars(length(min = 1, max = 1000))]
    #[schemars(extend("x-also-called" = ["technicians", "technician", "inseminators", "people", "staff"]))]
    pub crew: Vec<Technician>,
    /// Semen on hand: one entry for each bull and place in a tank. Give this, `semen_file`, or both; with
    /// neither, enough straws are assumed.
    #[serde(default)]
    #[schemars(length(min = 1, max = 5000))]
    #[schemars(extend("x-also-called" = ["straws"]))]
    pub semen: Vec<Semen>,
    /// A table of straws as comma-separated values (CSV), named from the folder of this file, such
    /// as `straws.csv`, in place of `semen` or beside it. Its first line names the columns, in any
    /// order: bull and straws must be there, the others if known: name, `straw_ml`, tank, canister,
    /// cane, goblet, sort.
    #[schemars(length(min = 1, max = 200))]
    #[schemars(extend("x-also-called" = ["straw_file", "straws_file", "semen_csv", "csv"]))]
    pub semen_file: Option<String>,
    /// Tanks of liquid nitrogen, for `thawline tank`.
    #[serde(default)]
    #[schemars(length(min = 1, max = 100))]
    pub tanks: Vec<Tank>,
    /// What is known of bulls, for `thawline matings`.
    #[serde(default)]
    #[schemars(length(max = 5000))]
    #[schemars(extend("x-also-called" = ["sires", "bull_facts"]))]
    pub bulls: Vec<BullFacts>,
    /// Scores of bulls for animals of any group, for `thawline matings`: a table as comma-separated
    /// values (CSV), named from the folder of this file. Either with the columns animal, bull and
    /// score, or with the column animal and one for each bull. A score is a number from 0 to 100.
    #[schemars(length(min = 1, max = 200))]
    pub scores: Option<String>,
    /// Limits that hold for the whole season.
    pub rules: Option<Rules>,
    /// Units that people read, of temperature, distance and weight, and the clock; `--units` overrides them.
    pub units: Option<Units>,
    /// How `thawline choose` weighs one choice against another.
    pub weights: Option<Weights>,
    /// What things cost, for `thawline choose` and `thawline forecast`, and on the road for
    /// `thawline plan`. No price is assumed.
    pub prices: Option<Prices>,
    /// What you buy, for `thawline supplies`.
    #[schemars(extend("x-also-called" = ["order", "orders", "drugs", "shopping"]))]
    pub supplies: Option<Supplies>,
    /// What calves bring and bulls cost, for `thawline forecast`.
    #[schemars(extend("x-also-called" = ["budget", "economics"]))]
    pub money: Option<MoneyFacts>,
}

impl Season {
    /// Every rule that keeps hours free, of the rules and of the groups' wishes, with its field.
    pub(super) fn free_rules(&self) -> impl Iterator<Item = (String, &dyn Rule)> {
        let rules = self.rules.iter().flat_map(|r| r.free.each());
        let rules = rules.map(|(key, rule)| (format!("rules.{key}"), rule));
        let wishes = self.groups.iter().enumerate().filter_map(|(n, g)| {
            let rule: &dyn Rule = &g.wishes.as_ref()?.no_work;
            Some((format!("groups[{n}].wishes.no_work"), rule))
        });
        rules.chain(wishes)
    }
}

/// A drug or a protocol that is not permitted in the country, and why it is planned: one of the two.
#[derive(Clone, Debug, PartialEq, Eq, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Allow {
    /// The class of drug, on any protocol.
    pub drug: Option<Drug>,
    /// The id of a protocol, with all its drugs.
    pub protocol: Option<String>,
    /// Why it may be used here, such as the permit that it is used under.
    #[schemars(length(min = 1, max = 200))]
    #[schemars(extend("x-also-called" = ["why", "because"]))]
    pub reason: String,
}

/// A place where cattle are worked and bred.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Site {
    /// Short name.
    pub id: String,
    /// Full name.
    #[schemars(length(min = 1, max = 200))]
    pub name: Option<String>,
    /// Head an hour through the chute when they get injections only. 60 is assumed unless given (from memory:
    /// 60 to 100 with a good crew), and then 40 with inserts (from memory: 40 to 60).
    #[schemars(range(min = 1, max = 1000))]
    #[schemars(extend("x-also-called" = ["chute_head_per_hour", "head_per_hour", "pace"]))]
    pub injections_head_per_hour: f64,
    /// Head an hour through the chute when inserts go in or come out too. As for injections,
    /// unless given.
    #[schemars(range(min = 1, max = 1000))]
    pub inserts_head_per_hour: Option<f64>,
    /// How many animals can be bred at one moment: boxes or chutes for breeding. 1 is assumed unless given
    /// (common practice, no source).
    #[schemars(range(min = 1, max = 50))]
    #[schemars(extend("x-also-called" = ["boxes", "breeding_chutes", "chutes"]))]
    pub breeding_boxes: u32,
    /// Straws that the site's thaw bath holds at once, shared by those who breed at the boxes.
    /// 10 unless given.
    #[schemars(range(min = 1, max = 100))]
    pub thaw_bath_straws: Option<u32>,
    /// Liters of water in the thaw bath, for its heat balance (`thawline thaw`).
    #[schemars(extend("exclusiveMinimum" = 0), range(max = 100))]
    #[schemars(extend("x-also-called" = ["bath_litres", "bath_volume", "bath_l", "thermos_liters"]))]
    pub bath_liters: Option<f64>,
    /// Watts of the bath's heater. None, as of a thermos, unless given.
    #[schemars(range(min = 0, max = 5000))]
    #[schemars(extend("x-also-called" = ["heater_watts", "bath_watts"]))]
    pub bath_heater_watts: Option<f64>,
    /// Temperature in degrees Fahrenheit of the hot water at hand to warm the bath up again. 120
    /// unless given (common practice, no source).
    #[schemars(range(min = 100, max = 212))]
    #[schemars(extend("x-also-called" = ["hot_water"]))]
    pub hot_water_f: Option<f64>,
    /// The same in degrees Celsius; give one of the two.
    #[schemars(range(min = 38, max = 100))]
    pub hot_water_c: Option<f64>,
    /// Degrees north of the equator, below zero to the south: where phones show the site on a map.
    #[schemars(range(min = -90, max = 90))]
    #[schemars(extend("x-also-called" = ["lat"]))]
    pub latitude: Option<f64>,
    /// Degrees east of Greenwich, below zero to the west, as all over America.
    #[schemars(range(min = -180, max = 180))]
    #[schemars(extend("x-also-called" = ["lon", "lng", "long"]))]
    pub longitude: Option<f64>,
    /// Minutes on the road to other sites, by their id. Give each pair once, at either site. Where a
    /// way through another site is shorter, by minutes that are given, that way is planned.
    #[serde(default)]
    #[schemars(with = "std::collections::BTreeMap<String, Minutes>")]
    pub minutes_to: std::collections::BTreeMap<String, f64>,
    /// Miles by road to other sites, by their id; the straight line between the coordinates of both
    /// unless given. For people: the plan counts minutes.
    #[serde(default)]
    #[schemars(with = "std::collections::BTreeMap<String, Length>")]
    pub miles_to: std::collections::BTreeMap<String, f64>,
    /// The same in kilometers; give one of the two.
    #[serde(default)]
    #[schemars(with = "std::collections::BTreeMap<String, Length>")]
    pub km_to: std::collections::BTreeMap<String, f64>,
}

/// The user's word on an animal.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Overrule {
    /// She goes ahead.
    Ready,
    /// She waits.
    Wait,
}

/// Animals on one protocol and one start.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Group {
    /// Short name.
    pub id: String,
    /// Full name.
    #[schemars(length(min = 1, max = 200))]
    pub name: Option<String>,
    /// The id of the site where the group is worked and bred.
    #[schemars(extend("x-also-called" = ["location", "place", "pasture"]))]
    pub site: String,
    /// Cow or heifer; that of the protocol unless given.
    pub class: GroupClass,
    /// How many animals.
    #[schemars(range(min = 1, max = 100_000))]
    #[schemars(extend("x-also-called" = ["cows", "heifers", "animals", "count", "number", "size"]))]
    pub head: u32,
    /// The id of a protocol (`thawline protocols`). Give this and `start`, or `wishes`.
    pub protocol: Option<String>,
    /// Local date and time at which the first animal gets the first treatment, such as
    /// `2027-05-17T17:00`. Give this and `protocol`, or `wishes`.
    #[schemars(extend("x-also-called" = ["date", "day", "begin", "start_date", "start_time"]))]
    pub start: Option<String>,
    /// What `thawline choose` is to look for. Beside a protocol and a start, these are looked at
    /// by `choose` alone, but for the gestation length, which `forecast` takes too.
    pub wishes: Option<Wishes>,
    /// Number of pens of about equal size that the group is split into, one worked after the
    /// other. 1 unless given.
    #[schemars(range(min = 1, max = 200))]
    pub pens: Option<u32>,
    /// Head in each pen, in the order they are worked, in place of `pens`.
    #[schemars(length(min = 1, max = 200), inner(range(min = 1, max = 100_000)))]
    pub pen_head: Option<Vec<u32>>,
    /// When each pen begins, as local dates and times, none before `start`: one for each pen. Unless
    /// given, pens begin one after the other, as the pen before is through the chute.
    #[schemars(length(min = 1, max = 200))]
    #[schemars(extend("x-also-called" = ["starts", "pen_start", "stagger"]))]
    pub pen_starts: Option<Vec<String>>,
    /// The latest local date and time at which a pen may begin, in place of `pen_starts`: the plan
    /// then picks each pen's start between `start` and this, by slots, so that the chute and the
    /// crew can serve them.
    #[schemars(extend("x-also-called" = ["start_latest", "start_until", "latest"]))]
    pub latest_start: Option<String>,
    /// `up to 3` lets the plan spread the group over so many days, up to 7: each lot begins a day or
    /// more after the one before, about the clock time of `start`, has AI windows of its own and is
    /// bred on a day of its own. The plan takes the fewest days that breed most. Pens that are given are kept
    /// whole; else the plan makes a pen for each day. `1` unless given: all begin on one day.
    #[serde(default)]
    #[schemars(with = "String", extend("type" = ["integer", "string"]))]
    #[schemars(extend("x-also-called" = ["spread", "spread_days", "over_days"]))]
    pub days: Option<Days>,
    /// `kept` if animals come to the breeding chute in the order in which they had PG (or by tag
    /// and time), `mixed` if in any order. `mixed` unless given.
    #[schemars(extend("x-also-called" = ["sort_order", "sorted"]))]
    pub order: Option<OrderWord>,
    /// Ids of the bulls that may be used, the first choice first. All of `semen` unless given.
    #[schemars(length(min = 1, max = 200))]
    #[schemars(extend("x-also-called" = ["sires", "bull", "sire", "semen"]))]
    pub bulls: Vec<String>,
    /// Percent of the group planned to be seen in heat, for protocols that breed a part by heat;
    /// the published share unless given.
    #[schemars(range(min = 0, max = 100))]
    pub in_heat_percent: Option<f64>,
    /// Mean hours from the treatment before the heat watch (PG, or the insert's removal) to heat,
    /// for protocols that breed by detected heat; as published for the protocol unless given.
    #[schemars(range(min = 1, max = 400))]
    #[schemars(extend("x-also-called" = ["hours_to_heat", "heat_hours", "mean_hours"]))]
    pub heat_mean_hours: Option<f64>,
    /// How much these hours vary: one standard deviation. As published unless given.
    #[schemars(range(min = 1, max = 100))]
    #[schemars(extend("x-also-called" = ["heat_sd_hours", "spread_hours"]))]
    pub heat_spread_hours: Option<f64>,
    /// A remark that goes to the calendar and the page.
    #[schemars(length(min = 1, max = 200))]
    pub note: Option<String>,
    /// The group's herd file: a table of its animals as comma-separated values (CSV), named from
    /// the folder of this file, such as `cows.csv`. Its first line names the columns, in any
    /// order; `animal`, `tag` or `electronic_id` must be there, the others if known: class, `birth_date`,
    /// `last_calving_date`, breed, `body_condition`, `weight_lb` or `weight_kg`, `weighed_date`,
    /// `mature_weight_lb` or `mature_weight_kg`, `frame_score`, `tract_score`, sire, dam, `mating`, `second_mating`, sexed, notes.
    /// `thawline herd` says which animals are ready, `thawline matings` which bull each gets, and
    /// `thawline check` reads it too.
    #[schemars(length(min = 1, max = 200))]
    #[schemars(extend("x-also-called" = ["csv", "file", "herd_file", "herds", "animal_list"]))]
    pub herd: Option<String>,
    /// Columns of the herd file by its own headings, where these are other words or leave doubt, such
    /// as `Last Calved: last_calving_date`; `none` leaves a column out. Common words such as `EID`,
    /// `DOB` and `BCS` need no entry: the reading is told.
    #[serde(default)]
    pub columns: std::collections::BTreeMap<String, String>,
    /// Animals of the herd file that go ahead or wait whatever the thresholds say, by tag, such as
    /// `B204: ready`.
    #[serde(default)]
    pub overrule: std::collections::BTreeMap<String, Overrule>,
    /// What stands first in dates of the herd file such as 3/4/2027: the day (`dmy`) or the month
    /// (`mdy`). Read off each column unless given.
    pub dates: Option<DateOrder>,
    /// Scores of bulls for the animals of this group, in the form of the season's `scores`, which
    /// they override.
    #[schemars(length(min = 1, max = 200))]
    pub scores: Option<String>,
    /// Its calves and clean-up bulls, for `thawline forecast`.
    #[schemars(extend("x-also-called" = ["forecast", "calving"]))]
    pub calves: Option<Calves>,
}

/// Cow or heifer.
#[derive(Clone, Copy, Debug, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum GroupClass {
    /// Cows that have calved.
    Cow,
    /// Heifers.
    Heifer,
}

impl From<GroupClass> for Class {
    fn from(class: GroupClass) -> Self {
        match class {
            GroupClass::Cow => Self::Cow,
            GroupClass::Heifer => Self::Heifer,
        }
    }
}

/// In which order animals come to be bred.
#[derive(Clone, Copy, Debug, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum OrderWord {
    /// Any order.
    Mixed,
    /// The order in which they got PG.
    Kept,
}

/// A person who inseminates.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Technician {
    /// Short name.
    pub id: String,
    /// Full name.
    #[schemars(length(min = 1, max = 200))]
    pub name: Option<String>,
    /// Cows an hour over a whole session, as counted on past days: thawing and loading included.
    /// Give this or `minutes_per_cow`; 20 is assumed without either (from memory: 15 to 30 for one technician at one box
    /// with a crew).
    #[schemars(extend("exclusiveMinimum" = 0), range(max = 120))]
    #[schemars(extend("x-also-called" = ["pace", "speed", "head_per_hour", "cows_hour"]))]
    pub cows_per_hour: Option<f64>,
    /// Minutes from one cow to the next with loaded guns at hand. Give this or `cows_per_hour`.
    #[schemars(range(min = 0.1, max = 60))]
    #[schemars(extend("x-also-called" = ["minutes", "min_per_cow", "minutes_a_cow"]))]
    pub minutes_per_cow: Option<f64>,
    /// How much the minutes a cow vary: one standard deviation. A third of the mean at the cow
    /// unless given (common practice, no source): count your own.
    #[schemars(range(min = 0, max = 60))]
    pub minutes_spread: Option<f64>,
    /// True if a helper thaws and loads for this technician. False unless given.
    #[serde(default)]
    pub helper: bool,
    /// The id of the site the technician starts from. Drives to other sites are taken from the
    /// shift, there and back.
    #[schemars(extend("x-also-called" = ["home", "base", "site"]))]
    pub home_site: Option<String>,
    /// Most straws in the bath for this technician at once, if fewer are wanted than the pace
    /// allows.
    #[schemars(range(min = 1, max = 10))]
    pub straws_at_once: Option<u32>,
    /// Most hours from leaving home to being back on one day, in place of that of the rules.
    #[schemars(range(min = 1, max = 24))]
    pub longest_day_hours: Option<f64>,
    /// When the technician can work. Any time unless given.
    #[serde(default)]
    #[schemars(length(max = 50))]
    #[schemars(extend("x-also-called" = ["shift", "hours", "works"]))]
    #[schemars(extend("examples" = [[{"from": "05:00", "to": "19:00"}]]))]
    pub shifts: Vec<Shift>,
    /// Local dates on which no shift begins.
    #[serde(default)]
    #[schemars(length(max = 400))]
    pub days_off: Vec<String>,
}

/// Hours of work.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Shift {
    /// Weekdays on which the shift begins. Every day unless given.
    #[serde(default)]
    #[schemars(length(max = 7))]
    pub days: Vec<Weekday>,
    /// Local clock time, such as `05:00`.
    pub from: String,
    /// Local clock time; not later than `from` means the next day.
    pub to: String,
}

/// What is known of a bull, for `thawline matings`.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct BullFacts {
    /// The bull, as under `semen`.
    #[schemars(extend("x-also-called" = ["bull", "name"]))]
    pub id: String,
    /// True for a bull whose calves come easily. Where any bull is so marked, heifers get no other
    /// while such a bull has straws left for them. False unless given.
    #[serde(default)]
    #[schemars(extend("x-also-called" = ["heifer_bull", "easy_calving", "calving"]))]
    pub calving_ease: bool,
    /// True if all his straws hold sexed semen. Only animals marked in their herd file get it.
    /// False unless given.
    #[serde(default)]
    pub sexed: bool,
    /// His sire, as named in herd files.
    #[schemars(length(min = 1, max = 40))]
    #[schemars(extend("x-also-called" = ["father"]))]
    pub sire: Option<String>,
    /// His dam, as named in herd files.
    #[schemars(length(min = 1, max = 40))]
    #[schemars(extend("x-also-called" = ["mother"]))]
    pub dam: Option<String>,
}
