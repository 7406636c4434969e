//! What a synchronization protocol is, how it is read and checked, and the built-in library.
//!
//! A [`Protocol`] is valid by construction: every step counts from the start or from an earlier
//! step, windows are in order, inserts come out again, and it breeds somebody.

mod action;
pub mod advice;
mod answer;
pub mod backwards;
mod build;
mod check;
mod check_heat;
mod check_steps;
pub mod dates;
pub mod dose;
pub mod heat;
pub mod law;
mod library;
mod pooled;
pub mod raw;
pub mod select;
pub mod target;
mod timeline;
pub mod timetable;

use chrono::TimeDelta;
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

pub use action::{Action, Caution};
pub(crate) use answer::in_id;
pub use check::{read, schema};
pub use heat::Share;
pub use library::Library;
pub use timeline::Mark;

use crate::base::file_words;
use crate::base::units::{Id, hundredths, in_hundredths};

/// Which cattle a protocol, or a group, is of.
#[derive(
    Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Deserialize, Serialize, JsonSchema,
)]
#[serde(rename_all = "kebab-case")]
#[derive(strum::IntoStaticStr)]
#[strum(serialize_all = "kebab-case")]
pub enum Class {
    /// Cows that have calved.
    Cow,
    /// Heifers.
    Heifer,
    /// Either.
    Both,
}

impl Class {
    /// Whether a protocol of this class is published for that class of group.
    #[must_use]
    pub fn serves(self, group: Self) -> bool {
        self == Self::Both || self == group
    }
}

/// Which cattle a protocol is published for, beside their class.
#[derive(
    Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Deserialize, Serialize, JsonSchema,
)]
#[serde(rename_all = "kebab-case")]
#[derive(strum::IntoStaticStr)]
#[strum(serialize_all = "kebab-case")]
pub enum Cattle {
    /// Bos taurus beef cattle.
    Beef,
    /// Bos indicus, or influenced by it.
    BosIndicus,
    /// Dairy cattle.
    Dairy,
}

/// Which semen a protocol is published for.
#[derive(
    Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord, Deserialize, Serialize, JsonSchema,
)]
#[serde(rename_all = "kebab-case")]
#[derive(strum::IntoStaticStr)]
#[strum(serialize_all = "kebab-case")]
pub enum Semen {
    /// Not sorted.
    #[default]
    Conventional,
    /// Sorted by sex.
    Sexed,
}

/// How a protocol breeds.
#[derive(
    Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Deserialize, Serialize, JsonSchema,
)]
#[serde(rename_all = "kebab-case")]
#[derive(strum::IntoStaticStr)]
#[strum(serialize_all = "kebab-case")]
pub enum Kind {
    /// Everyone in one window.
    FixedTime,
    /// By detected heat.
    EstrusDetection,
    /// By detected heat, then the rest in one window.
    EstrusDetectionThenTimed,
    /// Those in heat in one window, the rest in a later one.
    SplitTime,
}

file_words!(Class, Cattle, Semen, Kind);

impl Kind {
    /// In words.
    #[must_use]
    pub const fn words(self) -> &'static str {
        match self {
            Self::FixedTime => "fixed-time AI",
            Self::EstrusDetection => "estrus detection",
            Self::EstrusDetectionThenTimed => "estrus detection, then clean-up timed AI",
            Self::SplitTime => "split-time AI",
        }
    }
}

/// What a step counts from.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Anchor {
    /// The group's start.
    Start,
    /// An earlier step, by its place in [`Protocol::steps`].
    Step(usize),
}

/// How long after its anchor a step comes.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Delay {
    /// Days on the local calendar, at the same clock time.
    Days(u32),
    /// Elapsed time.
    Elapsed(Window),
}

/// A window of elapsed time: `earliest <= aim <= latest`.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Window {
    /// Not sooner than.
    pub earliest: TimeDelta,
    /// Best.
    pub aim: TimeDelta,
    /// Not later than.
    pub latest: TimeDelta,
}

impl Window {
    /// `60 to 66 h, aim 63`.
    #[must_use]
    pub fn words(&self) -> String {
        let h = |d: TimeDelta| {
            let hours = d.num_seconds() as f64 / 3600.0;
            hundredths(hours).to_string()
        };
        if self.earliest == self.latest {
            format!("{} h", h(self.aim))
        } else {
            format!(
                "{} to {} h, aim {}",
                h(self.earliest),
                h(self.latest),
                h(self.aim)
            )
        }
    }
}

/// One timed step.
#[derive(Clone, Debug, PartialEq)]
pub struct Step {
    /// Its name within the protocol.
    pub id: Id,
    /// What is done, in the file's order.
    pub actions: Vec<Action>,
    /// What it counts from.
    pub anchor: Anchor,
    /// How long after.
    pub delay: Delay,
    /// Days it lasts, for feeding and heat watch.
    pub lasts_days: Option<u32>,
    /// Share bred, where published.
    pub share: Option<Share>,
    /// When animals come in heat, for a heat watch.
    pub heat: Option<heat::Heat>,
    /// A sentence for people.
    pub note: Option<String>,
}

impl Step {
    /// True if the animals go through a chute for it.
    #[must_use]
    pub fn is_chute_work(&self) -> bool {
        self.lasts_days.is_none()
    }

    /// True if animals are bred at a set time in this step.
    #[must_use]
    pub fn is_timed_breeding(&self) -> bool {
        self.lasts_days.is_none() && self.actions.iter().any(|a| a.breeds())
    }

    /// True if animals are bred as they come in heat.
    #[must_use]
    pub fn is_heat_breeding(&self) -> bool {
        self.lasts_days.is_some() && self.actions.iter().any(|a| a.breeds())
    }

    /// What is done, in words: `GnRH, insert in`.
    #[must_use]
    pub fn words(&self) -> String {
        let actions = self.actions.iter();
        actions.map(|a| a.words()).collect::<Vec<_>>().join(" + ")
    }
}

/// A source.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, JsonSchema)]
pub struct Cited {
    /// Its tag; null if it is none of the list.
    pub tag: Option<String>,
    /// Its title.
    pub title: String,
    /// What it supports.
    pub supports: String,
    /// True if it was not read.
    pub unverified: bool,
}

/// A published pregnancy rate, percent.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct Pregnant {
    /// Lowest.
    pub low: f64,
    /// Highest.
    pub high: f64,
    /// Head in the trial; null if not published.
    pub head: Option<u32>,
    /// Where it was; null if not read.
    pub place: Option<String>,
    /// The year of the publication; null if not read.
    pub year: Option<u32>,
    /// Percent of whom.
    pub of: String,
    /// Semen used.
    #[schemars(with = "String")]
    pub semen: Semen,
    /// Tag of the source.
    pub tag: String,
}

impl Pregnant {
    /// The middle, and the head that it counts for.
    fn figure(&self) -> pooled::Figure {
        let head = self.head.unwrap_or(heat::TRIAL_HEAD);
        (f64::midpoint(self.low, self.high), head)
    }
}

/// What publications say together of the percentage pregnant to AI.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct Rate {
    /// Another herd and season get less in one of 40 cases.
    #[serde(serialize_with = "in_hundredths")]
    pub low: f64,
    /// Mean of the trials (random effects on the logit scale).
    #[serde(serialize_with = "in_hundredths")]
    pub mean: f64,
    /// Another herd and season get more in one of 40 cases.
    #[serde(serialize_with = "in_hundredths")]
    pub high: f64,
    /// Head in these trials, where published.
    pub head: u32,
    /// Tags of the sources.
    pub tags: Vec<String>,
}

/// Where a protocol comes from; one that is read by itself counts as built in.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Origin {
    /// Compiled into the program.
    BuiltIn,
    /// A user's file, as named.
    File(String),
}

impl Origin {
    /// `built-in`, or the file.
    #[must_use]
    pub fn as_str(&self) -> &str {
        match self {
            Self::BuiltIn => "built-in",
            Self::File(file) => file,
        }
    }
}

/// A synchronization protocol.
#[derive(Clone, Debug, PartialEq)]
pub struct Protocol {
    /// Its id.
    pub id: Id,
    /// Where it comes from.
    pub origin: Origin,
    /// The published name.
    pub name: String,
    /// For which cattle.
    pub class: Class,
    /// For which cattle beside.
    pub cattle: Vec<Cattle>,
    /// For which semen.
    pub semen: Vec<Semen>,
    /// True if it was tried in research only.
    pub research: bool,
    /// True if it is for animals that have been bred and may be pregnant.
    pub second_service: bool,
    /// How it breeds.
    pub kind: Kind,
    /// Who it suits.
    pub suits: String,
    /// Remarks.
    pub notes: Vec<String>,
    /// Where sources disagree.
    pub disagreements: Vec<String>,
    /// Published percentages pregnant to AI.
    pub pregnant: Vec<Pregnant>,
    /// What it rests on.
    pub sources: Vec<Cited>,
    /// Steps; a step's anchor always stands before it.
    pub steps: Vec<Step>,
}

impl Protocol {
    /// Trips through a chute, the breeding included; catching animals seen in heat is not counted.
    #[must_use]
    pub fn chute_passes(&self) -> usize {
        self.steps.iter().filter(|s| s.is_chute_work()).count()
    }

    /// True if all of a group begin on one day: it is fed, or watched for heat, as one.
    #[must_use]
    pub fn begins_as_one(&self) -> bool {
        self.steps.iter().any(|s| s.lasts_days.is_some())
    }

    /// Elapsed time from the start to each step's aim, a day counted as 24 hours: for lists, and
    /// for the order of steps. Real dates come from `dating`.
    #[must_use]
    pub fn nominal_offsets(&self) -> Vec<TimeDelta> {
        nominal_offsets(&self.steps)
    }

    /// Days from the start to the first breeding, to the nearest day.
    #[must_use]
    pub fn days_to_breeding(&self) -> i64 {
        self.steps
            .iter()
            .zip(self.nominal_offsets())
            .filter(|(s, _)| s.is_timed_breeding() || s.is_heat_breeding())
            .map(|(_, at)| (at.num_hours() + 12) / 24)
            .min()
            .unwrap_or_default()
    }

    /// What is published of the percentage pregnant to AI with this protocol and semen.
    #[must_use]
    pub fn rate(&self, semen: Semen) -> Option<Rate> {
        let figures: Vec<&Pregnant> = self.pregnant.iter().filter(|p| p.semen == semen).collect();
        if figures.is_empty() {
            return None;
        }
        let [low, mean, high] = pooled::pooled(figures.iter().map(|p| p.figure()));
        let mut tags: Vec<String> = figures.iter().map(|p| p.tag.clone()).collect();
        tags.sort();
        tags.dedup();
        let head = figures.iter().filter_map(|p| p.head).sum();
        Some(Rate {
            low,
            mean,
            high,
            head,
            tags,
        })
    }

    /// True if any source could not be checked.
    #[must_use]
    pub fn has_unverified(&self) -> bool {
        let heats = self.steps.iter().filter_map(|s| s.heat.as_ref());
        self.sources.iter().any(|s| s.unverified)
            || heats.into_iter().any(heat::Heat::is_unverified)
    }

    /// `start`, or the id of the step that a step counts from.
    #[must_use]
    pub fn counted_from(&self, step: &Step) -> &str {
        match step.anchor {
            Anchor::Start => "start",
            Anchor::Step(a) => self.steps[a].id.as_str(),
        }
    }

    /// The place of a step.
    #[must_use]
    pub fn step_at(&self, id: &Id) -> Option<usize> {
        self.steps.iter().position(|s| s.id == *id)
    }
}

/// Elapsed time from the start to each step's aim, a day counted as 24 hours; each step's anchor stands
/// before it.
fn nominal_offsets(steps: &[Step]) -> Vec<TimeDelta> {
    let mut offsets: Vec<TimeDelta> = Vec::with_capacity(steps.len());
    for step in steps {
        let base = match step.anchor {
            Anchor::Start => TimeDelta::zero(),
            Anchor::Step(n) => offsets[n],
        };
        offsets.push(match step.delay {
            Delay::Days(days) => base + TimeDelta::days(i64::from(days)),
            Delay::Elapsed(window) => base + window.aim,
        });
    }
    offsets
}
