//! Tables of comma-separated values: every command's, read by a general reader, held against the
//! JSON of the same command, and never run by a spreadsheet.

use std::collections::BTreeSet;

use serde_json::Value;
use thawline::plan::Plan;
use thawline::protocol::Library;
use thawline::{output, pipeline, season, tank, thaw};

use crate::bad_input::{Folder, thawline};

/// Arguments that print a table of the demo, or of its wishes.
const TABLES: &[&str] = &[
    "plan demo/season.yaml",
    "tank demo/season.yaml",
    "thaw demo/season.yaml",
    "thaw demo/season.yaml --session first-calf/1/ai@creek",
    "herd demo/season.yaml",
    "choose demo/wishes.yaml",
    "cover demo/season.yaml --group mature",
    "cover demo/season.yaml --technicians 1",
    "chance demo/season.yaml --runs 50",
    "protocols",
    "protocols cow-7-day-co-synch-insert",
    "protocols heifer-mga-pg --start 2027-03-07T08:00 --zone America/Denver",
    "protocols --breed-at 2027-05-28T07:00 --zone America/Denver --class cow",
    "protocols --check tests/golden/own-good",
    "check demo/season.yaml",
    "check tests/golden/faults.yaml",
    "explain",
    "supplies demo/season.yaml",
    "forecast demo/season.yaml",
    "matings demo/season.yaml",
];

fn out(args: &str, form: &str) -> String {
    let mut command = thawline();
    command.current_dir(env!("CARGO_MANIFEST_DIR"));
    let out = command.args(args.split(' ')).arg(form).output().unwrap();
    assert!(out.status.code().is_some_and(|c| c < 3), "{args}");
    String::from_utf8(out.stdout).unwrap()
}

/// Rows by the names in the heading.
struct Sheet {
    heading: csv::StringRecord,
    rows: Vec<csv::StringRecord>,
}

impl Sheet {
    /// A strict reader refuses rows of another length than the heading.
    fn read(text: &str) -> Self {
        let mut reader = csv::Reader::from_reader(text.as_bytes());
        let heading = reader.headers().unwrap().clone();
        let rows = reader.records().map(Result::unwrap).collect();
        Self { heading, rows }
    }

    fn at<'a>(&self, row: &'a csv::StringRecord, name: &str) -> &'a str {
        let n = self.heading.iter().position(|h| h == name);
        &row[n.unwrap_or_else(|| panic!("no column {name}"))]
    }

    fn of(&self, kind: &str) -> impl Iterator<Item = &csv::StringRecord> {
        self.rows.iter().filter(move |r| self.at(r, "row") == kind)
    }

    fn sum(&self, kind: &str, name: &str) -> u64 {
        self.of(kind)
            .map(|r| self.at(r, name).parse::<u64>().unwrap())
            .sum()
    }
}

fn json(args: &str) -> Value {
    serde_json::from_str(&out(args, "--json")).unwrap()
}

fn all(v: &Value) -> &Vec<Value> {
    v.as_array().unwrap()
}

fn total<'a>(of: impl IntoIterator<Item = &'a Value>, key: &str) -> u64 {
    of.into_iter().map(|v| v[key].as_u64().unwrap()).sum()
}

/// What a spreadsheet would run, by our own reading: blanks, controls and what cannot be seen, and
/// then a sign that begins a formula. A number below zero is one.
fn runs(cell: &str) -> bool {
    let cell = cell.trim_matches(|c: char| !c.is_ascii_graphic());
    cell.parse::<f64>().is_err() && cell.starts_with(['=', '+', '-', '@'])
}

#[test]
fn every_command_has_a_table_that_any_reader_takes() {
    for args in TABLES {
        let text = out(args, "--csv");
        let sheet = Sheet::read(&text);
        assert!(!sheet.rows.is_empty(), "{args}");
        let names: BTreeSet<&str> = sheet.heading.iter().collect();
        assert_eq!(names.len(), sheet.heading.len(), "{args}");
        let plain = |n: &&str| {
            let mut letters = n.chars();
            letters.all(|c| c.is_ascii_lowercase() || c.is_ascii_digit() || c == '_')
        };
        assert!(names.iter().all(plain), "{args}: {names:?}");
        for cell in sheet.rows.iter().flatten() {
            assert!(!runs(cell), "{args}: {cell}");
        }
        let both = thawline()
            .current_dir(env!("CARGO_MANIFEST_DIR"))
            .args(args.split(' '))
            .args(["--csv", "--json"])
            .output()
            .unwrap();
        assert_eq!(both.status.code(), Some(2), "{args}");
    }
}

#[test]
fn the_plan_as_a_table_has_its_head_straws_and_days() {
    let args = "plan demo/season.yaml";
    let (sheet, plan) = (Sheet::read(&out(args, "--csv")), json(args));
    let sessions = all(&plan["sessions"]);
    let head = total(sessions, "head");
    assert_eq!(head, 344);
    assert_eq!(sheet.sum("session", "head"), head);
    assert_eq!(sheet.sum("breeding", "head"), head);
    assert_eq!(sheet.sum("straws", "straws"), head);
    let straws = sessions.iter().flat_map(|s| all(&s["straws"]));
    assert_eq!(sheet.sum("session", "straws"), total(straws, "straws"));
    for (kind, passes) in [("chute", "chute"), ("feeding", "feeding")] {
        let of = all(&plan["passes"]).iter().filter(|p| p["work"] == passes);
        assert_eq!(sheet.sum(kind, "head"), total(of, "head"));
    }
    for s in sessions {
        let row = sheet.of("session").find(|r| sheet.at(r, "id") == s["id"]);
        let row = row.unwrap();
        let first = s["first_cow"].as_str().unwrap();
        assert_eq!(sheet.at(row, "date"), &first[..10]);
        // No cow of the demo's sessions is bred at a fraction of a minute later than this.
        let day: chrono::NaiveDate = first[..10].parse().unwrap();
        assert_eq!(sheet.at(row, "weekday"), day.format("%a").to_string());
        assert_eq!(
            sheet.at(row, "end"),
            &s["last_cow"].as_str().unwrap()[11..16]
        );
        for t in all(&s["technicians"]) {
            let mine = sheet.of("breeding").filter(|r| {
                sheet.at(r, "session") == s["id"] && sheet.at(r, "technician") == t["id"]
            });
            let sum: u64 = mine
                .map(|r| sheet.at(r, "head").parse::<u64>().unwrap())
                .sum();
            assert_eq!(sum, t["head"].as_u64().unwrap());
        }
    }
    let events = all(&plan["follow_up"]).iter();
    for e in events.flat_map(|f| all(&f["events"])) {
        let kind = e["kind"].as_str().unwrap();
        let found = sheet.of(kind).find(|r| sheet.at(r, "id") == e["id"]);
        assert_eq!(sheet.at(found.unwrap(), "date"), e["first_day"]);
    }
    let dates: Vec<&str> = sheet.rows.iter().map(|r| sheet.at(r, "date")).collect();
    assert!(dates.is_sorted());
}

#[test]
fn other_tables_have_the_sums_of_their_json() {
    let args = "tank demo/season.yaml";
    let (sheet, said) = (Sheet::read(&out(args, "--csv")), json(args));
    let before = total(all(&said["tanks"]), "straws");
    let left = total(all(&said["tanks"]), "left_straws");
    for kind in ["tank", "place"] {
        assert_eq!(sheet.sum(kind, "straws_before"), before);
        assert_eq!(sheet.sum(kind, "straws_left"), left);
    }
    for kind in ["tank", "place", "taken", "session"] {
        assert_eq!(sheet.sum(kind, "straws_taken"), before - left);
    }

    let args = "thaw demo/season.yaml --session first-calf/1/ai@creek";
    let (sheet, said) = (Sheet::read(&out(args, "--csv")), json(args));
    assert_eq!(
        sheet.sum("straw", "straws"),
        said["session"]["head"].as_u64().unwrap()
    );

    let args = "herd demo/season.yaml";
    let (sheet, said) = (Sheet::read(&out(args, "--csv")), json(args));
    assert_eq!(sheet.rows.len() as u64, total(all(&said["groups"]), "head"));
    for g in all(&said["groups"]) {
        for a in all(&g["answers"]) {
            let of = sheet.rows.iter().filter(|r| {
                sheet.at(r, "group") == g["group"] && sheet.at(r, "answer") == a["answer"]
            });
            assert_eq!(of.count() as u64, a["head"].as_u64().unwrap());
        }
    }

    let args = "cover demo/season.yaml --technicians 1";
    let (sheet, said) = (Sheet::read(&out(args, "--csv")), json(args));
    for kind in ["session", "pen"] {
        assert_eq!(sheet.sum(kind, "due_head"), 344);
        assert_eq!(
            sheet.sum(kind, "not_bred_head"),
            said["verdict"]["uncovered_head"].as_u64().unwrap()
        );
    }
    let count = |key: &str| -> usize {
        let all_of = all(&said["remedies"]).iter();
        all_of.map(|r| all(&r[key]).len()).sum()
    };
    assert_eq!(sheet.of("covers").count(), count("covering"));
    assert_eq!(sheet.of("lessens").count(), count("lessening"));
    assert!(count("covering") > 0);

    let args = "chance demo/season.yaml --runs 50";
    let (sheet, said) = (Sheet::read(&out(args, "--csv")), json(args));
    assert_eq!(
        sheet.sum("session", "head"),
        total(all(&said["sessions"]), "head")
    );
    let rows = all(&said["sessions"]).iter();
    let rows = rows.flat_map(|s| all(&s["technicians"]));
    let rows: usize = rows.map(|t| all(&t["by_straws"]).len()).sum();
    assert_eq!(sheet.of("straws").count(), rows);

    let args = "choose demo/wishes.yaml";
    let (sheet, said) = (Sheet::read(&out(args, "--csv")), json(args));
    let rows = all(&said["groups"]).iter().flat_map(|g| all(&g["rows"]));
    for (row, r) in sheet.of("candidate").zip(rows.clone()) {
        assert_eq!(sheet.at(row, "protocol"), r["protocol"]);
        let start = r["start"].as_str().unwrap();
        let said = format!("{}T{}", sheet.at(row, "start_date"), sheet.at(row, "start"));
        assert_eq!(said, start[..16]);
        let minutes: i64 = sheet.at(row, "start_utc_offset_minutes").parse().unwrap();
        assert_eq!(minutes, -360);
        assert!(start.ends_with("-06:00"));
    }
    assert_eq!(sheet.of("candidate").count(), rows.count());
    assert_eq!(sheet.of("choice").count(), all(&said["groups"]).len());

    for (args, key) in [
        ("protocols", "protocols"),
        ("protocols cow-7-day-co-synch-insert", "steps"),
        ("check tests/golden/faults.yaml", "findings"),
        ("protocols --check tests/golden/own-good", "findings"),
    ] {
        let rows = Sheet::read(&out(args, "--csv")).rows.len();
        assert_eq!(rows, all(&json(args)[key]).len(), "{args}");
    }
    let terms = Sheet::read(&out("explain", "--csv")).rows.len();
    assert_eq!(terms, all(&json("explain")).len());
}

/// Names, notes and cells that a spreadsheet would run.
const HOSTILE: &str = r#"
format: thawline.season/1
name: "=1+1"
zone: America/Denver
sites:
  - {id: yard, name: "=HYPERLINK(\"http://x\",\"y\")", injections_head_per_hour: 60, breeding_boxes: 2}
groups:
  - id: cows
    name: "+SUM(A1:A9), \"quoted\""
    note: "@note; -1+1"
    site: yard
    class: cow
    head: 2
    protocol: cow-7-day-co-synch-insert
    start: 2027-05-03T20:00
    order: kept
    bulls: [Ash 1]
    herd: h.csv
    calves: {clean_up: {in: 2027-06-01, out: 2027-07-01, head: 1}}
  - id: wishing
    name: "-2+3"
    site: yard
    class: cow
    head: 5
    bulls: [Ash 1]
    wishes: {breed_from: 2027-06-10, breed_to: 2027-06-16}
crew:
  - {id: ana, name: "-cmd|' /C calc'!A0", minutes_per_cow: 3, helper: true}
tanks: [{id: big, name: "@big", canisters: 6}]
semen:
  - {bull: Ash 1, name: "=Ash", straws: 40, tank: big, canister: 1, cane: "-7", goblet: top}
"#;

#[test]
fn no_table_of_hostile_names_runs_anything() {
    let folder = Folder::new();
    let herd = "animal,birth_date,last_calving_date,body_condition,pen,chute_order\n=1+2,2023-03-01,2027-02-20,5,1,1\n\"@x\"\"y\",2023-03-11,2027-03-01,6,1,2\n";
    std::fs::write(folder.path().join("h.csv"), herd).unwrap();
    let wishing = HOSTILE.find("  - id: wishing").unwrap();
    let crew = HOSTILE.find("crew:").unwrap();
    let planned = [&HOSTILE[..wishing], &HOSTILE[crew..]].concat();
    std::fs::write(folder.path().join("s.yaml"), &planned).unwrap();
    std::fs::write(folder.path().join("w.yaml"), HOSTILE).unwrap();
    for args in [
        "plan s.yaml",
        "tank s.yaml",
        "thaw s.yaml",
        "thaw s.yaml --session cows/1/ai@yard",
        "herd s.yaml",
        "choose w.yaml",
        "cover s.yaml",
        "chance s.yaml --runs 20",
        "check s.yaml",
        "supplies s.yaml",
        "forecast s.yaml",
        "matings s.yaml",
    ] {
        let mut command = thawline();
        command.current_dir(folder.path()).args(args.split(' '));
        let out = command.arg("--csv").output().unwrap();
        let said = String::from_utf8_lossy(&out.stderr).into_owned();
        assert!(out.status.code().is_some_and(|c| c < 2), "{args}: {said}");
        let text = String::from_utf8(out.stdout).unwrap();
        let sheet = Sheet::read(&text);
        for cell in sheet.rows.iter().flatten() {
            assert!(!runs(cell), "{args}: {cell}");
        }
        if args.starts_with("plan") || args.starts_with("tank") {
            assert!(text.contains(",'@") || text.contains("'=HYPER"), "{text}");
        }
    }
}

/// Whatever text a plan holds, line breaks and tabs too, its tables come back cell by cell.
#[test]
fn line_breaks_and_tabs_in_a_plan_stay_in_their_cells() {
    fn spoil(v: &mut Value) {
        match v {
            Value::Array(all) => all.iter_mut().for_each(spoil),
            Value::Object(map) => {
                for (key, v) in map {
                    let named = ["name", "note", "what", "site_name", "bull_name", "window"];
                    match v {
                        Value::String(text) if named.contains(&key.as_str()) => {
                            *text = format!("\t=\"\n\r{text}");
                        }
                        _ => spoil(v),
                    }
                }
            }
            _ => {}
        }
    }
    fn spoiled<T: serde::Serialize + serde::de::DeserializeOwned>(of: &T) -> T {
        let mut value = serde_json::to_value(of).unwrap();
        spoil(&mut value);
        serde_json::from_value(value).unwrap()
    }
    let demo = include_bytes!("../../demo/season.yaml");
    let (season, found) = season::read("demo.yaml", demo, &Library::built_in()).unwrap();
    let plan: Plan = pipeline::plan(&season, &found).unwrap();
    let tanks = tank::look(&season, &plan);
    let rounds = thaw::of_plan(&season, &plan, Some("heifers/1/ai@creek"));
    for (plain, text) in [
        (
            output::plan_csv::csv(&plan),
            output::plan_csv::csv(&spoiled(&plan)),
        ),
        (
            output::tank::csv(&tanks),
            output::tank::csv(&spoiled(&tanks)),
        ),
        (
            output::thaw_csv::csv(&rounds),
            output::thaw_csv::csv(&spoiled(&rounds)),
        ),
    ] {
        let (plain, sheet) = (Sheet::read(&plain), Sheet::read(&text));
        assert_eq!(sheet.rows.len(), plain.rows.len());
        let mut spoiled = 0;
        for (a, b) in plain.rows.iter().flatten().zip(sheet.rows.iter().flatten()) {
            assert!(!runs(b), "{b:?}");
            if a != b {
                let inner = b.strip_prefix('\'').unwrap();
                // What would take a terminal back to the beginning of its line stands as its number.
                assert!(inner.starts_with("\t=\"\n\\u{d}"), "{inner:?}");
                spoiled += 1;
            }
        }
        assert!(spoiled > 0);
    }
}
