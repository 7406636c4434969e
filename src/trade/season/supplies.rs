//! What is bought for a season: sizes of packages, doses by the user's labels, the strength of feed.

use std::collections::BTreeMap;

use super::raw;
use crate::base::document::Tree;
use crate::base::error::Place;
use crate::base::units::LB_PER_KG;
use crate::trade::figures::Price;

/// Head that one needle serves unless the season says: the careful end of "at least every 10 to 15
/// head" (UI-BUL923).
pub const HEAD_A_NEEDLE: u32 = 10;

/// A kind of thing to have at hand, in the order in which they are listed.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, strum::VariantArray)]
pub enum Kind {
    /// `GnRH`.
    Gnrh,
    /// PG.
    Pg,
    /// An estradiol ester.
    Estradiol,
    /// Progesterone inserts.
    Insert,
    /// Applicators for inserts.
    Applicator,
    /// Disinfectant for applicators.
    Disinfectant,
    /// Feed with MGA.
    Mga,
    /// Estrus-detection patches.
    Patch,
    /// Needles.
    Needle,
    /// Syringes.
    Syringe,
    /// Sheaths of breeding guns.
    Sheath,
    /// Gloves for breeding.
    Glove,
    /// Paper towels.
    Towel,
}

impl Kind {
    /// Every kind, in order.
    pub const ALL: &'static [Self] = <Self as strum::VariantArray>::VARIANTS;

    /// The key under `supplies`, and the word in JSON.
    #[must_use]
    pub const fn key(self) -> &'static str {
        match self {
            Self::Gnrh => "gnrh",
            Self::Pg => "pg",
            Self::Estradiol => "estradiol",
            Self::Insert => "inserts",
            Self::Applicator => "applicators",
            Self::Disinfectant => "disinfectant",
            Self::Mga => "mga_feed",
            Self::Patch => "patches",
            Self::Needle => "needles",
            Self::Syringe => "syringes",
            Self::Sheath => "sheaths",
            Self::Glove => "gloves",
            Self::Towel => "towels",
        }
    }

    /// In words for people.
    #[must_use]
    pub const fn words(self) -> &'static str {
        match self {
            Self::Gnrh => "GnRH",
            Self::Pg => "PG",
            Self::Estradiol => "Estradiol",
            Self::Insert => "Inserts",
            Self::Applicator => "Applicators for inserts",
            Self::Disinfectant => "Disinfectant for applicators",
            Self::Mga => "MGA feed",
            Self::Patch => "Patches",
            Self::Needle => "Needles",
            Self::Syringe => "Syringes",
            Self::Sheath => "Sheaths",
            Self::Glove => "Gloves",
            Self::Towel => "Towels",
        }
    }
}

/// What a package's size is counted in.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum PackUnit {
    /// Millilitres.
    Ml,
    /// Doses.
    Doses,
    /// Pounds.
    Lb,
    /// Kilograms.
    Kg,
    /// Pieces.
    Pieces,
}

impl PackUnit {
    /// As printed after a number.
    #[must_use]
    pub const fn as_str(self) -> &'static str {
        match self {
            Self::Ml => "mL",
            Self::Doses => "doses",
            Self::Lb => "lb",
            Self::Kg => "kg",
            Self::Pieces => "pieces",
        }
    }
}

/// A size that something is sold in.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Package {
    /// How much is in it, in the [`PackUnit`] of the supply; above zero.
    pub size: u32,
    /// Its price.
    pub price: Option<Price>,
}

/// What is stated of the feed that carries MGA; both where either is not given are not known.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct FeedStated {
    /// Milligrams of MGA in a pound.
    pub mg_per_lb: Option<f64>,
    /// Pounds that a head gets a day.
    pub lb_a_head: Option<f64>,
}

/// What is stated of one kind.
#[derive(Clone, Debug, PartialEq)]
pub struct Supply {
    /// What the user calls it.
    pub name: Option<String>,
    /// Unit of the packages.
    pub unit: PackUnit,
    /// Sizes, each once, the largest first.
    pub packages: Vec<Package>,
    /// Millilitres of a dose, by the user's label.
    pub ml_a_dose: Option<f64>,
    /// Days that a package keeps once open.
    pub opened_days: Option<u32>,
    /// Of feed.
    pub feed: FeedStated,
    /// Head that one serves.
    pub head_each: Option<u32>,
    /// For each head bred.
    pub a_head: Option<f64>,
    /// Percent bought on top.
    pub spoilage_percent: f64,
    /// Days from the order to delivery.
    pub lead_days: u32,
    /// Where it stands in the file.
    pub place: Place,
}

/// What is bought for a season.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Supplies {
    /// Percent bought on top of all that nothing else is said of.
    pub spoilage_percent: f64,
    /// Days from the order to delivery of all that nothing else is said of.
    pub lead_days: u32,
    /// What is stated, by kind.
    pub stated: BTreeMap<Kind, Supply>,
    /// Where it stands in the file, if it does.
    pub place: Option<Place>,
}

impl raw::Feed {
    /// Each way of stating the strength that is given, as milligrams in a pound.
    pub(super) fn strengths(&self) -> Vec<f64> {
        let all = [
            self.mg_per_lb,
            self.mg_per_kg.map(|x| x / LB_PER_KG),
            // A ton of 2000 lb.
            self.g_per_ton.map(|x| x * 1000.0 / 2000.0),
        ];
        all.into_iter().flatten().collect()
    }

    /// Each way of stating what a head gets a day that is given, in pounds.
    pub(super) fn daily(&self) -> Vec<f64> {
        let all = [self.lb_a_head, self.kg_a_head.map(|x| x * LB_PER_KG)];
        all.into_iter().flatten().collect()
    }
}

/// Everything here was checked.
pub(super) fn build(tree: &Tree, raw: Option<&raw::Supplies>) -> Supplies {
    let Some(raw) = raw else {
        return Supplies::default();
    };
    let bare =
        |kind: Kind, name: &Option<String>, spoilage: Option<f64>, lead: Option<u32>| Supply {
            name: name.clone(),
            unit: PackUnit::Pieces,
            packages: Vec::new(),
            ml_a_dose: None,
            opened_days: None,
            feed: FeedStated::default(),
            head_each: None,
            a_head: None,
            spoilage_percent: spoilage.or(raw.spoilage_percent).unwrap_or(0.0),
            lead_days: lead.or(raw.lead_days).unwrap_or(0),
            place: tree.place(&format!("supplies.{}", kind.key())),
        };
    let mut stated = BTreeMap::new();
    for (kind, given) in [
        (Kind::Gnrh, &raw.gnrh),
        (Kind::Pg, &raw.pg),
        (Kind::Estradiol, &raw.estradiol),
    ] {
        stated.extend(given.iter().map(|d| {
            let bare = bare(kind, &d.name, d.spoilage_percent, d.lead_days);
            (kind, injectable(d, bare))
        }));
    }
    for (kind, given) in [
        (Kind::Insert, &raw.inserts),
        (Kind::Applicator, &raw.applicators),
        (Kind::Disinfectant, &raw.disinfectant),
        (Kind::Patch, &raw.patches),
        (Kind::Sheath, &raw.sheaths),
    ] {
        stated.extend(given.iter().map(|c| {
            let mut supply = bare(kind, &c.name, c.spoilage_percent, c.lead_days);
            supply.packages = boxes(&c.packages);
            (kind, supply)
        }));
    }
    for (kind, given) in [(Kind::Needle, &raw.needles), (Kind::Syringe, &raw.syringes)] {
        stated.extend(given.iter().map(|c| {
            let mut supply = bare(kind, &c.name, c.spoilage_percent, c.lead_days);
            (supply.packages, supply.head_each) = (boxes(&c.packages), c.head_each);
            (kind, supply)
        }));
    }
    for (kind, given) in [(Kind::Glove, &raw.gloves), (Kind::Towel, &raw.towels)] {
        stated.extend(given.iter().map(|u| {
            let mut supply = bare(kind, &u.name, u.spoilage_percent, u.lead_days);
            (supply.packages, supply.a_head) = (boxes(&u.packages), u.a_head);
            (kind, supply)
        }));
    }
    stated.extend(raw.mga_feed.iter().map(|f| {
        let bare = bare(Kind::Mga, &f.name, f.spoilage_percent, f.lead_days);
        (Kind::Mga, feed(f, bare))
    }));
    Supplies {
        spoilage_percent: raw.spoilage_percent.unwrap_or(0.0),
        lead_days: raw.lead_days.unwrap_or(0),
        stated,
        place: Some(tree.place("supplies")),
    }
}

fn injectable(d: &raw::Injectable, bare: Supply) -> Supply {
    Supply {
        unit: if d.packages.iter().any(|p| p.doses.is_some()) {
            PackUnit::Doses
        } else {
            PackUnit::Ml
        },
        packages: sizes(d.packages.iter().map(|p| (p.ml.or(p.doses), p.price))),
        ml_a_dose: d.ml_a_dose,
        opened_days: d.opened_days,
        ..bare
    }
}

fn feed(f: &raw::Feed, bare: Supply) -> Supply {
    let by_kg = f.packages.iter().any(|p| p.kg.is_some());
    let stated_by_kg = f.kg_a_head.is_some() || f.mg_per_kg.is_some();
    Supply {
        unit: if by_kg || (f.packages.is_empty() && stated_by_kg) {
            PackUnit::Kg
        } else {
            PackUnit::Lb
        },
        packages: sizes(f.packages.iter().map(|p| (p.lb.or(p.kg), p.price))),
        feed: FeedStated {
            mg_per_lb: f.strengths().first().copied(),
            lb_a_head: f.daily().first().copied(),
        },
        ..bare
    }
}

fn boxes(all: &[raw::Pack]) -> Vec<Package> {
    sizes(all.iter().map(|p| (Some(p.count), p.price)))
}

/// Packages, the largest first.
fn sizes(all: impl Iterator<Item = (Option<u32>, Option<Price>)>) -> Vec<Package> {
    let mut sizes: Vec<Package> = all
        .filter_map(|(size, price)| Some(Package { size: size?, price }))
        .collect();
    sizes.sort_by_key(|p| std::cmp::Reverse(p.size));
    sizes
}
