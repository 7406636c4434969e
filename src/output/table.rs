//! Tables for spreadsheets: comma-separated values that no spreadsheet runs.
//!
//! Days are ISO 8601 dates, with the weekday beside them; times of day are local, with the offset
//! beside them. Quantities are bare numbers, with the unit in the heading.

use chrono::{FixedOffset, NaiveDate};
use serde::Serialize;

use super::{first_and_last, up_to_minute};
use crate::base::error::visible_text;
use crate::base::time::{Instant, Zone};
use crate::planning::plan::Moment;

/// One of the tables of an answer, with one kind of row. Cells that a spreadsheet would run as formulas
/// begin with an apostrophe.
#[derive(Debug)]
pub struct Kind {
    /// What `--csv=NAME` calls it.
    pub name: &'static str,
    /// Its columns, with blanks between: fields of its rows, or a heading and its field as
    /// `heading=field`. Without any, it has all fields.
    pub columns: &'static [&'static str],
}

impl Kind {
    /// A table with all fields of its rows.
    pub(super) const fn whole(name: &'static str) -> Self {
        Self { name, columns: &[] }
    }

    /// This table of rows that may be of several kinds: those whose field `row`, if they have one, is
    /// its name.
    pub(super) fn of<R: Serialize + Default>(&self, rows: &[R]) -> String {
        self.pick(&cells(rows))
    }

    /// The same of cells as text, the heading among them.
    pub(super) fn pick(&self, all: &[Vec<String>]) -> String {
        let fields = all.first().map_or(&[][..], Vec::as_slice);
        let at = |name: &str| fields.iter().position(|f| f == name);
        let kind = at("row");
        let columns = self
            .columns
            .iter()
            .flat_map(|c| c.split(' '))
            .filter_map(|c| {
                let (heading, field) = c.split_once('=').unwrap_or((c, c));
                Some((heading.to_owned(), at(field)?))
            });
        let mut columns: Vec<(String, usize)> = columns.collect();
        if self.columns.is_empty() {
            columns = fields.iter().cloned().zip(0..).collect();
        }
        let mine = all.iter().skip(1);
        let mine = mine.filter(|row| kind.is_none_or(|k| row[k] == self.name));
        let mut rows: Vec<Vec<String>> = vec![columns.iter().map(|c| c.0.clone()).collect()];
        rows.extend(mine.map(|row| columns.iter().map(|c| row[c.1].clone()).collect()));
        table(&rows)
    }
}

/// A line for each row, under a heading with the names of its fields. Fields are single values:
/// text, numbers, `true` and `false`, dates, or none of them.
fn cells<R: Serialize + Default>(rows: &[R]) -> Vec<Vec<String>> {
    let mut writer = csv::Writer::from_writer(Vec::new());
    // A table without rows has its heading all the same: that comes with the first row.
    let nothing = R::default();
    for row in std::iter::once(&nothing).chain(rows) {
        let _ = writer.serialize(row);
    }
    let plain = writer.into_inner().unwrap_or_default();
    let mut reader = csv::ReaderBuilder::new()
        .has_headers(false)
        .from_reader(plain.as_slice());
    let cells = |row: csv::StringRecord| row.iter().map(str::to_owned).collect();
    let mut all: Vec<Vec<String>> = reader.records().flatten().map(cells).collect();
    all.remove(1);
    all
}

/// Rows of cells as text, the heading among them. A cell that a spreadsheet would take for a formula
/// begins with an apostrophe.
fn table<R: AsRef<[String]>>(rows: &[R]) -> String {
    let mut writer = csv::Writer::from_writer(Vec::new());
    for row in rows {
        // Writing to memory cannot fail, and all rows are of one length.
        let _ = writer.write_record(row.as_ref().iter().map(|c| harmless(c)));
    }
    let bytes = writer.into_inner().unwrap_or_default();
    String::from_utf8(bytes).unwrap_or_default()
}

/// A moment as it is read in a zone.
pub(super) fn read_in(zone: Zone, at: Instant) -> Moment {
    let offset = FixedOffset::east_opt(zone.offset_seconds(at));
    offset.map_or_else(|| at.fixed_offset(), |o| at.with_timezone(&o))
}

/// `Mon`.
pub(super) fn weekday(day: NaiveDate) -> String {
    day.format("%a").to_string()
}

/// `07:18`.
pub(super) fn clock(at: Moment) -> String {
    at.format("%H:%M").to_string()
}

/// `07:18:30`.
pub(super) fn to_the_second(at: Moment) -> String {
    at.format("%H:%M:%S").to_string()
}

/// Minutes by which the zone's clocks are ahead of universal time. A number, since a spreadsheet would
/// take `-06:00` for a formula.
#[allow(clippy::unnecessary_wraps)] // Cells of rows without a moment are blank.
pub(super) fn offset(at: Moment) -> Option<i32> {
    Some(at.offset().local_minus_utc() / 60)
}

/// Day and clock in one cell: `2027-05-17 07:18`.
pub(super) fn day_and_clock(at: Moment) -> String {
    at.format("%Y-%m-%d %H:%M").to_string()
}

/// A beginning and an end on whole minutes, as all forms show them.
pub(super) fn span(first: Moment, last: Moment) -> (Moment, Moment) {
    let (first, last) = first_and_last(first, last);
    (up_to_minute(first), last)
}

/// Several in one cell.
pub(super) fn joined<T: AsRef<str>>(all: &[T]) -> String {
    all.iter().map(AsRef::as_ref).collect::<Vec<_>>().join("; ")
}

/// A word of the JSON form as a cell.
pub(super) fn word(value: &impl Serialize) -> String {
    match serde_json::to_value(value) {
        Ok(serde_json::Value::String(word)) => word,
        _ => String::new(),
    }
}

/// Neither blanks nor what cannot be seen before it stops a spreadsheet from running a formula, and
/// some take the wide forms of its signs.
fn harmless(cell: &str) -> String {
    let signs = ['=', '+', '-', '@', '＝', '＋', '－', '＠'];
    let runs = |c: &str| c.starts_with(['\t', '\r']) || c.starts_with(signs);
    let unseen = |c: char| {
        let joins = matches!(c, '\u{200b}'..='\u{200f}' | '\u{2060}' | '\u{feff}');
        c.is_whitespace() || c.is_control() || joins
    };
    // A number below zero is one, and no formula.
    let number = cell.starts_with('-') && cell.parse::<f64>().is_ok_and(f64::is_finite);
    // Nor is a cell to be run by a terminal.
    if !number && (runs(cell) || runs(cell.trim_start_matches(unseen))) {
        format!("'{}", visible_text(cell))
    } else {
        visible_text(cell).into_owned()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// What a general reader gets back, and no cell that runs.
    #[test]
    fn cells_come_back_and_none_runs() {
        let cells = [
            "=1+2",
            "+1",
            "-c",
            "@b",
            "\t=1",
            "\r=1",
            " =1",
            "\u{feff}=1",
            "＝1",
            "plain, with \"quotes\"",
            "two\nlines",
            "\u{1b}]0;c\u{7}",
            "\u{9b}2J",
            "back\rwards\u{202e}",
            "a-b",
            "-2.5",
            "",
        ];
        let text = table(&[cells.map(str::to_owned)]);
        let mut reader = csv::ReaderBuilder::new()
            .has_headers(false)
            .from_reader(text.as_bytes());
        let row = reader.records().next().unwrap().unwrap();
        for (n, cell) in cells.iter().enumerate() {
            let cell = visible_text(cell);
            let expected = if n < 9 {
                format!("'{cell}")
            } else {
                cell.into_owned()
            };
            assert_eq!(&row[n], expected);
        }
    }

    #[derive(Serialize, Default)]
    struct Row<'a> {
        row: &'a str,
        name: &'a str,
        head: Option<u32>,
        day: Option<NaiveDate>,
    }

    /// A heading even without rows; what is not known is blank.
    #[test]
    fn rows_have_the_names_of_their_fields() {
        let all = Kind::whole("all");
        assert_eq!(all.of::<Row<'_>>(&[]), "row,name,head,day\n");
        let rows = [
            Row {
                row: "all",
                name: "=a, \"b\"\nc",
                head: Some(3),
                day: NaiveDate::from_ymd_opt(2027, 5, 17),
            },
            Row {
                row: "all",
                ..Row::default()
            },
            Row {
                row: "cows",
                head: Some(7),
                ..Row::default()
            },
        ];
        assert_eq!(
            all.of(&rows),
            "row,name,head,day\nall,\"'=a, \"\"b\"\"\nc\",3,2027-05-17\nall,,,\n"
        );
        // One kind, in the columns that it asks for.
        let cows = Kind {
            name: "cows",
            columns: &["day number=head"],
        };
        assert_eq!(cows.of(&rows), "day,number\n,7\n");
        assert_eq!(cows.of(&rows[..2]), "day,number\n");
    }

    #[test]
    fn beginnings_go_up_to_the_minute_and_ends_down() {
        let at = |text: &str| Moment::parse_from_rfc3339(text).unwrap();
        let (a, b) = span(
            at("2027-05-17T06:59:30-06:00"),
            at("2027-05-17T08:00:59-06:00"),
        );
        assert_eq!(
            (clock(a), clock(b)),
            ("07:00".to_owned(), "08:00".to_owned())
        );
        let one = at("2027-05-17T06:59:30-06:00");
        let (a, b) = span(one, one);
        assert_eq!(
            (clock(a), clock(b)),
            ("07:00".to_owned(), "07:00".to_owned())
        );
        assert_eq!(offset(one), Some(-360));
    }
}
