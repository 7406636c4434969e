//! Herd tables as people keep them (all invented), with what stands in them.

use proptest::prelude::*;
use thawline::error::{Code, Finding, Severity};
use thawline::herd::{self, Animal, Asked, DateOrder, Herd};
use thawline::protocol::Class;

use crate::support::Dice;

fn read(text: &str, asked: &Asked) -> Result<(Herd, Vec<Finding>), Vec<Finding>> {
    herd::read_as("t.csv", text.as_bytes(), Class::Cow, None, asked)
        .map_err(|e| e.findings().to_vec())
}

/// The first animal in short: id, other id, birth, calving, condition, pounds, sire and dam.
fn short(a: &Animal) -> String {
    let date = |d: Option<chrono::NaiveDate>| d.map_or("-".to_owned(), |d| d.to_string());
    let text = |t: &Option<String>| t.clone().unwrap_or("-".to_owned());
    let number = |n: Option<f64>| n.map_or("-".to_owned(), |n| format!("{n:.1}"));
    format!(
        "{} {} {} {} {} {} {} {}",
        a.id,
        text(&a.other_id),
        date(a.born),
        date(a.calved),
        number(a.body_condition),
        number(a.weight_lb),
        text(&a.sire),
        text(&a.dam)
    )
}

/// Tables, `/` between rows, and the last animal of each; a code if the table is refused.
const TABLES: [(&str, &str); 30] = [
    (
        "animal,birth_date|A1,2023-03-01",
        "A1 - 2023-03-01 - - - - -",
    ),
    ("Tag|N001", "N001 - - - - - - -"),
    ("VID;BCS|17;5", "17 - - - 5.0 - - -"),
    ("EID|840003000000017", "840003000000017 - - - - - - -"),
    (
        "EID,Tag|840 003000000017,N1",
        "840003000000017 N1 - - - - - -",
    ),
    (
        "Tag,EID|N1,840003000000017",
        "840003000000017 N1 - - - - - -",
    ),
    ("Tag,EID|N1,", "N1 - - - - - - -"),
    ("Tag,EID|N1,8.4E+14", "N1 - - - - - - -"),
    ("EID|8.4E+14", "row 2 - - - - - - -"),
    (
        "animal,EID|N1,840003000000017",
        "N1 840003000000017 - - - - - -",
    ),
    ("Ear Tag,D.O.B.|7,17-May-23", "7 - 2023-05-17 - - - - -"),
    (
        "TAG #,date of birth|7,May 17 2023",
        "7 - 2023-05-17 - - - - -",
    ),
    ("Cow ID,DOB|7,5/17/23", "7 - 2023-05-17 - - - - -"),
    ("cow,DOB|7,17.05.2023", "7 - 2023-05-17 - - - - -"),
    ("cow,DOB|6,3/4/2023|7,3/17/2023", "7 - 2023-03-17 - - - - -"),
    ("cow,DOB|6,17/3/2023|7,3/4/2023", "7 - 2023-04-03 - - - - -"),
    (
        "cow,DOB,Last Calved|7,3/17/2023,3/4/2027",
        "7 - 2023-03-17 2027-03-04 - - - -",
    ),
    (
        "cow,DOB,Last Calved|7,17/3/2023,3/4/2027",
        "7 - 2023-03-17 2027-04-03 - - - -",
    ),
    ("cow,DOB|7,4/4/2023", "7 - 2023-04-04 - - - - -"),
    ("cow,DOB|7,3/4/2023", "H121"),
    ("cow,DOB|6,3/17/2023|7,17/3/2023", "H121"),
    ("cow,DOB|7,2023-05-17 00:00:00", "7 - 2023-05-17 - - - - -"),
    ("cow,DOB|7,20230517", "7 - 2023-05-17 - - - - -"),
    ("cow,DOB|7,soon", "H106"),
    ("cow,body condition score|7,5+", "7 - - - 5.5 - - -"),
    ("cow,B.C.S.|7,6-", "7 - - - 5.5 - - -"),
    ("cow,Wt (lb),Pasture|7,1210,North", "7 - - - - 1210.0 - -"),
    (
        "id,WEIGHT_KG,Sire ID,Dam ID|7,500,S1,D1",
        "7 - - - - 1102.3 S1 D1",
    ),
    ("cow,service sire|7,B1", "H102"),
    ("Tag,ID,ear tag|7,8,9", "H103"),
];

/// What is read in another way than its plain form is said, and what is left out.
#[test]
fn thirty_tables_are_read_as_they_are_meant() {
    for (table, expected) in TABLES {
        let text = table.replace('|', "\n");
        match read(&text, &Asked::default()) {
            Ok((herd, found)) => {
                assert_eq!(short(herd.animals.last().unwrap()), expected, "{table}");
                let plain = table.starts_with("animal,birth_date");
                assert_eq!(found.is_empty(), plain, "{table}: {found:?}");
            }
            Err(found) => assert_eq!(found[0].code.as_str(), expected, "{table}: {found:?}"),
        }
    }
}

#[test]
fn the_user_settles_what_is_open() {
    let asked = |dates, columns: &[(&str, &str)]| Asked {
        dates,
        columns: columns
            .iter()
            .map(|(a, b)| ((*a).to_owned(), (*b).to_owned()))
            .collect(),
        ..Asked::default()
    };
    let text = "cow,Fresh,Bull\n7,3/4/2027,B1\n";
    let columns = [("fresh", "last_calving_date"), ("Bull", "none")];
    let found = read(text, &asked(None, &columns)).unwrap_err();
    assert_eq!(found[0].code, Code::HerdDateOrder);
    assert!(found[0].what.contains("4 Mar 2027 or"), "{}", found[0].what);
    for (order, day) in [
        (DateOrder::Mdy, "2027-03-04"),
        (DateOrder::Dmy, "2027-04-03"),
    ] {
        let (herd, _) = read(text, &asked(Some(order), &columns)).unwrap();
        assert_eq!(herd.animals[0].calved.unwrap().to_string(), day);
        assert_eq!(herd.animals[0].mating, None);
    }
    let wrong = read(text, &asked(None, &[("Fresh", "calved_at")])).unwrap_err();
    assert!(
        wrong.iter().any(|f| f.what.contains("`calved_at`")),
        "{wrong:?}"
    );
}

/// Heads of the two kinds of tables that people brought: five ways to write a date in one column,
/// plus signs behind scores, electronic ids that a spreadsheet has rounded.
#[test]
fn tables_of_mixed_writing_read_without_an_edit() {
    let cows = "EID,Tag,DOB,Last Calved,BCS,Remarks\n\
        982000400000001,N001,03/20/2023,2/28/27,,\n982000400000002,N002,10/27/22,01-Apr-27,5+,lame\n\
        982000400000003,N003,13-Jul-20,2027-03-30,4.5,\n982000400000004,N004,2022-10-17,Mar 8 2027,5,\n";
    let (herd, found) = read(cows, &Asked::default()).unwrap();
    let said: Vec<String> = herd.animals.iter().map(short).collect();
    assert_eq!(
        said[1],
        "982000400000002 N002 2022-10-27 2027-04-01 5.5 - - -"
    );
    assert!(
        found.iter().all(|f| f.severity == Severity::Note),
        "{found:?}"
    );
    let heifers = "EID,DOB,Weight,Weigh date,Sexed\n9.82E+14,04/05/2026,700,4/12/2027,Y\n\
        982000400000005,3/21/26,650,4/12/2027,N\n982000400000006,Mar 23 2026,810,4/12/2027,N\n";
    let (herd, found) = herd::read("t.csv", heifers.as_bytes(), Class::Heifer, None).unwrap();
    assert_eq!(herd.animals[0].id, "row 2");
    assert_eq!(herd.animals[0].weighed.unwrap().to_string(), "2027-04-12");
    assert_eq!(
        [true, false, false],
        [0, 1, 2].map(|n: usize| herd.animals[n].sexed)
    );
    assert!(
        found.iter().any(|f| f.code == Code::ElectronicId),
        "{found:?}"
    );
}

#[test]
fn four_hundred_faults_are_a_line_a_column() {
    let rows: Vec<String> = (0..200).map(|n| format!("{n},soon,fat")).collect();
    let rows = rows.join("\n");
    let found = read(&format!("cow,DOB,BCS\n{rows}"), &Asked::default()).unwrap_err();
    let errors: Vec<&Finding> = found
        .iter()
        .filter(|f| f.severity == Severity::Error)
        .collect();
    assert_eq!(errors.len(), 2, "{errors:?}");
    for f in errors {
        assert!(f.what.starts_with("200 cells of") && f.what.matches("line ").count() == 3);
    }
}

proptest! {
    /// A table in a random style reads as the plain one.
    #[test]
    fn any_style_reads_as_the_plain_one(seed in any::<u64>()) {
        let mut dice = Dice(seed);
        let separator = *dice.pick(&[",", ";", "\t"]);
        let style = dice.below(4);
        let mut plain = vec!["animal,birth_date,body_condition".to_owned()];
        let head = [
            *dice.pick(&["Tag", "VID", "cow id", "EAR_TAG", " Animal "]),
            *dice.pick(&["DOB", "born", "Date of Birth", "BIRTH-DATE"]),
            *dice.pick(&["BCS", "Body Condition Score", "condition"]),
        ];
        let mut styled = vec![head.join(separator)];
        for n in 0..dice.from(1, 20) {
            // The first day is above 12: it settles the order.
            let (m, d) = (dice.from(1, 12), if n == 0 { 17 } else { dice.from(1, 28) });
            let score = dice.from(2, 18) as f64 / 2.0;
            plain.push(format!("A{n},2023-{m:02}-{d:02},{score}"));
            let name = ["Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec"][m as usize - 1];
            let day = match style {
                0 => format!("{m}/{d}/2023"),
                1 => format!("{d:02}.{m:02}.23"),
                2 => format!("{d}-{name}-23"),
                _ => format!("2023-{m:02}-{d:02} 00:00"),
            };
            styled.push([format!("A{n}"), day, score.to_string()].join(separator));
        }
        let end = *dice.pick(&["\n", "\r\n"]);
        let [one, other] = [plain.join("\n"), styled.join(end)]
            .map(|t| read(&t, &Asked::default()).unwrap().0);
        for (a, b) in one.animals.iter().zip(&other.animals) {
            prop_assert_eq!(short(a), short(b));
        }
        prop_assert_eq!(one.animals.len(), other.animals.len());
    }
}

/// Letters in the code pages that spreadsheets write: bytes by the Unicode tables of each
/// (RFC 3629, RFC 2781 and the Windows-1252 table of the Encoding standard).
#[test]
fn code_pages_are_read_and_said() {
    let utf8 = "animal,notes\n7,né – calm\n".as_bytes().to_vec();
    let marked = [b"\xef\xbb\xbf", utf8.as_slice()].concat();
    let western = b"animal,notes\n7,n\xe9 \x96 calm\n".to_vec();
    let text = "animal,notes\n7,né – calm\n";
    let wide: Vec<u8> = "\u{feff}"
        .encode_utf16()
        .chain(text.encode_utf16())
        .flat_map(u16::to_le_bytes)
        .collect();
    for (bytes, said) in [
        (utf8, false),
        (marked, false),
        (western, true),
        (wide, false),
    ] {
        let (herd, found) = herd::read("t.csv", &bytes, Class::Cow, None).unwrap();
        assert_eq!(herd.animals[0].notes.as_deref(), Some("né – calm"));
        assert_eq!(
            found.iter().any(|f| f.what.contains("Windows-1252")),
            said,
            "{found:?}"
        );
    }
    let found = herd::read("t.csv", b"animal\n\x00\xff", Class::Cow, None).unwrap_err();
    assert_eq!(found.findings()[0].code, Code::FileNotText);
}

/// What breaks the parts of a workbook.
const BROKEN: &[&[u8]] = &[
    b"9",
    b"\"",
    b"<",
    b">",
    b"/",
    b"ZZZ99999999",
    b"-",
    b"&#0;",
    b"\xff",
    b"",
];

/// Written by openpyxl 3.1.5, a library of its own.
const BOOK: &[u8] = include_bytes!("spreadsheets/cows.xlsx");

#[test]
fn a_workbook_reads_as_its_cells_show() {
    let (herd, found) = herd::read("cows.xlsx", BOOK, Class::Cow, None).unwrap();
    let said: Vec<String> = herd.animals.iter().map(short).collect();
    assert_eq!(
        said,
        [
            "982000400000001 101 2023-03-20 2027-02-28 5.0 1210.5 - -",
            // 46478 days after 30 December 1899.
            "982000400000002 N102 2022-10-27 2027-04-01 5.5 1180.0 - -",
            "982000400000003 103 2020-07-13 2027-03-30 - - - -",
        ]
    );
    let notes = |n: usize| herd.animals[n].notes.as_deref();
    assert_eq!(
        [notes(0), notes(1)],
        [Some("\"calm\", second calf"), Some("café red")]
    );
    assert_eq!(herd.animals[2].spot.line, 5);
    assert!(
        found.iter().all(|f| f.severity == Severity::Note),
        "{found:?}"
    );
    assert!(
        found.iter().any(|f| f.what.contains("2 sheets `Cows`")),
        "{found:?}"
    );
}

/// A file of 1.1 MB that unpacks to a thousand times as much, and cells at the far corner.
#[test]
fn workbooks_that_would_fill_the_memory_are_refused() {
    use std::io::Write as _;
    let packed = |size: usize| {
        let mut zip = zip::ZipWriter::new(std::io::Cursor::new(Vec::new()));
        let deflated = zip::write::SimpleFileOptions::default()
            .compression_method(zip::CompressionMethod::Deflated);
        zip.start_file("xl/sharedStrings.xml", deflated).unwrap();
        let part = vec![b' '; 1 << 20];
        for _ in 0..size {
            zip.write_all(&part).unwrap();
        }
        zip.finish().unwrap().into_inner()
    };
    let code = |bytes: &[u8]| {
        let error = herd::read("t.xlsx", bytes, Class::Cow, None).unwrap_err();
        error.findings()[0].code
    };
    assert_eq!(code(&packed(300)), Code::FileTooLarge);
    assert_eq!(code(&packed(1)), Code::FileNotText);
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(500))]

    /// A damaged workbook is read or refused, and never a panic. Its parts are damaged within a whole
    /// ZIP file, whose checksums would else catch it.
    #[test]
    fn damaged_workbooks_never_panic(seed in any::<u64>()) {
        use std::io::{Cursor, Read as _, Write as _};
        let mut dice = Dice(seed);
        let mut bytes = BOOK.to_vec();
        if dice.below(4) == 0 {
            let at = dice.below(bytes.len() as u64) as usize;
            bytes[at] ^= 1 << dice.below(8);
        } else {
            let mut from = zip::ZipArchive::new(Cursor::new(BOOK)).unwrap();
            let mut to = zip::ZipWriter::new(Cursor::new(Vec::new()));
            let hurt = dice.below(from.len() as u64) as usize;
            for n in 0..from.len() {
                let mut part = from.by_index(n).unwrap();
                let mut text = Vec::new();
                part.read_to_end(&mut text).unwrap();
                for _ in 0..if n == hurt { dice.from(1, 6) } else { 0 } {
                    let at = dice.below(text.len() as u64) as usize;
                    let odd = *dice.pick(BROKEN);
                    let upto = (at + dice.below(3) as usize).min(text.len());
                    text.splice(at..upto, odd.iter().copied());
                }
                to.start_file(part.name().unwrap().into_owned(), zip::write::SimpleFileOptions::default()
                    .compression_method(zip::CompressionMethod::Stored)).unwrap();
                to.write_all(&text).unwrap();
            }
            bytes = to.finish().unwrap().into_inner();
        }
        let _ = herd::read("t.xlsx", &bytes, Class::Cow, None);
    }
}
