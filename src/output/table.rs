//! Tables for spreadsheets: comma-separated values that no spreadsheet runs.
//!
//! Days are ISO 8601 dates, with the weekday beside them; times of day are local, with the offset
//! beside them. Quantities are bare numbers, with the unit in the heading.

use chrono::NaiveDate;
use serde::Serialize;
use serde_json::Value;

use super::times::span;
use crate::base::error::visible_text;
use crate::base::units::Clock;
use crate::planning::plan::Moment;

/// One of the tables of an answer, with one kind of row. Cells that a spreadsheet would run as formulas
/// begin with an apostrophe.
pub struct Kind<A: ?Sized> {
    /// What `--csv=NAME` calls it.
    pub name: &'static str,
    pub(super) table: fn(&A) -> String,
}

/// Tables by the functions that make them, named as these are or as it stands behind them.
macro_rules! kinds {
    ($($table:ident $(as $name:literal)?),+) => {
        vec![$($crate::output::table::Kind {
            name: [$($name,)? stringify!($table)][0],
            table: $table,
        }),+]
    };
}
pub(super) use kinds;

impl<A: ?Sized> Kind<A> {
    /// This table of an answer as comma-separated values.
    #[must_use]
    pub fn of(&self, answer: &A) -> String {
        (self.table)(answer)
    }
}

/// Columns that hold fields of a row, headed by their names: `fields!(t, |(_, p)| p => group, pen)`. Of a
/// field with another name, or within another, the heading stands before it: `mean = outside.mean_head`.
/// `some` stands before what may be absent, as in `|f| some f.place.as_ref()? => file, line`.
macro_rules! fields {
    ($t:expr, |$row:pat_param| some $of:expr => $($name:ident $(= $field:ident)?),+) => {
        $(fields!(one $t, |$row| Some($of), $name $($field)?);)+
    };
    ($t:expr, |$row:pat_param| $of:expr => $($name:ident $(= $($field:ident).+)?),+) => {
        $(fields!(one $t, |$row| ($of), $name $($($field).+)?);)+
    };
    (one $t:expr, |$row:pat_param| $($some:ident)? ($of:expr), $name:ident) => {
        $t.column(stringify!($name), |$row| $($some)? (&$of.$name))
    };
    (one $t:expr, |$row:pat_param| $($some:ident)? ($of:expr), $name:ident $($field:ident).+) => {
        $t.column(stringify!($name), |$row| $($some)? (&$of.$($field).+))
    };
}
pub(super) use fields;

/// Each of some things beside each of those that it holds.
pub(super) fn nested<A: Copy, I: IntoIterator>(
    all: impl IntoIterator<Item = A>,
    of: impl Fn(A) -> I,
) -> impl Iterator<Item = (A, I::Item)> {
    let all = all.into_iter();
    all.flat_map(move |a| of(a).into_iter().map(move |b| (a, b)))
}

/// A table in the making: its rows, and column by column what they hold.
pub(super) struct Table<R> {
    rows: Vec<R>,
    /// The headings, then the cells of each row.
    lines: Vec<Vec<String>>,
}

impl<R: Copy> Table<R> {
    /// A table of these rows, without columns yet.
    pub(super) fn of(rows: impl IntoIterator<Item = R>) -> Self {
        let rows: Vec<R> = rows.into_iter().collect();
        let lines = vec![Vec::new(); rows.len() + 1];
        Self { rows, lines }
    }

    /// One more column: its heading, and what it holds of a row, as [`cell`] writes it.
    pub(super) fn column<T: Serialize>(&mut self, heading: &str, value: impl Fn(R) -> T) {
        let values = self.rows.iter().map(|row| cell(&value(*row)));
        let cells = std::iter::once(heading.to_owned()).chain(values);
        for (line, cell) in self.lines.iter_mut().zip(cells) {
            line.push(cell);
        }
    }

    /// A day, and its weekday beside it: `date` and `weekday`.
    pub(super) fn day(&mut self, [date, weekday]: [&str; 2], day: impl Fn(R) -> Option<NaiveDate>) {
        self.column(date, &day);
        let name = |day: NaiveDate| day.format("%a").to_string();
        self.column(weekday, |row| day(row).map(name));
    }

    /// Minutes by which the zone's clocks are ahead of universal time. A number, since a spreadsheet
    /// would take `-06:00` for a formula.
    pub(super) fn offset(&mut self, heading: &str, at: impl Fn(R) -> Option<Moment>) {
        let minutes = |at: Moment| at.offset().local_minus_utc() / 60;
        self.column(heading, |row| at(row).map(minutes));
    }

    /// A moment of something: its day and weekday, its clock time, under a heading of its own, and the
    /// offset of that.
    pub(super) fn moment(&mut self, of: &str, time: &str, at: impl Fn(R) -> Moment) {
        let day = [format!("{of}_date"), format!("{of}_weekday")];
        self.day([&day[0], &day[1]], |row| Some(at(row).date_naive()));
        self.column(time, |row| clock(at(row)));
        let offset = format!("{of}_utc_offset_minutes");
        self.offset(&offset, |row| Some(at(row)));
    }

    /// A beginning and an end: the day, both clock times, the last day before its time.
    pub(super) fn span(
        &mut self,
        [first, last_date, last]: [&str; 3],
        of: impl Fn(R) -> Option<(Moment, Moment)>,
    ) {
        let of = |row| of(row).map(|(a, b)| span(a, b));
        self.day(["date", "weekday"], |row| of(row).map(|s| s.0.date_naive()));
        self.column(first, |row| of(row).map(|s| clock(s.0)));
        self.column(last_date, |row| of(row).map(|s| s.1.date_naive()));
        self.column(last, |row| of(row).map(|s| clock(s.1)));
        self.offset("utc_offset_minutes", |row| of(row).map(|s| s.0));
    }

    /// The table as comma-separated values.
    pub(super) fn csv(&self) -> String {
        table(&self.lines)
    }
}

/// A value of the JSON form as a cell: none is blank, and several stand in one cell.
fn cell(value: &impl Serialize) -> String {
    fn of(value: Value) -> String {
        match value {
            Value::Null => String::new(),
            Value::String(text) => text,
            Value::Array(all) => all.into_iter().map(of).collect::<Vec<_>>().join("; "),
            other => other.to_string(),
        }
    }
    of(serde_json::to_value(value).unwrap_or_default())
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

/// `07:18`.
pub(super) fn clock(at: Moment) -> String {
    Clock::H24.time(at)
}

/// `07:18:30`.
pub(super) fn to_the_second(at: Moment) -> String {
    Clock::H24.to_the_second(at)
}

/// Day and clock in one cell: `2027-05-17 07:18`.
pub(super) fn day_and_clock(at: Moment) -> String {
    at.format("%Y-%m-%d %H:%M").to_string()
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

    /// Headings even without rows; what is not known is blank, and several stand in one cell.
    #[test]
    fn columns_hold_what_is_known_of_each_row() {
        type Row<'a> = (&'a str, Option<u32>, Option<NaiveDate>);
        fn csv(rows: &[Row<'_>]) -> String {
            let mut t = Table::of(rows);
            t.column("name", |r| r.0);
            t.column("head", |r| r.1);
            t.day(["day", "weekday"], |r| r.2);
            t.column("both", |r| [r.0, "c"]);
            t.column("half", |_| 0.5);
            t.csv()
        }
        assert_eq!(csv(&[]), "name,head,day,weekday,both,half\n");
        let day = NaiveDate::from_ymd_opt(2027, 5, 17);
        assert_eq!(
            csv(&[("=a, \"b\"\nc", Some(3), day), ("", None, None)]),
            "name,head,day,weekday,both,half\n\
             \"'=a, \"\"b\"\"\nc\",3,2027-05-17,Mon,\"'=a, \"\"b\"\"\nc; c\",0.5\n,,,,; c,0.5\n"
        );
    }

    /// Of universal time, in minutes.
    #[test]
    fn an_offset_is_a_number() {
        let mut t = Table::of([Moment::parse_from_rfc3339("2027-05-17T06:59:30-06:00").unwrap()]);
        t.offset("minutes", Some);
        assert_eq!(t.csv(), "minutes\n-360\n");
    }
}
