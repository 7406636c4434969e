//! The closed list of what a step does, and the cautions that go with it.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use crate::base::file_words;

/// One thing done to an animal in a step.
#[derive(
    Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Deserialize, Serialize, JsonSchema,
)]
#[serde(rename_all = "kebab-case")]
#[derive(strum::IntoStaticStr, strum::VariantArray)]
#[strum(serialize_all = "kebab-case")]
pub enum Action {
    /// An injection of `GnRH`.
    Gnrh,
    /// An injection of PG (prostaglandin F2-alpha or an analog).
    Pg,
    /// A double dose of PG.
    PgDouble,
    /// An injection of an estradiol ester.
    Estradiol,
    /// A progesterone insert is placed.
    InsertIn,
    /// The insert is removed.
    InsertOut,
    /// An estrus-detection patch is put on.
    PatchOn,
    /// MGA is fed each day.
    FeedMga,
    /// Heat is watched for.
    DetectEstrus,
    /// Every animal is inseminated.
    Inseminate,
    /// Animals seen in heat are inseminated.
    InseminateInHeat,
    /// Animals not yet bred are inseminated.
    InseminateRest,
}

impl Action {
    /// Every action.
    pub const ALL: &'static [Self] = <Self as strum::VariantArray>::VARIANTS;

    /// In words for people.
    #[must_use]
    pub const fn words(self) -> &'static str {
        match self {
            Self::Gnrh => "GnRH",
            Self::Pg => "PG",
            Self::PgDouble => "PG, double dose",
            Self::Estradiol => "estradiol",
            Self::InsertIn => "insert in",
            Self::InsertOut => "insert out",
            Self::PatchOn => "patch on",
            Self::FeedMga => "feed MGA",
            Self::DetectEstrus => "watch for heat",
            Self::Inseminate => "AI",
            Self::InseminateInHeat => "AI those in heat",
            Self::InseminateRest => "AI the rest",
        }
    }

    /// True if animals are bred.
    #[must_use]
    pub const fn breeds(self) -> bool {
        matches!(
            self,
            Self::Inseminate | Self::InseminateInHeat | Self::InseminateRest
        )
    }

    /// True if it spans days.
    #[must_use]
    pub const fn spans_days(self) -> bool {
        matches!(self, Self::FeedMga | Self::DetectEstrus)
    }

    /// What could hurt someone, with this action.
    #[must_use]
    pub const fn cautions(self) -> &'static [Caution] {
        match self {
            Self::Gnrh | Self::Estradiol => &[Caution::Needles, Caution::Chute],
            Self::Pg | Self::PgDouble => {
                &[Caution::Prostaglandin, Caution::Needles, Caution::Chute]
            }
            Self::InsertIn | Self::InsertOut => &[Caution::Insert, Caution::Chute],
            Self::FeedMga => &[Caution::Mga],
            Self::PatchOn => &[Caution::Chute],
            Self::DetectEstrus => &[],
            Self::Inseminate | Self::InseminateInHeat | Self::InseminateRest => {
                &[Caution::Nitrogen, Caution::Thaw, Caution::Chute]
            }
        }
    }
}

/// Something that can hurt a person, with the usual warning and its source.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
#[derive(strum::IntoStaticStr)]
#[strum(serialize_all = "kebab-case")]
pub enum Caution {
    /// PG goes through skin.
    Prostaglandin,
    /// Progesterone inserts.
    Insert,
    /// MGA feed.
    Mga,
    /// Liquid nitrogen.
    Nitrogen,
    /// Thawing straws.
    Thaw,
    /// Needles.
    Needles,
    /// Cattle and steel.
    Chute,
}

file_words!(Action, Caution);

impl Caution {
    /// Every caution, the gravest first.
    pub const ALL: [Self; 7] = [
        Self::Prostaglandin,
        Self::Nitrogen,
        Self::Thaw,
        Self::Insert,
        Self::Mga,
        Self::Needles,
        Self::Chute,
    ];

    /// The warning, one or two sentences.
    #[must_use]
    pub const fn words(self) -> &'static str {
        match self {
            Self::Prostaglandin => {
                "PG goes through skin and may cause abortion and closing of the airways (bronchospasm) in people. Women of child-bearing age and people with asthma or other breathing trouble must use extreme caution; wear gloves, do not eat or smoke, and wash spills off at once with soap and water. PG aborts pregnant cattle: make sure she is open before you give it."
            }
            Self::Insert => {
                "Wear protective gloves to handle inserts. Put used inserts in a sealed container and dispose of them as local rules require."
            }
            Self::Mga => "Keep MGA feed off your skin; follow the feed label.",
            Self::Nitrogen => {
                "Liquid nitrogen burns skin and eyes, and its vapor displaces oxygen. Wear gloves, eye protection and closed shoes, keep the room ventilated, and never ride with a venting tank in a closed cab."
            }
            Self::Thaw => {
                "Keep your face away from the thaw bath: a straw with nitrogen in it can burst."
            }
            Self::Needles => {
                "Never recap or pocket a needle; if you inject yourself, get medical help and take the label with you."
            }
            Self::Chute => {
                "Keep hands and arms clear of moving gates, bars and tails; agree on who runs the chute."
            }
        }
    }

    /// Where the warning comes from.
    #[must_use]
    pub const fn source(self) -> &'static str {
        match self {
            Self::Prostaglandin => "CFR-690, NOAH-PG",
            Self::Insert => "CFR-1940",
            Self::Mga => "MGA-LABEL",
            Self::Nitrogen => "LN2-MAN; closed cab: not checked against a publication",
            Self::Thaw | Self::Chute => "common practice, no source",
            Self::Needles => "NOAH-PG; common practice, no source",
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn words_in_files_are_the_serde_words() {
        for &action in Action::ALL {
            let word = serde_json::to_string(&action).unwrap();
            assert_eq!(word, format!("\"{}\"", action.as_str()));
        }
        for caution in Caution::ALL {
            let word = serde_json::to_string(&caution).unwrap();
            assert_eq!(word, format!("\"{}\"", caution.as_str()));
        }
    }
}
