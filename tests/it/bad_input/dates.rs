//! Dates, filters and folders of protocols that are not as they should be.

use super::Folder;
use crate::codes::PROTOCOL;

const ZONE: [&str; 2] = ["--zone", "America/Denver"];

fn protocols<'a>(args: &[&'a str]) -> Vec<&'a str> {
    [&["protocols"], args].concat()
}

#[test]
fn options_that_do_not_go_together() {
    let folder = Folder::new();
    let time = "2027-05-18T07:00";
    let day = "2027-03-01";
    for (args, words) in [
        (&["x", "--start", time][..], "--zone"),
        (&["--breed-at", time], "--zone"),
        (&["--first-calf", day], "--zone"),
        (&["--start", time, "--zone", "UTC"], "<ID>"),
        (&["x", "--zone", "UTC"], "--start"),
        (
            &["x", "--start", time, "--breed-at", time, "--zone", "UTC"],
            "cannot be used with '--breed-at",
        ),
        (
            &["--breed-at", time, "--first-calf", day, "--zone", "UTC"],
            "cannot be used with",
        ),
        (
            &["--first-calf", day, "--hours", "66", "--zone", "UTC"],
            "cannot be used with '--hours",
        ),
        (
            &["--breed-at", time, "--clock", "08:00", "--zone", "UTC"],
            "cannot be used with '--clock",
        ),
        (
            &[
                "--breed-at",
                time,
                "--gestation-days",
                "283",
                "--zone",
                "UTC",
            ],
            "cannot be used with '--gestation-days",
        ),
        (&["--hours", "66"], "--breed-at"),
        (&["--gestation-days", "283"], "--first-calf"),
        (&["cow-co-synch", "--class", "cow"], "'--class"),
        (&["--check", "x", "--most-days", "9"], "'--most-days"),
        (&["--check", "x", "cow-co-synch"], "cannot be used with"),
        (&["--check", "x", "--protocols", "x"], "'--protocols"),
        (&["--check", "x", "--hours", "66"], "--hours"),
        (&["--class", "bull"], "[possible values: cow, heifer]"),
        (&["--kind", "timed"], "split-time"),
        (&["--most-days", "-3"], "--most-days"),
        (&["--most-passes", "few"], "few"),
    ] {
        folder.run(&protocols(args)).refused(&[words, "--help"]);
    }
}

#[test]
fn dates_that_cannot_be_read_or_kept() {
    let folder = Folder::new();
    for (args, words) in [
        (
            &["cow-co-synch", "--start", "5/18/2027"][..],
            ["S103", "write 2027-05-18"],
        ),
        (
            &["cow-co-synch", "--start", "2027-05-18T07:00Z"],
            ["S103", "no time zone behind them"],
        ),
        (
            &["cow-co-synch", "--start", "1999-05-18T07:00"],
            ["S103", "2000 and 2100"],
        ),
        (
            &["cow-co-synch", "--breed-at", "2027-02-30T07:00"],
            ["S103", "there is no day"],
        ),
        (
            &["cow-co-synch", "--breed-at", "2000-01-02T07:00"],
            ["S103", "1999-12-23"],
        ),
        (
            &["--class", "cow", "--breed-at", "2000-01-02T07:00"],
            ["S103", "check the year"],
        ),
        (
            &["--first-calf", "2027-03-01T07:00"],
            ["S103", "such as `2027-03-01`"],
        ),
        (&["--first-calf", "2000-03-01"], ["S103", "check the year"]),
        (
            &["--first-calf", "2027-03-01", "--clock", "24:00"],
            ["S103", "23:59"],
        ),
        (
            &[
                "--first-calf",
                "2027-03-01",
                "--gestation-days",
                "4294967295",
            ],
            ["K104", "TORELL"],
        ),
        (
            &[
                "cow-co-synch",
                "--breed-at",
                "2027-06-01T08:00",
                "--hours",
                "NaN",
            ],
            ["D114", "66 to 72 h"],
        ),
        (
            &[
                "cow-co-synch",
                "--breed-at",
                "2027-06-01T08:00",
                "--hours",
                "-1e300",
            ],
            ["D114", "66 to 72 h"],
        ),
        (
            &["--breed-at", "2027-06-01T08:00", "--hours", "inf"],
            ["D114", "70 to 74 h"],
        ),
        (
            &["cow-co-sync", "--start", "2027-05-18T07:00"],
            ["S106", "did you mean `cow-co-synch`?"],
        ),
    ] {
        let args = [&protocols(args), &ZONE[..]].concat();
        folder.run(&args).refused(&words);
        let run = folder.run(&[&args[..], &["--json"]].concat());
        assert_eq!(run.code, 2);
        serde_json::from_str::<serde_json::Value>(&run.out).unwrap();
    }
    for (zone, words) in [
        ("Denver", "did you mean `America/Denver`?"),
        ("MST", "did you mean `America/Denver`?"),
        ("\u{1b}[2J", "\\u{1b}[2J"),
        ("", "such as"),
    ] {
        folder
            .run(&["protocols", "--first-calf", "2027-03-01", "--zone", zone])
            .refused(&["S102", words]);
    }
}

#[test]
fn the_last_years_are_dated_too() {
    let folder = Folder::new();
    for args in [
        &["heifer-mga-pg-detect", "--start", "2100-12-31T23:59"][..],
        &["--breed-at", "2100-12-31T23:59"],
        &["--first-calf", "2100-12-31"],
    ] {
        let run = folder.run(&[&protocols(args), &ZONE[..]].concat());
        assert_eq!((run.code, run.err.as_str()), (0, ""));
    }
}

#[test]
fn filters_that_leave_nothing() {
    let folder = Folder::new();
    let none = [
        "--class",
        "cow",
        "--kind",
        "split-time",
        "--most-passes",
        "3",
    ];
    let run = folder.run(&protocols(&none));
    assert_eq!((run.code, run.err.as_str()), (0, ""));
    assert!(run.out.contains("without --most-passes 3"), "{}", run.out);
    let run = folder.run(&protocols(&["--class", "cow", "--most-days", "0"]));
    assert_eq!(run.code, 0);
    assert!(
        run.out.contains("without --most-days 0 there would be"),
        "{}",
        run.out
    );
    let run = folder.run(&protocols(&[
        "--class",
        "cow",
        "--most-days",
        "0",
        "--most-passes",
        "0",
    ]));
    assert!(run.out.contains("leaves none either"), "{}", run.out);
    // As data, and in place of a list of starts.
    let run = folder.run(&[&protocols(&none)[..], &["--json"]].concat());
    let json: serde_json::Value = serde_json::from_str(&run.out).unwrap();
    assert_eq!(json["protocols"].as_array().unwrap().len(), 0);
    assert_eq!(json["without"][0]["wish"], "--class cow");
    let dated = ["--first-calf", "2027-03-01"];
    let run = folder.run(&[&protocols(&none)[..], &dated, &ZONE].concat());
    assert_eq!(run.code, 0);
    assert!(
        run.out.starts_with("Protocols\nNo protocol suits"),
        "{}",
        run.out
    );
}

#[test]
fn folders_of_ones_own_protocols() {
    let folder = Folder::new();
    let check = |dir: &str| folder.run(&["protocols", "--check", dir]);
    std::fs::create_dir_all(folder.path().join("empty")).unwrap();
    folder.write("file", "");
    check("none").refused(&["F101 none:1:1", "hint:"]);
    check("file").refused(&["F101 file:1:1", "hint:"]);
    check("empty").refused(&["F101 empty:1:1", "no protocol file"]);

    // Every fault of every file comes back, also beside files that cannot be read at all.
    folder.write("bad/a.yaml", PROTOCOL.replacen("days: 7", "days: -7", 1));
    folder.write("bad/b.yaml", "id: [");
    folder.write("bad/c.yaml/x", "");
    folder.write("bad/d.yaml", vec![b'#'; 50_000_000]);
    folder.write("bad/e.yaml", b"id: own\nname: \xff\n");
    folder.write("bad/f.yaml", "");
    folder.write("bad/g.yml", "\0\0\0");
    folder.write("bad/h.yaml", PROTOCOL);
    folder.write("bad/i.yaml", PROTOCOL);
    folder.write("bad/notes.txt", b"\xff");
    check("bad").refused(&[
        "P107 bad/a.yaml:9:",
        "Y101 bad/b.yaml:1:",
        "F101 bad/c.yaml:1:1",
        "F102 bad/d.yaml:1:1",
        "F103 bad/e.yaml:2:7",
        "Y101 bad/f.yaml:1:1",
        "F103 bad/g.yml:1:1",
        "P101 bad/i.yaml:1:5",
        "8 errors",
    ]);
    let run = folder.run(&["protocols", "--check", "bad", "--json"]);
    assert_eq!(run.code, 2);
    let json: serde_json::Value = serde_json::from_str(&run.out).unwrap();
    assert_eq!(json["errors"], 8);

    folder.write("good/\u{1b}[2J.yaml", PROTOCOL);
    let run = check("good");
    assert_eq!(run.code, 0, "{}", run.err);
    assert!(
        run.out.contains("good/\\u{1b}[2J.yaml: can be used."),
        "{}",
        run.out
    );
}

#[cfg(unix)]
#[test]
fn a_protocol_file_that_may_not_be_read() {
    use std::os::unix::fs::PermissionsExt as _;
    let folder = Folder::new();
    folder.write("own/a.yaml", PROTOCOL);
    folder.write("own/b.yaml", PROTOCOL.replacen("days: 7", "days: -7", 1));
    let path = folder.path().join("own/a.yaml");
    std::fs::set_permissions(&path, std::fs::Permissions::from_mode(0o000)).unwrap();
    // The system's own administrator may read everything.
    if std::fs::read(&path).is_err() {
        folder.run(&["protocols", "--check", "own"]).refused(&[
            "F101 own/a.yaml:1:1",
            "P107 own/b.yaml",
            "2 errors",
        ]);
    }
}
