//! Bulls, their straws, and the tanks that hold them.

use std::collections::BTreeMap;

use chrono::NaiveDate;
use serde_json::Value;

use super::raw;
use crate::base::error::{Code, Finding, Place, quoted};
use crate::base::time::parse_date;
use crate::base::units::{Id, StrawSize, Straws};
use crate::trade::protocol::Semen;

pub use raw::Goblet;

/// A bull and his straws.
#[derive(Clone, Debug, PartialEq)]
pub struct Bull {
    /// Short name.
    pub id: Id,
    /// Full name.
    pub name: String,
    /// Where his straws are.
    pub places: Vec<StrawPlace>,
    /// True if the file does not say how many straws he has: enough are planned with, and none is on hand.
    pub assumed: bool,
    /// What else is known of him.
    pub facts: BullFacts,
}

/// What is known of a bull, for matings.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct BullFacts {
    /// His calves come easily: he is for heifers.
    pub calving_ease: bool,
    /// All his straws hold sexed semen.
    pub sexed: bool,
    /// His sire.
    pub sire: Option<String>,
    /// His dam.
    pub dam: Option<String>,
}

impl super::Season {
    /// Said of head of a group that are bred with others' straws than the matings give them.
    pub(crate) fn beyond_matings(&self, group: usize, head: u32) -> Finding {
        let group = &self.groups[group];
        let id = quoted(group.id.as_str());
        let what =
            format!("{head} head of {id} are bred with straws that the matings do not give them");
        Finding::warning(Code::BeyondMatings, what)
        .at(group.start_place.clone())
        .expected("a mating for each animal, with one of the group's bulls")
        .hint("they have straws that are left, kin or not: `thawline matings` shows who has none; bring the herd file up to date, or name another bull under the group's `bulls`")
    }

    /// Said where the matings' numbers cannot hold.
    pub(crate) fn matings_not_kept(&self) -> Finding {
        let what = "the matings leave some animals without a straw, so this plan counts straws by head only and does not follow `thawline matings`";
        let mut finding = Finding::warning(Code::BeyondMatings, what)
            .expected("straws for all animals of bulls that they may have")
            .hint("order straws, or name another bull for a group");
        let herd = self.groups.iter().find_map(|g| g.herd.as_ref());
        finding.place = herd.map(|h| h.place.clone());
        finding
    }

    /// How many sites the straws of a tank can be at at one time: one unless the season says more.
    #[must_use]
    pub fn places_at_once(&self, tank: &str) -> u32 {
        let listed = self.tanks.iter().find(|t| t.id.as_str() == tank);
        listed.map_or(1, |t| t.places_at_once)
    }

    /// The bulls' places, by id.
    #[must_use]
    pub fn bulls_by_id(&self) -> BTreeMap<&str, usize> {
        let bulls = self.bulls.iter().enumerate();
        bulls.map(|(n, b)| (b.id.as_str(), n)).collect()
    }

    /// Straws of all these bulls together.
    pub(crate) fn straws_of_bulls(&self, bulls: &[usize]) -> u64 {
        let each = bulls.iter().map(|b| u64::from(self.bulls[*b].straws().0));
        each.sum()
    }
}

impl Bull {
    /// All his straws.
    #[must_use]
    pub fn straws(&self) -> Straws {
        Straws(self.places.iter().map(|p| p.straws.0).sum())
    }

    /// His straws of one sort; none if he has no place for them.
    #[must_use]
    pub fn straws_of(&self, sexed: bool) -> Option<Straws> {
        let mine = self.places.iter().filter(|p| self.is_sexed(p) == sexed);
        let some = mine.clone().next().is_some();
        some.then(|| Straws(mine.map(|p| p.straws.0).sum()))
    }

    /// More of his straws, with no place yet: of the size and sort of those that have none, else of his first.
    #[must_use]
    pub fn bought(&self, straws: Straws) -> StrawPlace {
        let unplaced =
            |p: &&StrawPlace| p.tank.is_none() && p.canister.is_none() && p.cane.is_none();
        let like = self.places.iter().find(unplaced).or(self.places.first());
        StrawPlace {
            straws,
            size: like.map_or(StrawSize::Half, |p| p.size),
            sort: like.map_or(Semen::Conventional, |p| p.sort),
            tank: None,
            canister: None,
            cane: None,
            goblet: None,
        }
    }

    /// The same as keys of the season file, and their values.
    #[must_use]
    pub fn bought_keys(&self, straws: Straws) -> Vec<(&'static str, Value)> {
        let bought = self.bought(straws);
        let mut keys = vec![
            ("bull", self.id.as_str().into()),
            ("straws", straws.0.into()),
        ];
        if bought.size == StrawSize::Quarter {
            keys.push(("straw_ml", 0.25.into()));
        }
        if bought.sort == Semen::Sexed {
            keys.push(("sort", bought.sort.as_str().into()));
        }
        keys
    }

    /// True if the straws of one of his places are sexed: because the place says so, or because all
    /// of his are.
    #[must_use]
    pub fn is_sexed(&self, place: &StrawPlace) -> bool {
        self.facts.sexed || place.sort == Semen::Sexed
    }
}

/// Straws of one bull in one place.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct StrawPlace {
    /// How many.
    pub straws: Straws,
    /// Their size.
    pub size: StrawSize,
    /// Conventional or sexed.
    pub sort: Semen,
    /// Tank.
    pub tank: Option<String>,
    /// Canister.
    pub canister: Option<u32>,
    /// Cane.
    pub cane: Option<String>,
    /// Goblet of the cane.
    pub goblet: Option<Goblet>,
}

/// A file of straws as the season names it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct StrawFile {
    /// Its name, counted from the season file's folder.
    pub name: String,
    /// Where it is named.
    pub place: Place,
}

/// A tank of liquid nitrogen.
#[derive(Clone, Debug, PartialEq)]
pub struct Tank {
    /// Short name.
    pub id: Id,
    /// Full name.
    pub name: String,
    /// Canisters, numbered from 1.
    pub canisters: u32,
    /// How many sites its straws can be at at one time.
    pub places_at_once: u32,
    /// Liters of nitrogen in the full tank, if given.
    pub liters: Option<f64>,
    /// What is known of its nitrogen.
    pub nitrogen: Nitrogen,
    /// Where it stands in the file.
    pub place: Place,
}

/// Centimeters in an inch (by definition).
pub const CM_PER_INCH: f64 = 2.54;

/// The unit people read a tank's level in.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum LevelUnit {
    /// Inches on the dipstick.
    Inches,
    /// Centimeters on the dipstick.
    Centimeters,
    /// Liters.
    Liters,
}

impl LevelUnit {
    /// As printed after a number.
    #[must_use]
    pub const fn as_str(self) -> &'static str {
        match self {
            Self::Inches => "in.",
            Self::Centimeters => "cm",
            Self::Liters => "L",
        }
    }
}

/// A level on a day.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Reading {
    /// The day.
    pub date: NaiveDate,
    /// Share of the full tank, 0 to 1.
    pub share: f64,
}

/// What is known of a tank's nitrogen. Levels are shares of the full tank, 0 to 1: a tank is taken
/// to be as wide below as above, so that half the depth is half the liters.
#[derive(Clone, Debug, PartialEq)]
pub struct Nitrogen {
    /// The unit it is told in, and the full tank in that unit; nothing if neither depth nor liters
    /// of the full tank are known.
    pub full: Option<(f64, LevelUnit)>,
    /// Depth of the full tank in inches.
    pub full_inches: Option<f64>,
    /// Days of filling to the top, in order, past and planned.
    pub filled: Vec<NaiveDate>,
    /// Readings, by day.
    pub readings: Vec<Reading>,
    /// The user's own limit.
    pub limit: Option<f64>,
    /// What a session takes out beside what is lost standing.
    pub opening: Option<f64>,
    /// Days between the day to refill by and the limit.
    pub margin_days: u32,
}

impl raw::Tank {
    /// The full tank's depth in inches.
    pub(super) fn inches(&self) -> Option<f64> {
        self.full_inches.or(self.full_cm.map(|c| c / CM_PER_INCH))
    }

    /// A level as a share of the full tank, if what it takes is given.
    pub(super) fn share(
        &self,
        inches: Option<f64>,
        cm: Option<f64>,
        liters: Option<f64>,
    ) -> Option<f64> {
        match inches.or(cm.map(|c| c / CM_PER_INCH)) {
            Some(depth) => self.inches().map(|full| depth / full),
            None => liters.zip(self.liters).map(|(l, full)| l / full),
        }
    }

    /// The user's own limit as a share.
    pub(super) fn limit(&self) -> Option<f64> {
        self.share(
            self.refill_below_inches,
            self.refill_below_cm,
            self.refill_below_liters,
        )
    }
}

/// Everything here was checked.
pub(super) fn build_tank(t: &raw::Tank, place: Place) -> Tank {
    let full = match (t.full_inches, t.full_cm, t.liters) {
        (Some(x), _, _) => Some((x, LevelUnit::Inches)),
        (_, Some(x), _) => Some((x, LevelUnit::Centimeters)),
        (_, _, Some(x)) => Some((x, LevelUnit::Liters)),
        _ => None,
    };
    let mut filled: Vec<NaiveDate> = t.filled.iter().filter_map(|d| parse_date(d)).collect();
    filled.sort_unstable();
    filled.dedup();
    let readings = t.readings.iter().filter_map(|r| {
        Some(Reading {
            date: parse_date(&r.date)?,
            share: t.share(r.inches, r.cm, r.liters)?.min(1.0),
        })
    });
    let mut readings: Vec<Reading> = readings.collect();
    readings.sort_by_key(|r| r.date);
    Tank {
        id: Id::new(&t.id).expect("ids were checked"),
        name: t.name.clone().unwrap_or_else(|| t.id.clone()),
        canisters: t.canisters,
        places_at_once: t.places_at_once.unwrap_or(1),
        liters: t.liters,
        nitrogen: Nitrogen {
            full,
            full_inches: t.inches(),
            filled,
            readings,
            limit: t.limit(),
            opening: t.share(None, None, t.liters_lost_an_opening),
            margin_days: t.refill_margin_days.unwrap_or(7),
        },
        place,
    }
}
