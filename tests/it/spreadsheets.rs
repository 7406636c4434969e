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
    let rows: String = (0..200).map(|n| format!("{n},soon,fat\n")).collect();
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
