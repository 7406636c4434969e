//! Texts are put together, and never taken apart to learn what they say: what somebody needs to know has a
//! field or a type.

use super::code;

/// Storeys that read no text at all, and one that cuts texts to fit, but looks for no words in them.
const READS_NONE: [&str; 4] = ["planning/", "analysis/", "service/", "verify/"];
const SHOWS: &str = "output/";

/// Files that read a text of somebody else's, with what it is.
const READS: &[(&str, &str)] = &[
    ("output/calendar/previous.rs", "a calendar made earlier"),
    ("output/times.rs", "where a line may end"),
    ("service/files/matings.rs", "the path of a file"),
    ("service/staffing/question.rs", "the command line"),
];

const SEARCHES: [&str; 12] = [
    ".starts_with(",
    ".ends_with(",
    ".strip_prefix(",
    ".strip_suffix(",
    ".split(",
    ".split_once(",
    ".rsplit(",
    ".rsplit_once(",
    ".splitn(",
    ".rsplitn(",
    ".split_terminator(",
    ".split_whitespace(",
];

/// Lists and ranges have these as well: of a text they are searches for a word.
const MAYBE: [&str; 3] = [".contains(", ".find(", ".rfind("];

/// What stands behind each call of a method on a line.
fn behind<'a>(line: &'a str, calls: &[&str]) -> Vec<&'a str> {
    let all = calls.iter().flat_map(|call| line.match_indices(call));
    all.map(|(at, call)| &line[at + call.len()..]).collect()
}

/// True for a text that stands there, or is made on the spot.
fn is_text(argument: &str) -> bool {
    argument.starts_with(['"', '\'']) || argument.starts_with("&format!(")
}

/// The same, with a letter in it.
fn is_word(argument: &str) -> bool {
    let ends = ['"', '\''];
    let mut parts = argument.split(ends).skip(1);
    let text = parts.next().unwrap_or_default();
    let bare = ["\\n", "\\r"]
        .iter()
        .fold(text.to_owned(), |t, end| t.replace(end, ""));
    is_text(argument) && bare.contains(char::is_alphabetic)
}

/// Lines that search a text.
fn taken_apart<'a>(path: &str, code: &'a str) -> Vec<&'a str> {
    let none = READS_NONE.iter().any(|storey| path.starts_with(storey));
    let searches = |line: &&str| {
        let (sure, maybe) = (behind(line, &SEARCHES), behind(line, &MAYBE));
        let all = || sure.iter().chain(&maybe);
        line.contains(".what.contains(")
            || all().any(|a| is_word(a))
            || none && (!sure.is_empty() || maybe.iter().any(|a| is_text(a)))
    };
    let lines = code.lines().map(str::trim);
    let code = lines.filter(|l| !l.starts_with("//"));
    code.filter(|_| none || path.starts_with(SHOWS))
        .filter(searches)
        .collect()
}

#[test]
fn texts_are_not_read_to_learn_what_they_say() {
    let mut read = Vec::new();
    for (path, code) in code() {
        let found = taken_apart(&path, &code);
        if READS.iter().any(|(known, _)| *known == path) {
            read.extend(found.first().map(|_| path));
        } else {
            assert!(found.is_empty(), "{path} reads a text: {found:#?}");
        }
    }
    assert_eq!(
        read.len(),
        READS.len(),
        "of these some read none: {READS:?}"
    );
}

#[test]
fn a_text_taken_apart_is_found() {
    for (path, line) in [
        (
            "verify/a.rs",
            "f.what.starts_with(\"the matings leave some\")",
        ),
        ("verify/a.rs", "f.what.split_once(&begins)"),
        ("verify/a.rs", "f.what.contains(&format!(\"`{name}`\"))"),
        ("verify/a.rs", "f.what.contains(tank)"),
        ("verify/a.rs", "f.what.split('`')"),
        ("service/a.rs", "id.rsplit_once('@')"),
        ("planning/a.rs", "words.find(\": \")"),
        ("output/a.rs", "w.starts_with(\"REFILL\")"),
        ("output/a.rs", "words.strip_prefix(\"limit: \")"),
        (
            "output/a.rs",
            "sentence.starts_with(&format!(\"{} head of \", u.head))",
        ),
    ] {
        assert_eq!(taken_apart(path, line), [line], "not seen");
    }
    for (path, line) in [
        ("verify/a.rs", "groups.contains(&group)"),
        ("verify/a.rs", "(0..=most).contains(&later)"),
        ("verify/a.rs", "// `f.what.split('`')` learns nothing"),
        ("output/a.rs", "text.split('\\n')"),
        ("output/a.rs", "text.ends_with(\"\\n\\n\")"),
        ("trade/a.rs", "text.split_once(',')"),
    ] {
        assert_eq!(taken_apart(path, line), [""; 0], "{line}");
    }
}
