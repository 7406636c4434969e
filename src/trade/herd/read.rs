//! From the bytes of a herd file to its animals. All faults come back together.

use std::collections::BTreeMap;

use chrono::NaiveDate;

use super::dates::Orders;
use super::heading::{FORM, Header, no_header};
use super::{
    Animal, Column, Herd, MOST_ANIMALS, Spot, cells, electronic_id, mature_lb_by_frame, rules,
    same_id,
};
use crate::base::error::{Code, Error, Finding, Place, quoted};
use crate::base::sheet::{Asked, Findings, RowStart, Sheet};
use crate::base::units::LB_PER_KG;
use crate::trade::protocol::Class;

/// Reads the herd of a group of this class. Where the first day of its protocol is known, dates
/// are held against it. With the herd come the findings that do not stop it.
///
/// # Errors
/// Every finding of the file, at least one of them an error: the first 200, and a count of the
/// rest.
pub fn read(
    file: &str,
    bytes: &[u8],
    class: Class,
    first_day: Option<NaiveDate>,
) -> Result<(Herd, Vec<Finding>), Error> {
    read_as(file, bytes, class, first_day, &Asked::default())
}

/// As [`read()`], with what the user says of the table.
///
/// # Errors
/// As [`read()`].
pub fn read_as(
    file: &str,
    bytes: &[u8],
    class: Class,
    first_day: Option<NaiveDate>,
    asked: &Asked,
) -> Result<(Herd, Vec<Finding>), Error> {
    let sheet = Sheet::new(file, bytes, &FORM)?;
    let mut reading = Reading {
        sheet: &sheet,
        class,
        first_day,
        asked,
        orders: Orders::default(),
        sign_told: false,
        found: Findings::default(),
        animals: Vec::new(),
        seen: BTreeMap::new(),
    };
    sheet.tell(&mut reading.found);
    reading.rows();
    let failed = reading.found.any_error();
    let found = reading.found.listed(file);
    if failed {
        return Err(Error::input(found));
    }
    let herd = Herd {
        file: file.to_owned(),
        animals: reading.animals,
        waiting: Vec::new(),
    };
    Ok((herd, found))
}

struct Reading<'a> {
    sheet: &'a Sheet<'a>,
    class: Class,
    first_day: Option<NaiveDate>,
    asked: &'a Asked,
    orders: Orders,
    /// True once it has been said how a score with a sign is read.
    sign_told: bool,
    found: Findings,
    animals: Vec<Animal>,
    seen: BTreeMap<String, u32>,
}

/// Weights and frame scores of cattle lie within these: common practice, no source. They keep out
/// slips of the hand, no more.
const WEIGHT_LB: (f64, f64) = (50.0, 4000.0);
const WEIGHT_KG: (f64, f64) = (20.0, 1800.0);
const FRAME: (f64, f64) = (1.0, 12.0);

/// The largest number of a pen, and of an animal in it.
const MOST_ORDER: u32 = MOST_ANIMALS as u32;

/// Characters of an id, breed or parent; of a remark.
const MOST_ID: usize = 40;
const MOST_NOTE: usize = 200;

impl Reading<'_> {
    fn rows(&mut self) {
        let mut reader = self.sheet.reader();
        let mut record = csv::StringRecord::new();
        let mut row = RowStart::default();
        let mut header: Option<Header> = None;
        // The text is in memory and UTF-8, and rows may be of any length: nothing can fail.
        while matches!(reader.read_record(&mut record), Ok(true)) {
            row = self.sheet.row_start(&record, row);
            let Some(header) = &header else {
                header = Header::read(self.sheet, &record, row, self.asked, &mut self.found);
                let Some(header) = &header else {
                    return;
                };
                self.orders = Orders::of(self.sheet, header, self.asked.dates, &mut self.found);
                continue;
            };
            if record.iter().all(|c| c.trim().is_empty()) {
                continue;
            }
            if self.animals.len() == MOST_ANIMALS {
                let what = format!("there are more than {MOST_ANIMALS} animals");
                let fault = Finding::error(Code::FileTooLarge, what)
                    .expected("the animals of one group")
                    .hint("is this the right file? Keep one row for each animal of the group");
                self.found
                    .add(fault, || self.sheet.place(self.sheet.spot(row, 0), ""));
                return;
            }
            if self.is_whole(header, &record, row) {
                let animal = self.animal(header, &record, row);
                self.animals.push(animal);
            }
        }
        if header.is_none() {
            self.found
                .add(no_header(""), || Place::top(self.sheet.file));
        }
    }

    /// True if every cell stands under a column.
    fn is_whole(&mut self, header: &Header, record: &csv::StringRecord, row: RowStart) -> bool {
        let (have, want) = (record.len(), header.columns.len());
        let stray = (0..have)
            .find(|n| {
                header.columns.get(*n).is_none_or(Option::is_none) && !record[*n].trim().is_empty()
            })
            // Under an unknown name the header's finding says it.
            .filter(|n| *n >= want || header.blank(*n));
        let (cell, what, hint) = if have < want {
            (
                0,
                format!("this row has {have} cells, the header {want}"),
                "end the row with a separator for each cell that is blank; one in the middle may be missing",
            )
        } else if let Some(n) = stray {
            (
                n,
                format!(
                    "the cell {} stands under no column",
                    quoted(record[n].trim())
                ),
                "text that holds a separator goes in double quotes; or name the column",
            )
        } else {
            return true;
        };
        let finding = Finding::error(Code::HerdRow, what)
            .expected(format!("{want} cells, as many as the header has"))
            .hint(hint);
        self.found
            .add(finding, || self.sheet.place(self.sheet.spot(row, cell), ""));
        false
    }

    fn animal(&mut self, header: &Header, record: &csv::StringRecord, row: RowStart) -> Animal {
        let mut cells = Row {
            sheet: self.sheet,
            header,
            record,
            start: row,
            orders: &self.orders,
            found: &mut self.found,
        };
        let (id, electronic) = cells.id();
        let other_id = cells.other_id().filter(|other| *other != id);
        let mature = cells.weight(Column::MatureWeightLb, Column::MatureWeightKg);
        let frame = cells.number(Column::FrameScore, FRAME);
        let text = |c, t: &str| cells::line(c, t, MOST_ID);
        let animal = Animal {
            id,
            electronic,
            other_id,
            class: cells.read(Column::Class, class).unwrap_or(self.class),
            born: cells.date(Column::BirthDate),
            calved: cells.date(Column::LastCalvingDate),
            breed: cells.read(Column::Breed, text),
            body_condition: cells.read(Column::BodyCondition, |c, t| {
                cells::half_score(c, t, 1.0, 9.0)
            }),
            weight_lb: cells.weight(Column::WeightLb, Column::WeightKg),
            weighed: cells.date(Column::WeighedDate),
            mature_lb: mature.or(frame.map(mature_lb_by_frame)),
            frame,
            tract_score: cells.read(Column::TractScore, |c, t| cells::whole_score(c, t, 1, 5)),
            sire: cells.read(Column::Sire, text),
            dam: cells.read(Column::Dam, text),
            mating: cells.read(Column::Mating, text),
            second_mating: cells.read(Column::SecondMating, text),
            sexed: cells.read(Column::Sexed, yes).unwrap_or(false),
            pen: cells.read(Column::Pen, |c, t| cells::counted(c, t, MOST_ORDER)),
            chute_order: cells.read(Column::ChuteOrder, |c, t| cells::counted(c, t, MOST_ORDER)),
            notes: cells.read(Column::Notes, |c, t| cells::line(c, t, MOST_NOTE)),
            spot: cells.spot(Column::Animal),
            dam_spot: cells.spot_if_given(Column::Dam),
            mating_spots: [Column::Mating, Column::SecondMating].map(|c| cells.spot_if_given(c)),
            order_spots: [Column::Pen, Column::ChuteOrder].map(|c| cells.spot_if_given(c)),
        };
        let score = cells.text(Column::BodyCondition);
        if let Some((text, half)) = score.and_then(|t| Some((t, cells::with_sign(t)?)))
            && !std::mem::replace(&mut self.sign_told, true)
        {
            let what = format!("{} is read as body condition {half}", quoted(text));
            let note = Finding::note(Code::HerdReading, what)
                .hint("a plus is half a score more, a minus half a score less");
            cells.add(Column::BodyCondition, note);
        }
        for (column, finding) in rules::animal(&animal, self.class, self.first_day) {
            cells.add(column, finding);
        }
        if let Some(first) = self.seen.get(&same_id(&animal.id)) {
            let what = format!("{} is on line {first} already", quoted(&animal.id));
            let finding = Finding::error(Code::AnimalTwice, what)
                .expected("each animal once; upper and lower case count as the same")
                .hint("take one of the two rows out, or correct the id");
            cells.add(Column::Animal, finding);
        } else if !animal.id.is_empty() {
            self.seen.insert(same_id(&animal.id), animal.spot.line);
        }
        animal
    }
}

/// One row's cells by column.
struct Row<'a> {
    sheet: &'a Sheet<'a>,
    header: &'a Header,
    record: &'a csv::StringRecord,
    start: RowStart,
    orders: &'a Orders,
    found: &'a mut Findings,
}

impl<'a> Row<'a> {
    fn text(&self, column: Column) -> Option<&'a str> {
        let text = self.record.get(self.header.position(column)?)?.trim();
        (!text.is_empty()).then_some(text)
    }

    fn spot(&self, column: Column) -> Spot {
        let cell = self.header.position(column).unwrap_or(0);
        self.sheet.spot(self.start, cell)
    }

    fn spot_if_given(&self, column: Column) -> Spot {
        match self.text(column) {
            Some(_) => self.spot(column),
            None => Spot::default(),
        }
    }

    fn add(&mut self, column: Column, finding: Finding) {
        let (sheet, start) = (self.sheet, self.start);
        let cell = self.header.position(column).unwrap_or(0);
        self.found.add(finding, || {
            sheet.place(sheet.spot(start, cell), column.as_str())
        });
    }

    fn read<T>(
        &mut self,
        column: Column,
        reading: impl FnOnce(Column, &str) -> Result<T, Finding>,
    ) -> Option<T> {
        match reading(column, self.text(column)?) {
            Ok(value) => Some(value),
            Err(finding) => {
                self.add(column, finding);
                None
            }
        }
    }

    /// A date in its column's order. What is asked of the whole column is not said of each cell.
    fn date(&mut self, column: Column) -> Option<NaiveDate> {
        let orders = self.orders;
        self.read(column, |c, text| orders.date(c, text)).flatten()
    }

    fn number(&mut self, column: Column, (least, most): (f64, f64)) -> Option<f64> {
        self.read(column, |c, t| cells::number(c, t, least, most))
    }

    /// A weight in pounds, from the column of either unit.
    fn weight(&mut self, lb: Column, kg: Column) -> Option<f64> {
        let kilograms = |row: &mut Self| Some(row.number(kg, WEIGHT_KG)? * LB_PER_KG);
        self.number(lb, WEIGHT_LB).or_else(|| kilograms(self))
    }

    /// The id, and whether it is an electronic one. Where that cell is blank or has lost its last
    /// digits, the tag beside it is the id, or else the row.
    fn id(&mut self) -> (String, bool) {
        if self.header.position(Column::Animal).is_none() {
            return (String::new(), false);
        }
        let tag = self.text(Column::Tag);
        let Some(text) = self.text(Column::Animal).or(tag) else {
            let finding = Finding::error(Code::HerdCell, "this row names no animal")
                .expected("an id of the animal: a tag, or 15 digits of an electronic id")
                .hint("fill the cell, or take the row out");
            self.add(Column::Animal, finding);
            return (String::new(), false);
        };
        let id = if electronic_id::is_shortened(text) {
            let stand_in = tag.map_or_else(
                || format!("row {}", self.spot(Column::Animal).line),
                str::to_owned,
            );
            self.add(Column::Animal, electronic_id::shortened(text, &stand_in));
            Ok((stand_in, false))
        } else {
            read_id(text)
        };
        // What cannot be an id is kept as it is for finding it twice, but goes nowhere else.
        id.unwrap_or_else(|finding| {
            self.add(Column::Animal, finding);
            (String::new(), electronic_id::digits(text).is_some())
        })
    }

    /// The tag beside an electronic id, or the other way round.
    fn other_id(&mut self) -> Option<String> {
        self.text(Column::Animal)?;
        let mut other = None;
        for column in [Column::ElectronicId, Column::Tag] {
            let text = self
                .text(column)
                .filter(|t| !electronic_id::is_shortened(t));
            if let Some(text) = text {
                let read = self.read(column, |_, _| read_id(text));
                other = other.or(read.map(|(id, _)| id));
            }
        }
        other
    }
}

fn read_id(text: &str) -> Result<(String, bool), Finding> {
    match electronic_id::digits(text) {
        Some(digits) => electronic_id::check(&digits).map(|()| (digits, true)),
        None => cells::line(Column::Animal, text, MOST_ID).map(|id| (id, false)),
    }
}

fn yes(column: Column, text: &str) -> Result<bool, Finding> {
    match text.to_lowercase().as_str() {
        "yes" | "y" | "true" | "1" | "x" => Ok(true),
        "no" | "n" | "false" | "0" => Ok(false),
        _ => Err(Finding::error(
            Code::HerdCell,
            format!("{} is no answer to {}", quoted(text), column.as_str()),
        )
        .expected("`yes` for an animal that is to get sexed semen, or `no`; no if blank")
        .hint("correct the cell, or leave it blank")),
    }
}

fn class(column: Column, text: &str) -> Result<Class, Finding> {
    match text.to_lowercase().as_str() {
        "cow" | "cows" => Ok(Class::Cow),
        "heifer" | "heifers" => Ok(Class::Heifer),
        other => Err(Finding::error(
            Code::HerdCell,
            format!("{} is no {}", quoted(text), column.as_str()),
        )
        .expected("`cow` or `heifer`; the group's class if blank")
        .hint(match other {
            "c" | "first-calf" | "first calf" | "first-calf heifer" | "first calf heifer"
            | "mature" => "did you mean `cow`? An animal that has calved is a cow here",
            "h" | "yearling" | "replacement" => "did you mean `heifer`?",
            _ => "correct the cell, or leave it blank",
        })),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn cows(text: &str) -> Result<(Herd, Vec<Finding>), Error> {
        let first_day = NaiveDate::from_ymd_opt(2027, 5, 3);
        read("cows.csv", text.as_bytes(), Class::Cow, first_day)
    }

    /// Code, line, column and field of each.
    fn faults(text: &str) -> String {
        let error = cows(text).unwrap_err();
        let told = error.findings().iter().map(|f| {
            let place = f.place.as_ref().unwrap().to_string();
            format!("{} {}", f.code, place.strip_prefix("cows.csv:").unwrap())
        });
        told.collect::<Vec<_>>().join(", ")
    }

    #[test]
    fn columns_in_any_order_byte_order_mark_and_quotes() {
        for (separator, end) in [(",", "\n"), (";", "\r\n"), ("\t", "\n")] {
            let text = "\u{feff}notes,Weight KG,animal,frame_score,\n\"calm, old\",500,17,5.6,\n,,\"999 000000000001\",,\n,,,,\n"
                .replace("calm, old", "calm@ old")
                .replace(',', separator)
                .replace('@', ",")
                .replace('\n', end);
            let (herd, found) = cows(&text).unwrap();
            assert_eq!(found, []);
            assert_eq!(herd.animals.len(), 2);
            let first = &herd.animals[0];
            assert_eq!(first.notes.as_deref(), Some("calm, old"));
            assert!((first.weight_lb.unwrap() - 1102.311).abs() < 0.001);
            assert!((first.mature_lb.unwrap() - 1220.0).abs() < 1e-9);
            assert_eq!(herd.animals[1].id, "999000000000001");
            assert!(herd.animals[1].electronic);
            assert_eq!(herd.animals[1].spot.line, 3);
        }
    }

    #[test]
    fn all_faults_come_back_with_line_column_and_field() {
        let text = "animal,class,weight_lb,last_calving_date\r\n\
                    1,cow,845 lb,2027-03-01\r\n\
                    2,bull,,3/4/2027\r\n\
                    \r\n\
                    1,,,\r\n\
                    3,,\r\n\
                    4,,,,5\r\n\
                    ,cow,,\r\n";
        let expected = "H105 2:7 weight_lb, H105 3:3 class, H121 3:9 last_calving_date, \
                        H108 5:1 animal, H104 6:1, H104 7:6, H105 8:1 animal";
        assert_eq!(faults(text), expected);
    }

    #[test]
    fn headers_that_are_none_or_unknown() {
        assert_eq!(faults(""), "H101 1:1");
        assert_eq!(faults("17,cow,5\n"), "H101 1:1");
        let unknown = "H102 1:5 wieght_lb, H120 1:1";
        assert_eq!(faults("Tag;wieght_lb\n"), unknown);
        assert_eq!(
            faults("DOB;pasture\n"),
            "H101 1:1, H102 1:5 pasture, H120 1:1"
        );
        let twice = "H103 1:15 weight_kg, H103 1:25 weight_lb, H105 2:3 weight_lb, H120 1:1";
        let text = "tag,weight_lb,weight_kg,weight_lb,bcs\n1,x,,,\n";
        assert_eq!(faults(text), twice);
    }

    #[test]
    fn a_quote_that_is_not_closed_is_seen() {
        let found = cows("animal,notes\n1,\"tall\n2,\n3,\n").unwrap_err();
        assert_eq!(found.findings()[0].code, Code::BadText);
        assert!(found.findings()[0].hint.as_ref().unwrap().contains("quote"));
    }

    #[test]
    fn many_errors_of_a_column_are_one_line_with_examples() {
        let text = format!("animal,tract_score\n{}", "a,9\n".repeat(300));
        let error = cows(&text).unwrap_err();
        let said: Vec<&str> = error.findings().iter().map(|f| f.what.as_str()).collect();
        // Each row is out of its scale, and each but the first stands twice.
        let [score, twice] = said[..] else {
            panic!("{said:?}")
        };
        assert!(
            score.starts_with("300 cells of `tract_score`") && score.matches("line ").count() == 3,
            "{score}"
        );
        assert!(twice.starts_with("299 cells of `animal`"), "{twice}");
    }

    #[test]
    fn warnings_do_not_crowd_out_an_error() {
        let rows: Vec<String> = (0..300).map(|n| format!("{n},4\n")).collect();
        let mut text = format!("animal,tract_score\n{}", rows.concat());
        assert_eq!(cows(&text).unwrap().1.len(), 201);
        text.push_str("x,9\n");
        let error = cows(&text).unwrap_err();
        assert_eq!(error.findings()[0].code, Code::OutOfRange);
        assert_eq!(error.findings().len(), 201);
    }
}
