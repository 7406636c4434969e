//! What is legal where: what the listed publications say of a class of drug in a country.
//!
//! Only what they say. Of countries that they say nothing about, nothing is said here either: the
//! veterinarian is asked. Label doses stand in [`crate::trade::protocol::dose`].

mod country;
mod withdrawal;

use serde::Serialize;

pub use country::{Country, codes, of_zone};
pub use withdrawal::{Stated, WITHDRAWALS};

use crate::base::file_words;
use crate::trade::protocol::dose::Drug;
use crate::trade::protocol::{Cattle, Class, Protocol};

/// How a use of a drug stands in a country.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, strum::IntoStaticStr)]
#[serde(rename_all = "kebab-case")]
#[strum(serialize_all = "kebab-case")]
pub enum Standing {
    /// Against the law.
    NotPermitted,
    /// On no label that was read: a veterinarian's prescription is needed.
    ExtraLabel,
    /// Sources differ or say little: the veterinarian is asked.
    AskVeterinarian,
}

file_words!(Standing);

impl Standing {
    /// In words.
    #[must_use]
    pub const fn words(self) -> &'static str {
        match self {
            Self::NotPermitted => "not permitted",
            Self::ExtraLabel => "extra-label, needs a veterinarian's prescription",
            Self::AskVeterinarian => "ask your veterinarian",
        }
    }
}

/// What publications say of one use of a class of drug in a country.
#[derive(Debug, PartialEq, Eq)]
pub struct Rule {
    /// ISO 3166 code.
    pub country: &'static str,
    /// The class of drug.
    pub drug: Drug,
    /// In which cattle.
    pub class: Class,
    /// In beef cattle alone.
    pub beef: bool,
    /// At a second service alone.
    pub second_service: bool,
    /// How it stands.
    pub standing: Standing,
    /// What the sources say, with their tags.
    pub why: &'static str,
    /// The tags.
    pub tags: &'static [&'static str],
}

/// Every rule.
pub const RULES: &[Rule] = &[
    Rule {
        country: "US",
        drug: Drug::Estradiol,
        class: Class::Both,
        beef: false,
        second_service: false,
        standing: Standing::NotPermitted,
        why: "estradiol cypionate was never approved for cattle, and use for reproduction is not a permitted extra-label use (FDA-ECP, AVMA-ECP); compounded estradiol is illegal for synchronization (AABP-E2)",
        tags: &["FDA-ECP", "AVMA-ECP", "AABP-E2"],
    },
    Rule {
        country: "US",
        drug: Drug::Mga,
        class: Class::Cow,
        beef: false,
        second_service: false,
        standing: Standing::NotPermitted,
        why: "extra-label use of drugs in feed is prohibited, and so is feeding MGA to cows (MU-ELDU); the rule names heifers (CFR-342)",
        tags: &["MU-ELDU", "CFR-342"],
    },
    Rule {
        country: "US",
        drug: Drug::Mga,
        class: Class::Heifer,
        beef: false,
        second_service: false,
        standing: Standing::AskVeterinarian,
        why: "feed by the label, which names suppression of heat in heifers for at most 24 days (CFR-342); extension advice calls its use in heifers approved (MU-ELDU)",
        tags: &["CFR-342", "MU-ELDU"],
    },
    Rule {
        country: "US",
        drug: Drug::Gnrh,
        class: Class::Cow,
        beef: true,
        second_service: false,
        standing: Standing::AskVeterinarian,
        why: "with cloprostenol the label of GnRH, PG and GnRH names beef cows (CFR-1073); with dinoprost it names lactating dairy cows only (CFR-1077), so that in beef cows it is extra-label and needs a veterinarian's prescription",
        tags: &["CFR-1073", "CFR-1077"],
    },
    Rule {
        country: "US",
        drug: Drug::Gnrh,
        class: Class::Heifer,
        beef: false,
        second_service: false,
        standing: Standing::ExtraLabel,
        why: "the labels of GnRH with PG that were read name cows, not heifers (CFR-1073, CFR-1077)",
        tags: &["CFR-1073", "CFR-1077"],
    },
    Rule {
        country: "US",
        drug: Drug::Insert,
        class: Class::Both,
        beef: true,
        second_service: true,
        standing: Standing::ExtraLabel,
        why: "the label for a second service is for lactating dairy cows (CFR-1940)",
        tags: &["CFR-1940"],
    },
];

impl Rule {
    /// True if a protocol gives the drug to these cattle in that way.
    #[must_use]
    pub fn is_of(&self, protocol: &Protocol, class: Class) -> bool {
        let given = Drug::used_by(protocol).iter().any(|(d, _)| *d == self.drug);
        let dairy = protocol.cattle.iter().all(|c| *c == Cattle::Dairy);
        given
            && (class == Class::Both || self.class.serves(class))
            && !(self.beef && dairy)
            && (!self.second_service || protocol.second_service)
    }

    /// `estradiol`, `MGA in cows`.
    #[must_use]
    pub fn what(&self) -> String {
        let drug = match self.drug {
            Drug::Insert => "the insert",
            Drug::Estradiol => "estradiol",
            _ => self.drug.words(),
        };
        match self.class {
            Class::Cow => format!("{drug} in cows"),
            Class::Heifer => format!("{drug} in heifers"),
            Class::Both => drug.to_owned(),
        }
    }

    /// `in US, estradiol: not permitted: ...`
    #[must_use]
    pub fn words(&self) -> String {
        let (what, country) = (self.what(), self.country);
        let standing = self.standing.words();
        format!("in {country}, {what}: {standing}: {}", self.why)
    }
}

/// The rules of a country for a protocol in cattle of a class.
pub fn rules<'a>(
    country: &'a str,
    protocol: &'a Protocol,
    class: Class,
) -> impl Iterator<Item = &'static Rule> + 'a {
    let of_country = RULES.iter().filter(move |r| r.country == country);
    of_country.filter(move |r| r.is_of(protocol, class))
}

/// What keeps a protocol out of a country for cattle of a class.
pub fn refused<'a>(
    country: &'a str,
    protocol: &'a Protocol,
    class: Class,
) -> impl Iterator<Item = &'static Rule> + 'a {
    rules(country, protocol, class).filter(|r| r.standing == Standing::NotPermitted)
}

/// True if a publication listed here says anything of what is permitted in a country.
#[must_use]
pub fn is_known(country: &str) -> bool {
    RULES.iter().any(|r| r.country == country)
}

/// What holds wherever no source says more.
pub const ASK: &str =
    "no publication listed here says what is approved there: ask your veterinarian";

#[cfg(test)]
mod tests {
    use super::*;
    use crate::trade::protocol::Library;
    use crate::trade::sources;

    #[test]
    fn every_rule_names_listed_publications_and_says_which() {
        for rule in RULES {
            for tag in rule.tags {
                assert!(sources::find(tag).is_some(), "{tag}");
                assert!(rule.why.contains(tag), "{tag}: {}", rule.why);
            }
            assert!(codes().contains(&rule.country));
        }
    }

    /// FDA-ECP, AVMA-ECP and AABP-E2 on estradiol; MU-ELDU on MGA.
    #[test]
    fn in_the_united_states_estradiol_is_refused_and_mga_in_cows() {
        let library = Library::built_in();
        let of = |p: &Protocol, country, class| refused(country, p, class).count();
        for p in library.iter() {
            let estradiol = p.id.as_str().contains("estradiol");
            let mga = p.id.as_str().contains("mga");
            assert_eq!(
                of(p, "US", Class::Cow),
                usize::from(estradiol || mga),
                "{}",
                p.id
            );
            assert_eq!(
                of(p, "US", Class::Heifer),
                usize::from(estradiol),
                "{}",
                p.id
            );
            assert_eq!(of(p, "BR", Class::Cow) + of(p, "", Class::Cow), 0);
        }
    }
}
