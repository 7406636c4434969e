//! Tables of comma-separated values: every command's, read by a general reader, held against the
//! JSON of the same command, and never run by a spreadsheet.

use std::collections::BTreeSet;

use serde_json::Value;
use thawline::output::answer::Answer;
use thawline::plan::Plan;
use thawline::progress::NoProgress;
use thawline::protocol::Library;
use thawline::protocol::dates::Starts;
use thawline::protocol::target::Target;
use thawline::{choose, output, pipeline, season, staffing, tank, thaw};

use crate::bad_input::{Folder, at_demo, thawline};

/// Arguments that print tables of the demo, or of its wishes.
const ANSWERS: &[&str] = &[
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

/// A table of the demo by its name.
fn sheet(args: &str, table: &str) -> Sheet {
    Sheet::read(&out(args, &format!("--csv={table}")))
}

/// The names of the tables, as they are listed for a wrong one. Nothing is printed for it, unless findings
/// are the answer.
fn names(command: &mut assert_cmd::Command) -> Vec<String> {
    let out = command.arg("--csv=xyz").output().unwrap();
    let said = String::from_utf8(out.stderr).unwrap();
    assert_eq!(out.status.code(), Some(2), "{said}");
    assert!(out.stdout.is_empty() || out.stdout.starts_with(b"severity,code,"));
    let known = said.split("expected: ").nth(1).expect(&said);
    let known = known.split("hint:").next().unwrap();
    let quoted = known.split('`').skip(1).step_by(2);
    quoted.map(str::to_owned).collect()
}

fn demo_names(args: &str) -> Vec<String> {
    let mut command = thawline();
    command.current_dir(env!("CARGO_MANIFEST_DIR"));
    names(command.args(args.split(' ')))
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

    fn sum(&self, name: &str) -> u64 {
        let cells = self.rows.iter().map(|r| self.at(r, name));
        cells.map(|c| c.parse::<u64>().unwrap()).sum()
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
    for args in ANSWERS {
        // A file with faults has them as its answer, whatever table is asked for.
        let names = if args.ends_with("faults.yaml") {
            vec!["findings".to_owned()]
        } else {
            demo_names(args)
        };
        let first = out(args, "--csv");
        assert_eq!(first, out(args, &format!("--csv={}", names[0])), "{args}");
        assert!(!Sheet::read(&first).rows.is_empty(), "{args}");
        for name in &names {
            plain(&format!("{args} {name}"), &sheet(args, name));
        }
        let both: Vec<&str> = args.split(' ').chain(["--csv", "--json"]).collect();
        assert_eq!(at_demo(&both).code, 2, "{args}");
    }
}

/// Headings of plain words, each once, and no cell that runs.
fn plain(what: &str, sheet: &Sheet) {
    let names: BTreeSet<&str> = sheet.heading.iter().collect();
    assert_eq!(names.len(), sheet.heading.len(), "{what}");
    let plain = |n: &&str| {
        let mut letters = n.chars();
        !n.is_empty() && letters.all(|c| c.is_ascii_lowercase() || c.is_ascii_digit() || c == '_')
    };
    assert!(names.iter().all(plain), "{what}: {names:?}");
    assert!(!names.contains("row"), "{what}");
    for cell in sheet.rows.iter().flatten() {
        assert!(!runs(cell), "{what}: {cell}");
    }
}

#[test]
fn the_plan_as_tables_has_its_head_straws_and_days() {
    let args = "plan demo/season.yaml";
    let plan = json(args);
    let sessions = all(&plan["sessions"]);
    let head = total(sessions, "head");
    assert_eq!(head, 332);
    let (listed, breeding) = (sheet(args, "sessions"), sheet(args, "breeding"));
    assert_eq!(listed.rows.len(), sessions.len());
    assert_eq!(listed.sum("head"), head);
    assert_eq!(breeding.sum("head"), head);
    assert_eq!(sheet(args, "straws").sum("straws"), head);
    let straws = sessions.iter().flat_map(|s| all(&s["straws"]));
    assert_eq!(listed.sum("straws"), total(straws, "straws"));
    let mut passes = sheet(args, "passes");
    let rows = std::mem::take(&mut passes.rows);
    for work in ["chute", "feeding", "heat-watch"] {
        let of = all(&plan["passes"]).iter().filter(|p| p["work"] == work);
        let mine = rows.iter().filter(|r| passes.at(r, "work") == work);
        let head: u64 = mine
            .map(|r| passes.at(r, "head").parse::<u64>().unwrap())
            .sum();
        assert_eq!(head, total(of, "head"), "{work}");
    }
    let other = all(&plan["passes"])
        .iter()
        .filter(|p| p["work"] != "breeding");
    assert_eq!(rows.len(), other.count());
    for s in sessions {
        let sheet = &listed;
        let mut rows = sheet.rows.iter();
        let row = rows.find(|r| sheet.at(r, "session") == s["id"]).unwrap();
        let first = s["first_cow"].as_str().unwrap();
        assert_eq!(sheet.at(row, "date"), &first[..10]);
        // No cow of the demo's sessions is bred at a fraction of a minute later than this.
        let day: chrono::NaiveDate = first[..10].parse().unwrap();
        assert_eq!(sheet.at(row, "weekday"), day.format("%a").to_string());
        let expected = &s["last_cow"].as_str().unwrap()[11..16];
        assert_eq!(sheet.at(row, "end"), expected);
        for t in all(&s["technicians"]) {
            let mine = breeding.rows.iter().filter(|r| {
                breeding.at(r, "session") == s["id"] && breeding.at(r, "technician") == t["id"]
            });
            let sum: u64 = mine
                .map(|r| breeding.at(r, "head").parse::<u64>().unwrap())
                .sum();
            assert_eq!(sum, t["head"].as_u64().unwrap());
        }
    }
    let events = all(&plan["follow_up"]).iter();
    let follow = sheet(args, "follow-up");
    for e in events.clone().flat_map(|f| all(&f["events"])) {
        let mut rows = follow.rows.iter();
        let found = rows.find(|r| follow.at(r, "event") == e["id"]).unwrap();
        assert_eq!(follow.at(found, "work"), e["kind"]);
        assert_eq!(follow.at(found, "date"), e["first_day"]);
    }
    let events: usize = events.map(|f| all(&f["events"]).len()).sum();
    assert_eq!(follow.rows.len(), events);
    for name in demo_names(args) {
        let sheet = sheet(args, &name);
        let dates: Vec<&str> = sheet.rows.iter().map(|r| sheet.at(r, "date")).collect();
        assert!(dates.is_sorted(), "{name}");
    }
}

/// Filter by nothing: sums of whole tables are those of the season.
#[test]
fn tables_of_groups_hold_no_sums() {
    let args = "forecast demo/season.yaml";
    let said = json(args);
    let (groups, season) = (sheet(args, "groups"), sheet(args, "season"));
    let outcomes = all(&said["groups"]).iter().map(|g| &g["outcome"]);
    assert_eq!(groups.sum("head"), total(outcomes, "head"));
    assert_eq!(groups.sum("head"), season.sum("head"));
    assert_eq!(season.rows.len(), 1);
    let calves = |name: &str| -> f64 {
        let sheet = sheet(args, name);
        let all = sheet.rows.iter().map(|r| sheet.at(r, "calves_head"));
        all.map(|c| c.parse::<f64>().unwrap()).sum()
    };
    let (of_groups, of_season) = (calves("curve"), calves("season-curve"));
    assert!(
        (of_groups - of_season).abs() < 0.1,
        "{of_groups} {of_season}"
    );
    let money = sheet(args, "money");
    let ids: BTreeSet<&str> = money.rows.iter().map(|r| money.at(r, "group")).collect();
    assert!(!ids.is_empty() && !ids.contains("all groups"), "{ids:?}");
    for g in all(&said["money"]["groups"]) {
        let mine = money
            .rows
            .iter()
            .filter(|r| money.at(r, "group") == g["group"]);
        let told: Vec<&str> = mine.map(|r| money.at(r, "amount")).collect();
        let said = all(&g["entries"])
            .iter()
            .map(|e| e["amount"].as_f64().unwrap());
        let said: Vec<String> = said.map(|x| format!("{x:.2}")).collect();
        assert_eq!(told, said);
    }
}

#[test]
fn other_tables_have_the_sums_of_their_json() {
    let args = "tank demo/season.yaml";
    let said = json(args);
    let before = total(all(&said["tanks"]), "straws");
    let left = total(all(&said["tanks"]), "left_straws");
    for name in ["tanks", "straws"] {
        assert_eq!(sheet(args, name).sum("straws_before"), before);
        assert_eq!(sheet(args, name).sum("straws_left"), left);
    }
    for name in ["tanks", "straws", "taken", "sessions"] {
        assert_eq!(sheet(args, name).sum("straws_taken"), before - left);
    }

    let args = "thaw demo/season.yaml --session first-calf/1/ai@creek";
    let said = json(args);
    let expected = said["session"]["head"].as_u64().unwrap();
    assert_eq!(sheet(args, "straws").rows.len() as u64, expected);

    let args = "herd demo/season.yaml";
    let (table, said) = (sheet(args, "animals"), json(args));
    assert_eq!(table.rows.len() as u64, total(all(&said["groups"]), "head"));
    for g in all(&said["groups"]) {
        for a in all(&g["answers"]) {
            let of = table.rows.iter().filter(|r| {
                table.at(r, "group") == g["group"] && table.at(r, "answer") == a["answer"]
            });
            assert_eq!(of.count() as u64, a["head"].as_u64().unwrap());
        }
    }

    let args = "cover demo/season.yaml --technicians 1";
    let said = json(args);
    for name in ["sessions", "pens"] {
        assert_eq!(sheet(args, name).sum("due_head"), 332);
        let expected = said["verdict"]["uncovered_head"].as_u64().unwrap();
        assert_eq!(sheet(args, name).sum("not_bred_head"), expected);
    }
    let count = |key: &str| -> usize {
        let all_of = all(&said["remedies"]).iter();
        all_of.map(|r| all(&r[key]).len()).sum()
    };
    let remedies = sheet(args, "remedies");
    for (outcome, key) in [("covers", "covering"), ("lessens", "lessening")] {
        let mut rows = remedies.rows.iter();
        let mine = rows
            .by_ref()
            .filter(|r| remedies.at(r, "outcome") == outcome);
        assert_eq!(mine.count(), count(key));
    }
    assert_eq!(remedies.rows.len(), count("covering") + count("lessening"));
    assert!(count("covering") > 0);

    let args = "chance demo/season.yaml --runs 50";
    let said = json(args);
    let expected = total(all(&said["sessions"]), "head");
    assert_eq!(sheet(args, "sessions").sum("head"), expected);
    let rows = all(&said["sessions"]).iter();
    let rows = rows.flat_map(|s| all(&s["technicians"]));
    let rows: usize = rows.map(|t| all(&t["by_straws"]).len()).sum();
    assert_eq!(sheet(args, "straws-at-once").rows.len(), rows);

    let args = "choose demo/wishes.yaml";
    let (table, said) = (sheet(args, "candidates"), json(args));
    let rows = all(&said["groups"]).iter().flat_map(|g| all(&g["rows"]));
    for (row, r) in table.rows.iter().zip(rows.clone()) {
        assert_eq!(table.at(row, "protocol"), r["protocol"]);
        let start = r["start"].as_str().unwrap();
        let said = format!("{}T{}", table.at(row, "start_date"), table.at(row, "start"));
        assert_eq!(said, start[..16]);
        let minutes: i64 = table.at(row, "start_utc_offset_minutes").parse().unwrap();
        assert_eq!(minutes, -360);
        assert!(start.ends_with("-06:00"));
    }
    assert_eq!(table.rows.len(), rows.count());
    assert_eq!(sheet(args, "choice").rows.len(), all(&said["groups"]).len());

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
        let run = || {
            let mut command = thawline();
            command.current_dir(folder.path()).args(args.split(' '));
            command
        };
        let mut texts = String::new();
        for name in names(&mut run()) {
            let out = run().arg(format!("--csv={name}")).output().unwrap();
            let said = String::from_utf8_lossy(&out.stderr).into_owned();
            assert!(out.status.code().is_some_and(|c| c < 2), "{args}: {said}");
            let text = String::from_utf8(out.stdout).unwrap();
            plain(&format!("{args} {name}"), &Sheet::read(&text));
            texts += &text;
        }
        if args.starts_with("plan") || args.starts_with("tank") {
            assert!(
                texts.contains(",'@") || texts.contains("'=HYPER"),
                "{texts}"
            );
        }
    }
}

/// Whatever is in a season: its tables have the columns of the demo's.
#[test]
fn a_table_without_rows_has_the_same_heading() {
    let folder = Folder::new();
    let crew = HOSTILE.find("crew:").unwrap();
    let wishing = HOSTILE.find("  - id: wishing").unwrap();
    let bare = [&HOSTILE[..wishing], &HOSTILE[crew..]].concat();
    let bare = bare.replace("    herd: h.csv\n", "");
    std::fs::write(folder.path().join("s.yaml"), bare).unwrap();
    std::fs::write(
        folder.path().join("w.yaml"),
        HOSTILE.replace("    herd: h.csv\n", ""),
    )
    .unwrap();
    let mut empty = BTreeSet::new();
    for (args, demo) in [
        ("plan s.yaml", "plan demo/season.yaml"),
        ("tank s.yaml", "tank demo/season.yaml"),
        ("thaw s.yaml", "thaw demo/season.yaml"),
        (
            "thaw s.yaml --session cows/1/ai@yard",
            "thaw demo/season.yaml --session late/1/ai@creek",
        ),
        ("choose w.yaml", "choose demo/wishes.yaml"),
        ("cover s.yaml", "cover demo/season.yaml --technicians 1"),
        ("chance s.yaml --runs 9", "chance demo/season.yaml --runs 9"),
        ("supplies s.yaml", "supplies demo/season.yaml"),
        ("forecast s.yaml", "forecast demo/season.yaml"),
        ("matings s.yaml", "matings demo/season.yaml"),
    ] {
        for name in demo_names(demo) {
            let mut command = thawline();
            command.current_dir(folder.path()).args(args.split(' '));
            let out = command.arg(format!("--csv={name}")).output().unwrap();
            let of_bare = Sheet::read(&String::from_utf8(out.stdout).unwrap());
            assert_eq!(of_bare.heading, sheet(demo, &name).heading, "{args} {name}");
            if of_bare.rows.is_empty() {
                empty.insert(name);
            }
        }
    }
    for name in [
        "not-bred", "choice", "remedies", "money", "animals", "waste",
    ] {
        assert!(empty.contains(name), "{name}: {empty:?}");
    }
}

/// No table has two columns of one heading.
#[test]
fn headings_differ() {
    fn each<A: Answer>(answer: &A) {
        for kind in answer.tables() {
            let printed = Sheet::read(&kind.of(answer));
            let mut headings = std::collections::BTreeSet::new();
            for heading in &printed.heading {
                assert!(headings.insert(heading), "{}: {heading}", kind.name);
            }
        }
    }
    let (season, plan) = planned();
    each(&output::plan_csv::Printed {
        plan: &plan,
        full: false,
    });
    each(&tank::look(&season, &plan));
    each(&thaw::of_plan(&season, &plan, Some("heifers/1/ai@creek")));
    each(&pipeline::supplies(&season, &plan).unwrap());
    each(&pipeline::forecast(&season, &plan).unwrap());
    each(&thawline::simulate::collect(
        &season,
        thawline::simulate::Trial::default(),
        Vec::new(),
    ));
    let at = thawline::time::read::local("2027-05-28T07:00").unwrap();
    let target = Target::of_breeding(season.zone, at, None);
    let library = Library::built_in();
    each(&Starts::of(library.iter(), &target).unwrap());
    let question = staffing::Question {
        group: Some("late".to_owned()),
        session: None,
        crew: staffing::Crew::All,
        least_margin_minutes: 0,
    };
    each(
        &staffing::assess(&season, &library, &question, &NoProgress)
            .unwrap()
            .answer,
    );
    let wishes = include_bytes!("../../demo/wishes.yaml");
    let (season, _) = season::read("wishes.yaml", wishes, &library).unwrap();
    let chosen = choose::choose(
        &season,
        &library,
        None,
        choose::Limits::default(),
        &NoProgress,
    )
    .unwrap();
    each(&chosen);
}

fn planned() -> (season::Season, Plan) {
    let demo = include_bytes!("../../demo/season.yaml");
    let (season, found) = season::read("demo.yaml", demo, &Library::built_in()).unwrap();
    let plan = pipeline::plan(&season, &found).unwrap();
    (season, plan)
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
    fn tables<A: Answer>(answer: &A) -> Vec<String> {
        answer.tables().iter().map(|k| k.of(answer)).collect()
    }
    let (season, plan) = planned();
    let tanks = tank::look(&season, &plan);
    let rounds = thaw::of_plan(&season, &plan, Some("heifers/1/ai@creek"));
    let of_plan = |plan: &Plan| tables(&output::plan_csv::Printed { plan, full: false });
    let mut whole = 0;
    for (plain, text) in [
        (of_plan(&plan), of_plan(&spoiled(&plan))),
        (tables(&tanks), tables(&spoiled(&tanks))),
        (tables(&rounds), tables(&spoiled(&rounds))),
    ]
    .into_iter()
    .flat_map(|(a, b)| a.into_iter().zip(b))
    {
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
        // Each has a name or words in it.
        assert!(spoiled > 0 || sheet.rows.is_empty());
        whole += usize::from(spoiled > 0);
    }
    assert!(whole >= 10, "{whole}");
}
