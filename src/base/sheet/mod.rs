//! Tables of comma-separated values, and of workbooks: text, separator, and where each cell stands.

mod asked;
mod decode;
mod findings;
mod limits;
#[cfg(feature = "xlsx")]
mod workbook;

pub use asked::{Asked, DateOrder};
pub(crate) use findings::Findings;
pub use limits::MOST_BYTES;
use limits::MOST_CELLS;

use std::borrow::Cow;

use crate::base::error::{Code, Finding, Place, Spot};

/// What a kind of table is called where it is found fault with.
pub(crate) struct Form {
    /// What the table is of: `herd`.
    pub(crate) whole: &'static str,
    /// What stands in a row: `animal of the group`.
    pub(crate) row: &'static str,
    /// How many columns there are.
    pub(crate) columns: usize,
    /// The code of a row with too many cells.
    pub(crate) row_code: Code,
    /// The code of what is said of how it is read.
    pub(crate) reading_code: Code,
}

impl Form {
    fn hint(&self) -> String {
        format!("is this the right file? Keep one row for each {}", self.row)
    }
}

/// A file's text with its separator.
pub(crate) struct Sheet<'a> {
    pub(crate) file: &'a str,
    form: &'static Form,
    text: Cow<'a, str>,
    separator: u8,
    /// True if the text was made of a workbook: its cells count by number, and a date may be a number.
    pub(crate) workbook: bool,
    /// How the file is read, if it is no plain text.
    told: Option<decode::Told>,
}

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
pub(crate) struct RowStart {
    byte: usize,
    line: u32,
}

impl<'a> Sheet<'a> {
    /// # Errors
    /// The file is too large, or neither text nor a workbook that can be read.
    pub(crate) fn new(
        file: &'a str,
        bytes: &'a [u8],
        form: &'static Form,
    ) -> Result<Self, Finding> {
        if bytes.len() as u64 > MOST_BYTES {
            let what = format!("the file is larger than any {} needs", form.whole);
            return Err(Finding::error(Code::FileTooLarge, what)
                .at(Place::top(file))
                .expected(format!("at most {MOST_BYTES} bytes"))
                .hint(form.hint()));
        }
        let decode::Decoded {
            text,
            workbook,
            told,
        } = decode::decode(file, bytes)?;
        let separator = if workbook { b'\t' } else { separator(&text) };
        let sheet = Self {
            file,
            form,
            text,
            separator,
            workbook,
            told,
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
                let what = format!("this row has more than {MOST_CELLS} cells");
                return Err(Finding::error(self.form.row_code, what)
                    .at(self.place(Spot { line, column: 1 }, ""))
                    .expected(format!("at most {} columns", self.form.columns))
                    .hint(self.form.hint()));
            }
        }
        Ok(())
    }

    /// What is to say of how the file is read.
    pub(crate) fn tell(&self, found: &mut Findings) {
        if let Some(told) = &self.told {
            let note = Finding::note(self.form.reading_code, told.what.clone()).hint(told.hint);
            found.add(note, || self.place(told.at, ""));
        }
    }

    pub(crate) fn reader(&self) -> csv::Reader<&[u8]> {
        csv::ReaderBuilder::new()
            .has_headers(false)
            .flexible(true)
            .delimiter(self.separator)
            .from_reader(self.text.as_bytes())
    }

    /// Where a record begins, given where one before it does.
    pub(crate) fn row_start(&self, record: &csv::StringRecord, before: RowStart) -> RowStart {
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
    pub(crate) fn spot(&self, row: RowStart, cell: usize) -> Spot {
        let bytes = self.text.as_bytes();
        let (mut at, mut n) = (row.byte, 0);
        let mut state = In::Start;
        while n < cell && at < bytes.len() && state != In::Ended {
            state = state.after(bytes[at], self.separator);
            n += usize::from(state == In::Start);
            at += 1;
        }
        let row_text = &self.text[row.byte..at];
        if self.workbook {
            let (line, column) = (row.line, cell as u32 + 1);
            return Spot { line, column };
        }
        let line_text = row_text.rsplit(['\n', '\r']).next().unwrap_or_default();
        Spot {
            line: row.line + line_breaks(row_text.as_bytes()),
            column: line_text.chars().count() as u32 + 1,
        }
    }

    pub(crate) fn place(&self, spot: Spot, field: &str) -> Place {
        spot.in_file(self.file, field)
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
    let first = text.lines().find(|l| !l.trim().is_empty());
    let count = |c: u8| {
        first
            .unwrap_or_default()
            .bytes()
            .filter(|b| *b == c)
            .count()
    };
    let more = |best, c| if count(c) > count(best) { c } else { best };
    [b';', b'\t'].into_iter().fold(b',', more)
}

/// A cell of the heading as names of columns are written: capitals, blanks and marks do not matter.
pub(crate) fn column_name(cell: &str) -> String {
    let plain: String = cell
        .chars()
        .filter(|c| !matches!(c, '.' | '\''))
        .flat_map(char::to_lowercase)
        .map(|c| if c.is_alphanumeric() { c } else { ' ' })
        .collect();
    plain.split_whitespace().collect::<Vec<_>>().join("_")
}

#[cfg(test)]
mod tests {
    use super::*;

    const FORM: Form = Form {
        whole: "herd",
        row: "animal of the group",
        columns: 16,
        row_code: Code::HerdRow,
        reading_code: Code::HerdReading,
    };

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
        assert!(Sheet::new("f", row(MOST_CELLS - 1).as_bytes(), &FORM).is_ok());
        let text = row(MOST_CELLS);
        let fault = Sheet::new("f", text.as_bytes(), &FORM).err().unwrap();
        assert_eq!(fault.place.unwrap().line, 2);
        // Line breaks within quotes do not end a row.
        let text = format!("animal\n{}", ",,,\"\n\"".repeat(MOST_CELLS));
        assert!(Sheet::new("f", text.as_bytes(), &FORM).is_err());
        let text = "animal,notes\n".to_owned() + &"1,5\" tall\n".repeat(MOST_CELLS);
        assert!(Sheet::new("f", text.as_bytes(), &FORM).is_ok());
    }

    #[test]
    fn quotes_within_a_cell_hide_no_separator() {
        let text = "animal,notes,dam\nx,5\"\" \"tall,\u{e9}";
        let sheet = Sheet::new("f", text.as_bytes(), &FORM).unwrap();
        let row = RowStart { byte: 17, line: 2 };
        let column = |n| sheet.spot(row, n).column;
        assert_eq!([column(0), column(1), column(2)], [1, 3, 13]);
    }

    #[test]
    fn cells_are_found_behind_quotes_and_line_breaks() {
        for end in ["\n", "\r\n", "\r"] {
            let text =
                format!("animal,notes,dam{end}{end}x,\"a, \"\"b\"\",{end}c\",é{end}y,,{end}");
            let sheet = Sheet::new("f", text.as_bytes(), &FORM).unwrap();
            let mut reader = sheet.reader();
            let mut record = csv::StringRecord::new();
            let mut row = RowStart::default();
            let mut spots = Vec::new();
            while reader.read_record(&mut record).unwrap() {
                row = sheet.row_start(&record, row);
                for n in 0..record.len() {
                    let spot = sheet.spot(row, n);
                    spots.push(format!("{}:{}", spot.line, spot.column));
                }
            }
            let expected = "1:1 1:8 1:14 3:1 3:3 4:4 5:1 5:3 5:4";
            assert_eq!(spots.join(" "), expected, "{end:?}");
        }
    }
}
