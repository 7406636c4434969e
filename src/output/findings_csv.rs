//! Findings as a table for spreadsheets.

use serde::Serialize;

use super::answer::{Answer, Kind};
use super::document::{Block, Document, ListKind};
use super::{json, own_protocols, remark_item};
use crate::base::error::Finding;
use crate::planning::plan::Remark;
use crate::trade::protocol::advice::Checked;

#[derive(Default, Serialize)]
struct Row<'a> {
    severity: &'static str,
    code: &'static str,
    file: &'a str,
    line: Option<u32>,
    column: Option<u32>,
    field: &'a str,
    what: &'a str,
    expected: &'a str,
    hint: &'a str,
}

const FINDINGS: Kind = Kind::whole("findings");

/// Findings as they are printed.
pub struct Printed<'a> {
    /// The findings.
    pub found: &'a [Finding],
    /// What they come to.
    pub summary: &'a str,
}

impl Answer for Printed<'_> {
    fn document(&self) -> Document {
        let items = self.found.iter().map(|f| remark_item(&Remark::from(f)));
        Document {
            title: "Findings".to_owned(),
            blocks: vec![
                Block::List(ListKind::Plain, items.collect()),
                Block::paragraph(self.summary),
            ],
        }
    }

    fn json(&self) -> String {
        json::findings(self.found)
    }

    fn tables(&self) -> &'static [Kind] {
        &[FINDINGS]
    }

    fn table(&self, kind: &Kind) -> String {
        kind.of(&rows(self.found))
    }
}

impl Answer for Checked {
    fn document(&self) -> Document {
        own_protocols::document(self)
    }

    fn json(&self) -> String {
        json::checked(self)
    }

    fn tables(&self) -> &'static [Kind] {
        &[FINDINGS]
    }

    fn table(&self, kind: &Kind) -> String {
        kind.of(&rows(&self.found))
    }
}

/// A row for each finding.
#[must_use]
pub fn csv(found: &[Finding]) -> String {
    FINDINGS.of(&rows(found))
}

fn rows(found: &[Finding]) -> Vec<Row<'_>> {
    found
        .iter()
        .map(|f| {
            let place = f.place.as_ref();
            Row {
                severity: f.severity.as_str(),
                code: f.code.as_str(),
                file: place.map_or("", |p| p.file.as_str()),
                line: place.map(|p| p.line),
                column: place.map(|p| p.column),
                field: place.map_or("", |p| p.field.as_str()),
                what: &f.what,
                expected: f.expected.as_deref().unwrap_or(""),
                hint: f.hint.as_deref().unwrap_or(""),
            }
        })
        .collect()
}
