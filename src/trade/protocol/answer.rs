//! A protocol as it is written to JSON, and read by the tables.

use std::borrow::Cow;

use schemars::{JsonSchema, Schema, SchemaGenerator};
use serde::{Serialize, Serializer};

use super::dose::{Drug, Form};
use super::law::RULES;
use super::{Action, Cited, Delay, Pregnant, Protocol, Step};
use crate::base::units::Id;

/// A protocol.
#[derive(Serialize, JsonSchema)]
#[schemars(rename = "Protocol")]
struct Shown<'a> {
    /// Its id.
    id: &'a Id,
    /// Its name.
    name: &'a str,
    /// `built-in`, or the file.
    origin: &'a str,
    /// Class that it is published for: `cow`, `heifer` or `both`.
    class: &'static str,
    /// Cattle that it is published for.
    cattle: Vec<&'static str>,
    /// Semen that it is published for.
    semen: Vec<&'static str>,
    /// True if it is published as research only.
    research: bool,
    /// True if it breeds again those that return.
    second_service: bool,
    /// How it is bred: by the clock, by heat, or both.
    kind: &'static str,
    /// Days from the start to the first breeding.
    days_to_breeding: i64,
    /// Times through the chute.
    chute_passes: usize,
    /// True if a part of it has no readable source.
    unverified: bool,
    /// Whom it suits, in words.
    suits: &'a str,
    /// Notes.
    notes: &'a [String],
    /// Where sources disagree.
    disagreements: &'a [String],
    /// Published pregnancy rates, percent.
    pregnancy_percent: &'a [Pregnant],
    /// Doses on the labels of its drugs.
    label_doses: Vec<LabelDose>,
    /// What law and labels say of its drugs, by country; of others nothing is known here.
    law: Vec<Law>,
    /// Its steps in order.
    steps: Vec<ShownStep<'a>>,
    /// Its sources.
    sources: &'a [Cited],
}

/// The label dose of a drug. The label, the veterinarian and local rules come first.
#[derive(Serialize, JsonSchema)]
struct LabelDose {
    /// Class of the drug.
    drug: &'static str,
    /// Doses that the protocol gives at once at the most: more than one is on no label that was read.
    doses_at_once: u32,
    /// The substance.
    substance: &'static str,
    /// Micrograms of one dose.
    dose_micrograms: u32,
    /// Volume by strength, for what is injected.
    products: Vec<Volume>,
    /// Pounds of feed a head a day, from and to, for what is fed.
    feed_pounds: Option<[f64; 2]>,
    /// Most days of feeding by the label.
    most_days: Option<u32>,
    /// Tag of the label.
    tag: &'static str,
}

/// What publications say of a drug in a country.
#[derive(Serialize, JsonSchema)]
struct Law {
    /// ISO 3166 code.
    country: &'static str,
    /// Class of the drug.
    drug: &'static str,
    /// Cattle that it is said of: `cow`, `heifer` or `both`.
    class: &'static str,
    /// `not-permitted`, `extra-label` or `ask-veterinarian`.
    standing: &'static str,
    /// Why, with the tags of the sources.
    why: &'static str,
}

/// Volume at one strength.
#[derive(Serialize, JsonSchema)]
struct Volume {
    /// Micrograms in each ml.
    strength_micrograms_per_ml: u32,
    /// Ml of one dose.
    volume_ml: f64,
    /// Route by the label; null if the label read does not say.
    route: Option<&'static str>,
    /// Tag of the label; null if none was read.
    tag: Option<&'static str>,
    /// True without a tag.
    unverified: bool,
}

/// A step of a protocol.
#[derive(Serialize, JsonSchema)]
#[schemars(rename = "Step")]
pub struct ShownStep<'a> {
    /// Its id.
    pub id: &'a Id,
    /// What is done.
    #[serde(rename = "do")]
    #[schemars(with = "Vec<String>")]
    pub actions: &'a [Action],
    /// `start`, or the step that it is counted from.
    pub after: &'a str,
    /// Whole days after that, at the same clock time; null if counted in hours.
    pub days: Option<u32>,
    /// First elapsed hour of the window; null if counted in days.
    pub earliest_hours: Option<f64>,
    /// Elapsed hours at the aim.
    pub aim_hours: Option<f64>,
    /// Last elapsed hour of the window.
    pub latest_hours: Option<f64>,
    /// Days that it lasts.
    pub lasts_days: Option<u32>,
    /// Percent of the head that is expected to take part.
    pub share_percent: Option<f64>,
    /// Cautions for those who do it.
    pub cautions: Vec<&'static str>,
    /// A note.
    pub note: Option<&'a str>,
}

impl Serialize for Protocol {
    fn serialize<S: Serializer>(&self, to: S) -> Result<S::Ok, S::Error> {
        let shown = Shown {
            id: &self.id,
            name: &self.name,
            origin: self.origin.as_str(),
            class: self.class.as_str(),
            cattle: self.cattle.iter().map(|c| c.as_str()).collect(),
            semen: self.semen.iter().map(|s| s.as_str()).collect(),
            research: self.research,
            second_service: self.second_service,
            kind: self.kind.as_str(),
            days_to_breeding: self.days_to_breeding(),
            chute_passes: self.chute_passes(),
            unverified: self.has_unverified(),
            suits: &self.suits,
            notes: &self.notes,
            disagreements: &self.disagreements,
            pregnancy_percent: &self.pregnant,
            label_doses: label_doses(self),
            law: law(self),
            steps: self.steps.iter().map(|step| step.shown(self)).collect(),
            sources: &self.sources,
        };
        shown.serialize(to)
    }
}

impl JsonSchema for Protocol {
    fn schema_name() -> Cow<'static, str> {
        Shown::schema_name()
    }

    fn json_schema(made: &mut SchemaGenerator) -> Schema {
        Shown::json_schema(made)
    }
}

/// Of an answer that carries a protocol, its id alone.
pub(crate) fn in_id<S: Serializer>(protocol: &Protocol, to: S) -> Result<S::Ok, S::Error> {
    protocol.id.serialize(to)
}

impl Step {
    /// The step as answers have it.
    #[must_use]
    pub fn shown<'a>(&'a self, protocol: &'a Protocol) -> ShownStep<'a> {
        let (days, hours) = match self.delay {
            Delay::Days(days) => (Some(days), None),
            Delay::Elapsed(window) => (None, Some(window)),
        };
        let hours = hours.map(|w| [w.earliest, w.aim, w.latest]);
        let hours = hours.map(|all| all.map(|d| d.num_seconds() as f64 / 3600.0));
        let mut cautions: Vec<&'static str> = Vec::new();
        for c in self.actions.iter().flat_map(|a| a.cautions()) {
            if !cautions.contains(&c.as_str()) {
                cautions.push(c.as_str());
            }
        }
        ShownStep {
            id: &self.id,
            actions: &self.actions,
            after: protocol.counted_from(self),
            days,
            earliest_hours: hours.map(|h| h[0]),
            aim_hours: hours.map(|h| h[1]),
            latest_hours: hours.map(|h| h[2]),
            lasts_days: self.lasts_days,
            share_percent: self.share.as_ref().map(|p| p.expected),
            cautions,
            note: self.note.as_deref(),
        }
    }
}

fn law(protocol: &Protocol) -> Vec<Law> {
    let rules = RULES.iter().filter(|r| r.is_of(protocol, protocol.class));
    let rules = rules.map(|r| Law {
        country: r.country,
        drug: r.drug.as_str(),
        class: r.class.as_str(),
        standing: r.standing.as_str(),
        why: r.why,
    });
    rules.collect()
}

fn label_doses(protocol: &Protocol) -> Vec<LabelDose> {
    let used = Drug::used_by(protocol).into_iter();
    let labels = used.flat_map(|(drug, times)| drug.labels().map(move |l| (l, times)));
    let doses = labels.map(|(l, times)| {
        let (products, fed) = match l.form {
            Form::Injected(products) => (products, None),
            Form::Insert => (&[][..], None),
            Form::Fed { pounds, most_days } => (&[][..], Some((pounds, most_days))),
        };
        LabelDose {
            drug: l.drug.as_str(),
            doses_at_once: times,
            substance: l.substance,
            dose_micrograms: l.dose.0,
            products: products
                .iter()
                .map(|p| Volume {
                    strength_micrograms_per_ml: p.strength.in_each_ml().0,
                    volume_ml: p.strength.volume(l.dose).0,
                    route: p.route,
                    tag: p.source,
                    unverified: p.source.is_none(),
                })
                .collect(),
            feed_pounds: fed.map(|(pounds, _)| [pounds.0, pounds.1]),
            most_days: fed.map(|(_, days)| days),
            tag: l.source,
        }
    });
    doses.collect()
}
