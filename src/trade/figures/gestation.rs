//! How long breeds carry their calves, as published.
//!
//! A standard deviation is published of Angus and of Simmental. The wider one serves all other breeds: it holds 97
//! in 100 calves within the 12 days either side that are published within breeds, so the two agree. One source
//! has more calves on the peak day, and that is said.

use std::fmt::Write;

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use crate::base::file_words;

/// A breed whose mean gestation is published.
#[derive(
    Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord, Deserialize, Serialize, JsonSchema,
)]
#[serde(rename_all = "kebab-case")]
#[derive(strum::IntoStaticStr, strum::VariantArray)]
#[strum(serialize_all = "kebab-case")]
pub enum Breed {
    /// Any other breed, and crosses: the average of all breeds.
    #[default]
    Other,
    /// Angus.
    Angus,
    /// Brahman.
    Brahman,
    /// Brown Swiss.
    BrownSwiss,
    /// Charolais.
    Charolais,
    /// Hereford.
    Hereford,
    /// Jersey.
    Jersey,
    /// Limousin.
    Limousin,
    /// Shorthorn.
    Shorthorn,
    /// Simmental.
    Simmental,
}

file_words!(Breed);

/// A published mean gestation.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Figure {
    /// Mean, in days.
    pub days: f64,
    /// One standard deviation, in days, where published.
    pub sd_days: Option<f64>,
    /// Of what, where it is not of the breed alone.
    pub of: Option<&'static str>,
    /// Source tags.
    pub sources: &'static [&'static str],
}

const fn figure(days: f64, sources: &'static [&'static str]) -> Figure {
    Figure {
        days,
        sd_days: None,
        of: None,
        sources,
    }
}

const fn figure_of(days: f64, sources: &'static [&'static str], of: &'static str) -> Figure {
    Figure {
        of: Some(of),
        ..figure(days, sources)
    }
}

/// Charolais, Simmental and Limousin are published as one group.
const CONTINENTAL: Figure = figure_of(
    289.0,
    &["TORELL"],
    "Charolais, Simmental and Limousin together",
);

impl Breed {
    /// Every breed.
    pub const ALL: &'static [Self] = <Self as strum::VariantArray>::VARIANTS;

    /// In words for people.
    #[must_use]
    pub const fn words(self) -> &'static str {
        match self {
            Self::Other => "all breeds",
            Self::Angus => "Angus",
            Self::Brahman => "Brahman",
            Self::BrownSwiss => "Brown Swiss",
            Self::Charolais => "Charolais",
            Self::Hereford => "Hereford",
            Self::Jersey => "Jersey",
            Self::Limousin => "Limousin",
            Self::Shorthorn => "Shorthorn",
            Self::Simmental => "Simmental",
        }
    }

    /// The published mean that is planned with: the figure that has a standard deviation goes before others.
    #[must_use]
    pub const fn figure(self) -> Figure {
        match self {
            Self::Other => figure(283.0, &["TORELL", "BIF-GL"]),
            Self::Angus => Figure {
                sd_days: Some(4.6),
                ..figure(278.6, &["ANGUS-GL"])
            },
            Self::Brahman => figure(292.0, &["TORELL"]),
            Self::BrownSwiss => figure_of(292.0, &["REV-GL"], "an old review"),
            Self::Charolais | Self::Limousin => CONTINENTAL,
            Self::Hereford => figure(285.0, &["TORELL"]),
            Self::Jersey => figure(279.0, &["TORELL"]),
            Self::Shorthorn => figure(282.0, &["TORELL"]),
            Self::Simmental => Figure {
                sd_days: Some(5.52),
                ..figure(284.3, &["BIF-GL"])
            },
        }
    }

    /// Other published means, where sources differ.
    #[must_use]
    pub const fn other_figures(self) -> &'static [Figure] {
        match self {
            Self::Angus => {
                const {
                    &[
                        figure(281.0, &["TORELL"]),
                        figure(281.7, &["OLD-GL"]),
                        figure_of(273.0, &["REV-GL"], "an old review"),
                    ]
                }
            }
            Self::Hereford => const { &[figure(286.1, &["OLD-GL"])] },
            Self::Shorthorn => const { &[figure(284.3, &["OLD-GL"])] },
            Self::Simmental => &[CONTINENTAL],
            _ => &[],
        }
    }
}

/// A gestation to plan with: its mean and how far calves come before and after it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Gestation {
    /// Mean, in whole days; the day after breeding is day 1.
    pub days: u32,
    /// Days before the mean from which calves are due.
    pub early_days: u32,
    /// Days after the mean until which calves are due.
    pub late_days: u32,
    /// Where the mean and the spread come from: source tags, or the user.
    pub source: String,
    /// The source tags alone, each once.
    pub tags: Vec<&'static str>,
    /// Other published means, where sources differ.
    pub disagreement: Option<String>,
}

impl Gestation {
    /// The fewest days a user may give.
    pub const LEAST_DAYS: u32 = 250;

    /// The most days a user may give.
    pub const MOST_DAYS: u32 = 310;

    /// Days either side of the mean within a breed.
    pub const SPREAD_DAYS: u32 = 12;

    /// Source of the spread.
    pub const SPREAD_SOURCE: &'static str = "TORELL";

    /// The published mean of a breed, to the nearest day.
    #[must_use]
    pub fn for_breed(breed: Breed) -> Self {
        let used = breed.figure();
        let mut tags = used.sources.to_vec();
        if !tags.contains(&Self::SPREAD_SOURCE) {
            tags.push(Self::SPREAD_SOURCE);
        }
        Self {
            tags,
            days: used.days.round() as u32,
            early_days: Self::SPREAD_DAYS,
            late_days: Self::SPREAD_DAYS,
            source: format!("mean {}; spread {}", sourced(&used), Self::SPREAD_SOURCE),
            disagreement: disagreement(breed),
        }
    }

    /// The user's own days; `None` outside [`Self::LEAST_DAYS`] to [`Self::MOST_DAYS`].
    #[must_use]
    pub fn of_days(days: u32) -> Option<Self> {
        (Self::LEAST_DAYS..=Self::MOST_DAYS)
            .contains(&days)
            .then(|| Self {
                days,
                early_days: Self::SPREAD_DAYS,
                late_days: Self::SPREAD_DAYS,
                source: format!("mean your own figure; spread {}", Self::SPREAD_SOURCE),
                tags: vec![Self::SPREAD_SOURCE],
                disagreement: None,
            })
    }
}

impl Default for Gestation {
    /// The average of all breeds.
    fn default() -> Self {
        Self::for_breed(Breed::Other)
    }
}

pub(super) fn sourced(figure: &Figure) -> String {
    let mut words = figure.sources.join(", ");
    if let Some(of) = figure.of {
        let _ = write!(words, "; {of}");
    }
    words
}

/// `Angus: 281 d (TORELL), but 281.7 d (OLD-GL) and 273 d (REV-GL; an old review)`.
pub(super) fn disagreement(breed: Breed) -> Option<String> {
    let told = |f: &Figure| {
        let spread = f.sd_days.map(|sd| format!(", SD {sd}")).unwrap_or_default();
        format!("{} d{spread} ({})", f.days, sourced(f))
    };
    let (first, rest) = breed.other_figures().split_first()?;
    let mut text = format!(
        "{}: {}, but {}",
        breed.words(),
        told(&breed.figure()),
        told(first)
    );
    for f in rest {
        let _ = write!(text, " and {}", told(f));
    }
    Some(text)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn words_in_files_are_the_serde_words() {
        for &breed in Breed::ALL {
            let word = serde_json::to_string(&breed).unwrap();
            assert_eq!(word, format!("\"{}\"", breed.as_str()));
        }
    }

    #[test]
    fn the_published_means() {
        // TORELL, but for Angus (ANGUS-GL), Simmental (BIF-GL) and Brown Swiss (REV-GL).
        let expected = [283, 279, 292, 292, 289, 285, 279, 289, 282, 284];
        let days = Breed::ALL.iter().map(|b| Gestation::for_breed(*b).days);
        let days: Vec<_> = days.collect();
        assert_eq!(days, expected);
        for &breed in Breed::ALL {
            let g = Gestation::for_breed(breed);
            assert_eq!((g.early_days, g.late_days), (12, 12));
            assert_eq!(Gestation::of_days(g.days).unwrap().days, g.days);
        }
    }

    #[test]
    fn sources_that_differ_are_all_shown() {
        assert_eq!(
            Gestation::for_breed(Breed::Angus).disagreement.unwrap(),
            "Angus: 278.6 d, SD 4.6 (ANGUS-GL), but 281 d (TORELL) and 281.7 d (OLD-GL) and 273 d (REV-GL; an old review)"
        );
        assert_eq!(
            Gestation::for_breed(Breed::Simmental).disagreement.unwrap(),
            "Simmental: 284.3 d, SD 5.52 (BIF-GL), but 289 d (TORELL; Charolais, Simmental and \
             Limousin together)"
        );
        for &breed in Breed::ALL {
            let differ = !breed.other_figures().is_empty();
            assert_eq!(Gestation::for_breed(breed).disagreement.is_some(), differ);
        }
        assert_eq!(
            Gestation::for_breed(Breed::Charolais).source,
            "mean TORELL; Charolais, Simmental and Limousin together; spread TORELL"
        );
    }

    #[test]
    fn days_of_ones_own_have_limits() {
        assert!(Gestation::of_days(249).is_none());
        assert!(Gestation::of_days(311).is_none());
        assert!(Gestation::of_days(0).is_none());
        let expected = "mean your own figure; spread TORELL";
        assert_eq!(Gestation::of_days(280).unwrap().source, expected);
    }
}
