//! JSON forms: plans, findings and protocols. Versioned, stable names, units in the key.

use serde::Serialize;

use crate::error::{Finding, Severity};
use crate::plan::{Plan, Remark};
use crate::protocol::select::Selection;
use crate::protocol::{Anchor, Delay, Library, Origin, Protocol};

/// A value as JSON text with a closing line break.
pub(super) fn text(value: &impl Serialize) -> String {
    let mut text = serde_json::to_string_pretty(value).unwrap_or_default();
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
    kind: &'static str,
    days_to_breeding: i64,
    chute_passes: usize,
    unverified: bool,
    suits: &'a str,
    notes: &'a [String],
    disagreements: &'a [String],
    pregnancy_percent: Vec<PregnantView<'a>>,
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
