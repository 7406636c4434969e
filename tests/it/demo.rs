//! The demo season and its committed outputs, byte for byte, and what the README says.

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

#[test]
fn lists_and_tables_are_as_committed() {
    let golden = root().join("tests/golden");
    for (file, args) in [
        ("protocols.txt", &["protocols"][..]),
        (
            "protocol.txt",
            &["protocols", "heifer-14-day-insert-pg-split"],
        ),
        ("protocol-doses.txt", &["protocols", "cow-bee-synch-1"]),
        ("check.txt", &["check", "demo/season.yaml"]),
        ("herd.txt", &["herd", "demo/season.yaml"]),
        ("help.txt", &["--help"]),
        ("plan-help.txt", &["plan", "--help"]),
        ("herd-help.txt", &["herd", "--help"]),
    ] {
        let out = thawline(args);
        assert!(out.status.success(), "{args:?}");
        let text = String::from_utf8(out.stdout).unwrap();
        for line in text.lines() {
            assert!(line.chars().count() <= 80, "{args:?}: {line}");
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
}

#[test]
fn a_calendar_alone_is_the_one_of_the_plan() {
    let one = thawline(&["calendar", "demo/season.yaml", "--for", "burt"]);
    let committed = fs::read(root().join("demo/plan/technician-burt.ics")).unwrap();
    assert_eq!(one.stdout, committed);
    let piped = Command::new(env!("CARGO_BIN_EXE_thawline"))
        .args(["calendar", "-"])
        .env("SOURCE_DATE_EPOCH", "1798761600")
        .stdin(fs::File::open(root().join("demo/season.yaml")).unwrap())
        .output()
        .unwrap();
    assert_eq!(
        piped.stdout,
        fs::read(root().join("demo/plan/season.ics")).unwrap()
    );
}

#[test]
fn the_readme_shows_real_output() {
    let readme = fs::read_to_string(root().join("README.md")).unwrap();
    let shown = readme
        .split("```text\n")
        .nth(1)
        .and_then(|t| t.split("```").next())
        .expect("a picture of output");
    let plan = fs::read_to_string(root().join("demo/plan.txt")).unwrap();
    for part in shown.split("[...]\n") {
        assert!(plan.contains(part), "not what the program prints:\n{part}");
    }
}
