//! The table of straws: rows of a CSV file become entries of `semen`, each with its place.

use super::{StrawFile, raw};
use crate::base::document::Tree;
use crate::base::error::{Code, Finding, Place, has_errors, nearest, quoted};
use crate::base::sheet::{Findings, Form, RowStart, Sheet, column_name};
use crate::base::units::count;
use crate::trade::protocol::Semen as Sort;

const FORM: Form = Form {
    whole: "table of straws",
    row: "bull and place in a tank",
    columns: COLUMNS.len(),
    row_code: Code::StrawRow,
    reading_code: Code::StrawReading,
};

/// The columns: each is the key of a `semen` entry.
const COLUMNS: [&str; 9] = [
    "bull", "name", "straws", "straw_ml", "tank", "canister", "cane", "goblet", "sort",
];

/// Columns without which a row says nothing.
const NEEDED: [&str; 2] = ["bull", "straws"];

/// More canes than this are the wrong file.
const MOST_ROWS: usize = 20_000;

/// Characters of a name, and of every other cell.
const MOST_NAME: usize = 200;
const MOST_TEXT: usize = 40;

/// Reads the table that the season names, if it does, and adds its rows to `semen`.
pub(super) fn add(tree: &mut Tree, raw: &mut raw::Season, load: &Load<'_>) -> Vec<Finding> {
    let Some(name) = &raw.semen_file else {
        return Vec::new();
    };
    let named = StrawFile {
        name: name.clone(),
        place: tree.place("semen_file"),
    };
    let (file, bytes) = match load(&named) {
        Ok(loaded) => loaded,
        Err(finding) => return vec![finding],
    };
    let (rows, mut found) = read(&file, &bytes);
    // Of a faulty table nothing is taken: rules would find fault with what is missing.
    if !has_errors(&found) {
        if !raw.semen.is_empty() && !rows.is_empty() {
            found.push(both(&named, &raw.semen, &rows));
        }
        for row in rows {
            let field = format!("semen[{}]", raw.semen.len());
            for (key, place) in row.places {
                tree.add_place(format!("{field}.{key}"), place);
            }
            tree.add_place(field, row.place);
            raw.semen.push(row.semen);
        }
    }
    found
}

/// A list that was typed in, and later kept as a table, would count twice.
fn both(named: &StrawFile, listed: &[raw::Semen], rows: &[Row]) -> Finding {
    let sum = |all: &mut dyn Iterator<Item = u32>| {
        let straws: u64 = all.map(u64::from).sum();
        count(u32::try_from(straws).unwrap_or(u32::MAX), "straw", "straws")
    };
    Finding::note(
        Code::StrawsTwice,
        format!(
            "straws are read from both: {} listed under `semen`, {} in {}",
            sum(&mut listed.iter().map(|s| s.straws)),
            sum(&mut rows.iter().map(|r| r.semen.straws)),
            quoted(&named.name)
        ),
    )
    .at(named.place.clone())
    .expected("each straw in one of the two")
    .hint("if the table holds them all, take the entries out of `semen`; else leave it as it is")
}

struct Row {
    semen: raw::Semen,
    place: Place,
    places: Vec<(&'static str, Place)>,
}

fn read(file: &str, bytes: &[u8]) -> (Vec<Row>, Vec<Finding>) {
    let sheet = match Sheet::new(file, bytes, &FORM) {
        Ok(sheet) => sheet,
        Err(finding) => return (Vec::new(), vec![finding]),
    };
    let mut found = Findings::default();
    sheet.tell(&mut found);
    let mut rows = Vec::new();
    let mut reader = sheet.reader();
    let mut record = csv::StringRecord::new();
    let mut start = RowStart::default();
    let mut header: Option<Vec<Option<&'static str>>> = None;
    // The text is in memory and UTF-8, and rows may be of any length: nothing can fail.
    while matches!(reader.read_record(&mut record), Ok(true)) {
        start = sheet.row_start(&record, start);
        let Some(columns) = &header else {
            let columns = heading(&sheet, &record, start, &mut found);
            if columns.is_empty() {
                return (rows, found.listed(file));
            }
            header = Some(columns);
            continue;
        };
        if record.iter().all(|c| c.trim().is_empty()) {
            continue;
        }
        if rows.len() == MOST_ROWS {
            let what = format!("there are more than {MOST_ROWS} rows of straws");
            let fault = Finding::error(Code::FileTooLarge, what)
                .expected("one row for each cane or goblet of the season's tanks")
                .hint("is this the right file?");
            found.add(fault, || sheet.place(sheet.spot(start, 0), ""));
            break;
        }
        let mut cells = Cells {
            sheet: &sheet,
            columns,
            record: &record,
            start,
            found: &mut found,
        };
        if let Some(row) = cells.row() {
            rows.push(row);
        }
    }
    if header.is_none() {
        found.add(no_header(""), || Place::top(file));
    }
    (rows, found.listed(file))
}

/// The columns of the cells; none if this is no header.
fn heading(
    sheet: &Sheet<'_>,
    record: &csv::StringRecord,
    start: RowStart,
    found: &mut Findings,
) -> Vec<Option<&'static str>> {
    let columns: Vec<Option<&'static str>> = record.iter().map(column).collect();
    if columns.iter().all(Option::is_none) {
        found.add(no_header(record.get(0).unwrap_or_default()), || {
            sheet.place(sheet.spot(start, 0), "")
        });
        return Vec::new();
    }
    let mut told = Vec::new();
    for (n, cell) in record.iter().enumerate() {
        let cell = cell.trim();
        let finding = match columns[n] {
            None if cell.is_empty() => continue,
            None => unknown(cell),
            Some(name) if columns[..n].contains(&Some(name)) => Finding::error(
                Code::StrawColumn,
                format!("the column `{name}` is there twice"),
            )
            .expected("each column once")
            .hint("take one of the two out"),
            Some(name) => {
                if column_name(cell) != name {
                    told.push(format!("{} as {name}", quoted(cell)));
                }
                continue;
            }
        };
        found.add(finding, || sheet.place(sheet.spot(start, n), ""));
    }
    if !told.is_empty() {
        let what = format!("columns are read by other names: {}", told.join(", "));
        let note =
            Finding::note(Code::StrawReading, what).hint("if one is wrong, rename it in the table");
        found.add(note, || sheet.place(sheet.spot(start, 0), ""));
    }
    for name in NEEDED {
        if !columns.contains(&Some(name)) {
            let finding = Finding::error(Code::StrawHeader, format!("there is no column `{name}`"))
                .expected("the columns `bull` and `straws`")
                .hint(format!("name one of the columns `{name}`"));
            found.add(finding, || sheet.place(sheet.spot(start, 0), ""));
        }
    }
    columns
}

fn no_header(cell: &str) -> Finding {
    let what = if cell.trim().is_empty() {
        "the table of straws is empty, or its first cell is".to_owned()
    } else {
        format!(
            "the first line names no column of a table of straws; it begins with {}",
            quoted(cell.trim())
        )
    };
    let all = COLUMNS.join(", ");
    Finding::error(Code::StrawHeader, what)
        .expected(format!("a first line with names of columns: {all}"))
        .hint("put such a line first; only `bull` and `straws` must be there")
}

/// A column that may be meant is asked about; another is left out.
fn unknown(cell: &str) -> Finding {
    let expected = format!("one of {}", COLUMNS.join(", "));
    let Some(name) = meant(&column_name(cell)) else {
        let what = format!("the column {} is not read", quoted(cell));
        return Finding::warning(Code::StrawColumn, what)
            .expected(expected)
            .hint("nothing is to do if it is not needed; else rename it");
    };
    let what = format!("a table of straws has no column {}", quoted(cell));
    Finding::error(Code::StrawColumn, what)
        .expected(expected)
        .hint(format!("did you mean `{name}`?"))
}

/// The column of a heading, by its name or another common word that leaves no doubt. Common practice,
/// no source.
fn column(cell: &str) -> Option<&'static str> {
    let plain = column_name(cell);
    let name = match plain.as_str() {
        "sire" | "bull_id" | "sire_id" => "bull",
        "bull_name" | "sire_name" => "name",
        "units" | "doses" | "qty" | "quantity" | "straw_count" | "number_of_straws" => "straws",
        "ml" | "straw_size" | "size_ml" => "straw_ml",
        "tank_id" | "tank_name" => "tank",
        "canister_number" | "canister_no" => "canister",
        "cane_code" | "cane_id" | "cane_number" | "cane_no" => "cane",
        own => own,
    };
    COLUMNS.into_iter().find(|c| *c == name)
}

/// The column that somebody may mean by a word that leaves doubt.
fn meant(plain: &str) -> Option<&'static str> {
    let common = match plain {
        "count" | "number" => "straws",
        "size" => "straw_ml",
        "code" => "cane",
        "sexed" | "type" | "kind" => "sort",
        _ => return COLUMNS.into_iter().find(|c| nearest(plain, [*c]).is_some()),
    };
    Some(common)
}

struct Cells<'a> {
    sheet: &'a Sheet<'a>,
    columns: &'a [Option<&'static str>],
    record: &'a csv::StringRecord,
    start: RowStart,
    found: &'a mut Findings,
}

impl Cells<'_> {
    /// The row, if every cell can be read.
    fn row(&mut self) -> Option<Row> {
        if !self.is_whole() {
            return None;
        }
        let bull = self.text("bull", MOST_TEXT);
        let name = self.text("name", MOST_NAME);
        let straws = self.number("straws", 100_000);
        let straw_ml = self.size();
        let tank = self.text("tank", MOST_TEXT);
        let canister = self.number("canister", 50);
        let cane = self.text("cane", MOST_TEXT);
        let goblet = self.word(
            "goblet",
            &[("top", raw::Goblet::Top), ("bottom", raw::Goblet::Bottom)],
        );
        let sort = self.word(
            "sort",
            &[("conventional", Sort::Conventional), ("sexed", Sort::Sexed)],
        );
        for (name, missing) in [("bull", bull.is_none()), ("straws", straws.is_none())] {
            if missing && self.cell(name).is_some_and(|(_, text)| text.is_empty()) {
                let what = format!("a row of straws without `{name}`");
                let expected = "both the bull and his straws".to_owned();
                let hint = "fill the cell in, or take the row out";
                self.fault(name, what, expected, hint);
            }
        }
        let places = COLUMNS
            .into_iter()
            .filter_map(|c| Some((c, self.place(self.cell(c)?.0, c))))
            .collect();
        Some(Row {
            semen: raw::Semen {
                bull: bull?,
                name,
                straws: straws?,
                straw_ml,
                tank,
                canister,
                cane,
                goblet,
                sort,
            },
            place: self.place(0, "bull"),
            places,
        })
    }

    fn is_whole(&mut self) -> bool {
        let (have, want) = (self.record.len(), self.columns.len());
        let stray = (want..have).find(|n| !self.record[*n].trim().is_empty());
        if have >= want && stray.is_none() {
            return true;
        }
        let place = self.place(stray.unwrap_or(0), "");
        let what = format!("this row has {have} cells, the header {want}");
        let finding = Finding::error(Code::StrawRow, what)
            .expected(format!("{want} cells, as many as the header has"))
            .hint("leave blank what is not known, with its separator; text that holds a separator goes in double quotes");
        self.found.add(finding, || place);
        false
    }

    fn place(&self, cell: usize, field: &str) -> Place {
        self.sheet.place(self.sheet.spot(self.start, cell), field)
    }

    fn cell(&self, column: &str) -> Option<(usize, &str)> {
        let n = self.columns.iter().position(|c| *c == Some(column))?;
        Some((n, self.record.get(n)?.trim()))
    }

    fn filled(&self, column: &str) -> Option<String> {
        let (_, text) = self.cell(column)?;
        (!text.is_empty()).then(|| text.to_owned())
    }

    fn fault(&mut self, column: &str, what: String, expected: String, hint: &str) {
        let n = self.cell(column).map_or(0, |(n, _)| n);
        let place = self.place(n, column);
        let finding = Finding::error(Code::StrawCell, what)
            .expected(expected)
            .hint(hint);
        self.found.add(finding, || place);
    }

    fn text(&mut self, column: &str, most: usize) -> Option<String> {
        let text = self.filled(column)?;
        if text.chars().count() <= most {
            return Some(text);
        }
        self.fault(
            column,
            format!("{} is too long", quoted(&text)),
            format!("at most {most} characters"),
            "shorten it; a quote that is not closed swallows the rows after it",
        );
        None
    }

    fn number(&mut self, column: &str, most: u32) -> Option<u32> {
        let text = self.filled(column)?;
        let least = u32::from(column == "canister");
        let number = text.parse().ok().filter(|n| (least..=most).contains(n));
        if number.is_none() {
            let what = format!("{} is not a number that fits here", quoted(&text));
            let expected = format!("a whole number from {least} to {most}");
            self.fault(column, what, expected, "write digits alone");
        }
        number
    }

    fn size(&mut self) -> Option<f64> {
        let text = self.filled("straw_ml")?;
        // Spreadsheets of many countries write a comma.
        let size = text.replace(',', ".").parse::<f64>().ok();
        let known = size.filter(|ml| [0.25, 0.5].iter().any(|k| (ml - k).abs() < 1e-9));
        if known.is_none() {
            let what = format!("there is no straw of {} mL", quoted(&text));
            let hint = "read the size off the straw or the invoice";
            self.fault("straw_ml", what, "0.5 or 0.25".to_owned(), hint);
        }
        known
    }

    fn word<T: Copy>(&mut self, column: &str, words: &[(&str, T)]) -> Option<T> {
        let text = self.filled(column)?;
        let meant = words.iter().find(|(w, _)| text.eq_ignore_ascii_case(w));
        if meant.is_none() {
            let known: Vec<String> = words.iter().map(|(w, _)| format!("`{w}`")).collect();
            let what = format!("{} is not a word for `{column}`", quoted(&text));
            let hint = "a blank cell means not known";
            self.fault(column, what, known.join(" or "), hint);
        }
        meant.map(|(_, value)| *value)
    }
}

/// Finds the name for people and the bytes of a table of straws.
pub type Load<'a> = dyn Fn(&StrawFile) -> Result<(String, Vec<u8>), Finding> + 'a;
