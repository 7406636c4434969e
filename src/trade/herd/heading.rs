//! The header of a herd file: which column is which.

use super::Column;
use crate::base::error::{Code, Finding, quoted};
use crate::base::sheet::{Findings, Form, RowStart, Sheet};

/// What a herd file is called where it is found fault with.
pub(super) const FORM: Form = Form {
    whole: "herd",
    row: "animal of the group",
    columns: Column::ALL.len(),
    row_code: Code::HerdRow,
};

/// Which column each cell of a row belongs to.
pub(super) struct Header {
    pub(super) columns: Vec<Option<Column>>,
    /// Cells without a name, as spreadsheets leave them behind.
    blank: Vec<bool>,
}

impl Header {
    /// Reads the header; `None` if it is none, which is among the findings then.
    pub(super) fn read(
        sheet: &Sheet<'_>,
        record: &csv::StringRecord,
        row: RowStart,
        found: &mut Findings,
    ) -> Option<Self> {
        let columns: Vec<Option<Column>> = record.iter().map(Column::named).collect();
        // Other words for columns make a header too, each with its own remedy.
        let filled = record.iter().filter(|c| !c.trim().is_empty()).count();
        let meant = record.iter().filter_map(Column::meant_by).count();
        if columns.iter().all(Option::is_none) && 2 * meant <= filled {
            let cell = record.iter().find(|c| !c.trim().is_empty());
            found.add(no_header(cell.unwrap_or_default()), || {
                sheet.place(sheet.spot(row, 0), "")
            });
            return None;
        }
        for (n, cell) in record.iter().enumerate() {
            let fault = match columns[n] {
                None if cell.trim().is_empty() => None,
                None => Some(unknown(cell)),
                Some(column) => twice(column, &columns[..n]),
            };
            if let Some(fault) = fault {
                found.add(fault, || {
                    sheet.place(
                        sheet.spot(row, n),
                        cell.trim().get(..40).unwrap_or(cell.trim()),
                    )
                });
            }
        }
        if !columns.contains(&Some(Column::Animal)) {
            let finding = Finding::error(Code::HerdHeader, "there is no column `animal`")
                .expected("the column `animal` with each animal's id")
                .hint("name the column of tags or electronic ids `animal`");
            found.add(finding, || sheet.place(sheet.spot(row, 0), ""));
        }
        Some(Self {
            columns,
            blank: record.iter().map(|c| c.trim().is_empty()).collect(),
        })
    }

    /// True if the header's cell is blank.
    pub(super) fn blank(&self, cell: usize) -> bool {
        self.blank.get(cell).copied().unwrap_or(true)
    }

    /// The place of a column among the cells.
    pub(super) fn position(&self, column: Column) -> Option<usize> {
        self.columns.iter().position(|c| *c == Some(column))
    }
}

pub(super) fn no_header(cell: &str) -> Finding {
    let what = if cell.is_empty() {
        "the file is empty".to_owned()
    } else {
        format!(
            "the first line names no column of a herd; it begins with {}",
            quoted(cell.trim())
        )
    };
    Finding::error(Code::HerdHeader, what)
        .expected(format!(
            "a first line with names of columns, such as {}",
            names()
        ))
        .hint(match Column::meant_by(cell) {
            Some(meant) => format!("did you mean `{}`?", meant.as_str()),
            None => "put such a line first; only `animal` must be there".to_owned(),
        })
}

fn names() -> String {
    let all: Vec<&str> = Column::ALL.iter().map(|c| c.as_str()).collect();
    all.join(", ")
}

fn unknown(cell: &str) -> Finding {
    let what = format!("a herd file has no column {}", quoted(cell.trim()));
    Finding::error(Code::HerdColumn, what)
        .expected(format!("one of {}", names()))
        .hint(match Column::meant_by(cell) {
            Some(meant) => format!("did you mean `{}`?", meant.as_str()),
            None => "take the column out, or put its text into `notes`".to_owned(),
        })
}

fn twice(column: Column, before: &[Option<Column>]) -> Option<Finding> {
    let other = match column {
        Column::WeightLb => Column::WeightKg,
        Column::WeightKg => Column::WeightLb,
        Column::MatureWeightLb => Column::MatureWeightKg,
        Column::MatureWeightKg => Column::MatureWeightLb,
        other => other,
    };
    let first = before.iter();
    let first = first.flatten().find(|c| **c == column || **c == other)?;
    let what = if *first == column {
        format!("the column `{}` is there twice", column.as_str())
    } else {
        let (first, column) = (first.as_str(), column.as_str());
        format!("both `{first}` and `{column}` are given")
    };
    let finding = Finding::error(Code::HerdColumnTwice, what)
        .expected("each column once, and each weight in one unit")
        .hint("take one of the two out");
    Some(finding)
}
