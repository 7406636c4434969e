//! The demo season and its committed outputs, byte for byte.

use std::fs;
use std::path::{Path, PathBuf};
use std::process::{Command, Output};

fn root() -> &'static Path {
    Path::new(env!("CARGO_MANIFEST_DIR"))
}

fn thawline(args: &[&str]) -> Output {
    Command::new(env!("CARGO_BIN_EXE_thawline"))
        .args(args)
        .current_dir(root())
        // The time stamp of the committed calendars: 1 January 2027.
        .env("SOURCE_DATE_EPOCH", "1798761600")
        .output()
        .unwrap()
}

/// Compares with a committed file. With `THAWLINE_BLESS=1` writes it instead, to be read over.
pub(crate) fn same_as(committed: &Path, now: &str) {
    if std::env::var_os("THAWLINE_BLESS").is_some() {
        fs::create_dir_all(committed.parent().unwrap()).unwrap();
        fs::write(committed, now).unwrap();
    }
    let before = fs::read_to_string(committed).unwrap_or_default();
    assert!(
        before == now,
        "{} has changed: run the tests with THAWLINE_BLESS=1 and read the difference",
        committed.display()
    );
}

#[test]
fn committed_outputs_are_what_the_program_makes() {
    let dir = tempfile::tempdir().unwrap();
    let out = thawline(&[
        "plan",
        "demo/season.yaml",
        "--out",
        dir.path().to_str().unwrap(),
    ]);
    assert!(out.status.success());
    same_as(
        &root().join("demo/plan.txt"),
        &String::from_utf8(out.stdout).unwrap(),
    );
    let mut made: Vec<PathBuf> = fs::read_dir(dir.path())
        .unwrap()
        .map(|e| e.unwrap().path())
        .collect();
    made.sort();
    assert_eq!(made.len(), 6);
    for path in made {
        let name = path.file_name().unwrap();
        same_as(
            &root().join("demo/plan").join(name),
            &fs::read_to_string(&path).unwrap(),
        );
    }
}

/// Files under `tests/golden`, and the arguments that print them: of each command what people read, and its
/// JSON once. Tables are held against the JSON in `tables.rs`.
const GOLDEN: &[(&str, &str)] = &[
    ("by-heat.txt", "plan tests/golden/by-heat.yaml"),
    ("protocols.txt", "protocols"),
    ("protocol.txt", "protocols heifer-14-day-insert-pg-split"),
    (
        "dates.txt",
        "protocols cow-7-day-co-synch-insert --start 2027-03-07T02:30 --zone America/Denver",
    ),
    (
        "dates-breed-at.txt",
        "protocols heifer-mga-pg --breed-at 2027-06-01T08:00 --hours 74 --zone America/Chicago",
    ),
    (
        "starts-first-calf.txt",
        "protocols --first-calf 2027-03-01 --gestation-days 281 --clock 14:00 --zone America/Denver --class cow",
    ),
    (
        "dates.json",
        "protocols cow-select-synch-insert --breed-at 2027-03-21T02:30 --zone America/Denver --json",
    ),
    (
        "starts.json",
        "protocols --first-calf 2027-03-01 --zone America/Denver --most-passes 2 --json",
    ),
    ("own-good.txt", "protocols --check tests/golden/own-good"),
    ("protocol-doses.txt", "protocols cow-bee-synch-1"),
    ("choice.txt", "choose demo/wishes.yaml"),
    (
        "choice.json",
        "choose demo/wishes.yaml --group mature --rows 2 --json",
    ),
    ("chance.txt", "chance demo/season.yaml"),
    (
        "chance.json",
        "chance demo/season.yaml --session late/1/ai@creek --technician ana --runs 1000 --json",
    ),
    ("thaw.txt", "thaw demo/season.yaml"),
    (
        "thaw.json",
        "thaw demo/season.yaml --session late/1/ai@creek --technician burt --json",
    ),
    ("cover.txt", "cover demo/season.yaml --group mature"),
    ("herd.txt", "herd demo/season.yaml"),
    ("tank.txt", "tank demo/season.yaml"),
    ("tank.json", "tank demo/season.yaml --tank small --json"),
    ("forecast.txt", "forecast demo/season.yaml"),
    (
        "forecast.json",
        "forecast demo/season.yaml --group late --json",
    ),
    ("matings.txt", "matings demo/season.yaml --group heifers"),
    (
        "matings.json",
        "matings demo/season.yaml --group late --json",
    ),
    ("supplies.txt", "supplies demo/season.yaml"),
    ("supplies.json", "supplies demo/season.yaml --json"),
    ("plan.csv", "plan demo/season.yaml --csv"),
    ("explain.txt", "explain"),
    ("explain-gnrh.json", "explain gnrh --json"),
    (
        "herd.json",
        "herd demo/season.yaml --group first-calf --json",
    ),
    (
        "thaw-metric.txt",
        "thaw demo/season.yaml --session late/1/ai@creek --technician burt --units metric",
    ),
    ("check.txt", "check demo/season.yaml"),
    ("help.txt", "--help"),
    ("plan-help.txt", "plan --help"),
];

#[test]
fn lists_and_tables_are_as_committed() {
    let golden = root().join("tests/golden");
    for (file, args) in GOLDEN {
        let args: Vec<&str> = args.split(' ').collect();
        let out = thawline(&args);
        assert!(out.status.success(), "{args:?}");
        let text = String::from_utf8(out.stdout).unwrap();
        if !args.contains(&"--json") && !args.iter().any(|a| a.starts_with("--csv")) {
            for line in text.lines() {
                assert!(line.chars().count() <= 80, "{args:?}: {line}");
            }
        }
        same_as(&golden.join(file), &text);
    }
}

/// A file with faults of many kinds says all of them at once, each with what to write instead.
#[test]
fn all_faults_of_a_file_are_said_at_once() {
    let out = thawline(&["check", "tests/golden/faults.yaml"]);
    assert_eq!(out.status.code(), Some(2));
    let text = String::from_utf8(out.stderr).unwrap();
    same_as(&root().join("tests/golden/faults.txt"), &text);

    let out = thawline(&["protocols", "--check", "tests/golden/own-faulty"]);
    assert_eq!(out.status.code(), Some(2));
    assert_eq!(out.stdout, b"");
    let text = String::from_utf8(out.stderr).unwrap();
    same_as(&root().join("tests/golden/own-faulty.txt"), &text);
}

/// Where nothing fits, the fewest wishes to give up are named, and nothing is written.
#[test]
fn wishes_that_nothing_fits() {
    let out = thawline(&["choose", "tests/golden/nothing-fits.yaml"]);
    assert_eq!(out.status.code(), Some(1));
    let text = String::from_utf8(out.stdout).unwrap();
    same_as(&root().join("tests/golden/nothing-fits.txt"), &text);
}

/// With one technician the demo season falls short, and what would help is shown.
#[test]
fn a_crew_that_is_too_small() {
    for (file, more) in [
        ("cover-short.txt", ""),
        ("cover-short.json", " --json --session heifers/1/ai@creek"),
    ] {
        let args = format!("cover demo/season.yaml --technicians 1{more}");
        let args: Vec<&str> = args.split(' ').collect();
        let out = thawline(&args);
        assert_eq!(out.status.code(), Some(1));
        let text = String::from_utf8(out.stdout).unwrap();
        assert!(file.ends_with("json") || text.lines().all(|l| l.chars().count() <= 80));
        same_as(&root().join("tests/golden").join(file), &text);
    }
    let wrong = thawline(&["cover", "demo/season.yaml", "--group", "matur"]);
    assert_eq!(wrong.status.code(), Some(2));
    assert!(
        String::from_utf8(wrong.stderr)
            .unwrap()
            .contains("did you mean `mature`")
    );
}

/// The choice goes into a copy, which differs from the season file in the choice and nothing else.
#[test]
fn the_choice_is_written_into_a_copy() {
    let dir = tempfile::tempdir().unwrap();
    let copy = dir.path().join("chosen.yaml");
    let out = thawline(&[
        "choose",
        "demo/wishes.yaml",
        "--write",
        copy.to_str().unwrap(),
    ]);
    assert!(out.status.success());
    let before = fs::read_to_string(root().join("demo/wishes.yaml")).unwrap();
    let after = fs::read_to_string(&copy).unwrap();
    let kept: Vec<&str> = after
        .lines()
        .filter(|l| before.lines().any(|b| b == *l))
        .collect();
    assert_eq!(kept, before.lines().collect::<Vec<_>>());
    let new: Vec<&str> = after
        .lines()
        .filter(|l| before.lines().all(|b| b != *l))
        .collect();
    same_as(
        &root().join("tests/golden/choice-written.txt"),
        &(new.join("\n") + "\n"),
    );
    let plan = thawline(&["plan", copy.to_str().unwrap()]);
    assert!(plan.status.success());
}

#[test]
fn a_calendar_alone_is_the_one_of_the_plan() {
    let one = thawline(&["calendar", "demo/season.yaml", "--for", "burt"]);
    let committed = fs::read(root().join("demo/plan/technician-burt.ics")).unwrap();
    assert_eq!(one.stdout, committed);
    let piped = Command::new(env!("CARGO_BIN_EXE_thawline"))
        .args(["calendar", "-"])
        // Herd files count from the folder one is in, as there is no file to count from.
        .current_dir(root().join("demo"))
        .env("SOURCE_DATE_EPOCH", "1798761600")
        .stdin(fs::File::open(root().join("demo/season.yaml")).unwrap())
        .output()
        .unwrap();
    assert_eq!(
        piped.stdout,
        fs::read(root().join("demo/plan/season.ics")).unwrap()
    );
}

/// The sheet that is taped to the wall.
#[test]
fn the_wall_sheet_is_as_committed() {
    let folder = tempfile::tempdir().unwrap();
    let page = folder.path().join("wall.html");
    let out = thawline(&[
        "thaw",
        "demo/season.yaml",
        "--session",
        "late/1/ai@creek",
        "--technician",
        "burt",
        "--page",
        page.to_str().unwrap(),
    ]);
    assert!(out.status.success());
    let text = fs::read_to_string(page).unwrap();
    same_as(&root().join("tests/golden/thaw-wall.html"), &text);
}
