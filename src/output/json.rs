//! JSON forms: plans, findings and protocols. Versioned, stable names, units in the key.

use std::fmt::Write as _;

use schemars::JsonSchema;
use schemars::generate::SchemaSettings;
use serde::Serialize;
use serde_json::Value;

use super::protocol_facts;
use super::timeline::line;
use crate::base::error::{Finding, Severity, is_hidden};
use crate::planning::plan::{Plan, Remark};
use crate::trade::herd::summary::GroupReport;
use crate::trade::protocol::advice::Checked;
use crate::trade::protocol::dose::{Drug, Form, Micrograms};
use crate::trade::protocol::select::Selection;
use crate::trade::protocol::{Library, Protocol, Step};

/// A value as JSON text with a closing line break. What a terminal would obey stands as its number.
pub(super) fn text(value: &impl Serialize) -> String {
    let plain = serde_json::to_string_pretty(value).unwrap_or_default();
    let mut text = String::with_capacity(plain.len() + 1);
    for c in plain.chars() {
        // Outside strings there are line breaks alone, and within them none.
        if c != '\n' && is_hidden(c) {
            for unit in c.encode_utf16(&mut [0; 2]) {
                let _ = write!(text, "\\u{unit:04x}");
            }
        } else {
            text.push(c);
        }
    }
    text.push('\n');
    text
}

/// The JSON Schema of what is printed as such a value.
#[must_use]
pub fn schema_of<T: JsonSchema>() -> Value {
    let settings = SchemaSettings::default().for_serialize();
    let schema = settings.into_generator().into_root_schema_for::<T>();
    schema.to_value()
}

/// The schema of [`findings`], and of protocol files checked.
#[must_use]
pub fn findings_schema() -> Value {
    schema_of::<Findings>()
}

/// The schema of [`herds`].
#[must_use]
pub fn herds_schema() -> Value {
    schema_of::<Herds<'_>>()
}

/// The schema of [`protocols`]; that of [`protocol`] is one of its list.
#[must_use]
pub fn protocols_schema() -> Value {
    schema_of::<ProtocolList<'_>>()
}

/// A plan: `thawline.plan/1`.
#[must_use]
pub fn plan(plan: &Plan) -> String {
    text(plan)
}

/// What a check found.
#[derive(Serialize, JsonSchema)]
struct Findings {
    /// `thawline.findings/1`.
    format: &'static str,
    /// Errors: the input cannot be used.
    errors: usize,
    /// Warnings.
    warnings: usize,
    /// Notes.
    notes: usize,
    /// Each finding, in the order of the file.
    #[serde(rename = "findings")]
    all: Vec<Remark>,
    /// Protocols that could be read, where protocol files were checked.
    #[serde(skip_serializing_if = "Option::is_none")]
    protocols: Option<Vec<ReadProtocol>>,
}

/// A protocol file that could be read.
#[derive(Serialize, JsonSchema)]
struct ReadProtocol {
    /// The file.
    file: String,
    /// The protocol's id.
    id: String,
    /// Its name.
    name: String,
    /// Days from the start to the first breeding.
    days_to_breeding: i64,
    /// Times through the chute.
    chute_passes: usize,
    /// Its steps in a line.
    timeline: String,
}

fn found(found: &[Finding], protocols: Option<Vec<ReadProtocol>>) -> String {
    let count = |s: Severity| found.iter().filter(|f| f.severity == s).count();
    text(&Findings {
        format: "thawline.findings/1",
        errors: count(Severity::Error),
        warnings: count(Severity::Warning),
        notes: count(Severity::Note),
        all: found.iter().map(Remark::from).collect(),
        protocols,
    })
}

/// Findings: `thawline.findings/1`.
#[must_use]
pub fn findings(all: &[Finding]) -> String {
    found(all, None)
}

/// Findings of protocol files, with the protocols that could be read.
#[must_use]
pub fn checked(checked: &Checked) -> String {
    let read = |(file, p): &(String, Protocol)| ReadProtocol {
        file: file.clone(),
        id: p.id.to_string(),
        name: p.name.clone(),
        days_to_breeding: p.days_to_breeding(),
        chute_passes: p.chute_passes(),
        timeline: line(p),
    };
    let protocols = checked.protocols.iter().map(read).collect();
    found(&checked.found, Some(protocols))
}

/// Who is ready on the first day of the protocol.
#[derive(Serialize, JsonSchema)]
struct Herds<'a> {
    /// `thawline.herd/1`.
    format: &'static str,
    /// The season's name.
    season: &'a str,
    /// Groups with a herd file.
    groups: &'a [GroupReport<'a>],
    /// Findings of the season and of the herd files.
    findings: Vec<Remark>,
}

/// Readiness of herds: `thawline.herd/1`.
#[must_use]
pub fn herds(season: &str, groups: &[GroupReport<'_>], found: &[Finding]) -> String {
    text(&Herds {
        format: crate::trade::herd::FORMAT,
        season,
        groups,
        findings: found.iter().map(Remark::from).collect(),
    })
}

/// Protocols that suit what was wished.
#[derive(Serialize, JsonSchema)]
struct ProtocolList<'a> {
    /// `thawline.protocols/1`.
    format: &'static str,
    /// The wishes, as options of the command.
    wishes: Vec<String>,
    /// Those that suit; all without a wish.
    protocols: Vec<ProtocolView<'a>>,
    /// Where none suits: how many would without one wish.
    without: Vec<WithoutView>,
}

/// How many would suit without a wish.
#[derive(Serialize, JsonSchema)]
struct WithoutView {
    /// The wish, as an option of the command.
    wish: String,
    /// Protocols that then suit.
    left: usize,
}

/// A protocol.
#[derive(Serialize, JsonSchema)]
struct ProtocolView<'a> {
    /// Its id.
    id: &'a str,
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
    pregnancy_percent: Vec<PregnantView<'a>>,
    /// Doses on the labels of its drugs.
    label_doses: Vec<DoseView>,
    /// Its steps in order.
    steps: Vec<StepView<'a>>,
    /// Its sources.
    sources: Vec<SourceView<'a>>,
}

/// A published pregnancy rate, percent.
#[derive(Serialize, JsonSchema)]
struct PregnantView<'a> {
    /// Lowest.
    low: f64,
    /// Highest.
    high: f64,
    /// Head in the trial; null if not published.
    head: Option<u32>,
    /// Percent of whom.
    of: &'a str,
    /// Semen used.
    semen: &'static str,
    /// Tag of the source.
    tag: &'a str,
}

/// The label dose of a drug. The label, the veterinarian and local rules come first.
#[derive(Serialize, JsonSchema)]
struct DoseView {
    /// Class of the drug.
    drug: &'static str,
    /// Doses that the protocol gives at once.
    doses_at_once: u32,
    /// The substance.
    substance: &'static str,
    /// Micrograms at once.
    dose_micrograms: u32,
    /// Volume by strength, for what is injected.
    products: Vec<ProductView>,
    /// Pounds of feed a head a day, from and to, for what is fed.
    feed_pounds: Option<[f64; 2]>,
    /// Most days of feeding by the label.
    most_days: Option<u32>,
    /// Tag of the label.
    tag: &'static str,
}

/// Volume at one strength.
#[derive(Serialize, JsonSchema)]
struct ProductView {
    /// Micrograms in each ml.
    strength_micrograms_per_ml: u32,
    /// Ml at once.
    volume_ml: f64,
    /// Route by the label; null if the label read does not say.
    route: Option<&'static str>,
    /// Tag of the label; null if none was read.
    tag: Option<&'static str>,
    /// True without a tag.
    unverified: bool,
}

fn dose_view((drug, times): (Drug, u32)) -> impl Iterator<Item = DoseView> {
    drug.labels().map(move |l| {
        let dose = Micrograms(l.dose.0.saturating_mul(times));
        let (products, fed) = match l.form {
            Form::Injected(products) => (products, None),
            Form::Insert => (&[][..], None),
            Form::Fed { pounds, most_days } => (&[][..], Some((pounds, most_days))),
        };
        DoseView {
            drug: drug.as_str(),
            doses_at_once: times,
            substance: l.substance,
            dose_micrograms: dose.0,
            products: products
                .iter()
                .map(|p| ProductView {
                    strength_micrograms_per_ml: p.strength.in_each_ml().0,
                    volume_ml: p.strength.volume(dose).0,
                    route: p.route,
                    tag: p.source,
                    unverified: p.source.is_none(),
                })
                .collect(),
            feed_pounds: fed.map(|(pounds, _)| [pounds.0, pounds.1]),
            most_days: fed.map(|(_, days)| days),
            tag: l.source,
        }
    })
}

/// A step of a protocol.
#[derive(Serialize, JsonSchema)]
struct StepView<'a> {
    /// Its id.
    id: &'a str,
    /// What is done.
    #[serde(rename = "do")]
    actions: Vec<&'static str>,
    /// `start`, or the step that it is counted from.
    after: &'a str,
    /// Whole days after that, at the same clock time; null if counted in hours.
    days: Option<u32>,
    /// First elapsed hour of the window; null if counted in days.
    earliest_hours: Option<f64>,
    /// Elapsed hours at the aim.
    aim_hours: Option<f64>,
    /// Last elapsed hour of the window.
    latest_hours: Option<f64>,
    /// Days that it lasts.
    lasts_days: Option<u32>,
    /// Percent of the head that is expected to take part.
    share_percent: Option<f64>,
    /// Cautions for those who do it.
    cautions: Vec<&'static str>,
    /// A note.
    note: Option<&'a str>,
}

/// A source.
#[derive(Serialize, JsonSchema)]
struct SourceView<'a> {
    /// Its tag; null if it is none of the list.
    tag: Option<&'a str>,
    /// Its title.
    title: &'a str,
    /// What it supports.
    supports: &'a str,
    /// True if it was not read.
    unverified: bool,
}

fn step_view<'a>(protocol: &'a Protocol, step: &'a Step) -> StepView<'a> {
    let hours = protocol_facts::delay_hours(step);
    StepView {
        id: step.id.as_str(),
        actions: protocol_facts::actions(step),
        after: protocol_facts::anchor(protocol, step),
        days: protocol_facts::delay_days(step),
        earliest_hours: hours.map(|h| h[0]),
        aim_hours: hours.map(|h| h[1]),
        latest_hours: hours.map(|h| h[2]),
        lasts_days: step.lasts_days,
        share_percent: step.share.as_ref().map(|p| p.expected),
        cautions: protocol_facts::cautions(step),
        note: step.note.as_deref(),
    }
}

fn view<'a>(protocol: &'a Protocol, library: &'a Library) -> ProtocolView<'a> {
    ProtocolView {
        id: protocol.id.as_str(),
        name: &protocol.name,
        origin: protocol_facts::origin(protocol, library),
        class: protocol.class.as_str(),
        cattle: protocol.cattle.iter().map(|c| c.as_str()).collect(),
        semen: protocol.semen.iter().map(|s| s.as_str()).collect(),
        research: protocol.research,
        second_service: protocol.second_service,
        kind: protocol.kind.as_str(),
        days_to_breeding: protocol.days_to_breeding(),
        chute_passes: protocol.chute_passes(),
        unverified: protocol.has_unverified(),
        suits: &protocol.suits,
        notes: &protocol.notes,
        disagreements: &protocol.disagreements,
        pregnancy_percent: protocol
            .pregnant
            .iter()
            .map(|p| PregnantView {
                low: p.low,
                high: p.high,
                head: p.head,
                of: &p.of,
                semen: p.semen.as_str(),
                tag: &p.tag,
            })
            .collect(),
        label_doses: Drug::used_by(protocol)
            .into_iter()
            .flat_map(dose_view)
            .collect(),
        steps: protocol
            .steps
            .iter()
            .map(|step| step_view(protocol, step))
            .collect(),
        sources: protocol
            .sources
            .iter()
            .map(|c| SourceView {
                tag: c.tag.as_deref(),
                title: &c.title,
                supports: &c.supports,
                unverified: c.unverified,
            })
            .collect(),
    }
}

/// The protocols that suit what was wished: `thawline.protocols/1`. Where none does, how many
/// would without each of the wishes.
#[must_use]
pub fn protocols(selection: &Selection, library: &Library) -> String {
    text(&ProtocolList {
        format: "thawline.protocols/1",
        wishes: selection.wishes.iter().map(|w| w.option()).collect(),
        protocols: selection
            .protocols
            .iter()
            .map(|p| view(p, library))
            .collect(),
        without: selection
            .without
            .iter()
            .map(|w| WithoutView {
                wish: w.wish.option(),
                left: w.left,
            })
            .collect(),
    })
}

/// One protocol, in the form it has in the list.
#[must_use]
pub fn protocol(protocol: &Protocol, library: &Library) -> String {
    text(&view(protocol, library))
}
