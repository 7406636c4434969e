//! Findings as a table for spreadsheets.

use super::answer::{Answer, Kind};
use super::document::{Block, Document, ListKind};
use super::table::Table;
use super::{json, own_protocols, remark_item};
use crate::base::error::Finding;
use crate::planning::plan::Remark;
use crate::trade::protocol::advice::Checked;

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

    fn tables(&self) -> Vec<Kind<Self>> {
        vec![Kind::new("findings", |printed| csv(printed.found))]
    }
}

impl Answer for Checked {
    fn document(&self) -> Document {
        own_protocols::document(self)
    }

    fn json(&self) -> String {
        json::checked(self)
    }

    fn tables(&self) -> Vec<Kind<Self>> {
        vec![Kind::new("findings", |checked| csv(&checked.found))]
    }
}

/// A row for each finding.
#[must_use]
pub fn csv(found: &[Finding]) -> String {
    let mut t = Table::of(found);
    t.column("severity", |f| f.severity.as_str());
    t.column("code", |f| f.code.as_str());
    t.column("file", |f| f.place.as_ref().map(|p| &p.file));
    t.column("line", |f| f.place.as_ref().map(|p| p.line));
    t.column("column", |f| f.place.as_ref().map(|p| p.column));
    t.column("field", |f| f.place.as_ref().map(|p| &p.field));
    t.column("what", |f| &f.what);
    t.column("expected", |f| &f.expected);
    t.column("hint", |f| &f.hint);
    t.csv()
}
