//! From bytes to a sheet of cells: text, separator, header, and where each cell stands.

use super::findings::Findings;
use super::{Column, MOST_BYTES, Spot};
use crate::error::{Code, Finding, Place, quoted};

/// A file's text with its separator.
pub(super) struct Sheet<'a> {
    pub(super) file: &'a str,
    pub(super) text: &'a str,
    pub(super) separator: u8,
}

/// Cells of a row at the most: spreadsheets leave blank columns behind, but not so many.
const MOST_CELLS: usize = 1000;

/// Where in a row a byte leaves off. Quotes count at the start of a cell only; within, two of them
/// stand for one (RFC 4180).
#[derive(Clone, Copy, PartialEq, Eq)]
enum In {
    Start,
    Plain,
    Quoted,
    QuoteSeen,
    Ended,
}

impl In {
    fn after(self, b: u8, separator: u8) -> Self {
        match (self, b) {
            (Self::Quoted, b'"') => Self::QuoteSeen,
            (Self::Quoted, _) | (Self::Start | Self::QuoteSeen, b'"') => Self::Quoted,
            (_, b'\r' | b'\n') => Self::Ended,
            (_, b) if b == separator => Self::Start,
            _ => Self::Plain,
        }
    }
}

/// Where a row begins.
#[derive(Clone, Copy, Default)]
pub(super) struct RowStart {
    byte: usize,
    line: u32,
}

impl<'a> Sheet<'a> {
    /// # Errors
    /// The file is too large, or not UTF-8 text.
    pub(super) fn new(file: &'a str, bytes: &'a [u8]) -> Result<Self, Finding> {
        let place = |line, column| Place {
            file: file.to_owned(),
            line,
            column,
            field: String::new(),
        };
        if bytes.len() as u64 > MOST_BYTES {
            return Err(Finding::error(
                Code::FileTooLarge,
                "the file is larger than any herd needs",
            )
            .at(place(1, 1))
            .expected(format!("at most {MOST_BYTES} bytes"))
            .hint("is this the right file? Keep one row for each animal of the group"));
        }
        let bytes = bytes.strip_prefix(b"\xef\xbb\xbf").unwrap_or(bytes);
        let text = std::str::from_utf8(bytes).map_err(|e| {
            let good = String::from_utf8_lossy(&bytes[..e.valid_up_to()]);
            let line = good.matches('\n').count() as u32 + 1;
            let column = good.rsplit('\n').next().unwrap_or("").chars().count() as u32 + 1;
            Finding::error(Code::FileNotText, "the file is not UTF-8 text")
                .at(place(line, column))
                .expected("a text file with comma-separated values (CSV)")
                .hint("in the spreadsheet, save as `CSV UTF-8`; a workbook itself will not do")
        })?;
        let sheet = Self {
            file,
            text,
            separator: separator(text),
        };
        sheet.narrow()?;
        Ok(sheet)
    }

    /// The reader takes a row as a whole, however many cells it has: a file of nothing but
    /// separators would fill the memory.
    fn narrow(&self) -> Result<(), Finding> {
        let (mut state, mut cells, mut start) = (In::Start, 1, 0);
        for (at, b) in self.text.bytes().enumerate() {
            if state == In::Ended {
                (state, cells, start) = (In::Start, 1, at);
            }
            state = state.after(b, self.separator);
            cells += usize::from(state == In::Start);
            if cells > MOST_CELLS {
                let line = 1 + line_breaks(&self.text.as_bytes()[..start]);
                return Err(Finding::error(
                    Code::HerdRow,
                    format!("this row has more than {MOST_CELLS} cells"),
                )
                .at(self.place(Spot { line, column: 1 }, ""))
                .expected(format!("at most {} columns", Column::ALL.len()))
                .hint("is this the right file? Keep one row for each animal of the group"));
            }
        }
        Ok(())
    }

    pub(super) fn reader(&self) -> csv::Reader<&'a [u8]> {
        csv::ReaderBuilder::new()
            .has_headers(false)
            .flexible(true)
            .delimiter(self.separator)
            .from_reader(self.text.as_bytes())
    }

    /// Where a record begins, given where one before it does.
    pub(super) fn row_start(&self, record: &csv::StringRecord, before: RowStart) -> RowStart {
        let bytes = self.text.as_bytes();
        let mut byte = record
            .position()
            .map_or(before.byte, |p| p.byte() as usize)
            .clamp(before.byte, bytes.len());
        // The reader puts a record where the one before it ended: blank lines come between.
        while matches!(bytes.get(byte), Some(b'\r' | b'\n')) {
            byte += 1;
        }
        RowStart {
            byte,
            line: before.line.max(1) + line_breaks(&bytes[before.byte..byte]),
        }
    }

    /// Line and column of a row's cell.
    pub(super) fn spot(&self, row: RowStart, cell: usize) -> Spot {
        let bytes = self.text.as_bytes();
        let (mut at, mut n) = (row.byte, 0);
        let mut state = In::Start;
        while n < cell && at < bytes.len() && state != In::Ended {
            state = state.after(bytes[at], self.separator);
            n += usize::from(state == In::Start);
            at += 1;
        }
        let row_text = &self.text[row.byte..at];
        let line_text = row_text.rsplit(['\n', '\r']).next().unwrap_or_default();
        Spot {
            line: row.line + line_breaks(row_text.as_bytes()),
            column: line_text.chars().count() as u32 + 1,
        }
    }

    pub(super) fn place(&self, spot: Spot, field: &str) -> Place {
        Place {
            file: self.file.to_owned(),
            line: spot.line,
            column: spot.column,
            field: field.to_owned(),
        }
    }
}

/// Line ends in any of three forms.
fn line_breaks(bytes: &[u8]) -> u32 {
    let mut count = 0;
    for (n, b) in bytes.iter().enumerate() {
        count += u32::from(*b == b'\n' || (*b == b'\r' && bytes.get(n + 1) != Some(&b'\n')));
    }
    count
}

/// The separator is the one of the header. The names of columns hold none of the three, so this is
/// safe; spreadsheets of many countries write semicolons.
fn separator(text: &str) -> u8 {
    let first = text
        .lines()
        .find(|l| !l.trim().is_empty())
        .unwrap_or_default();
    let count = |c: u8| first.bytes().filter(|b| *b == c).count();
    [b';', b'\t'].into_iter().fold(
        b',',
        |best, c| if count(c) > count(best) { c } else { best },
    )
}

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
            found.add(
                Finding::error(Code::HerdHeader, "there is no column `animal`")
                    .expected("the column `animal` with each animal's id")
                    .hint("name the column of tags or electronic ids `animal`"),
                || sheet.place(sheet.spot(row, 0), ""),
            );
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
    Column::ALL.map(Column::as_str).join(", ")
}

fn unknown(cell: &str) -> Finding {
    Finding::error(
        Code::HerdColumn,
        format!("a herd file has no column {}", quoted(cell.trim())),
    )
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
    let first = before
        .iter()
        .flatten()
        .find(|c| **c == column || **c == other)?;
    let what = if *first == column {
        format!("the column `{}` stands twice", column.as_str())
    } else {
        format!(
            "both `{}` and `{}` are given",
            first.as_str(),
            column.as_str()
        )
    };
    Some(
        Finding::error(Code::HerdColumnTwice, what)
            .expected("each column once, and each weight in one unit")
            .hint("take one of the two out"),
    )
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn separators_are_read_off_the_header() {
        assert_eq!(separator("animal,notes\na;b;c,d"), b',');
        assert_eq!(separator("\r\nanimal;notes\n"), b';');
        assert_eq!(separator("animal\tnotes\n"), b'\t');
        assert_eq!(separator(""), b',');
    }

    #[test]
    fn line_ends_of_three_kinds_are_counted_once() {
        assert_eq!(line_breaks(b"a\r\nb\nc\rd"), 3);
        assert_eq!(line_breaks(b"\n\r\n\r"), 3);
    }

    #[test]
    fn rows_of_very_many_cells_are_not_read() {
        let row = |n: usize| format!("animal\r\n{}\r\n", ",".repeat(n));
        assert!(Sheet::new("f", row(MOST_CELLS - 1).as_bytes()).is_ok());
        let text = row(MOST_CELLS);
        let fault = Sheet::new("f", text.as_bytes()).err().unwrap();
        assert_eq!(fault.place.unwrap().line, 2);
        // Line breaks within quotes do not end a row.
        let text = format!("animal\n{}", ",,,\"\n\"".repeat(MOST_CELLS));
        assert!(Sheet::new("f", text.as_bytes()).is_err());
        let text = "animal,notes\n".to_owned() + &"1,5\" tall\n".repeat(MOST_CELLS);
        assert!(Sheet::new("f", text.as_bytes()).is_ok());
    }

    #[test]
    fn quotes_within_a_cell_hide_no_separator() {
        let text = "animal,notes,dam\nx,5\"\" \"tall,\u{e9}";
        let sheet = Sheet::new("f", text.as_bytes()).unwrap();
        let row = RowStart { byte: 17, line: 2 };
        let column = |n| sheet.spot(row, n).column;
        assert_eq!([column(0), column(1), column(2)], [1, 3, 13]);
    }

    #[test]
    fn cells_are_found_behind_quotes_and_line_breaks() {
        for end in ["\n", "\r\n", "\r"] {
            let text =
                format!("animal,notes,dam{end}{end}x,\"a, \"\"b\"\",{end}c\",é{end}y,,{end}");
            let sheet = Sheet::new("f", text.as_bytes()).unwrap();
            let mut reader = sheet.reader();
            let mut record = csv::StringRecord::new();
            let mut row = RowStart::default();
            let mut spots = Vec::new();
            while reader.read_record(&mut record).unwrap() {
                row = sheet.row_start(&record, row);
                for n in 0..record.len() {
                    let spot = sheet.spot(row, n);
                    spots.push((spot.line, spot.column));
                }
            }
            let expected = [
                (1, 1),
                (1, 8),
                (1, 14),
                (3, 1),
                (3, 3),
                (4, 4),
                (5, 1),
                (5, 3),
                (5, 4),
            ];
            assert_eq!(spots, expected, "{end:?}");
        }
    }
}
