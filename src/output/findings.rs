//! What a check found, in words, as JSON and as a table for spreadsheets.

use schemars::JsonSchema;
use serde::Serialize;

use super::answer::{Answer, Tables};
use super::document::{Block, Document, ListKind};
use super::remark_item;
use super::table::{Table, fields, kinds};
use super::timeline::{key, line, table};
use crate::base::error::{Finding, Remark, Severity, visible};
use crate::base::units::Id;
use crate::trade::protocol::Protocol;
use crate::trade::protocol::advice::Checked;

/// What a check found.
#[derive(Serialize, JsonSchema)]
pub struct Findings<'a> {
    /// `thawline.findings/1`.
    format: &'static str,
    /// Errors: the input cannot be used.
    errors: usize,
    /// Warnings.
    warnings: usize,
    /// Notes.
    notes: usize,
    /// Each finding, in the order of the file.
    findings: &'a [Finding],
    /// Protocols that could be read, where protocol files were checked.
    #[serde(skip_serializing_if = "Option::is_none")]
    protocols: Option<Vec<ReadProtocol<'a>>>,
    #[serde(skip)]
    summary: &'a str,
    #[serde(skip)]
    checked: Option<&'a Checked>,
}

/// A protocol file that could be read.
#[derive(Serialize, JsonSchema)]
struct ReadProtocol<'a> {
    /// The file.
    file: &'a str,
    /// The protocol's id.
    id: &'a Id,
    /// Its name.
    name: &'a str,
    /// Days from the start to the first breeding.
    days_to_breeding: i64,
    /// Times through the chute.
    chute_passes: usize,
    /// Its steps in a line.
    timeline: String,
}

impl<'a> Findings<'a> {
    /// Findings, and a sentence on what they come to.
    #[must_use]
    pub fn of(findings: &'a [Finding], summary: &'a str) -> Self {
        let count = |s: Severity| findings.iter().filter(|f| f.severity == s).count();
        Self {
            format: "thawline.findings/1",
            errors: count(Severity::Error),
            warnings: count(Severity::Warning),
            notes: count(Severity::Note),
            findings,
            protocols: None,
            summary,
            checked: None,
        }
    }

    /// Findings of protocol files, with the protocols that could be read.
    #[must_use]
    pub fn checked(checked: &'a Checked) -> Self {
        let read = |(file, p): &'a (String, Protocol)| ReadProtocol {
            file,
            id: &p.id,
            name: &p.name,
            days_to_breeding: p.days_to_breeding(),
            chute_passes: p.chute_passes(),
            timeline: line(p),
        };
        Self {
            protocols: Some(checked.protocols.iter().map(read).collect()),
            checked: Some(checked),
            ..Self::of(&checked.found, "")
        }
    }
}

impl Answer for Findings<'_> {
    fn document(&self) -> Document {
        if let Some(checked) = self.checked {
            return of_protocols(checked);
        }
        let items = self.findings.iter().map(|f| remark_item(&Remark::from(f)));
        Document {
            title: "Findings".to_owned(),
            blocks: vec![
                Block::List(ListKind::Plain, items.collect()),
                Block::paragraph(self.summary),
            ],
        }
    }

    fn tables(&self) -> Tables<Self> {
        kinds![csv as "findings"]
    }
}

/// Each protocol file with its protocol and timeline, then findings.
fn of_protocols(checked: &Checked) -> Document {
    let title = "Protocol files";
    let entries = checked.protocols.iter().map(|(file, p)| {
        let words = format!("{}: can be used. {} ({})", visible(file), p.name, p.id);
        (words, p)
    });
    let mut blocks = vec![Block::heading(1, title), table(title, entries)];
    blocks.extend(super::findings(&checked.found));
    blocks.push(key(checked.protocols.iter().map(|(_, p)| p)));
    Document::new(title, blocks)
}

/// A row for each finding.
#[must_use]
pub fn csv(found: &Findings<'_>) -> String {
    let mut t = Table::of(found.findings);
    fields!(t, |f| f => severity, code);
    fields!(t, |f| some f.place.as_ref()? => file, line, column, field);
    fields!(t, |f| f => what, expected, hint);
    t.csv()
}
