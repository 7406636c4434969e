//! Files, folders, commands and pipes that are not as they should be.

use std::process::Stdio;

use thawline::document::MOST_BYTES;

use super::{DEMO, Folder, Run, small, thawline};
use crate::codes::{PROTOCOL, SEASON};

#[test]
fn files_that_are_not_there_or_not_files() {
    let folder = Folder::with("s.yaml", SEASON);
    std::fs::create_dir(folder.path().join("dir.yaml")).unwrap();
    for (file, words) in [
        ("none.yaml", ["F101 none.yaml:1:1", "hint: check the name"]),
        (
            "dir.yaml",
            ["F101 dir.yaml:1:1", "hint: name a file, not a folder"],
        ),
        (".", ["F101 .:1:1", "hint: name a file"]),
        ("s.yaml/x", ["F101 s.yaml/x:1:1", "hint:"]),
        ("a\nb\u{1b}[2J", ["F101 a\\u{a}b\\u{1b}[2J:1:1", "hint:"]),
    ] {
        folder.run(&["check", file]).refused(&words);
        folder.run(&["plan", file, "--out", "plan"]).refused(&words);
        folder.run(&["calendar", file]).refused(&words);
    }
    assert!(!folder.path().join("plan").exists());
    folder
        .run(&["check", "-"])
        .refused(&["Y101 -:1:1", "empty"]);
    let run = folder.run_with(&["check", "-"], SEASON);
    assert_eq!((run.code, run.err.as_str()), (0, ""));
    folder
        .run_with(&["plan", "-"], &b"\xff\xfe"[..])
        .refused(&["F103 -:1:1"]);
    folder
        .run_with(&["plan", "-"], vec![b'#'; MOST_BYTES as usize + 9])
        .refused(&["F102 -:1:1"]);
}

#[cfg(unix)]
#[test]
fn files_that_may_not_be_read() {
    use std::os::unix::fs::PermissionsExt as _;
    let folder = Folder::with("s.yaml", SEASON);
    let path = folder.path().join("s.yaml");
    std::fs::set_permissions(&path, std::fs::Permissions::from_mode(0o000)).unwrap();
    // The system's own administrator may read everything.
    if std::fs::read(&path).is_err() {
        folder
            .run(&["plan", "s.yaml"])
            .refused(&["F101 s.yaml:1:1", "rights"]);
    }
    #[cfg(target_os = "linux")]
    folder
        .run(&["plan", "/proc/self/mem"])
        .refused(&["F101 /proc/self/mem:1:1", "hint:"]);
}

#[test]
fn wrong_commands_and_options() {
    let folder = Folder::with("s.yaml", SEASON);
    for args in [
        &[][..],
        &["plough"],
        &["plan"],
        &["plan", "s.yaml", "--speed", "9"],
        &["plan", "s.yaml", "--out"],
        &["plan", "s.yaml", "other.yaml"],
        &["check", "s.yaml", "--strict=maybe"],
        &["schema", "cow"],
        &["calendar", "--for"],
    ] {
        folder.run(args).refused(&["--help"]);
    }
    folder
        .run(&["protocols", "cow-co-sync"])
        .refused(&["S106", "did you mean `cow-co-synch`?"]);
    folder
        .run(&["protocols", "\u{1b}[31m\n"])
        .refused(&["S106", "there is no protocol `\\u{1b}[31m\\u{a}`"]);
    let run = folder.run(&["protocols", "x", "--json"]);
    assert_eq!(run.code, 2);
    serde_json::from_str::<serde_json::Value>(&run.out).unwrap();
}

#[test]
fn technicians_who_are_not_in_the_crew() {
    let folder = Folder::with("s.yaml", SEASON);
    for (who, hint) in [
        ("anna", "did you mean `ana`?"),
        ("<b>", "see `crew` in s.yaml"),
        ("", "see `crew` in s.yaml"),
    ] {
        folder
            .run(&["calendar", "s.yaml", "--for", who, "-o", "c.ics"])
            .refused(&["S105", "there is no technician", "one of `ana`", hint]);
    }
    assert!(!folder.path().join("c.ics").exists());
}

#[test]
fn folders_of_protocols() {
    let folder = Folder::with("s.yaml", SEASON);
    let own = "cow-7-day-co-synch-insert";
    let with = |dir: &str| folder.run(&["plan", "s.yaml", "--out", "plan", "--protocols", dir]);
    std::fs::create_dir_all(folder.path().join("empty")).unwrap();
    folder.write("other/readme.txt", "nothing");
    folder.write("odd/sub.yaml/x", "");
    folder.write("broken/a.yaml", PROTOCOL.replacen("days: 7", "days: -7", 1));
    folder.write("broken/b.yaml", "id: [");
    folder.write(
        "broken/c.yaml",
        PROTOCOL.replacen("class: cow", "class: calf", 1),
    );
    folder.write("twice/a.yaml", PROTOCOL);
    folder.write("twice/b.yml", PROTOCOL.replacen("Our own", "Our other", 1));
    folder.write(
        "named/a.yaml",
        format!("# ours\n{}", PROTOCOL.replacen("Our own", "CO-Synch", 1)),
    );
    folder.write("large/a.yaml", vec![b'#'; MOST_BYTES as usize + 1]);
    with("none").refused(&["F101 none:1:1", "hint:"]);
    with("s.yaml").refused(&["F101 s.yaml:1:1", "hint:"]);
    with("empty").refused(&["F101 empty:1:1", "no protocol file", ".yaml"]);
    with("other").refused(&["F101 other:1:1", "no protocol file"]);
    with("odd").refused(&["F101 odd/sub.yaml:1:1", "not a folder"]);
    with("broken").refused(&[
        "P107 broken/a.yaml:9:",
        "Y101 broken/b.yaml:1:",
        "K105 broken/c.yaml:3:8",
        "3 errors",
    ]);
    with("twice").refused(&["P101 twice/b.yml:1:5 id", "stands also in", "hint:"]);
    with("named").refused(&[
        "P101 named/a.yaml:3:7 name",
        "is taken by `cow-co-synch`",
        "hint:",
    ]);
    with("large").refused(&["F102 large/a.yaml:1:1"]);
    assert!(!folder.path().join("plan").exists());

    folder.write(
        "good/a.yaml",
        PROTOCOL.replacen("id: own", &format!("id: {own}"), 1),
    );
    folder.write("good/b.yaml", PROTOCOL.replacen("Our own", "Another", 1));
    let run = folder.run(&["protocols", "--protocols", "good"]);
    assert_eq!(run.code, 0);
    assert!(run.out.contains("\n    own: "), "{}", run.out);
    assert!(
        run.err.contains("note P112 good/a.yaml:1:5 id"),
        "{}",
        run.err
    );
    let run = folder.run(&["protocols", own, "--protocols", "good"]);
    assert!(run.out.contains("Our own") && run.out.contains("From good/a.yaml."));
    let run = folder.run(&["check", "s.yaml", "--protocols", "good"]);
    assert_eq!(run.code, 0);
    assert!(run.out.contains("P112 good/a.yaml:1:5 id"), "{}", run.out);
    assert_eq!(with("good").code, 0);
}

/// The plan written before is still there, whole, and nothing lies beside it.
#[test]
fn an_old_plan_survives_every_failure() {
    let folder = Folder::with("s.yaml", SEASON);
    assert_eq!(folder.run(&["plan", "s.yaml", "--out", "plan"]).code, 0);
    folder.write("c.ics", "old");
    folder.write("bad.yaml", small("head: 20", "head: -20"));
    folder.write("new.yaml", small("A small", "Another"));
    let mut before = folder.all();
    let old = before.keys().filter(|k| k.starts_with("plan/")).count();
    assert_eq!(old, 4, "{:?}", before.keys());

    folder
        .run(&["plan", "bad.yaml", "--out", "plan"])
        .refused(&["K104"]);
    folder
        .run(&["plan", "none.yaml", "--out", "plan"])
        .refused(&["F101"]);
    folder
        .run(&["calendar", "bad.yaml", "-o", "c.ics"])
        .refused(&["K104"]);
    folder
        .run(&["calendar", "new.yaml", "--for", "bob", "-o", "c.ics"])
        .refused(&["S105"]);
    Run::of(
        thawline()
            .current_dir(folder.path())
            .env("SOURCE_DATE_EPOCH", "soon")
            .args(["plan", "new.yaml", "--out", "plan"]),
    )
    .refused(&["S103", "SOURCE_DATE_EPOCH"]);
    assert_eq!(folder.all(), before);

    // One of the files cannot take its place.
    for name in [
        "season.ics",
        "season.html",
        "technician-ana.ics",
        "plan.json",
    ] {
        let path = folder.path().join("plan").join(name);
        let bytes = std::fs::read(&path).unwrap();
        std::fs::remove_file(&path).unwrap();
        folder.write(&format!("plan/{name}/kept"), "kept");
        before = folder.all();
        folder
            .run(&["plan", "new.yaml", "--out", "plan"])
            .refused(&[&format!("F101 plan/{name}:1:1"), "a file, not a folder"]);
        assert_eq!(folder.all(), before);
        std::fs::remove_dir_all(&path).unwrap();
        std::fs::write(&path, bytes).unwrap();
    }
    before = folder.all();
    folder
        .run(&["calendar", "new.yaml", "-o", "plan"])
        .refused(&["F101 plan:1:1", "not a folder"]);
    for out in ["c.ics", "c.ics/deeper"] {
        folder
            .run(&["plan", "new.yaml", "--out", out])
            .refused(&["F101", "hint:"]);
    }
    folder
        .run(&["calendar", "new.yaml", "-o", "c.ics/c.ics"])
        .refused(&["F101", "hint:"]);
    assert_eq!(folder.all(), before);

    // Without a fault all is replaced, and nothing else lies there.
    assert_eq!(folder.run(&["plan", "new.yaml", "--out", "plan"]).code, 0);
    let after = folder.all();
    // But for the calendars of the other season, which are kept.
    let kept = |name: &&String| name.ends_with(".before.ics");
    assert!(after.keys().filter(|n| !kept(n)).eq(before.keys()));
    assert_eq!(after["plan/season.before.ics"], before["plan/season.ics"]);
    assert_ne!(after["plan/plan.json"], before["plan/plan.json"]);
}

#[cfg(unix)]
#[test]
fn a_folder_that_may_not_be_written_keeps_its_plan() {
    use std::os::unix::fs::PermissionsExt as _;
    let folder = Folder::with("s.yaml", SEASON);
    assert_eq!(folder.run(&["plan", "s.yaml", "--out", "plan"]).code, 0);
    folder.write("new.yaml", small("A small", "Another"));
    let path = folder.path().join("plan");
    let mode = |bits| std::fs::set_permissions(&path, std::fs::Permissions::from_mode(bits));
    mode(0o555).unwrap();
    let before = folder.all();
    // The system's own administrator may write everywhere.
    if std::fs::write(path.join("try"), "").is_err() {
        folder
            .run(&["plan", "new.yaml", "--out", "plan"])
            .refused(&["F101 plan/plan.json:1:1", "rights"]);
        assert_eq!(folder.all(), before);
    }
    mode(0o755).unwrap();
}

#[test]
fn a_time_stamp_that_is_none_is_refused() {
    let folder = Folder::with("s.yaml", SEASON);
    let run = |value: &std::ffi::OsStr, args: &[&str]| {
        let mut command = thawline();
        command
            .current_dir(folder.path())
            .env("SOURCE_DATE_EPOCH", value)
            .args(args);
        Run::of(&mut command)
    };
    for value in [
        "",
        "soon",
        "1.5",
        "0x10",
        "99999999999999999999",
        "8000000000000",
        "-1",
        " 1",
    ] {
        for args in [
            &["plan", "s.yaml", "--out", "plan"][..],
            &["calendar", "s.yaml"],
        ] {
            run(value.as_ref(), args).refused(&["S103", "SOURCE_DATE_EPOCH", "expected:", "hint:"]);
        }
    }
    // The first second of the year 10000, and the last of the year before.
    let late = ["S103", "after the year 9999", "at most 253402300799"];
    run("253402300800".as_ref(), &["calendar", "s.yaml"]).refused(&late);
    let mut last = thawline();
    last.current_dir(folder.path())
        .env("SOURCE_DATE_EPOCH", "253402300799")
        .args(["calendar", "s.yaml"]);
    assert!(last.output().unwrap().status.success());
    #[cfg(unix)]
    {
        use std::os::unix::ffi::OsStrExt as _;
        run(
            std::ffi::OsStr::from_bytes(b"\xff"),
            &["calendar", "s.yaml"],
        )
        .refused(&["S103"]);
    }
    assert!(!folder.path().join("plan").exists());
    // What writes no calendar does not ask for the stamp.
    assert_eq!(run("soon".as_ref(), &["check", "s.yaml"]).code, 0);
    assert_eq!(run("soon".as_ref(), &["plan", "s.yaml"]).code, 0);
}

#[test]
fn a_reader_that_goes_away_is_no_fault() {
    let folder = Folder::with("s.yaml", DEMO);
    folder.write(
        "first-calf.csv",
        include_bytes!("../../../demo/first-calf.csv"),
    );
    folder.write("heifers.csv", include_bytes!("../../../demo/heifers.csv"));
    folder.write("scores.csv", include_bytes!("../../../demo/scores.csv"));
    for args in [
        &["plan", "s.yaml", "--json"][..],
        &["herd", "s.yaml", "--all"],
        &["herd", "s.yaml", "--json"],
        &["plan", "s.yaml"],
        &["check", "s.yaml"],
        &["calendar", "s.yaml"],
        &["schema", "plan"],
        &["protocols", "--json"],
        &["plan", "none.yaml", "--json"],
        &["--help"],
    ] {
        let mut child = std::process::Command::new(env!("CARGO_BIN_EXE_thawline"))
            .current_dir(folder.path())
            .args(args)
            .stdout(Stdio::piped())
            .stderr(Stdio::piped())
            .spawn()
            .unwrap();
        drop(child.stdout.take());
        let out = child.wait_with_output().unwrap();
        let err = String::from_utf8(out.stderr).unwrap();
        assert!(
            !err.contains("panicked") && !err.contains("cannot print"),
            "{args:?}: {err}"
        );
        let code = if args[1..].contains(&"none.yaml") {
            2
        } else {
            0
        };
        assert_eq!(out.status.code(), Some(code), "{args:?}: {err}");
    }
}

#[cfg(target_os = "linux")]
#[test]
fn a_full_disk_is_told() {
    let folder = Folder::with("s.yaml", SEASON);
    let full = || {
        std::fs::File::options()
            .write(true)
            .open("/dev/full")
            .unwrap()
    };
    let out = std::process::Command::new(env!("CARGO_BIN_EXE_thawline"))
        .current_dir(folder.path())
        .args(["plan", "s.yaml"])
        .stdout(full())
        .output()
        .unwrap();
    assert_eq!(out.status.code(), Some(2));
    let err = String::from_utf8(out.stderr).unwrap();
    assert!(err.contains("cannot print"), "{err}");
    // Nowhere is left to say it.
    let status = std::process::Command::new(env!("CARGO_BIN_EXE_thawline"))
        .current_dir(folder.path())
        .args(["plan", "none.yaml"])
        .stdout(full())
        .stderr(full())
        .status()
        .unwrap();
    assert_eq!(status.code(), Some(2));
}
