//! The country of a season, and of each time zone.

use std::collections::BTreeMap;
use std::sync::LazyLock;

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// The country whose law holds for a season.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Country {
    /// Its ISO 3166 code of two letters; absent where none is stated and none follows from the zone.
    pub code: Option<String>,
    /// True if the season file states it; else it follows from the zone.
    pub stated: bool,
    /// Other countries that keep the clocks of the zone, where the country follows from it.
    pub also: Vec<String>,
}

/// The countries of each zone, its own first.
static ZONES: LazyLock<BTreeMap<&str, Vec<&str>>> = LazyLock::new(|| {
    let lines = include_str!("zones.txt").lines();
    let rows = lines.filter(|l| !l.starts_with('#')).filter_map(|line| {
        let mut words = line.split(' ');
        Some((words.next()?, words.collect()))
    });
    rows.collect()
});

impl Country {
    /// Of the code that a season file states, else of its zone.
    #[must_use]
    pub fn of(stated: Option<&str>, zone: &str) -> Self {
        if let Some(code) = stated {
            return Self {
                code: Some(code.to_owned()),
                stated: true,
                also: Vec::new(),
            };
        }
        let mut all = of_zone(zone).iter().map(|c| (*c).to_owned());
        Self {
            code: all.next(),
            stated: false,
            also: all.collect(),
        }
    }

    /// The code; empty where no country is known.
    #[must_use]
    pub fn code(&self) -> &str {
        self.code.as_deref().unwrap_or_default()
    }

    /// `US`, `US, from the zone`, or that it is not known.
    #[must_use]
    pub fn words(&self) -> String {
        let Some(code) = &self.code else {
            return "not known; state `country` in the season file".to_owned();
        };
        let from = if self.stated { "" } else { ", from the zone" };
        let also = if self.also.is_empty() {
            String::new()
        } else {
            format!(" (its clocks are kept in {} too)", self.also.join(", "))
        };
        format!("{code}{from}{also}")
    }
}

/// The country of a zone, then others that keep its clocks; none for a zone of no one country.
#[must_use]
pub fn of_zone(zone: &str) -> &'static [&'static str] {
    ZONES.get(zone).map_or(&[], Vec::as_slice)
}

/// Every code, in order. Two territories where nobody lives have no zone, and are not among them.
#[must_use]
pub fn codes() -> Vec<&'static str> {
    let mut all: Vec<&str> = ZONES.values().flatten().copied().collect();
    all.sort_unstable();
    all.dedup();
    all
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_country_is_stated_or_follows_from_the_zone() {
        let words = |stated, zone| Country::of(stated, zone).words();
        assert_eq!(words(None, "America/Denver"), "US, from the zone");
        assert_eq!(words(Some("BR"), "America/Denver"), "BR");
        let two = "US, from the zone (its clocks are kept in CA too)";
        assert_eq!(words(None, "America/Phoenix"), two);
        assert!(words(None, "UTC").starts_with("not known"));
    }

    /// Zones of ranches, by the tables of the time zone database.
    #[test]
    fn zones_lie_where_they_do() {
        for (zone, code) in [
            ("America/Chicago", "US"),
            ("America/Indiana/Knox", "US"),
            ("US/Mountain", "US"),
            ("America/Regina", "CA"),
            ("Australia/Brisbane", "AU"),
            ("Pacific/Auckland", "NZ"),
            ("America/Argentina/Cordoba", "AR"),
            ("America/Sao_Paulo", "BR"),
            ("Europe/London", "GB"),
        ] {
            assert_eq!(of_zone(zone).first(), Some(&code), "{zone}");
        }
        assert!(codes().iter().all(|c| c.len() == 2) && codes().len() > 240);
    }
}
