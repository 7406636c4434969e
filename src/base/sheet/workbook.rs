//! Excel workbooks: the first sheet with cells becomes text, a line for each of its rows.

use std::io::{self, Cursor, Read};

use calamine::{DataRef, ExcelDateTime, Reader, Xlsx, XlsxError};

use super::limits::{MOST_BYTES, MOST_CELLS};
use crate::base::error::{Code, Finding, quoted};

/// Bytes of a workbook when unpacked: a sheet of 100,000 animals with every cell filled takes about a
/// quarter. A small file may unpack to a thousand times its size.
const MOST_UNPACKED: u64 = 4 * MOST_BYTES;

/// Days of a date by which spreadsheets keep dates, to the end of the year 9999.
const MOST_DAYS: f64 = 2_958_465.0;

/// The text, with tabs between cells; and which sheet it is of, if there are several.
pub(super) fn read(bytes: &[u8]) -> Result<(String, Option<String>), Finding> {
    measure(bytes)?;
    let mut book: Xlsx<_> = Xlsx::new(Cursor::new(bytes)).map_err(|e| unreadable(&e))?;
    let names = book.sheet_names();
    for name in &names {
        let text = sheet(&mut book, name)?;
        if text.is_empty() {
            continue;
        }
        let n = names.len();
        let what = format!("of the workbook's {n} sheets {} is read", quoted(name));
        return Ok((text, (n > 1).then_some(what)));
    }
    Ok((String::new(), None))
}

/// Unpacks all once, keeping nothing: sizes that a file states of itself may be false.
fn measure(bytes: &[u8]) -> Result<(), Finding> {
    let mut archive = zip::ZipArchive::new(Cursor::new(bytes)).map_err(|e| unreadable(&e))?;
    let mut left = MOST_UNPACKED;
    for n in 0..archive.len() {
        let file = archive.by_index(n).map_err(|e| unreadable(&e))?;
        let size = io::copy(&mut file.take(left + 1), &mut io::sink());
        let size = size.map_err(|e| unreadable(&e))?;
        left = left.checked_sub(size).ok_or_else(too_large)?;
    }
    Ok(())
}

/// The text of a sheet; empty if it has no cells.
fn sheet(book: &mut Xlsx<Cursor<&[u8]>>, name: &str) -> Result<String, Finding> {
    let mut text = String::new();
    let mut cells = match book.worksheet_cells_reader(name) {
        Ok(cells) => cells,
        // A chart, say.
        Err(XlsxError::NotAWorksheet(_)) => return Ok(text),
        Err(e) => return Err(unreadable(&e)),
    };
    let (mut row, mut column, mut width) = (0, 0, 0);
    while let Some(cell) = cells.next_cell().map_err(|e| unreadable(&e))? {
        let value = written(cell.get_value());
        if value.is_empty() {
            continue;
        }
        let (to_row, to_column) = cell.get_position();
        if to_row < row || (to_row == row && to_column < column) {
            return Err(unreadable(&"its cells are out of order"));
        }
        let added = (to_row - row) as usize + width.max(to_column) as usize + value.len();
        if to_column as usize >= MOST_CELLS || (text.len() + added) as u64 > MOST_BYTES {
            return Err(too_large());
        }
        if to_row > row && !text.is_empty() {
            end_row(&mut text, &mut width, column);
        }
        if to_row > row {
            text.extend(std::iter::repeat_n('\n', (to_row - row) as usize));
            (row, column) = (to_row, 0);
        }
        text.extend(std::iter::repeat_n('\t', (to_column - column) as usize));
        column = to_column;
        text.push_str(&value);
    }
    if !text.is_empty() {
        end_row(&mut text, &mut width, column);
        text.push('\n');
    }
    Ok(text)
}

/// Workbooks leave out blank cells: every row is made as wide as the first.
fn end_row(text: &mut String, width: &mut u32, column: u32) {
    if *width == 0 {
        *width = column;
    }
    text.extend(std::iter::repeat_n(
        '\t',
        width.saturating_sub(column) as usize,
    ));
}

/// A cell as it would be typed in: whole numbers without a fraction, dates as 2027-05-17.
fn written(cell: &DataRef<'_>) -> String {
    let text = match cell {
        DataRef::Empty => return String::new(),
        DataRef::Int(n) => n.to_string(),
        DataRef::Float(x) => x.to_string(),
        DataRef::String(text) | DataRef::DateTimeIso(text) | DataRef::DurationIso(text) => {
            text.clone()
        }
        DataRef::SharedString(text) => (*text).to_owned(),
        DataRef::Bool(yes) => if *yes { "yes" } else { "no" }.to_owned(),
        DataRef::DateTime(date) => day(date),
        DataRef::Error(error) => error.to_string(),
    };
    let text = text.replace(['\t', '\r', '\n'], " ");
    match text.trim() {
        text if text.starts_with('"') => format!("\"{}\"", text.replace('"', "\"\"")),
        text => text.to_owned(),
    }
}

fn day(date: &ExcelDateTime) -> String {
    let days = date.as_f64();
    if !date.is_datetime() || !(1.0..=MOST_DAYS).contains(&days) {
        return days.to_string();
    }
    let (year, month, day, ..) = date.to_ymd_hms_milli();
    format!("{year:04}-{month:02}-{day:02}")
}

fn unreadable(why: &dyn std::fmt::Display) -> Finding {
    let what = format!("the workbook cannot be read: {why}");
    Finding::error(Code::FileNotText, what)
        .expected("an .xlsx workbook whose first sheet is the table")
        .hint("open it in the spreadsheet and save it anew, or save the sheet as `CSV UTF-8`")
}

fn too_large() -> Finding {
    let what = "the workbook is larger than any table of a season";
    Finding::error(Code::FileTooLarge, what)
        .expected(format!(
            "at most {MOST_UNPACKED} bytes unpacked, {MOST_BYTES} of text, and {MOST_CELLS} columns"
        ))
        .hint("is this the right file? Save the sheet with the table alone as `CSV UTF-8`")
}
