//! Wrong, hostile and huge input: refused with a place and a remedy, or planned without harm;
//! nothing is written, nothing old is lost, and the program never falls over.

mod changed;
mod dates;
mod files;
mod terminals;
mod writing;

use std::collections::BTreeMap;
use std::fmt::Write as _;
use std::path::Path;

use thawline::document::MOST_BYTES;

use crate::codes::SEASON;

const DEMO: &str = include_str!("../../demo/season.yaml");

pub(crate) fn thawline() -> assert_cmd::Command {
    let mut command = assert_cmd::Command::new(env!("CARGO_BIN_EXE_thawline"));
    command.env("SOURCE_DATE_EPOCH", "1800000000");
    command
}

/// A folder of its own for each test.
pub(crate) struct Folder(tempfile::TempDir);

impl Folder {
    pub(crate) fn new() -> Self {
        Self(tempfile::tempdir().unwrap())
    }

    pub(crate) fn path(&self) -> &Path {
        self.0.path()
    }

    pub(crate) fn with(name: &str, bytes: impl AsRef<[u8]>) -> Self {
        let folder = Self::new();
        folder.write(name, bytes);
        folder
    }

    pub(crate) fn write(&self, name: &str, bytes: impl AsRef<[u8]>) {
        let path = self.path().join(name);
        std::fs::create_dir_all(path.parent().unwrap()).unwrap();
        std::fs::write(path, bytes).unwrap();
    }

    /// Every file and folder below, with the bytes of files.
    fn all(&self) -> BTreeMap<String, Option<Vec<u8>>> {
        fn walk(at: &Path, top: &Path, all: &mut BTreeMap<String, Option<Vec<u8>>>) {
            for entry in std::fs::read_dir(at).unwrap() {
                let path = entry.unwrap().path();
                let name = path.strip_prefix(top).unwrap().display().to_string();
                if path.is_dir() {
                    all.insert(name, None);
                    walk(&path, top, all);
                } else {
                    all.insert(name, Some(std::fs::read(&path).unwrap()));
                }
            }
        }
        let mut all = BTreeMap::new();
        walk(self.path(), self.path(), &mut all);
        all
    }

    pub(crate) fn run(&self, args: &[&str]) -> Run {
        self.run_with(args, "")
    }

    fn run_with(&self, args: &[&str], stdin: impl Into<Vec<u8>>) -> Run {
        let mut command = thawline();
        command
            .current_dir(self.path())
            .args(args)
            .write_stdin(stdin);
        Run::of(&mut command)
    }
}

/// What the program said where the demo is.
pub(crate) fn at_demo(args: &[&str]) -> Run {
    Run::of(
        thawline()
            .current_dir(env!("CARGO_MANIFEST_DIR"))
            .args(args),
    )
}

/// What it prints there when it succeeds, or tells that a plan falls short.
pub(crate) fn printed(args: &str) -> String {
    let told = at_demo(&args.split_whitespace().collect::<Vec<_>>());
    assert!(told.code < 2, "{args}: {}", told.err);
    told.out
}

pub(crate) struct Run {
    pub(crate) code: i32,
    pub(crate) out: String,
    pub(crate) err: String,
}

impl Run {
    pub(crate) fn of(command: &mut assert_cmd::Command) -> Self {
        let got = command.output().unwrap();
        let run = Self {
            code: got.status.code().expect("an exit code, no signal"),
            out: String::from_utf8(got.stdout).expect("UTF-8 on standard output"),
            err: String::from_utf8(got.stderr).expect("UTF-8 on standard error"),
        };
        for text in [&run.out, &run.err] {
            let tame = |c: char| c == '\n' || !c.is_control();
            assert!(text.chars().all(tame), "control characters: {text:?}");
            assert!(!text.contains("panicked"), "{text}");
            assert!(!text.contains("V101"), "{text}");
        }
        run
    }

    /// Standard output as JSON.
    pub(crate) fn json(&self) -> serde_json::Value {
        serde_json::from_str(&self.out).unwrap()
    }

    /// Exit code 2, these words on standard error and nothing on standard output.
    pub(crate) fn refused(self, words: &[&str]) {
        assert_eq!(self.code, 2, "{}{}", self.out, self.err);
        assert_eq!(self.out, "");
        let flat = flat(&self.err);
        for word in words {
            assert!(flat.contains(word), "`{word}` is not in:\n{}", self.err);
        }
    }
}

/// Text as it was before it was wrapped to the terminal.
pub(crate) fn flat(text: &str) -> String {
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

/// The file is refused with these words, in text and as JSON, and nothing is written.
fn refused(bytes: impl AsRef<[u8]>, words: &[&str]) {
    let folder = Folder::with("s.yaml", bytes);
    folder.run(&["check", "s.yaml"]).refused(words);
    let run = folder.run(&["plan", "s.yaml", "--json", "--out", "plan"]);
    let json: serde_json::Value = serde_json::from_str(&run.out).unwrap();
    assert_eq!(run.code, 2);
    assert_eq!(json["format"], "thawline.findings/1");
    assert!(json["errors"].as_u64().unwrap() > 0);
    assert!(folder.all().into_keys().eq(["s.yaml"]));
}

/// The small season with one text in place of another.
fn small(from: &str, to: &str) -> String {
    assert!(SEASON.contains(from), "{from}");
    SEASON.replacen(from, to, 1)
}

/// The season is planned, well or not; gives what was printed.
fn planned(bytes: impl AsRef<[u8]>) -> String {
    let folder = Folder::with("s.yaml", bytes);
    let run = folder.run(&["plan", "s.yaml", "--out", "plan"]);
    assert!(run.code < 2, "{}{}", run.out, run.err);
    let read = |name: &str| std::fs::read_to_string(folder.path().join("plan").join(name)).unwrap();
    serde_json::from_str::<thawline::plan::Plan>(&read("plan.json")).unwrap();
    // The page's own, and no other.
    assert_eq!(read("season.html").matches("<script").count(), 1);
    let calendar = read("season.ics");
    assert!(
        calendar
            .split("\r\n")
            .all(|line| line.len() <= 75 && !line.contains(['\r', '\n']))
    );
    assert_eq!(calendar.matches("\r\nEND:VCALENDAR").count(), 1);
    run.out
}

#[test]
fn files_that_are_no_season_at_all() {
    refused("", &["Y101 s.yaml:1:1", "the file is empty", "hint:"]);
    refused("# nothing but a remark\n", &["Y101", "the file is empty"]);
    refused("\n\n---\n", &["Y101", "the file is empty"]);
    refused(
        b"name: a\nzone: \x89PNG\r\n",
        &["F103 s.yaml:2:7", "not UTF-8"],
    );
    refused(
        b"PK\x03\x04\x14\0",
        &["F103 s.yaml:1:3", "control character"],
    );
    refused(b"\xff\xfef\0o\0r\0", &["F103 s.yaml:1:1", "not UTF-8"]);
    refused("a fine season", &["K103 s.yaml:1:1", "keys and values"]);
    refused("- a\n- b\n", &["K103 s.yaml:1:1", "this is a list"]);
    refused("{}", &["K102 s.yaml:1:1 groups", "is missing"]);
    refused("%YAML 9.9\n---\na: 1\n", &["s.yaml:"]);
    refused(format!("{SEASON}---\n{SEASON}"), &["Y101", "---"]);
}

#[test]
fn huge_files_are_not_read_to_the_end() {
    let words = ["F102 s.yaml:1:1", "at most 8388608 bytes"];
    refused(vec![b'a'; 50_000_000], &words);
    refused(vec![0; MOST_BYTES as usize + 1], &words);
    // Just within the limit, it is the form that is wrong.
    refused(vec![b'a'; MOST_BYTES as usize], &["K103 s.yaml:1:1"]);
    refused("[".repeat(MOST_BYTES as usize), &["Y101 s.yaml:1:"]);
    refused("- ".repeat(1 << 20), &["Y101 s.yaml:1:"]);
    refused("{a: ".repeat(1 << 20), &["Y101 s.yaml:1:"]);
    refused("a: b\n".repeat(1 << 20), &["Y101 s.yaml:2:1"]);
    refused("? ".repeat(1 << 20), &["Y101 s.yaml:1:"]);
    refused("&a ".repeat(1 << 20), &["Y101 s.yaml:1:"]);
}

#[test]
fn bombs_and_depths_are_refused() {
    let mut bomb = String::from("a: &a [x,x,x,x,x,x,x,x,x]\n");
    for (b, a) in ('b'..='j').zip('a'..='i') {
        let _ = writeln!(bomb, "{b}: &{b} [{}]", format!("*{a},").repeat(9));
    }
    refused(bomb, &["Y101 s.yaml:", "at most", "hint:"]);
    refused("a: &a [*a]\n", &["Y101 s.yaml:1:"]);
    refused("a: *nobody\n", &["Y101 s.yaml:1:4"]);
    let deep = format!("{}x{}", "[".repeat(2000), "]".repeat(2000));
    refused(format!("name: {deep}\n"), &["Y101 s.yaml:1:"]);
}

#[test]
fn yaml_that_does_not_hold_together() {
    let cases = [
        ("name: A", "name: [A", "Y101 s.yaml:"),
        ("name: A", "name: \"A", "Y101 s.yaml:"),
        ("name: A", "\tname: A", "Y101 s.yaml:2:1 a tab"),
        ("    site:", "\tsite:", "Y101 s.yaml:10:1 a tab"),
        ("    head: 20", "  head: 20", "Y101 s.yaml:12:"),
        ("head: 20", "head: 20\n    head: 30", "Y101 s.yaml:13:5"),
        ("head: 20", "head 20", "Y101 s.yaml:1"),
        ("zone: ", "name: ", "Y101 s.yaml:3:1"),
        ("zone:", "zone", "Y101 s.yaml:"),
        ("name:", "null:", "s.yaml:2:1"),
        ("name:", "? [a, b]\n: 1\nname:", "Y101 s.yaml:2:"),
    ];
    for (from, to, place) in cases {
        refused(small(from, to), &[place, "hint:"]);
    }
    refused(
        small("head: 20", "head: 20\n    head: 30"),
        &["the key `head` is there twice", "expected: each key once"],
    );
}

#[test]
fn numbers_that_no_herd_has() {
    for value in [
        "0",
        "-5",
        "1000000000",
        "100001",
        "99999999999999999999",
        "1e400",
        ".nan",
        ".inf",
        "-.inf",
        "2.5",
        "20.0",
        "twenty",
        "\"20\"",
        "[20]",
        "{a: 20}",
        "true",
        "1,000",
        "20 head",
        "0x",
    ] {
        let words = [
            "s.yaml:12:11 groups[0].head",
            "whole number, 1 to 100000",
            "hint:",
        ];
        refused(small("head: 20", &format!("head: {value}")), &words);
    }
    for value in ["0", "-60", ".nan", ".inf", "1e-300", "0.001", "1e9", "fast"] {
        let words = ["s.yaml:6:31 sites[0].injections_head_per_hour", "1 to 1000"];
        let text = small("per_hour: 60", &format!("per_hour: {value}"));
        refused(text, &words);
    }
    for value in ["0", "-3", ".nan", "-.inf", "61"] {
        let words = ["s.yaml:19:22 crew[0].minutes_per_cow", "0.1 to 60"];
        refused(small("per_cow: 3", &format!("per_cow: {value}")), &words);
    }
    for value in ["-1", "1e3", "4294967296", "100001"] {
        let words = ["s.yaml:22:27 semen[0].straws", "0 to 100000"];
        refused(small("straws: 40", &format!("straws: {value}")), &words);
    }
}

#[test]
fn times_and_zones_that_do_not_exist() {
    for value in [
        "2027-02-30T20:00",
        "2027-02-29T20:00",
        "2027-13-01T20:00",
        "2027-05-00T20:00",
        "2027-05-03T25:00",
        "2027-05-03T24:00",
        "2027-05-03T20:60",
        "2027-05-03T20:00:60",
        "1999-12-31T20:00",
        "2101-01-01T20:00",
        "0000-00-00T00:00",
        "9999-12-31T23:59",
        "\"+2027-05-03T20:00\"",
        "-2027-05-03T20:00",
        "2027-5-3T20:00",
        "27-05-03T20:00",
        "20:00",
        "3/5/2027 8am",
        "May 2027",
        "2027-05-03T20:00Z",
        "2027-05-03T20:00-06:00",
        "\"2027-05- 3T20:00\"",
        "tomorrow",
        "\"\"",
        "\"٢٠٢٧-٠٥-٠٣T٢٠:٠٠\"",
    ] {
        let words = [
            "S103 s.yaml:14:12 groups[0].start",
            "between 2000 and 2100",
            "hint:",
        ];
        refused(small("2027-05-03T20:00", value), &words);
    }
    for value in [
        "Mars/Olympus",
        "America/Denvr",
        "MDT",
        "america/denver",
        "../../etc/passwd",
        "\" UTC\"",
    ] {
        let words = [
            "S102 s.yaml:3:7 zone",
            "expected: the time zone of a place",
            "hint:",
        ];
        refused(small("America/Denver", value), &words);
    }
    for value in [
        "2027-02-30",
        "1999-01-01",
        "2101-01-01",
        "2027-05-3",
        "30.05.2027",
    ] {
        refused(
            small("helper: true", &format!("days_off: [{value}]")),
            &["S103 s.yaml:20:16 crew[0].days_off[0]"],
        );
    }
}

#[test]
fn clock_times_that_do_not_exist() {
    for value in [
        "07:0",
        "24:01",
        "24:00",
        "' 7:00'",
        "'07.00'",
        "17pm",
        "'07:00:00'",
        "''",
        "noon",
    ] {
        refused(
            small(
                "helper: true",
                &format!("shifts: [{{from: {value}, to: '12:00'}}]"),
            ),
            &["S103 s.yaml:20:21 crew[0].shifts[0].from", "hint:"],
        );
        let rules = format!("rules: {{no_chute_work: [{{weekday: mon, from: {value}}}]}}\nsemen:");
        refused(
            small("semen:", &rules),
            &["S103 s.yaml:21:46 rules.no_chute_work[0].from", "hint:"],
        );
        let rules = format!("rules: {{no_work_before: {value}}}\nsemen:");
        refused(
            small("semen:", &rules),
            &["S103 s.yaml:21:25 rules.no_work_before", "hint:"],
        );
    }
    planned(small(
        "helper: true",
        "shifts: [{from: '00:00', to: '24:00'}]",
    ));
}

/// Ids go into file names, calendars, pages and tables, so they hold nothing that could run there.
#[test]
fn ids_that_could_do_harm() {
    for value in [
        r#""a\nb""#,
        r#""a\tb""#,
        r#""\0""#,
        r#""\e[31mred""#,
        "🐂",
        "<script>alert(1)</script>",
        "=1+1",
        "'@x'",
        "+x",
        "-x",
        "../../x",
        "''",
        "' '",
        "'a '",
        "a;b",
        "a:b",
        r#""a\u202Eb""#,
        r#""a\u200Bb""#,
        r#""a\xADb""#,
        "a'b",
        "'a\"b'",
        "a&b",
        "a|b",
        r"a\b",
        "'#1'",
    ] {
        for (from, place) in [
            ("id: yard", "K106 s.yaml:5:9 sites[0].id"),
            ("id: cows", "K106 s.yaml:9:9 groups[0].id"),
            ("id: ana", "K106 s.yaml:18:9 crew[0].id"),
        ] {
            let text = small(from, &format!("id: {value}"));
            refused(text, &[place, "letters, digits, spaces", "hint:"]);
        }
    }
    let long = "x".repeat(1000);
    refused(
        small("id: cows", &format!("id: {long}")),
        &["K106 s.yaml:9:9", "1 to 40"],
    );
    for value in [
        "NUL",
        "con",
        "a.b",
        "ana/",
        "a//b",
        "Ω",
        "牛",
        "3/4-blood",
        "a b",
    ] {
        let text = small("id: ana", &format!("id: {value}"));
        planned(text.replacen("id: cows", &format!("id: {value}"), 1));
    }
}

#[test]
fn names_may_look_like_code_but_hide_nothing() {
    for value in [
        "<script>alert(1)</script>",
        "</title><b>",
        "'=1+1'",
        "'@SUM(A1)'",
        "'+1'",
        "-1 cow",
        "'\"quoted\"; it''s'",
        "🐂 牛 Ω",
        "BEGIN:VCALENDAR",
        r"a\nb",
        "'{{x}} ${x} %s'",
    ] {
        let text = small("A small invented season", value);
        let text = text.replacen("id: cows", &format!("id: cows\n    name: {value}"), 1);
        let text = text.replacen("id: ana", &format!("id: ana\n    name: {value}"), 1);
        let text = text.replacen("id: yard", &format!("id: yard\n    name: {value}"), 1);
        planned(text.replacen(
            "40}",
            &format!("40, tank: {:?}}}", value.trim_matches('\'')),
            1,
        ));
    }
    for value in [
        r#""a\nb""#,
        r#""a\e[2J""#,
        r#""a\u202Eb""#,
        r#""a\u2066b""#,
        r#""a\u061Cb""#,
        r#""a\uFEFF""#,
        r#""\u200B""#,
        r#""a\r""#,
        r#""a\Lb""#,
        r#""a\Nb""#,
        "'  '",
    ] {
        let words = ["K107 s.yaml:2:7 name", "plain text", "hint:"];
        refused(small("A small invented season", value), &words);
    }
    let long = |n: usize| small("A small invented season", &"n".repeat(n));
    planned(long(200));
    refused(long(201), &["K104 s.yaml:2:7 name", "1 to 200 characters"]);
    refused(
        long(1_000_000),
        &["K104 s.yaml:2:7 name", "1000000 characters"],
    );
}

#[test]
fn keys_that_could_do_harm_are_shown_safely() {
    for key in [r#""\e[31m""#, r#""a\nb""#, r#""\u202E""#] {
        let text = small(
            "breeding_boxes: 2",
            &format!("breeding_boxes: 2\n    {key}: 1"),
        );
        refused(text, &["K101 s.yaml:8:5 sites[0]"]);
        let text = small(
            "breeding_boxes: 2",
            &format!("breeding_boxes: 2\n    minutes_to: {{{key}: 1}}"),
        );
        refused(text, &["S105 s.yaml:8:", "sites[0].minutes_to."]);
        let text = small(
            "breeding_boxes: 2",
            &format!("breeding_boxes: 2\n    minutes_to: {{{key}: x}}"),
        );
        refused(text, &["K103 s.yaml:8:", "sites[0].minutes_to."]);
    }
}

#[test]
fn line_ends_marks_and_tabs_change_nothing() {
    let plain = planned(SEASON);
    assert_eq!(planned(SEASON.replace('\n', "\r\n")), plain);
    assert_eq!(planned(format!("\u{feff}{SEASON}")), plain);
    assert_eq!(planned(format!("{SEASON}# \t remark\n\n...\n")), plain);
    assert_eq!(planned(small("head: 20", "head: 20\t")), plain);
    assert_eq!(planned(SEASON.trim_end()), plain);
    refused(
        small("head: 20", "head: 0").replace('\n', "\r\n"),
        &["K104 s.yaml:12:11"],
    );
}

#[test]
fn keys_without_a_value_are_absent_keys() {
    let plain = planned(SEASON);
    for key in [
        "shifts:",
        "days_off:",
        "name:",
        "home_site: ~",
        "straws_at_once: null",
    ] {
        let text = small("helper: true", &format!("helper: true\n    {key}"));
        assert_eq!(planned(text), plain, "{key}");
    }
    let text = small("semen:", "rules:\n  no_chute_work:\nsemen:");
    assert_eq!(planned(text), plain);
    let text = small("breeding_boxes: 2", "breeding_boxes: 2\n    minutes_to:");
    assert_eq!(planned(text), plain);
    refused(
        small("head: 20", "head:"),
        &["K103 s.yaml:12:", "groups[0].head", "no value"],
    );
}

#[test]
fn every_fault_is_told_not_only_the_first() {
    let text = small("America/Denver", "America/Devner")
        .replacen("2027-05-03", "2027-05-33", 1)
        .replacen("cow-7-day", "cow-8-day", 1)
        .replacen("[Ash 1]", "[Oak 1]", 1)
        .replacen(
            "    minutes_per_cow: 3\n",
            "    minutes_per_cow: 3\n    cows_per_hour: 9\n",
            1,
        )
        .replacen("id: cows", "id: \"=cows\"", 1);
    refused(
        &text,
        &[
            "S102 s.yaml:3:7",
            "K106 s.yaml:9:9",
            "S106 s.yaml:13:15",
            "S103 s.yaml:14:12",
            "S105 s.yaml:16:13",
            "S109",
            "6 errors. Fix them and run the command again; no file was changed",
        ],
    );
    let text = small("zone: America/Denver\n", "")
        .replacen("per_hour: 60", "per_hour: -1", 1)
        .replacen("class: cow", "class: calf", 1)
        .replacen("head: 20", "head: many", 1)
        .replacen("helper:", "hepler:", 1)
        .replacen("{bull: Ash 1, straws: 40}", "12", 1);
    refused(
        text,
        &[
            "K102 s.yaml:1:1 zone",
            "K104 s.yaml:5:",
            "K105 s.yaml:10:12",
            "K103 s.yaml:11:11",
            "K101 s.yaml:19:5",
            "K103 s.yaml:21:5",
            "6 errors",
        ],
    );
    // A file of nothing but faults is not a book.
    let many = "  - {bull: Ash 1, straws: x}\n".repeat(4000);
    let folder = Folder::with("s.yaml", format!("{SEASON}{many}"));
    assert!(folder.run(&["check", "s.yaml"]).err.lines().count() < 1500);
}

const WISHING: &str = "format: thawline.season/1\nname: N\nzone: America/Denver\nsites: [{id: s, injections_head_per_hour: 60, breeding_boxes: 1}]\ngroups:\n  - id: g\n    site: s\n    class: cow\n    head: 20\n    bulls: [b]\n    wishes: {breed_from: 2027-05-17, breed_to: 2027-05-20, protocols: [cow-co-synch]}\ncrew: [{id: t, minutes_per_cow: 3}]\nsemen: [{bull: b, straws: 20}]\n";

/// A copy is a file: not standard output, and never in the place of a device, a pipe or a socket.
#[test]
fn a_copy_takes_the_place_of_files_only() {
    let folder = Folder::with("s.yaml", WISHING);
    let before = folder.all();
    folder
        .run(&["choose", "s.yaml", "--write", "-"])
        .refused(&["F101", "not written to standard output"]);
    assert_eq!(folder.all(), before);
    #[cfg(unix)]
    {
        let socket = folder.path().join("socket");
        let _open = std::os::unix::net::UnixListener::bind(&socket).unwrap();
        folder
            .run(&["choose", "s.yaml", "--write", "socket"])
            .refused(&["F101", "what stands there is no file"]);
        assert!(!socket.is_file() && socket.exists());
    }
}

/// Hours that cannot be read are not said to be in the wrong order as well.
#[test]
fn hours_that_cannot_be_read_are_one_fault() {
    let hours = "protocols: [cow-co-synch], work_hours: {from: 7h, to: \"19:00\"}";
    let text = WISHING.replace("protocols: [cow-co-synch]", hours);
    let run = Folder::with("s.yaml", &text).run(&["choose", "s.yaml"]);
    assert!(!run.err.contains("S114"), "{}", run.err);
    run.refused(&["times on a 24-hour clock as 06:00"]);
}

/// The herd of a group whose start is open: choose first.
#[test]
fn a_herd_without_a_start_is_told_to_choose_first() {
    let text = WISHING.replace("    bulls:", "    herd: h.csv\n    bulls:");
    Folder::with("s.yaml", &text)
        .run(&["herd", "s.yaml"])
        .refused(&["no protocol and start yet", "thawline choose"]);
}
