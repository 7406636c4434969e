//! The header of a herd file: which column is which.

use super::Column;
use crate::base::error::{Code, Finding, quoted};
use crate::base::sheet::{Asked, Findings, Form, RowStart, Sheet, column_name};

/// What a herd file is called where it is found fault with.
pub(super) const FORM: Form = Form {
    whole: "herd",
    row: "animal of the group",
    columns: Column::ALL.len(),
    row_code: Code::HerdRow,
    reading_code: Code::HerdReading,
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
        asked: &Asked,
        found: &mut Findings,
    ) -> Option<Self> {
        let mut header = Self {
            columns: record
                .iter()
                .map(|c| {
                    let plain = || Column::read_as(c, asked.kilograms);
                    answered(c, asked).map_or_else(plain, Column::named)
                })
                .collect(),
            blank: record.iter().map(|c| c.trim().is_empty()).collect(),
        };
        // Other words for columns make a header too, each with its own remedy.
        let filled = record.iter().filter(|c| !c.trim().is_empty()).count();
        let meant = |c: &str| Column::read_as(c, false).or_else(|| Column::meant_by(c));
        let meant = record.iter().filter_map(meant).count();
        let none = record.iter().all(|c| Column::named(c).is_none());
        // Numbers stand in rows, not in headings.
        let number = |c: &str| !c.trim().is_empty() && c.trim().bytes().all(|b| b.is_ascii_digit());
        let likely = record.iter().any(number) || header.columns.iter().all(Option::is_none);
        if none && likely && 2 * meant <= filled {
            let cell = record.iter().find(|c| !c.trim().is_empty());
            found.add(no_header(cell.unwrap_or_default()), || {
                sheet.place(sheet.spot(row, 0), "")
            });
            return None;
        }
        header.choose_id();
        let mut told = Vec::new();
        for (n, cell) in record.iter().enumerate() {
            let cell = cell.trim();
            let fault = match header.columns[n] {
                None if cell.is_empty() || answered(cell, asked).is_some() => None,
                None => Some(unknown(cell)),
                Some(column) => {
                    if column_name(cell) != column.as_str() {
                        told.push(format!("{} as {}", quoted(cell), column.as_str()));
                    }
                    twice(column, &header.columns[..n])
                }
            };
            if let Some(fault) = fault {
                found.add(fault, || {
                    sheet.place(sheet.spot(row, n), cell.get(..40).unwrap_or(cell))
                });
            }
        }
        let top = || sheet.place(sheet.spot(row, 0), "");
        if !told.is_empty() {
            let what = format!("columns are read by other names: {}", told.join(", "));
            let note = Finding::note(Code::HerdReading, what).hint(ANSWER);
            found.add(note, top);
        }
        for finding in wrong_answers(record, asked) {
            found.add(finding, top);
        }
        if !header.columns.contains(&Some(Column::Animal)) {
            let finding = Finding::error(Code::HerdHeader, "there is no column `animal`")
                .expected("a column with each animal's id: `animal`, `tag` or `electronic_id`")
                .hint("name the column of tags or electronic ids `animal`");
            found.add(finding, top);
        }
        Some(header)
    }

    /// Where no column is the animal's, the electronic id is, else the tag.
    fn choose_id(&mut self) {
        if self.position(Column::Animal).is_some() {
            return;
        }
        let n = self.position(Column::ElectronicId);
        if let Some(n) = n.or_else(|| self.position(Column::Tag)) {
            self.columns[n] = Some(Column::Animal);
        }
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

/// What to do where a column is read as another than it is.
const ANSWER: &str = "if one is wrong, give the group `columns`, such as \
                      `columns: {Last Calved: last_calving_date}`; `none` leaves a column out";

/// What the user says of a heading: the name of a column, or another word for none.
fn answered<'a>(cell: &str, asked: &'a Asked) -> Option<&'a str> {
    let same = |heading: &str| column_name(heading) == column_name(cell);
    let mut words = asked.columns.iter();
    let (_, name) = words.find(|(heading, _)| same(heading))?;
    Some(name)
}

/// Answers to headings that are not there, or by columns that there are not.
fn wrong_answers(record: &csv::StringRecord, asked: &Asked) -> Vec<Finding> {
    let mut found = Vec::new();
    for (heading, name) in &asked.columns {
        let here = record
            .iter()
            .any(|c| column_name(c) == column_name(heading));
        let finding = if !here {
            let what = format!(
                "`columns` names {}, which is no heading here",
                quoted(heading)
            );
            Finding::warning(Code::HerdColumn, what)
        } else if column_name(name) != "none" && Column::named(name).is_none() {
            let what = format!("`columns` names {}, which is no column", quoted(name));
            Finding::error(Code::HerdColumn, what)
        } else {
            continue;
        };
        let finding = finding
            .expected(format!(
                "a heading of the table, and one of {}, or none",
                names()
            ))
            .hint("correct `columns`");
        found.push(finding);
    }
    found
}

/// A column that may be meant is asked about; one that has nothing to do with breeding is left out.
fn unknown(cell: &str) -> Finding {
    let expected = format!("one of {}", names());
    let Some(meant) = Column::meant_by(cell) else {
        let what = format!("the column {} is not read", quoted(cell));
        return Finding::warning(Code::HerdColumn, what)
            .expected(expected)
            .hint("nothing is to do if it is not needed; else name its column under `columns`");
    };
    let what = format!("a herd file has no column {}", quoted(cell));
    let meant = meant.as_str();
    Finding::error(Code::HerdColumn, what)
        .expected(expected)
        .hint(format!(
            "did you mean `{meant}`? Then rename it, or say so under `columns`, where `none` leaves it out"
        ))
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
