//! The form of a protocol file, as it stands in YAML. The doc comments are the schema's text.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use super::heat::{Figure, Share};
use super::{Action, Cattle, Class, Kind, Semen};

/// A published synchronization protocol: timed steps.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
#[schemars(title = "Thawline protocol")]
pub struct Protocol {
    /// Short name, as a season file gives it: lowercase letters, digits and hyphens.
    #[schemars(length(min = 1, max = 40))]
    pub id: String,
    /// The published name.
    #[schemars(length(min = 1, max = 120))]
    pub name: String,
    /// Which cattle it is published for.
    pub class: Class,
    /// Which cattle it is published for, beside their class: `[beef]` unless given.
    #[schemars(length(min = 1, max = 3))]
    pub cattle: Option<Vec<Cattle>>,
    /// Which semen it is published for: `[conventional]` unless given.
    #[schemars(length(min = 1, max = 2))]
    pub semen: Option<Vec<Semen>>,
    /// True for a version that was tried in research and stands on no list of recommended
    /// protocols. False unless given.
    #[serde(default)]
    pub research: bool,
    /// True for animals that have been bred and may be pregnant. False unless given.
    #[serde(default)]
    pub second_service: bool,
    /// How animals are bred.
    pub kind: Kind,
    /// Who it suits, and who not: one or two sentences.
    #[schemars(length(min = 1, max = 600))]
    pub suits: String,
    /// Further remarks, one sentence each.
    #[serde(default)]
    #[schemars(length(max = 20), inner(length(min = 1, max = 600)))]
    pub notes: Vec<String>,
    /// Where published sources disagree, one sentence each.
    #[serde(default)]
    #[schemars(length(max = 20), inner(length(min = 1, max = 600)))]
    pub disagreements: Vec<String>,
    /// Published percentages pregnant to AI with this protocol, one entry a trial or survey.
    #[serde(default)]
    #[schemars(length(max = 20))]
    pub pregnancy_percent: Vec<Pregnant>,
    /// What the protocol rests on: at least one.
    #[schemars(length(min = 1, max = 40))]
    pub sources: Vec<Cited>,
    /// The timed steps.
    #[schemars(length(min = 1, max = 60))]
    pub steps: Vec<Step>,
}

/// One source and what it supports.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Cited {
    /// Tag of a listed publication. Give this or `cite`.
    #[schemars(length(min = 1, max = 40))]
    pub tag: Option<String>,
    /// A citation in your own words, for a protocol of your own. Give this or `tag`.
    #[schemars(length(min = 1, max = 300))]
    pub cite: Option<String>,
    /// What it supports.
    #[schemars(length(min = 1, max = 300))]
    pub supports: String,
    /// True where the fact could not be checked against the publication.
    #[serde(default)]
    pub unverified: bool,
}

/// A published percentage pregnant to AI.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Pregnant {
    /// Lowest of the figures, or the figure.
    #[schemars(range(min = 0, max = 100))]
    pub low: f64,
    /// Highest of the figures, or the figure.
    #[schemars(range(min = 0, max = 100))]
    pub high: f64,
    /// How many animals it rests on, where that is published.
    #[schemars(range(min = 1, max = 10_000_000))]
    pub head: Option<u32>,
    /// Where it was: a country, a state, or how many herds.
    #[schemars(length(min = 1, max = 100))]
    pub place: Option<String>,
    /// The year of the publication.
    #[schemars(range(min = 1900, max = 2100))]
    pub year: Option<u32>,
    /// Of what, in a few words.
    #[schemars(length(min = 1, max = 300))]
    pub of: String,
    /// With which semen. `conventional` unless given.
    pub semen: Option<Semen>,
    /// Tag of the publication.
    #[schemars(length(min = 1, max = 40))]
    pub tag: String,
}

/// One step: what is done, and when.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Step {
    /// Short name of the step, unique in the protocol.
    #[schemars(length(min = 1, max = 40))]
    pub id: String,
    /// The step this one counts from, or `start`.
    #[schemars(length(min = 1, max = 40))]
    pub after: String,
    /// Days after it, at the same clock time. Give this or `hours`.
    #[schemars(range(min = -400, max = 400))]
    pub days: Option<i32>,
    /// Elapsed hours after it. Give this or `days`.
    pub hours: Option<Hours>,
    /// What is done.
    #[serde(rename = "do")]
    #[schemars(length(min = 1, max = 8))]
    pub actions: Vec<Action>,
    /// For feeding and heat watch: how many days it lasts, the first one counted.
    #[schemars(range(min = 1, max = 60))]
    pub lasts_days: Option<u32>,
    /// For breeding a part of the group: the published share bred at this step.
    pub share_percent: Option<Share>,
    /// For a heat watch: when animals come in heat.
    pub heat: Option<Heat>,
    /// A sentence shown with the step.
    #[schemars(length(min = 1, max = 400))]
    pub note: Option<String>,
}

/// A window of elapsed hours.
#[derive(Clone, Copy, Debug, Deserialize, Serialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Hours {
    /// Not sooner than.
    #[schemars(range(min = -240, max = 2400))]
    pub earliest: f64,
    /// Best.
    #[schemars(range(min = -240, max = 2400))]
    pub aim: f64,
    /// Not later than.
    #[schemars(range(min = -240, max = 2400))]
    pub latest: f64,
}

/// When animals of a heat watch come in heat. Hours from a treatment to heat are taken to be
/// normally distributed among those that show heat. Give `every_days`; or `after` and
/// `shows_percent`, with `by_hours`, or with `mean_hours` and `spread_hours`.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Heat {
    /// The step that the hours count from.
    #[schemars(length(min = 1, max = 40))]
    pub after: Option<String>,
    /// Percent of the group that ever shows heat.
    pub shows_percent: Option<Share>,
    /// Published percentages of the group in heat by so many hours: mean and standard deviation
    /// are fitted to them, or only the mean where `spread_hours` is given.
    #[serde(default)]
    #[schemars(length(max = 40))]
    pub by_hours: Vec<ByHours>,
    /// Mean hours to heat, where there is no `by_hours`.
    pub mean_hours: Option<Figure>,
    /// One standard deviation of the hours to heat.
    pub spread_hours: Option<Figure>,
    /// For animals without treatment: they come in heat once in so many days, on any of them.
    pub every_days: Option<EveryDays>,
    /// Of which other protocol or animals the figures are, where none are published of this one.
    #[schemars(length(min = 1, max = 300))]
    pub borrowed_from: Option<String>,
}

/// Percent of a group in heat by so many hours.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct ByHours {
    /// Elapsed hours.
    #[schemars(range(min = 1, max = 400))]
    pub hours: f64,
    /// Lowest published.
    #[schemars(range(min = 0, max = 100))]
    pub low: f64,
    /// Counted with.
    #[schemars(range(min = 0, max = 100))]
    pub expected: f64,
    /// Highest published.
    #[schemars(range(min = 0, max = 100))]
    pub high: f64,
    /// How many animals it rests on, where that is published.
    #[schemars(range(min = 1, max = 10_000_000))]
    pub head: Option<u32>,
    /// Tag of the publication.
    #[schemars(length(min = 1, max = 80))]
    pub tag: String,
}

/// A cycle.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct EveryDays {
    /// Its days.
    #[schemars(range(min = 1, max = 60))]
    pub days: f64,
    /// Tag of the publication.
    #[schemars(length(min = 1, max = 80))]
    pub tag: String,
}
