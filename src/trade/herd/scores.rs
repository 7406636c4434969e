//! Scores of bulls for animals: a CSV file in long form (animal, bull, score) or with a column
//! for each bull.

use std::collections::BTreeMap;

use super::{Spot, same_id};
use crate::base::error::{Code, Error, Finding, Place, did_you_mean, nearest, quoted};
use crate::base::sheet::{self, Findings, RowStart, Sheet};
use crate::trade::season::Bull;

/// In wide form it has a column for each bull, of whom there may be thousands.
const FORM: sheet::Form = sheet::Form {
    whole: "scores file",
    row: "animal",
    columns: 5_001,
    row_code: Code::HerdRow,
    reading_code: Code::HerdReading,
};

/// Scores are kept in hundredths: 100 is the best.
pub const MOST: i64 = 10_000;

/// Scores of one file.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Scores {
    /// The file as named.
    pub file: String,
    /// By [`same_id`] of the animal.
    pub animals: BTreeMap<String, Scored>,
}

/// The scores of one animal.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Scored {
    /// Her id, as first written.
    pub id: String,
    /// Where it stands first.
    pub spot: Spot,
    /// In hundredths, by the bull's place in the season; none where the file gives none.
    pub by_bull: Vec<Option<i64>>,
}

impl Scores {
    /// The score of a bull for an animal, in hundredths.
    #[must_use]
    pub fn score(&self, animal: &str, bull: usize) -> Option<i64> {
        *self.animals.get(&same_id(animal))?.by_bull.get(bull)?
    }
}

/// Where each thing stands in a row.
enum Form {
    /// Cells of animal, bull and score.
    Long([usize; 3]),
    /// The cell of the animal, and the bull of each cell.
    Wide(usize, Vec<Option<usize>>),
}

/// The place of a bull in a season, by id or full name; upper and lower case are the same.
#[must_use]
pub fn bull_named(bulls: &[Bull], name: &str) -> Option<usize> {
    let name = same_id(name);
    let by_id = bulls.iter().position(|b| same_id(b.id.as_str()) == name);
    by_id.or_else(|| bulls.iter().position(|b| same_id(&b.name) == name))
}

/// Reads a scores file against the season's bulls. With it come findings that do not stop it.
///
/// # Errors
/// Every finding of the file: the first 200, and a count of the rest.
pub fn read(file: &str, bytes: &[u8], bulls: &[Bull]) -> Result<(Scores, Vec<Finding>), Error> {
    let sheet = Sheet::new(file, bytes, &FORM)?;
    let mut reading = Reading {
        sheet: &sheet,
        bulls,
        found: Findings::default(),
        animals: BTreeMap::new(),
    };
    sheet.tell(&mut reading.found);
    let mut reader = sheet.reader();
    let mut record = csv::StringRecord::new();
    let mut row = RowStart::default();
    let mut form = None;
    while matches!(reader.read_record(&mut record), Ok(true)) {
        row = sheet.row_start(&record, row);
        if let Some(form) = &form {
            reading.row(form, &record, row);
            continue;
        }
        let found = &mut reading.found;
        form = header(&record, bulls, |cell, f| {
            found.add(f, || sheet.place(sheet.spot(row, cell), ""));
        });
        if form.is_none() {
            break;
        }
    }
    let Reading {
        mut found, animals, ..
    } = reading;
    if form.is_none() && !found.any_error() {
        found.add(no_header("the file is empty".to_owned()), || {
            Place::top(file)
        });
    }
    let failed = found.any_error();
    let found = found.listed(file);
    if failed {
        return Err(Error::input(found));
    }
    let file = file.to_owned();
    Ok((Scores { file, animals }, found))
}

struct Reading<'a> {
    sheet: &'a Sheet<'a>,
    bulls: &'a [Bull],
    found: Findings,
    animals: BTreeMap<String, Scored>,
}

impl Reading<'_> {
    fn row(&mut self, form: &Form, record: &csv::StringRecord, row: RowStart) {
        if record.iter().all(|c| c.trim().is_empty()) {
            return;
        }
        let (sheet, bulls, found) = (self.sheet, self.bulls, &mut self.found);
        let at = |cell: usize, field: &str| sheet.place(sheet.spot(row, cell), field);
        let cell = |n: usize| record.get(n).unwrap_or_default().trim();
        let of = match form {
            Form::Long([animal, ..]) | Form::Wide(animal, _) => *animal,
        };
        if cell(of).is_empty() {
            found.add(no_animal(), || at(of, "animal"));
            return;
        }
        // Bull and score of each cell that has one.
        let mut pairs = Vec::new();
        match form {
            Form::Long([_, bull, score]) => match bull_named(bulls, cell(*bull)) {
                Some(b) => pairs.push((b, *score)),
                None => found.add(no_bull(cell(*bull), bulls), || at(*bull, "bull")),
            },
            Form::Wide(_, columns) => {
                let cells = columns.iter().enumerate();
                let filled = cells.filter(|(n, _)| !cell(*n).is_empty());
                pairs.extend(filled.filter_map(|(n, b)| Some(((*b)?, n))));
            }
        }
        let entry = self.animals.entry(same_id(cell(of)));
        let scored = entry.or_insert_with(|| Scored {
            id: cell(of).to_owned(),
            spot: sheet.spot(row, of),
            by_bull: vec![None; bulls.len()],
        });
        for (bull, n) in pairs {
            let field = match form {
                Form::Long(_) => "score",
                Form::Wide(..) => bulls[bull].id.as_str(),
            };
            match hundredths(cell(n)) {
                None => found.add(not_a_score(cell(n)), || at(n, field)),
                Some(_) if scored.by_bull[bull].is_some() => {
                    found.add(twice(cell(of), &bulls[bull]), || at(n, field));
                }
                some => scored.by_bull[bull] = some,
            }
        }
    }
}

fn header(
    record: &csv::StringRecord,
    bulls: &[Bull],
    mut add: impl FnMut(usize, Finding),
) -> Option<Form> {
    let names: Vec<String> = record.iter().map(|c| c.trim().to_lowercase()).collect();
    let at = |name: &str| names.iter().position(|n| n == name);
    let Some(animal) = at("animal") else {
        add(0, no_header("there is no column `animal`".to_owned()));
        return None;
    };
    if let (Some(bull), Some(score)) = (at("bull"), at("score")) {
        return Some(Form::Long([animal, bull, score]));
    }
    let mut columns: Vec<Option<usize>> = Vec::new();
    let mut faults = 0;
    for (n, name) in names.iter().enumerate() {
        let bull = bull_named(bulls, name).filter(|_| n != animal && !name.is_empty());
        if n != animal && !name.is_empty() {
            let fault = match bull {
                None => Some(no_header(format!(
                    "the column {} names no bull of this season",
                    quoted(record[n].trim())
                ))),
                Some(_) if columns.contains(&bull) => Some(no_header(format!(
                    "the column {} is there twice",
                    quoted(record[n].trim())
                ))),
                Some(_) => None,
            };
            if let Some(fault) = fault {
                faults += 1;
                add(n, fault);
            }
        }
        columns.push(bull);
    }
    if faults == 0 && columns.iter().all(Option::is_none) {
        add(0, no_header("no column names a bull".to_owned()));
        return None;
    }
    Some(Form::Wide(animal, columns))
}

/// A number from 0 to 100 with at most two digits behind the point.
fn hundredths(text: &str) -> Option<i64> {
    let (whole, part) = text.split_once('.').unwrap_or((text, ""));
    let digits = |t: &str| t.bytes().all(|b| b.is_ascii_digit());
    if whole.is_empty() || whole.len() > 3 || part.len() > 2 || !digits(whole) || !digits(part) {
        return None;
    }
    let value = whole.parse::<i64>().ok()? * 100 + format!("{part:0<2}").parse::<i64>().ok()?;
    (value <= MOST).then_some(value)
}

fn no_header(what: String) -> Finding {
    Finding::error(Code::ScoreHeader, what)
        .expected("a first line `animal,bull,score`, or `animal` and a column for each bull")
        .hint("name bulls as under `semen`, each once")
}

fn no_animal() -> Finding {
    Finding::error(Code::ScoreCell, "this row names no animal")
        .expected("an id of an animal, as in her herd file")
        .hint("fill the cell, or take the row out")
}

fn no_bull(name: &str, bulls: &[Bull]) -> Finding {
    let what = format!("{} has no straws in this season", quoted(name));
    Finding::error(Code::UnknownId, what)
        .expected("a bull whose straws are listed")
        .hint(did_you_mean(
            nearest(name, bulls.iter().map(|b| b.id.as_str())),
            "list his straws under `semen`, or name another",
        ))
}

fn not_a_score(text: &str) -> Finding {
    Finding::error(
        Code::ScoreCell,
        format!("{} cannot be read as a score", quoted(text)),
    )
    .expected("a number from 0 to 100, the best, with at most two digits behind a point")
    .hint("correct the cell, or take the score out: the order of the group's `bulls` counts then")
}

fn twice(animal: &str, bull: &Bull) -> Finding {
    let (animal, id) = (quoted(animal), quoted(bull.id.as_str()));
    let what = format!("{animal} has a score for {id} already");
    Finding::error(Code::ScoreTwice, what)
        .expected("one score of a bull for an animal; upper and lower case count as the same")
        .hint("take one of the two out")
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::base::units::Id;

    fn bulls() -> Vec<Bull> {
        ["Ash 1", "Elm 2"]
            .map(|id| Bull {
                id: Id::new(id).unwrap(),
                name: format!("{id} in full"),
                places: Vec::new(),
                assumed: false,
                facts: crate::trade::season::BullFacts::default(),
            })
            .to_vec()
    }

    #[test]
    fn both_forms_say_the_same() {
        let long = b"score,animal,bull\n90,A1,ash 1\n7.5,A1,Elm 2 in full\n,,\n100,a2,Elm 2\n";
        let wide = b"animal;ASH 1;;Elm 2\nA1;90;;7.5\na2;;;100\n";
        for bytes in [&long[..], &wide[..]] {
            let (scores, found) = read("s.csv", bytes, &bulls()).unwrap();
            assert_eq!(found, []);
            assert_eq!(scores.score("a1", 0), Some(9000));
            assert_eq!(scores.score("A1 ", 1), Some(750));
            assert_eq!(scores.score("A2", 0), None);
            assert_eq!(scores.score("A2", 1), Some(10_000));
        }
    }

    #[test]
    fn faults_have_line_column_and_field() {
        let faults = |text: &str| -> Vec<String> {
            let error = read("s.csv", text.as_bytes(), &bulls()).unwrap_err();
            let all = error.findings().iter();
            all.map(|f| format!("{} {}", f.code, f.place.as_ref().unwrap()))
                .collect()
        };
        let rows = "A,Oak,5\nA,Ash 1,101\n,Ash 1,5\nA,Elm 2,5\na,elm 2,6\nB,Elm 2,\n";
        let expected = [
            "S105 s.csv:2:3 bull",
            "M103 s.csv:3:9 score",
            "M103 s.csv:4:1 animal",
            "M104 s.csv:6:9 score",
            "M103 s.csv:7:9 score",
        ];
        assert_eq!(faults(&format!("animal,bull,score\n{rows}")), expected);
        assert_eq!(faults(""), ["M102 s.csv:1:1"]);
        assert_eq!(faults("cow,Ash 1\n"), ["M102 s.csv:1:1"]);
        assert_eq!(
            faults("animal,Oak 3,Ash 1,Ash 1\nA,1,x,3\n"),
            ["M102 s.csv:1:8", "M102 s.csv:1:20", "M103 s.csv:2:5 Ash 1"]
        );
    }

    #[test]
    fn scores_are_hundredths() {
        let read = ["0", "100", "99.99", "7.5", "0.01"].map(hundredths);
        assert_eq!(read, [0, 10_000, 9999, 750, 1].map(Some));
        for bad in ["", "-1", "100.01", "1e2", "1.234", "5,5", ".5", "x"] {
            assert_eq!(hundredths(bad), None, "{bad}");
        }
    }
}
