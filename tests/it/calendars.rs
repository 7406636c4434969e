//! Calendars by the program: an earlier one named, or standing in the folder of a plan.

use std::fs;
use std::path::Path;
use std::process::{Command, Output};

use crate::codes::SEASON;

fn run(folder: &Path, day: u32, args: &[&str]) -> Output {
    let stamp = 1_798_761_600 + u64::from(day) * 86_400;
    Command::new(env!("CARGO_BIN_EXE_thawline"))
        .args(args)
        .current_dir(folder)
        .env("SOURCE_DATE_EPOCH", stamp.to_string())
        .output()
        .unwrap()
}

fn folder(seasons: &[(&str, String)]) -> tempfile::TempDir {
    let folder = tempfile::tempdir().unwrap();
    for (name, text) in seasons {
        fs::write(folder.path().join(name), text).unwrap();
    }
    folder
}

/// The small season a day later, with another technician in place of the one there was.
fn changed() -> String {
    SEASON
        .replace("2027-05-03T20:00", "2027-05-04T20:00")
        .replace("- id: ana", "- id: ben")
}

fn texts(folder: &Path) -> Vec<(String, String)> {
    let mut found: Vec<(String, String)> = fs::read_dir(folder)
        .unwrap()
        .map(|e| e.unwrap())
        .map(|e| (e.file_name().into_string().unwrap(), e.path()))
        .map(|(name, path)| (name, fs::read_to_string(path).unwrap()))
        .collect();
    found.sort();
    found
}

fn of<'a>(texts: &'a [(String, String)], name: &str) -> &'a str {
    let found = texts.iter().find(|(n, _)| n == name);
    &found.unwrap_or_else(|| panic!("no {name}")).1
}

#[test]
fn a_plan_written_again_counts_on_from_the_calendars_in_its_folder() {
    let dir = folder(&[("one.yaml", SEASON.to_owned()), ("two.yaml", changed())]);
    let dir = dir.path();
    assert!(
        run(dir, 0, &["plan", "one.yaml", "--out", "plan"])
            .status
            .success()
    );
    let first = texts(&dir.join("plan"));
    assert!(of(&first, "season.ics").contains("SEQUENCE:0"));
    // The same season on another day: the same bytes.
    run(dir, 1, &["plan", "one.yaml", "--out", "plan"]);
    assert_eq!(texts(&dir.join("plan")), first);

    fs::write(dir.join("old.ics"), of(&first, "season.ics")).unwrap();
    run(dir, 2, &["plan", "two.yaml", "--out", "plan"]);
    let second = texts(&dir.join("plan"));
    let season = of(&second, "season.ics");
    assert!(season.contains("SEQUENCE:1") && season.contains("20270103T000000Z"));
    let named = run(dir, 2, &["calendar", "two.yaml", "--previous", "old.ics"]);
    assert_eq!(String::from_utf8(named.stdout).unwrap(), season);

    // Who left has nothing left to do, and ben has a calendar of his own.
    let left = of(&second, "technician-ana.ics");
    assert_eq!(left.matches("BEGIN:VEVENT").count(), 2);
    assert_eq!(left.matches("STATUS:CANCELLED").count(), 2);
    assert!(of(&second, "technician-ben.ics").contains("STATUS:CONFIRMED"));
    fs::write(dir.join("ana.ics"), of(&first, "technician-ana.ics")).unwrap();
    let args = [
        "calendar",
        "two.yaml",
        "--for",
        "ana",
        "--previous",
        "ana.ics",
    ];
    let named = run(dir, 2, &args);
    assert_eq!(String::from_utf8(named.stdout).unwrap(), left);
    let said = String::from_utf8(named.stderr).unwrap();
    assert!(
        said.starts_with("2 events that the plan no longer has"),
        "{said}"
    );
}

#[test]
fn an_earlier_calendar_that_is_broken_or_foreign_stops_everything_and_loses_nothing() {
    let dir = folder(&[("one.yaml", SEASON.to_owned())]);
    let dir = dir.path();
    run(dir, 0, &["plan", "one.yaml", "--out", "plan"]);
    let whole = fs::read_to_string(dir.join("plan/season.ics")).unwrap();
    let foreign = whole.replace("PRODID:-//Thawline", "PRODID:-//Other");
    for (text, code) in [(&whole[..whole.len() / 2], "E101"), (&foreign, "E102")] {
        fs::write(dir.join("plan/season.ics"), text).unwrap();
        fs::write(dir.join("old.ics"), text).unwrap();
        let before = texts(&dir.join("plan"));
        let args: [&[&str]; 2] = [
            &["plan", "one.yaml", "--out", "plan"],
            &[
                "calendar",
                "one.yaml",
                "--previous",
                "old.ics",
                "-o",
                "old.ics",
            ],
        ];
        for args in args {
            let out = run(dir, 1, args);
            assert_eq!(out.status.code(), Some(2));
            let said = String::from_utf8(out.stderr).unwrap();
            assert!(said.contains(code) && said.contains(".ics:"), "{said}");
            assert!(said.contains("no file was changed"), "{said}");
        }
        assert_eq!(texts(&dir.join("plan")), before);
        assert_eq!(fs::read_to_string(dir.join("old.ics")).unwrap(), *text);
    }
    let args = ["calendar", "one.yaml", "--previous", "not-there.ics"];
    assert_eq!(run(dir, 1, &args).status.code(), Some(2));
}

#[test]
fn calendars_of_another_season_in_the_folder_are_kept_and_not_cancelled() {
    let other = SEASON.replace("A small invented season", "Another invented season");
    let dir = folder(&[("one.yaml", SEASON.to_owned()), ("other.yaml", other)]);
    let dir = dir.path();
    run(dir, 0, &["plan", "one.yaml", "--out", "plan"]);
    let first = texts(&dir.join("plan"));
    let out = run(dir, 1, &["plan", "other.yaml", "--out", "plan"]);
    assert!(out.status.success());
    let said = String::from_utf8(out.stderr).unwrap();
    assert!(
        said.contains("another season") && said.contains("--previous"),
        "{said}"
    );
    let second = texts(&dir.join("plan"));
    assert!(!of(&second, "season.ics").contains("CANCELLED"));
    for name in ["season", "technician-ana"] {
        let kept = of(&second, &format!("{name}.before.ics"));
        assert_eq!(kept, of(&first, &format!("{name}.ics")));
    }
    // Back to the first season, and once more: nothing that is kept is written over, or kept twice.
    run(dir, 1, &["plan", "one.yaml", "--out", "plan"]);
    let third = texts(&dir.join("plan"));
    run(dir, 1, &["plan", "one.yaml", "--out", "plan"]);
    // The calendar that was kept is counted on from: what says the same is of the day it was first said.
    let revisions = |all: &[(String, String)]| {
        let lines = of(all, "season.ics").lines();
        lines
            .filter(|l| l.starts_with("DTSTAMP") || l.starts_with("SEQUENCE"))
            .map(str::to_owned)
            .collect::<Vec<_>>()
    };
    assert_eq!(revisions(&third), revisions(&first));
    let names = |all: &[(String, String)]| all.iter().map(|(n, _)| n.clone()).collect::<Vec<_>>();
    assert_eq!(names(&third), names(&texts(&dir.join("plan"))));
    for name in ["season", "technician-ana"] {
        let kept = of(&third, &format!("{name}.before.ics"));
        assert_eq!(kept, of(&first, &format!("{name}.ics")));
        let kept = of(&third, &format!("{name}.2.before.ics"));
        assert_eq!(kept, of(&second, &format!("{name}.ics")));
    }
    // If the season only has another name, the old events can be cancelled on purpose.
    let args = [
        "calendar",
        "other.yaml",
        "--previous",
        "plan/season.before.ics",
    ];
    let out = run(dir, 1, &args);
    let text = String::from_utf8(out.stdout).unwrap();
    let events = text.matches("BEGIN:VEVENT").count();
    assert_eq!(2 * text.matches("STATUS:CANCELLED").count(), events);
    let said = String::from_utf8(out.stderr).unwrap();
    let said: Vec<&str> = said.split_whitespace().collect();
    assert!(said.join(" ").contains("all its events are canceled"));
}
