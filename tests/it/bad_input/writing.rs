//! Files that are written: over whose, with which rights, and what a killed run leaves.

use std::collections::{BTreeMap, BTreeSet};
use std::fmt::Write as _;
use std::path::Path;
use std::process::{Command, Stdio};
use std::time::Duration;

use super::{Folder, Run, WISHING, small, thawline};
use crate::codes::SEASON;

/// Every command that writes, and the file that it is tried on.
const WRITERS: &[(&[&str], &str)] = &[
    (&["plan", "s.yaml", "--out", "o"], "o/plan.json"),
    (&["plan", "s.yaml", "--out", "o"], "o/season.html"),
    (&["plan", "s.yaml", "--out", "o", "--pdf"], "o/season.pdf"),
    (&["calendar", "s.yaml", "-o", "o/c.ics"], "o/c.ics"),
    (
        &[
            "thaw",
            "s.yaml",
            "--session",
            "cows/1/ai@yard",
            "--page",
            "o/w.html",
        ],
        "o/w.html",
    ),
    (
        &[
            "thaw",
            "s.yaml",
            "--session",
            "cows/1/ai@yard",
            "--pdf",
            "o/w.pdf",
        ],
        "o/w.pdf",
    ),
    (&["choose", "w.yaml", "--write", "o/n.yaml"], "o/n.yaml"),
    (&["man", "--out", "o"], "o/thawline-plan.1"),
];

/// Nothing that somebody else wrote, or another command, is replaced unless asked for by name.
#[test]
fn what_is_not_ours_is_written_over_by_force_alone() {
    for (args, file) in WRITERS {
        let folder = Folder::with("s.yaml", SEASON);
        folder.write("w.yaml", WISHING);
        for theirs in [
            SEASON,
            "animal,class\nA1,cow\n",
            "{\"mine\": 1}",
            "<!DOCTYPE html><p>Mine",
        ] {
            folder.write(file, theirs);
            let before = folder.all();
            folder
                .run(args)
                .refused(&["F101", "cannot write this file", "--force"]);
            assert_eq!(folder.all(), before, "{args:?}");
        }
        let forced = folder.run(&[args, &["--force"][..]].concat());
        assert!(forced.code < 2, "{args:?}: {}", forced.err);
        let once = folder.all();
        // The same again is no loss, and all but a season that was chosen for may have changed.
        assert!(folder.run(args).code < 2, "{args:?}");
        assert_eq!(folder.all(), once);
    }
}

/// A file of one kind by this program does not take the place of one of another kind.
#[test]
fn an_earlier_file_is_replaced_by_one_of_its_kind_alone() {
    let folder = Folder::with("s.yaml", SEASON);
    folder.write(
        "t.yaml",
        small("head: 20", "head: 21").replacen("straws: 40", "straws: 60", 1),
    );
    assert_eq!(
        folder.run(&["plan", "s.yaml", "--out", "o", "--pdf"]).code,
        0
    );
    let thaw = ["thaw", "s.yaml", "--session", "cows/1/ai@yard"];
    for (option, file) in [
        ("--page", "o/season.html"),
        ("--pdf", "o/season.pdf"),
        ("--page", "o/plan.json"),
    ] {
        folder
            .run(&[&thaw[..], &[option, file]].concat())
            .refused(&["F101", "another kind"]);
    }
    folder
        .run(&["calendar", "s.yaml", "-o", "o/plan.json"])
        .refused(&["F101", "another kind"]);
    let run = folder.run(&["plan", "t.yaml", "--out", "o", "--pdf"]);
    assert_eq!(run.code, 0, "{}", run.err);
    assert_eq!(plans(&folder.path().join("o")).len(), 1);
}

/// A season that was chosen into a file may have been worked on since.
#[test]
fn a_season_chosen_before_is_not_chosen_over() {
    let folder = Folder::with("w.yaml", WISHING);
    let choose = ["choose", "w.yaml", "--write", "n.yaml"];
    assert_eq!(folder.run(&choose).code, 0);
    let text = std::fs::read_to_string(folder.path().join("n.yaml")).unwrap();
    folder.write("n.yaml", text + "# my own remark\n");
    folder
        .run(&choose)
        .refused(&["F101", "somebody's", "--force"]);
}

#[cfg(unix)]
#[test]
fn rights_and_links_stay_as_they_are() {
    use std::os::unix::fs::{PermissionsExt as _, symlink};
    let folder = Folder::with("s.yaml", SEASON);
    folder.write("t.yaml", small("head: 20", "head: 19"));
    let at = |name: &str| folder.path().join(name);
    let mode = |name: &str| std::fs::metadata(at(name)).unwrap().permissions().mode() & 0o777;
    for bits in [0o600, 0o640, 0o666] {
        let files = [
            "o/plan.json",
            "o/season.html",
            "o/season.ics",
            "o/technician-ana.ics",
        ];
        assert_eq!(folder.run(&["plan", "s.yaml", "--out", "o"]).code, 0);
        for name in files {
            std::fs::set_permissions(at(name), std::fs::Permissions::from_mode(bits)).unwrap();
        }
        assert_eq!(folder.run(&["plan", "t.yaml", "--out", "o"]).code, 0);
        assert!(files.iter().all(|n| mode(n) == bits));
    }
    // What a link leads to is replaced, and the link stays.
    folder.write("far/old.ics", "");
    symlink(at("far/old.ics"), at("link.ics")).unwrap();
    assert_eq!(
        folder.run(&["calendar", "s.yaml", "-o", "link.ics"]).code,
        0
    );
    assert!(
        std::fs::symlink_metadata(at("link.ics"))
            .unwrap()
            .is_symlink()
    );
    assert!(
        std::fs::read(at("far/old.ics"))
            .unwrap()
            .starts_with(b"BEGIN:VCALENDAR")
    );
    symlink("s.yaml", at("season.ics")).unwrap();
    folder
        .run(&["calendar", "s.yaml", "-o", "season.ics"])
        .refused(&["another kind"]);
    symlink("nowhere", at("dangling.ics")).unwrap();
    folder
        .run(&["calendar", "s.yaml", "-o", "dangling.ics"])
        .refused(&["F101", "a link that leads nowhere"]);
    assert!(!at("nowhere").exists());
}

/// A pipe that nobody writes to, or reads from, is not waited for.
#[cfg(unix)]
#[test]
fn no_pipe_is_waited_for() {
    let folder = Folder::with("s.yaml", SEASON);
    folder.write("w.yaml", WISHING);
    let pipe = |name: &str| {
        let path = folder.path().join(name);
        std::fs::create_dir_all(path.parent().unwrap()).unwrap();
        assert!(Command::new("mkfifo").arg(path).status().unwrap().success());
    };
    for name in [
        "p",
        "o/plan.json",
        "q/technician-x.ics",
        "q/season.before.ics",
        "own/p.yaml",
    ] {
        pipe(name);
    }
    folder.write("q/season.ics", "BEGIN:VCALENDAR\r\nPRODID:-//Thawline//Thawline 0.1.0//EN\r\nX-THAWLINE-SEASON:Other\r\nEND:VCALENDAR\r\n");
    let named = |key: &str| small("crew:", &format!("{key}: p\ncrew:"));
    folder.write("scores.yaml", named("scores"));
    folder.write("herd.yaml", small("[Ash 1]\n", "[Ash 1]\n    herd: p\n"));
    folder.write(
        "straws.yaml",
        small("semen:\n  - {bull: Ash 1, straws: 40}\n", "semen_file: p\n"),
    );
    folder.write(
        "device.yaml",
        small("[Ash 1]\n", "[Ash 1]\n    herd: /dev/zero\n"),
    );
    folder.write(
        "opened.yaml",
        small("[Ash 1]\n", "[Ash 1]\n    herd: /dev/stdin\n"),
    );
    let session = ["thaw", "s.yaml", "--session", "cows/1/ai@yard"];
    for (args, code) in [
        (&["check", "p"][..], 2),
        (&["plan", "p"], 2),
        (&["check", "scores.yaml"], 2),
        (&["check", "herd.yaml"], 2),
        (&["plan", "straws.yaml"], 2),
        (&["check", "device.yaml"], 2),
        (&["check", "opened.yaml"], 2),
        (&["calendar", "s.yaml", "--previous", "p"], 2),
        (&["calendar", "s.yaml", "-o", "p"], 2),
        (&["calendar", "s.yaml", "-o", "p", "--force"], 2),
        (&["choose", "w.yaml", "--write", "p"], 2),
        (&["plan", "s.yaml", "--out", "o"], 2),
        (&["plan", "s.yaml", "--out", "q"], 0),
        (&[&session[..], &["--page", "p"]].concat(), 2),
        (&["plan", "s.yaml", "--protocols", "own"], 2),
        (&["protocols", "--check", "own"], 2),
        (&["calendar", "s.yaml", "-o", "/dev/null"], 2),
    ] {
        let mut command = thawline();
        command
            .current_dir(folder.path())
            .args(args)
            .timeout(Duration::from_secs(60));
        let run = Run::of(&mut command);
        assert_eq!(run.code, code, "{args:?}: {}", run.err);
    }
    // What a shell has opened is read: a season may come so.
    let mut shell = Command::new("sh");
    shell
        .current_dir(folder.path())
        .args(["-c", "cat s.yaml | \"$0\" check /dev/stdin"]);
    let done = shell.arg(env!("CARGO_BIN_EXE_thawline")).output().unwrap();
    assert!(done.status.success(), "{done:?}");
}

/// A season may come from anybody, and name any file: nothing of a file outside its folder is quoted.
#[test]
fn nothing_of_a_file_outside_the_folder_is_told() {
    let folder = Folder::with(
        "secret",
        "animal,hunter2\nhunter2,hunter2\n\u{1}hunter2:x:0:0\n",
    );
    folder.write("names", "hunter2:x:0:0\nanimal,hunter2\n");
    #[cfg(unix)]
    {
        std::fs::create_dir_all(folder.path().join("in")).unwrap();
        std::os::unix::fs::symlink("../secret", folder.path().join("in/link.csv")).unwrap();
    }
    let whole = folder.path().join("secret").display().to_string();
    for name in [
        "../secret",
        "../names",
        &whole,
        "link.csv",
        "../in/../secret",
    ] {
        for (from, to) in [
            ("[Ash 1]\n", "[Ash 1]\n    herd: FILE\n"),
            ("[Ash 1]\n", "[Ash 1]\n    herd: h.csv\n    scores: FILE\n"),
            ("crew:", "scores: FILE\ncrew:"),
            (
                "semen:\n  - {bull: Ash 1, straws: 40}\n",
                "semen_file: FILE\n",
            ),
        ] {
            folder.write("in/s.yaml", small(from, &to.replace("FILE", name)));
            folder.write("in/h.csv", "animal\nA1\n");
            for args in [
                &["check"][..],
                &["check", "--csv"],
                &["check", "--json"],
                &["plan"],
                &["herd"],
                &["matings"],
                &["cover"],
                &["choose"],
            ] {
                for (dir, file) in [("in", "s.yaml"), (".", "in/s.yaml")] {
                    let args = [&args[..1], &[file], &args[1..]].concat();
                    let mut command = thawline();
                    command.current_dir(folder.path().join(dir)).args(&args);
                    let run = Run::of(&mut command);
                    let all = run.out + &run.err;
                    assert!(!all.contains("hunter2"), "{name} {args:?}: {all}");
                }
            }
        }
    }
    // In the folder it is told as ever, and outside by code and line.
    folder.write(
        "in/s.yaml",
        small("[Ash 1]\n", "[Ash 1]\n    herd: ../names\n"),
    );
    folder
        .run(&["check", "in/s.yaml"])
        .refused(&["H101 in/../names:1:1", "outside the season's folder"]);
    folder.write("in/names", "hunter2\n");
    folder.write(
        "in/s.yaml",
        small("[Ash 1]\n", "[Ash 1]\n    herd: names\n"),
    );
    folder
        .run(&["check", "in/s.yaml"])
        .refused(&["H101", "hunter2"]);
}

/// Files by the plan that they name.
fn plans(dir: &Path) -> BTreeMap<String, BTreeSet<String>> {
    let mut found: BTreeMap<String, BTreeSet<String>> = BTreeMap::new();
    for entry in std::fs::read_dir(dir).unwrap() {
        let path = entry.unwrap().path();
        let name = path.file_name().unwrap().to_string_lossy().into_owned();
        if name.starts_with('.') {
            continue;
        }
        let bytes = std::fs::read(&path).unwrap();
        let text = String::from_utf8_lossy(&bytes);
        let mark = match name.rsplit('.').next() {
            Some("ics") => "X-THAWLINE-PLAN:",
            Some("json") => "\"id\": \"",
            _ => "0.1.0, plan ",
        };
        let id = text
            .split_once(mark)
            .unwrap_or_else(|| panic!("{name} names no plan"))
            .1;
        found.entry(id[..8].to_owned()).or_default().insert(name);
    }
    found
}

fn people(head: u32, crew: u32) -> String {
    let mut text = SEASON.replacen("head: 20", &format!("head: {head}"), 1);
    text = text.replacen("straws: 40", "straws: 400", 1);
    let mut all = String::from("crew:\n");
    for n in 0..crew {
        let _ = writeln!(all, "  - {{id: person {n}, minutes_per_cow: 3}}");
    }
    let (before, rest) = text.split_once("crew:\n").unwrap();
    format!("{before}{all}{}", &rest[rest.find("semen:").unwrap()..])
}

/// A run is killed at some tens of moments: each file is whole and says of which plan it is; the next
/// run says where files of two stood beside each other, and leaves nothing behind.
#[cfg(unix)]
#[test]
fn a_killed_run_leaves_whole_files_that_name_their_plan() {
    const KILLS: u32 = 60;
    let folder = Folder::with("a.yaml", people(40, 30));
    folder.write("b.yaml", people(41, 30));
    let plan = |season: &str| folder.run(&["plan", season, "--out", "o", "--pdf"]);
    // Where everything is done once, how long it takes, and the bytes of each plan.
    assert_eq!(plan("b.yaml").code, 0);
    let began = std::time::Instant::now();
    assert_eq!(plan("a.yaml").code, 0);
    let whole = began.elapsed();
    let out = folder.path().join("o");
    let (mut mixed, mut told, mut killed) = (0, 0, 0);
    for n in 0..KILLS {
        let mut child = Command::new(env!("CARGO_BIN_EXE_thawline"))
            .current_dir(folder.path())
            .env("SOURCE_DATE_EPOCH", "1800000000")
            .args([
                "plan",
                ["b.yaml", "a.yaml"][n as usize % 2],
                "--out",
                "o",
                "--pdf",
            ])
            .stdout(Stdio::null())
            .stderr(Stdio::null())
            .spawn()
            .unwrap();
        // Most of the moments lie where files are written.
        std::thread::sleep(whole * (KILLS + n) / (2 * KILLS));
        let _ = child.kill();
        killed += u32::from(!child.wait().unwrap().success());
        for (_, names) in plans(&out) {
            for name in names {
                let bytes = std::fs::read(out.join(&name)).unwrap();
                let end: &[u8] = match name.rsplit('.').next() {
                    Some("ics") => b"END:VCALENDAR\r\n",
                    Some("json") => b"}\n",
                    Some("pdf") => b"%%EOF",
                    _ => b"</html>",
                };
                assert!(bytes.ends_with(end), "{name} is half written");
            }
        }
        let several = plans(&out).len() > 1;
        if several || n % 10 == 9 {
            let run = plan(["a.yaml", "b.yaml"][n as usize % 2]);
            let says = run.err.contains("files of several plans");
            assert_eq!(says, several, "{}", run.err);
            (mixed, told) = (mixed + u32::from(several), told + u32::from(says));
            assert_eq!(plans(&out).len(), 1);
            let left = |n: &String| n.contains("/.thawline-");
            assert!(!folder.all().keys().any(left), "{:?}", folder.all().keys());
        }
    }
    assert!(killed > 0);
    assert_eq!(mixed, told);

    // And for certain, whatever the machine's haste: one file put back.
    let old = std::fs::read(out.join("season.html")).unwrap();
    let (now, then) = (
        plans(&out).into_keys().next().unwrap(),
        ["a.yaml", "b.yaml"],
    );
    let other = then.into_iter().find(|s| {
        assert_eq!(plan(s).code, 0);
        plans(&out).into_keys().next().unwrap() != now
    });
    std::fs::write(out.join("season.html"), old).unwrap();
    let previous = [
        "calendar",
        other.unwrap(),
        "--previous",
        "o/season.ics",
        "-o",
        "c.ics",
    ];
    assert!(
        folder
            .run(&previous)
            .err
            .contains("among files of several plans")
    );
    assert!(plan(other.unwrap()).err.contains("files of several plans"));
    assert!(!plan(other.unwrap()).err.contains("files of several plans"));
}

/// Files are written one at a time, however many there are.
#[cfg(unix)]
#[test]
fn a_plan_for_many_people_opens_few_files() {
    let folder = Folder::with("s.yaml", people(60, 120));
    let mut shell = Command::new("sh");
    shell.current_dir(folder.path()).args([
        "-c",
        "ulimit -n 40; exec \"$0\" plan s.yaml --out o",
        env!("CARGO_BIN_EXE_thawline"),
    ]);
    let done = shell.output().unwrap();
    assert!(done.status.success(), "{done:?}");
    assert_eq!(
        std::fs::read_dir(folder.path().join("o")).unwrap().count(),
        123
    );
}

/// Where the system refuses threads, one does the work, and the plan is the same.
#[cfg(target_os = "linux")]
#[test]
fn without_threads_the_plan_is_the_same() {
    let folder = Folder::with("s.yaml", people(60, 4));
    let plan = |limit: &str| {
        let mut shell = Command::new("sh");
        shell.current_dir(folder.path()).args([
            "-c",
            &format!("{limit} exec \"$0\" plan s.yaml --json"),
            env!("CARGO_BIN_EXE_thawline"),
        ]);
        let done = shell.output().unwrap();
        assert!(done.status.success(), "{done:?}");
        done.stdout
    };
    // Room for the stacks of a few hundred threads, and not of so many.
    let few = plan("ulimit -v 1000000; RAYON_NUM_THREADS=4000");
    assert_eq!(few, plan(""));
}
