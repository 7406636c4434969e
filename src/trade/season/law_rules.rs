//! The rules of law: the country, what is refused there, and what the season file allows all the same.

use std::collections::{BTreeMap, BTreeSet};

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use super::rules::Rulebook;
use super::{Allow, Season};
use crate::base::error::{Code, Finding, did_you_mean, quoted};
use crate::trade::protocol::dose::Drug;
use crate::trade::protocol::law::{self, Country, Rule, Standing};
use crate::trade::protocol::{Class, Protocol};

/// A drug that is not permitted in the country, planned because the season file allows it.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Allowed {
    /// The class of drug.
    pub drug: Drug,
    /// The country, by its code.
    pub country: String,
    /// What is said of it there, with the tags of the sources.
    pub why: String,
    /// The reason of the season file.
    pub reason: String,
}

impl Allowed {
    /// The mark that stands on every sheet.
    #[must_use]
    pub fn words(&self) -> String {
        let (drug, country) = (self.drug.words(), &self.country);
        let reason = self.reason.trim_end_matches('.');
        format!(
            "Not permitted in {country}: {drug}. Planned because the season file allows it: {reason}. The law: {}.",
            self.why
        )
    }
}

/// The entry that lets a rule be broken on a protocol.
fn entry(allow: &[Allow], rule: &Rule, protocol: &Protocol) -> Option<usize> {
    allow.iter().position(|a| {
        let named = a.protocol.as_deref() == Some(protocol.id.as_str());
        a.drug == Some(rule.drug) || named
    })
}

impl Season {
    /// What keeps a protocol out for cattle of a class, unless the season file allows it.
    #[must_use]
    pub fn refuses(&self, protocol: &Protocol, class: Class) -> Option<&'static Rule> {
        let mut refused = law::refused(self.country.code(), protocol, class);
        refused.find(|r| entry(&self.allow, r, protocol).is_none())
    }

    /// What is planned on a protocol only because the season file allows it.
    #[must_use]
    pub fn allowed(&self, protocol: &Protocol, class: Class) -> Vec<Allowed> {
        let refused = law::refused(self.country.code(), protocol, class);
        let allowed = refused.filter_map(|r| {
            let a = &self.allow[entry(&self.allow, r, protocol)?];
            Some(Allowed {
                drug: r.drug,
                country: r.country.to_owned(),
                why: r.why.to_owned(),
                reason: a.reason.clone(),
            })
        });
        allowed.collect()
    }

    /// What law and labels of the country say of its drugs beside, once for all groups; of a country that no
    /// source speaks of, that the veterinarian is to be asked.
    #[must_use]
    pub fn label_notes(&self) -> Vec<Finding> {
        let note = |what: String| Finding::note(Code::LabelUse, what);
        let country = self.country.code();
        if !law::is_known(country) {
            let found = match &self.country.code {
                Some(code) => note(format!("in {code}, {}", law::ASK)),
                None => note(format!("where the cattle stand, {}", law::ASK))
                    .hint("state `country` in the season file"),
            };
            return vec![found];
        }
        let mut said: BTreeMap<&str, (&Rule, BTreeSet<&str>)> = BTreeMap::new();
        for group in &self.groups {
            let rules = law::rules(country, &group.protocol, group.class);
            for rule in rules.filter(|r| r.standing != Standing::NotPermitted) {
                let (_, groups) = said.entry(rule.why).or_insert((rule, BTreeSet::new()));
                groups.insert(group.id.as_str());
            }
        }
        let told = said.into_values();
        told.map(|(rule, groups)| note(format!("{} ({})", rule.words(), some_groups(&groups))))
            .collect()
    }
}

impl Rulebook<'_> {
    /// The country is one, and that of the zone.
    pub(super) fn country(&mut self) {
        let Some(code) = self.raw.country.clone() else {
            return;
        };
        let zone = &self.raw.zone;
        let of_zone = law::of_zone(zone);
        if !law::codes().contains(&code.as_str()) {
            let capital = code.to_uppercase();
            let near = law::codes().into_iter().find(|c| *c == capital);
            let near = near.or((capital == "UK").then_some("GB"));
            let what = format!("{} is not the code of a country", quoted(&code));
            let expected = "two capital letters of ISO 3166, such as `US`, `CA` or `GB`";
            let otherwise = "without `country` that of the zone is taken";
            let hint = did_you_mean(near, otherwise);
            self.fault(Code::CountryForm, "country", what, expected, hint);
        } else if !of_zone.is_empty() && !of_zone.contains(&code.as_str()) {
            let what = format!(
                "the zone {} is of {}, and the file says {code}: the law of {code} is taken",
                quoted(zone),
                of_zone.join(", ")
            );
            let finding = Finding::note(Code::CountryForm, what)
                .hint("check both: what is permitted, and withdrawal, follow from the country");
            self.add("country", finding);
        }
    }

    /// What is refused in the country, and what is allowed all the same.
    pub(super) fn law(&mut self) {
        let raw = self.raw;
        let country = Country::of(raw.country.as_deref(), &raw.zone);
        self.allow_form(country.code());
        let mut said: BTreeMap<(&str, usize), (&Rule, BTreeSet<&str>)> = BTreeMap::new();
        for (n, g) in raw.groups.iter().enumerate() {
            let class = self.class_of(n);
            let own = g.protocol.iter().map(|id| ("protocol".to_owned(), id));
            let wished = g.wishes.iter().flat_map(|w| w.protocols.iter().enumerate());
            let wished = wished.map(|(k, id)| (format!("wishes.protocols[{k}]"), id));
            for (field, id) in own.chain(wished) {
                let field = format!("groups[{n}].{field}");
                let Some(protocol) = self.library.get(id).filter(|p| p.class.serves(class)) else {
                    continue;
                };
                for rule in law::refused(country.code(), protocol, class) {
                    let Some(k) = entry(&raw.allow, rule, protocol) else {
                        self.refuse(&field, rule, protocol, &country);
                        continue;
                    };
                    let (_, groups) = said.entry((rule.why, k)).or_insert((rule, BTreeSet::new()));
                    groups.insert(&g.id);
                }
            }
        }
        for ((_, k), (rule, groups)) in said {
            let what = format!("{} ({})", rule.words(), some_groups(&groups));
            self.add(&format!("allow[{k}]"), Finding::note(Code::Allowed, what));
        }
    }

    fn refuse(&mut self, field: &str, rule: &Rule, protocol: &Protocol, country: &Country) {
        let (drug, of) = (rule.drug.as_str(), country.words());
        let id = quoted(protocol.id.as_str());
        let what = format!("{id} cannot be used: {}", rule.words());
        let expected = format!("a protocol that is permitted in the country: {of}");
        let other = if country.stated {
            ""
        } else {
            "state `country` if the cattle stand elsewhere, "
        };
        let hint = format!(
            "take another protocol, {other}or allow it with a reason: `allow: [{{drug: {drug}, reason: ...}}]`"
        );
        self.fault(Code::NotPermitted, field, what, expected, hint);
    }

    /// Each entry names a drug or a protocol, and one that is refused in the country.
    fn allow_form(&mut self, country: &str) {
        for (k, a) in self.raw.allow.iter().enumerate() {
            let field = format!("allow[{k}]");
            let refused = |drug: Drug| {
                let mut rules = law::RULES.iter();
                rules.any(|r| {
                    r.country == country && r.drug == drug && r.standing == Standing::NotPermitted
                })
            };
            let needed = match (&a.drug, &a.protocol) {
                (Some(drug), None) => refused(*drug),
                (None, Some(id)) => {
                    let Some(protocol) = self.library.get(id) else {
                        let unknown = self.library.unknown(id, Class::Both);
                        self.add(&format!("{field}.protocol"), unknown);
                        continue;
                    };
                    law::refused(country, protocol, Class::Both)
                        .next()
                        .is_some()
                }
                _ => {
                    let what = "this names neither a drug nor a protocol, or both";
                    let expected = "one of `drug` and `protocol`, and the reason";
                    let hint = "`allow: [{drug: estradiol, reason: ...}]`";
                    self.fault(Code::AllowForm, &field, what, expected, hint);
                    continue;
                }
            };
            if !needed {
                let what = "nothing that this names is refused in the season's country";
                let finding = Finding::note(Code::AllowForm, what).hint("take it out");
                self.add(&field, finding);
            }
        }
    }
}

/// The first few groups of a list.
fn some_groups(ids: &BTreeSet<&str>) -> String {
    let shown: Vec<String> = ids.iter().take(5).map(|id| quoted(id)).collect();
    match ids.len() - shown.len() {
        0 => shown.join(", "),
        more => format!("{} and {more} more", shown.join(", ")),
    }
}
