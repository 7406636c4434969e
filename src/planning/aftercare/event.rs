//! One thing that follows AI, on its days.

use crate::trade::season::Group;
use chrono::NaiveDate;
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// What a follow-up is.
#[derive(
    Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize, JsonSchema,
)]
#[serde(rename_all = "kebab-case")]
#[derive(strum::IntoStaticStr)]
#[strum(serialize_all = "kebab-case")]
pub enum Kind {
    /// Watching for those that come in heat again.
    ReturnHeat,
    /// Clean-up bulls are turned out.
    BullsIn,
    /// They are taken out.
    BullsOut,
    /// Pregnancy check by ultrasound.
    Ultrasound,
    /// Pregnancy check by blood.
    BloodTest,
    /// Pregnancy check by hand.
    Palpation,
    /// A check that tells calves of AI from those of bulls by age.
    AiOrBull,
    /// The last check, when the youngest pregnancy by a bull shows.
    LastCheck,
    /// First calves of AI.
    FirstCalving,
    /// The mean of calving to AI.
    MeanCalving,
    /// Calves of the clean-up bulls.
    BullCalving,
    /// The end of what labels and law state before slaughter.
    Withdrawal,
}

impl Kind {
    /// The word in ids and files.
    #[must_use]
    pub fn as_str(self) -> &'static str {
        self.into()
    }

    /// What kind of work it is, for lists and for the categories of a calendar.
    #[must_use]
    pub const fn category(self) -> &'static str {
        match self {
            Self::ReturnHeat => "Heat watch",
            Self::BullsIn | Self::BullsOut => "Bulls",
            Self::Ultrasound
            | Self::BloodTest
            | Self::Palpation
            | Self::AiOrBull
            | Self::LastCheck => "Pregnancy check",
            Self::FirstCalving | Self::MeanCalving | Self::BullCalving => "Calving",
            Self::Withdrawal => "Withdrawal",
        }
    }

    /// True for work on each day of it, false for a stretch of days in which it falls.
    #[must_use]
    pub const fn is_daily(self) -> bool {
        matches!(self, Self::ReturnHeat)
    }
}

/// One thing that follows the AI of a group.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct FollowUp {
    /// `group/kind`, stable from run to run.
    pub id: String,
    /// What it is.
    pub kind: Kind,
    /// The same in words: `watch for return heat`.
    pub what: String,
    /// The first day.
    pub first_day: NaiveDate,
    /// The last day; absent where nothing says until when.
    pub last_day: Option<NaiveDate>,
    /// Animals at the most.
    pub head: u32,
    /// Why then, in sentences.
    pub words: Vec<String>,
    /// Tags of the publications that the days come from.
    pub sources: Vec<String>,
}

pub(super) fn event(
    group: &Group,
    kind: Kind,
    what: &str,
    days: (NaiveDate, Option<NaiveDate>),
    words: Vec<String>,
    sources: &[&str],
) -> FollowUp {
    FollowUp {
        id: format!("{}/{}", group.id, kind.as_str()),
        kind,
        what: what.to_owned(),
        first_day: days.0,
        last_day: days.1,
        head: group.head().0,
        words,
        sources: sources.iter().map(ToString::to_string).collect(),
    }
}

/// Days of breeding to count from.
pub(super) struct Maker<'a> {
    pub(super) group: &'a Group,
    pub(super) first: NaiveDate,
    pub(super) last: NaiveDate,
}
