//! The answers and the reasons for them: what each says, what follows from it, and its source.

use crate::trade::season::ReadyRules;
use schemars::JsonSchema;
use serde::Serialize;

/// Days from calving to breeding used in a trial (SEXED-CALV): from here to the season's own
/// limit a cow is late, below it too late.
pub(super) const TRIAL_DAYS: i64 = 45;

/// Inserts are not for beef cows sooner after calving, by label (CFR-1940).
pub(super) const INSERT_DAYS: i64 = 20;

/// Lower end of the published range of weight at breeding, in percent of mature weight (PATT12).
pub(super) const LEAST_MATURE_PERCENT: f64 = 60.0;

/// Puberty comes at 12 to 15 months (VT-302).
pub(super) const PUBERTY_MONTHS: u32 = 12;

/// Cows below this age have had one calf, and are young: common practice, no source.
pub(super) const YOUNG_MONTHS: u32 = 36;

/// What can be said of an animal on the protocol's first day, the best first.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Readiness {
    /// Ready.
    Ready,
    /// Ready with a protocol that gives a progestin: likely not cycling, and a progestin brings
    /// some of them into heat, not all (COWS-2015).
    WithProgestin,
    /// Cannot be judged: information is missing in the herd file.
    Unknown,
    /// Should wait for a later group.
    Wait,
    /// Not for breeding now.
    NotNow,
}

impl Readiness {
    /// Every answer, as people are shown them.
    pub const ALL: [Self; 5] = [
        Self::Ready,
        Self::WithProgestin,
        Self::Wait,
        Self::NotNow,
        Self::Unknown,
    ];

    /// In words for people.
    #[must_use]
    pub const fn words(self) -> &'static str {
        match self {
            Self::Ready => "ready",
            Self::WithProgestin => "ready with a progestin protocol",
            Self::Unknown => "cannot be judged: information is missing in the herd file",
            Self::Wait => "should wait for a later group",
            Self::NotNow => "not for breeding now",
        }
    }
}

/// Why an animal is not simply ready.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
#[allow(missing_docs)]
#[derive(strum::VariantArray)]
pub enum Reason {
    CalvesAfterStart,
    InfantileTract,
    InsertTooSoon,
    CalvedTooLate,
    TooYoung,
    PrepubertalTract,
    TooLight,
    CellsBlank,
    CalvedLate,
    Thin,
    FirstCalf,
    PeripubertalTract,
    Light,
}

impl Reason {
    /// Every reason, the gravest first.
    pub const ALL: &'static [Self] = <Self as strum::VariantArray>::VARIANTS;

    /// What follows from it.
    #[must_use]
    pub const fn answer(self) -> Readiness {
        match self {
            Self::CalvesAfterStart | Self::InfantileTract => Readiness::NotNow,
            Self::InsertTooSoon
            | Self::CalvedTooLate
            | Self::TooYoung
            | Self::PrepubertalTract
            | Self::TooLight => Readiness::Wait,
            Self::CellsBlank => Readiness::Unknown,
            Self::CalvedLate
            | Self::Thin
            | Self::FirstCalf
            | Self::PeripubertalTract
            | Self::Light => Readiness::WithProgestin,
        }
    }

    /// In words for people, with the limit where there is one.
    #[must_use]
    pub fn words(self, rules: &ReadyRules) -> String {
        let least_days = rules.days_since_calving;
        match self {
            Self::CalvesAfterStart => "calves after the first day".to_owned(),
            Self::InfantileTract => "tract score 1: infantile".to_owned(),
            Self::InsertTooSoon => {
                format!("fewer than {INSERT_DAYS} days from calving when inserts go in")
            }
            Self::CalvedTooLate => format!(
                "fewer than {} days from calving at breeding",
                TRIAL_DAYS.min(least_days)
            ),
            Self::TooYoung => format!("under {PUBERTY_MONTHS} months old at breeding"),
            Self::PrepubertalTract => "tract score 2: before puberty".to_owned(),
            Self::TooLight => format!(
                "under {} % of mature weight",
                LEAST_MATURE_PERCENT.min(rules.mature_percent)
            ),
            Self::CellsBlank => "information that decides is missing in the herd file".to_owned(),
            Self::CalvedLate => format!(
                "late: {TRIAL_DAYS} to {} days from calving at breeding",
                least_days - 1
            ),
            Self::Thin => format!("thin: body condition under {}", rules.body_condition),
            Self::FirstCalf => format!("young: a cow under {YOUNG_MONTHS} months old at breeding"),
            Self::PeripubertalTract => "tract score 3: on the verge of puberty".to_owned(),
            Self::Light => format!(
                "light: {LEAST_MATURE_PERCENT} to {} % of mature weight",
                rules.mature_percent
            ),
        }
    }

    /// Where the threshold comes from.
    #[must_use]
    pub const fn source(self) -> &'static str {
        match self {
            Self::CalvesAfterStart | Self::CellsBlank => "",
            Self::InfantileTract => "BIF-RTS, RTS-COX; inserts not for such tracts CFR-1940",
            Self::InsertTooSoon => "CFR-1940",
            Self::CalvedTooLate | Self::CalvedLate => "COWS-2015 50 d; SEXED-CALV 45 d",
            Self::TooYoung => "VT-302",
            Self::PrepubertalTract | Self::PeripubertalTract => "RTS-COX, BIF-RTS",
            Self::TooLight | Self::Light => "PATT12 60 to 65 %; HEIFER-GUIDE, NDSU-APR01 65 %",
            Self::Thin => "COWS-2015",
            Self::FirstCalf => "COWS-2015; the age is common practice, no source",
        }
    }
}
