//! Published label doses, and how much of a product holds a dose.
//!
//! Only what labels and the law say, each with its source; a season file may have other products,
//! and the label of the bottle at hand is the one to follow.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use super::{Action, Protocol};
use crate::base::file_words;

/// A mass of active substance, in micrograms.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Micrograms(pub u32);

/// A volume, in milliliters.
#[derive(Clone, Copy, Debug, PartialEq, PartialOrd)]
pub struct Millilitres(pub f64);

/// Active substance in each milliliter, above zero.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Strength(Micrograms);

impl Strength {
    /// `None` for nothing in a milliliter.
    #[must_use]
    pub const fn new(in_each_ml: Micrograms) -> Option<Self> {
        if in_each_ml.0 == 0 {
            None
        } else {
            Some(Self(in_each_ml))
        }
    }

    /// Micrograms in a milliliter.
    #[must_use]
    pub const fn in_each_ml(self) -> Micrograms {
        self.0
    }

    /// The volume that holds a dose.
    #[must_use]
    pub fn volume(self, dose: Micrograms) -> Millilitres {
        Millilitres(f64::from(dose.0) / f64::from(self.0.0))
    }
}

/// The unit a publication gives a mass in.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Unit {
    /// Micrograms.
    Microgram,
    /// Milligrams.
    Milligram,
    /// Grams.
    Gram,
}

impl Unit {
    /// A mass in words: `25 mg`.
    #[must_use]
    pub fn words(self, mass: Micrograms) -> String {
        let (in_one, name) = match self {
            Self::Microgram => (1.0, "ug"),
            Self::Milligram => (1e3, "mg"),
            Self::Gram => (1e6, "g"),
        };
        format!("{} {name}", f64::from(mass.0) / in_one)
    }
}

/// A class of drug.
#[derive(
    Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Deserialize, Serialize, JsonSchema,
)]
#[serde(rename_all = "kebab-case")]
#[derive(strum::IntoStaticStr, strum::VariantArray)]
#[strum(serialize_all = "kebab-case")]
pub enum Drug {
    /// Gonadotropin-releasing hormone.
    Gnrh,
    /// Prostaglandin F2-alpha or an analog.
    Pg,
    /// A progesterone insert.
    Insert,
    /// Melengestrol acetate in feed.
    Mga,
    /// An estradiol ester. No label for synchronization is listed.
    Estradiol,
}

file_words!(Drug);

impl Drug {
    /// Every class.
    pub const ALL: &'static [Self] = <Self as strum::VariantArray>::VARIANTS;

    /// In words for people.
    #[must_use]
    pub const fn words(self) -> &'static str {
        match self {
            Self::Gnrh => "GnRH",
            Self::Pg => "PG",
            Self::Insert => "Insert",
            Self::Mga => "MGA",
            Self::Estradiol => "Estradiol",
        }
    }

    /// The class that an action gives, and how many doses of it. Allocation an insert out gives none.
    #[must_use]
    pub const fn given_by(action: Action) -> Option<(Self, u32)> {
        match action {
            Action::Gnrh => Some((Self::Gnrh, 1)),
            Action::Pg => Some((Self::Pg, 1)),
            Action::PgDouble => Some((Self::Pg, 2)),
            Action::InsertIn => Some((Self::Insert, 1)),
            Action::FeedMga => Some((Self::Mga, 1)),
            Action::Estradiol => Some((Self::Estradiol, 1)),
            Action::InsertOut
            | Action::PatchOn
            | Action::DetectEstrus
            | Action::Inseminate
            | Action::InseminateInHeat
            | Action::InseminateRest => None,
        }
    }

    /// The classes that a protocol uses, each with the most doses given at once.
    #[must_use]
    pub fn used_by(protocol: &Protocol) -> Vec<(Self, u32)> {
        let actions = protocol.steps.iter().flat_map(|s| &s.actions);
        let mut used: Vec<(Self, u32)> = actions.filter_map(|a| Self::given_by(*a)).collect();
        used.sort_by_key(|(drug, times)| (*drug, std::cmp::Reverse(*times)));
        used.dedup_by_key(|(drug, _)| *drug);
        used
    }

    /// The label doses of the class.
    pub fn labels(self) -> impl Iterator<Item = &'static Label> {
        LABELS.iter().filter(move |l| l.drug == self)
    }
}

/// A dose as a label or the law has it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Label {
    /// The class of drug.
    pub drug: Drug,
    /// The active substance.
    pub substance: &'static str,
    /// The dose for one animal; for feed, a day.
    pub dose: Micrograms,
    /// The unit it is published in.
    pub unit: Unit,
    /// How it is given.
    pub form: Form,
    /// Source tag of the dose.
    pub source: &'static str,
}

impl Label {
    /// What each pound of feed holds, where so many pounds a day carry the dose.
    #[must_use]
    pub fn in_each_pound(&self, pounds: f64) -> Micrograms {
        Micrograms((f64::from(self.dose.0) / pounds.max(f64::MIN_POSITIVE)).round() as u32)
    }
}

/// How a dose is given.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Form {
    /// By needle, from products of these strengths.
    Injected(&'static [Product]),
    /// One insert, used once.
    Insert,
    /// In feed, every day.
    Fed {
        /// Pounds of feed a head a day that carry the dose: least and most.
        pounds: (f64, f64),
        /// Days it may be fed at the most.
        most_days: u32,
    },
}

/// A product of a published strength.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Product {
    /// How strong.
    pub strength: Strength,
    /// The unit it is published in.
    pub unit: Unit,
    /// Where it goes, if the source says.
    pub route: Option<&'static str>,
    /// Source tag of the strength; `None` where it was not checked against a label.
    pub source: Option<&'static str>,
}

const fn product(
    micrograms_in_each_ml: u32,
    unit: Unit,
    route: Option<&'static str>,
    source: Option<&'static str>,
) -> Product {
    Product {
        strength: match Strength::new(Micrograms(micrograms_in_each_ml)) {
            Some(strength) => strength,
            None => panic!("a product holds something"),
        },
        unit,
        route,
        source,
    }
}

/// Days that MGA may be fed at the most (CFR-342).
pub const MGA_MOST_DAYS: u32 = 24;

/// Every label dose that is listed.
pub const LABELS: &[Label] = &[
    // 100 ug stands in CFR-1073; CFR-1077 has 100 to 200 ug with dinoprost, and the strengths.
    Label {
        drug: Drug::Gnrh,
        substance: "gonadorelin",
        dose: Micrograms(100),
        unit: Unit::Microgram,
        form: Form::Injected(&[
            product(50, Unit::Microgram, None, Some("CFR-1077")),
            product(100, Unit::Microgram, None, Some("CFR-1077")),
        ]),
        source: "CFR-1073",
    },
    Label {
        drug: Drug::Gnrh,
        substance: "gonadorelin",
        dose: Micrograms(86),
        unit: Unit::Microgram,
        form: Form::Injected(&[product(43, Unit::Microgram, None, Some("CFR-1077"))]),
        source: "CFR-1077",
    },
    Label {
        drug: Drug::Gnrh,
        substance: "buserelin (Europe, Latin America)",
        dose: Micrograms(10),
        unit: Unit::Microgram,
        form: Form::Injected(&[product(4, Unit::Microgram, None, None)]),
        source: "ROMERO",
    },
    Label {
        drug: Drug::Pg,
        substance: "dinoprost",
        dose: Micrograms(25_000),
        unit: Unit::Milligram,
        form: Form::Injected(&[
            product(
                5_000,
                Unit::Milligram,
                Some("into the muscle"),
                Some("CFR-690"),
            ),
            product(
                12_500,
                Unit::Milligram,
                Some("into the muscle or under the skin"),
                Some("CFR-690"),
            ),
        ]),
        source: "CFR-690",
    },
    Label {
        drug: Drug::Pg,
        substance: "cloprostenol",
        dose: Micrograms(500),
        unit: Unit::Microgram,
        form: Form::Injected(&[product(
            250,
            Unit::Microgram,
            Some("into the muscle"),
            Some("CFR-460N"),
        )]),
        source: "CFR-1073",
    },
    Label {
        drug: Drug::Insert,
        substance: "progesterone",
        dose: Micrograms(1_380_000),
        unit: Unit::Gram,
        form: Form::Insert,
        source: "CFR-1940",
    },
    Label {
        drug: Drug::Mga,
        substance: "melengestrol acetate",
        dose: Micrograms(500),
        unit: Unit::Milligram,
        form: Form::Fed {
            pounds: (0.5, 2.0),
            most_days: MGA_MOST_DAYS,
        },
        source: "CFR-342",
    },
];

#[cfg(test)]
mod tests {
    use super::*;
    use crate::trade::sources;

    fn per_ml(micrograms: u32) -> Strength {
        Strength::new(Micrograms(micrograms)).unwrap()
    }

    /// CFR-690: 25 mg of dinoprost is 5 mL at 5 mg/mL or 2 mL at 12.5 mg/mL. CFR-1077: 86 ug of
    /// gonadorelin is 2 mL at 43 ug/mL.
    #[test]
    fn volumes_are_the_published_ones() {
        let dinoprost = Micrograms(25_000);
        assert_eq!(per_ml(5_000).volume(dinoprost), Millilitres(5.0));
        assert_eq!(per_ml(12_500).volume(dinoprost), Millilitres(2.0));
        assert_eq!(per_ml(43).volume(Micrograms(86)), Millilitres(2.0));
        assert_eq!(Strength::new(Micrograms(0)), None);
    }

    /// The same from the list: published volumes of every product (CFR-690, CFR-1077, CFR-460N; that of
    /// buserelin was not checked).
    #[test]
    fn the_list_gives_the_published_volumes() {
        let mut listed: Vec<(&str, u32, f64)> = Vec::new();
        for l in LABELS {
            let Form::Injected(products) = l.form else {
                continue;
            };
            let volumes = products.iter().map(|p| p.strength.volume(l.dose).0);
            listed.extend(volumes.map(|ml| (l.substance, l.dose.0, ml)));
        }
        let expected = [
            ("gonadorelin", 100, 2.0),
            ("gonadorelin", 100, 1.0),
            ("gonadorelin", 86, 2.0),
            ("buserelin (Europe, Latin America)", 10, 2.5),
            ("dinoprost", 25_000, 5.0),
            ("dinoprost", 25_000, 2.0),
            ("cloprostenol", 500, 2.0),
        ];
        assert_eq!(listed, expected);
    }

    /// HEIFER-GUIDE, CFR-342: 0.5 mg in 2 lb of feed is 0.25 mg a pound.
    #[test]
    fn feed_holds_what_is_published() {
        let mga = Drug::Mga.labels().next().unwrap();
        assert_eq!(mga.in_each_pound(2.0), Micrograms(250));
        assert_eq!(mga.unit.words(mga.in_each_pound(0.5)), "1 mg");
    }

    #[test]
    fn every_dose_has_a_listed_source_and_reads_as_published() {
        for label in LABELS {
            assert!(sources::find(label.source).is_some(), "{}", label.source);
            if let Form::Injected(products) = label.form {
                for tag in products.iter().filter_map(|p| p.source) {
                    assert!(sources::find(tag).is_some(), "{tag}");
                }
            }
        }
        let words: Vec<String> = LABELS.iter().map(|l| l.unit.words(l.dose)).collect();
        let expected = "100 ug, 86 ug, 10 ug, 25 mg, 500 ug, 1.38 g, 0.5 mg";
        assert_eq!(words.join(", "), expected);
    }
}
