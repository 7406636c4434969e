//! What several commands say.

use thawline::error::{Finding, unknown_id};
use thawline::output;
use thawline::plan::{Plan, Remark};

pub(super) fn plural(n: usize) -> &'static str {
    if n == 1 { "" } else { "s" }
}

pub(super) fn lines(found: &[Finding]) -> String {
    let lines = found
        .iter()
        .map(|f| output::remark(&Remark::from(f)) + "\n");
    lines.collect()
}

/// What is said beside a list that is made of a plan: what was found in the season, or, of a plan that
/// falls short, its answer and its warnings.
pub(super) fn beside(plan: &Plan, found: &[Finding]) -> String {
    if plan.is_well() {
        return lines(found);
    }
    let warns = |f: &&Remark| f.severity != thawline::error::Severity::Note;
    let warnings = plan.findings.iter().filter(warns);
    let warnings: String = warnings.map(|f| output::remark(f) + "\n").collect();
    verdict(plan) + &warnings
}

/// What is said of work that was stopped by hand.
pub(super) fn stopped(not_tried: &str) -> String {
    let said = format!("The search was stopped by hand. Not tried, or not all of it: {not_tried}.");
    paragraph(&said)
}

/// A sentence or two, wrapped.
pub(super) fn paragraph(said: &str) -> String {
    output::wrapped(said, "", "  ") + "\n"
}

/// The answer of a plan.
pub(super) fn verdict(plan: &Plan) -> String {
    let words = plan.verdict.words.iter();
    words.map(|w| paragraph(w)).collect()
}

/// Refuses an id that is not among those known.
pub(super) fn known<'a>(
    kind: &str,
    id: &str,
    mut all: impl Iterator<Item = &'a str> + Clone,
    see: &str,
) -> Result<(), Finding> {
    let none = format!("a {kind}; this plan has none");
    let unknown = unknown_id(kind, id, all.clone(), &none, see);
    all.any(|k| k == id).then_some(()).ok_or(unknown)
}
