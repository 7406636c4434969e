//! Findings as a table for spreadsheets.

use serde::Serialize;

use super::table;
use crate::base::error::Finding;

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

/// A row for each finding. Cells that a spreadsheet would run as formulas begin with an apostrophe.
#[must_use]
pub fn csv(found: &[Finding]) -> String {
    let rows: Vec<Row<'_>> = found
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
        .collect();
    table::of(&rows)
}
