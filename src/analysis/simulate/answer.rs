//! What is said of planned sessions as minutes vary, as it is written to JSON.

use serde::Serialize;

use super::law::Law;
use crate::base::units::Clock;
use crate::planning::plan::Moment;

/// Form and version of the JSON.
pub const FORMAT: &str = "thawline.chance/1";

/// How a session is tried.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Trial {
    /// Days tried; none counts as one.
    pub runs: u32,
    /// The same seed gives the same days.
    pub seed: u64,
    /// The law of the minutes a cow.
    pub law: Law,
}

impl Default for Trial {
    fn default() -> Self {
        Self {
            runs: 10_000,
            seed: 1,
            law: Law::Gamma,
        }
    }
}

/// The sessions of a season, tried.
#[derive(Clone, Debug, PartialEq, Serialize, schemars::JsonSchema)]
#[serde(deny_unknown_fields)]
#[schemars(title = "Thawline chances of planned sessions")]
pub struct SeasonChance {
    /// `thawline.chance/1`.
    pub format: String,
    /// Name of the season.
    pub season: String,
    /// IANA time zone of the local readings.
    pub zone: String,
    /// Days tried for each session.
    pub runs: u32,
    /// Seed of the draws.
    pub seed: u64,
    /// Law of the minutes a cow: gamma or lognormal.
    #[schemars(with = "String")]
    pub minutes_law: Law,
    /// Most minutes from bath to cow, by the season's rules.
    pub bath_to_cow_minutes: f64,
    /// Sessions with cows to breed, by time.
    pub sessions: Vec<SessionChance>,
    /// What the figures rest on, in sentences, with sources.
    pub notes: Vec<String>,
    /// Clock of the times in sentences; absent for the 24-hour clock. Moments have that.
    #[serde(default, skip_serializing_if = "Clock::is_usual")]
    pub clock: Clock,
}

/// One session, tried.
#[derive(Clone, Debug, PartialEq, Serialize, schemars::JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct SessionChance {
    /// Id of the session.
    pub session: String,
    /// Site id.
    pub site: String,
    /// Name of the site.
    pub site_name: String,
    /// The answer, in sentences.
    pub words: Vec<String>,
    /// Head that the plan breeds here.
    pub head: u32,
    /// Head that the plan leaves out; in none of the figures.
    pub not_planned_head: u32,
    /// When the plan has the last cow bred.
    pub planned_last_cow: Moment,
    /// When the last cow is bred.
    pub last_cow: Finish,
    /// That the last cow of the day is bred outside her AI window.
    pub last_cow_outside: Chance,
    /// That any cow is bred outside her AI window.
    pub any_cow_outside: Chance,
    /// Cows bred outside their AI windows.
    pub outside: MeanHead,
    /// That any straw is older in the cow than the season allows.
    pub any_straw_late: Chance,
    /// Pens due here.
    pub pens: Vec<PenChance>,
    /// Technicians here.
    pub technicians: Vec<TechnicianChance>,
}

/// A pen of a session.
#[derive(Clone, Debug, PartialEq, Serialize, schemars::JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct PenChance {
    /// Group id.
    pub group: String,
    /// Pen, from 1; absent for a whole group bred by heat.
    pub pen: Option<u32>,
    /// The pen in words.
    pub name: String,
    /// Head that the plan breeds.
    pub head: u32,
    /// That any of its cows is bred outside her AI window.
    pub any_cow_outside: Chance,
    /// Cows bred outside their AI windows.
    pub outside: MeanHead,
}

/// A technician of a session.
#[derive(Clone, Debug, PartialEq, Serialize, schemars::JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct TechnicianChance {
    /// Technician id.
    pub id: String,
    /// Name.
    pub name: String,
    /// True if a helper thaws and loads.
    pub helper: bool,
    /// Head that the plan gives to this technician.
    pub head: u32,
    /// Straws at once in the plan.
    pub straws_at_once: u32,
    /// Mean minutes a cow with loaded guns at hand.
    pub minutes_per_cow: f64,
    /// Standard deviation of the minutes a cow.
    pub minutes_spread: f64,
    /// True if the deviation is not from the season file: a third of the mean (common practice,
    /// no source).
    pub spread_assumed: bool,
    /// True if the minutes a cow were worked out from cows an hour, at the plan's straws at once.
    pub from_cows_per_hour: bool,
    /// The session with 1 to 10 straws at once, under the same luck.
    pub by_straws: Vec<ByStraws>,
}

/// A technician's session with a number of straws at once.
#[derive(Clone, Debug, PartialEq, Serialize, schemars::JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct ByStraws {
    /// Straws at once.
    pub straws_at_once: u32,
    /// True if it is the plan's number.
    pub planned: bool,
    /// Head an hour at work: breaks of the plan and waits until hours open are left out.
    pub head_per_hour: f64,
    /// When this technician's last cow is bred.
    pub last_cow: Finish,
    /// That a full round's last straw is too old; none if no round is full.
    pub late_round: Option<Chance>,
    /// The same by the planner's formula: a normal law, and with a helper a technician who is
    /// always there when the first gun is ready.
    pub late_round_formula_percent: f64,
    /// That any straw of the session is too old.
    pub late_session: Chance,
    /// Straws of the session that are too old.
    pub late_straws: MeanHead,
    /// That any of this technician's cows is bred outside her AI window.
    pub any_cow_outside: Chance,
}

/// A chance in percent, with the error of having tried only so many days.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, schemars::JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Chance {
    /// Share of the days, or rounds, tried.
    pub percent: f64,
    /// Low end of its 95 % interval.
    pub low_percent: f64,
    /// High end of its 95 % interval.
    pub high_percent: f64,
}

/// A mean number of head, or of their straws, a day, with the error of having tried only so many
/// days.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, schemars::JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct MeanHead {
    /// Mean of the days tried.
    pub mean_head: f64,
    /// Low end of its 95 % interval.
    pub low_head: f64,
    /// High end of its 95 % interval.
    pub high_head: f64,
}

impl ByStraws {
    /// True where nearly every round, and nearly every session, has a straw too old: more straws
    /// cannot be better.
    pub(crate) fn is_hopeless(&self) -> bool {
        self.late_round.is_none_or(|c| c.percent >= 99.0) && self.late_session.percent >= 99.0
    }
}

/// When work ends: on so many percent of the days, not later than this. Rounded up to the second.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, schemars::JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Finish {
    /// On 5 % of the days.
    pub by_5_percent: Moment,
    /// On half of the days.
    pub by_50_percent: Moment,
    /// On 95 % of the days.
    pub by_95_percent: Moment,
}
