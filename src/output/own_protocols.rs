//! What a user's own protocol files hold, where nothing in them is wrong.

use std::fmt::Write as _;

use serde::Serialize;

use super::timeline::{INDENT, facts, key, line};
use super::{json, remark, wrapped};
use crate::base::error::{Severity, visible};
use crate::planning::plan::Remark;
use crate::trade::protocol::advice::Checked;

/// Findings, then each file with its protocol and timeline.
#[must_use]
pub fn checked(checked: &Checked) -> String {
    let mut text: String = checked
        .found
        .iter()
        .map(|f| remark(&Remark::from(f)) + "\n")
        .collect();
    if !text.is_empty() {
        text.push('\n');
    }
    for (file, protocol) in &checked.protocols {
        let name = format!(
            "{}: well. {} ({})",
            visible(file),
            protocol.name,
            protocol.id
        );
        let _ = writeln!(text, "{}", wrapped(&name, "", "  "));
        let facts = format!("  {}", facts(protocol));
        let _ = writeln!(text, "{facts:<INDENT$}{}", line(protocol));
    }
    text.push('\n');
    text.push_str(&key(checked.protocols.iter().map(|(_, p)| p)));
    text
}

#[derive(Serialize)]
struct View {
    format: &'static str,
    errors: usize,
    warnings: usize,
    notes: usize,
    findings: Vec<Remark>,
    protocols: Vec<FileView>,
}

#[derive(Serialize)]
struct FileView {
    file: String,
    id: String,
    name: String,
    days_to_breeding: i64,
    chute_passes: usize,
    timeline: String,
}

/// The same as JSON: `thawline.findings/1`, with the protocols beside the findings.
#[must_use]
pub fn checked_json(checked: &Checked) -> String {
    let count = |s: Severity| checked.found.iter().filter(|f| f.severity == s).count();
    json::text(&View {
        format: "thawline.findings/1",
        errors: count(Severity::Error),
        warnings: count(Severity::Warning),
        notes: count(Severity::Note),
        findings: checked.found.iter().map(Remark::from).collect(),
        protocols: checked
            .protocols
            .iter()
            .map(|(file, p)| FileView {
                file: file.clone(),
                id: p.id.to_string(),
                name: p.name.clone(),
                days_to_breeding: p.days_to_breeding(),
                chute_passes: p.chute_passes(),
                timeline: line(p),
            })
            .collect(),
    })
}
