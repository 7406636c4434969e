//! JSON forms: plans, findings and protocols. Versioned, stable names, units in the key.

use std::fmt::Write as _;

use serde::Serialize;

use crate::base::error::{Finding, Severity, is_hidden};
use crate::planning::plan::{Plan, Remark};
use crate::trade::herd::summary::GroupReport;
use crate::trade::protocol::dose::{Drug, Form, Micrograms};
use crate::trade::protocol::select::Selection;
use crate::trade::protocol::{Anchor, Delay, Library, Origin, Protocol};

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

/// A plan: `thawline.plan/1`.
#[must_use]
pub fn plan(plan: &Plan) -> String {
    text(plan)
}

#[derive(Serialize)]
struct Findings {
    format: &'static str,
    errors: usize,
    warnings: usize,
    notes: usize,
    #[serde(rename = "findings")]
    all: Vec<Remark>,
}

/// Findings: `thawline.findings/1`.
#[must_use]
pub fn findings(found: &[Finding]) -> String {
    let count = |s: Severity| found.iter().filter(|f| f.severity == s).count();
    text(&Findings {
        format: "thawline.findings/1",
        errors: count(Severity::Error),
        warnings: count(Severity::Warning),
        notes: count(Severity::Note),
        all: found.iter().map(Remark::from).collect(),
    })
}

#[derive(Serialize)]
struct Herds<'a> {
    format: &'static str,
    season: &'a str,
    groups: &'a [GroupReport<'a>],
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

#[derive(Serialize)]
struct ProtocolList<'a> {
    format: &'static str,
    wishes: Vec<String>,
    protocols: Vec<ProtocolView<'a>>,
    without: Vec<WithoutView>,
}

#[derive(Serialize)]
struct WithoutView {
    wish: String,
    left: usize,
}

#[derive(Serialize)]
struct ProtocolView<'a> {
    id: &'a str,
    name: &'a str,
    origin: &'a str,
    class: &'static str,
    cattle: Vec<&'static str>,
    semen: Vec<&'static str>,
    research: bool,
    second_service: bool,
    kind: &'static str,
    days_to_breeding: i64,
    chute_passes: usize,
    unverified: bool,
    suits: &'a str,
    notes: &'a [String],
    disagreements: &'a [String],
    pregnancy_percent: Vec<PregnantView<'a>>,
    label_doses: Vec<DoseView>,
    steps: Vec<StepView<'a>>,
    sources: Vec<SourceView<'a>>,
}

#[derive(Serialize)]
struct PregnantView<'a> {
    low: f64,
    high: f64,
    head: Option<u32>,
    of: &'a str,
    semen: &'static str,
    tag: &'a str,
}

#[derive(Serialize)]
struct DoseView {
    drug: &'static str,
    doses_at_once: u32,
    substance: &'static str,
    dose_micrograms: u32,
    products: Vec<ProductView>,
    feed_pounds: Option<[f64; 2]>,
    most_days: Option<u32>,
    tag: &'static str,
}

#[derive(Serialize)]
struct ProductView {
    strength_micrograms_per_ml: u32,
    volume_ml: f64,
    route: Option<&'static str>,
    tag: Option<&'static str>,
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

#[derive(Serialize)]
struct StepView<'a> {
    id: &'a str,
    #[serde(rename = "do")]
    actions: Vec<&'static str>,
    after: &'a str,
    days: Option<u32>,
    earliest_hours: Option<f64>,
    aim_hours: Option<f64>,
    latest_hours: Option<f64>,
    lasts_days: Option<u32>,
    share_percent: Option<f64>,
    cautions: Vec<&'static str>,
    note: Option<&'a str>,
}

#[derive(Serialize)]
struct SourceView<'a> {
    tag: Option<&'a str>,
    title: &'a str,
    supports: &'a str,
    unverified: bool,
}

fn view<'a>(protocol: &'a Protocol, library: &'a Library) -> ProtocolView<'a> {
    let hours = |d: chrono::TimeDelta| d.num_seconds() as f64 / 3600.0;
    ProtocolView {
        id: protocol.id.as_str(),
        name: &protocol.name,
        origin: match library.origin(protocol.id.as_str()) {
            Some(Origin::File(file)) => file,
            _ => "built-in",
        },
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
            .map(|s| {
                let (days, window) = match s.delay {
                    Delay::Days(d) => (Some(d), None),
                    Delay::Elapsed(w) => (None, Some(w)),
                };
                let mut cautions: Vec<&'static str> = Vec::new();
                for c in s.actions.iter().flat_map(|a| a.cautions()) {
                    if !cautions.contains(&c.as_str()) {
                        cautions.push(c.as_str());
                    }
                }
                StepView {
                    id: s.id.as_str(),
                    actions: s.actions.iter().map(|a| a.as_str()).collect(),
                    after: match s.anchor {
                        Anchor::Start => "start",
                        Anchor::Step(a) => protocol.steps[a].id.as_str(),
                    },
                    days,
                    earliest_hours: window.map(|w| hours(w.earliest)),
                    aim_hours: window.map(|w| hours(w.aim)),
                    latest_hours: window.map(|w| hours(w.latest)),
                    lasts_days: s.lasts_days,
                    share_percent: s.share.as_ref().map(|p| p.expected),
                    cautions,
                    note: s.note.as_deref(),
                }
            })
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
