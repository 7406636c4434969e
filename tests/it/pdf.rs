//! The day pages as PDF, by the program: the same bytes each time, all files or none, and any name.
//! What stands on them is read by other programs in `tests/outside/pdf_check.py`.

use std::fs;
use std::path::Path;

use std::process::Output;

use crate::support::demo;

const DEMO: &str = "demo/season.yaml";

fn thawline(words: &[&str]) -> Output {
    crate::bad_input::thawline().args(words).output().unwrap()
}

fn made(season: &str, more: &[&str]) -> (Vec<u8>, String) {
    let dir = tempfile::tempdir().unwrap();
    let out = dir.path().to_str().unwrap();
    let mut words = vec!["plan", season, "--out", out, "--pdf"];
    words.extend(more);
    let done = thawline(&words);
    let err = String::from_utf8(done.stderr).unwrap();
    assert!(done.status.code().unwrap() < 2, "{err}");
    (fs::read(dir.path().join("season.pdf")).unwrap(), err)
}

fn count(data: &[u8], part: &str) -> usize {
    data.windows(part.len())
        .filter(|w| *w == part.as_bytes())
        .count()
}

#[test]
fn the_same_plan_makes_the_same_bytes() {
    let (first, err) = made(DEMO, &[]);
    assert!(first.starts_with(b"%PDF-1.7") && first.trim_ascii_end().ends_with(b"%%EOF"));
    assert!(err.contains("season.pdf"), "{err}");
    assert_eq!(first, made(DEMO, &[]).0);
    // US Letter, 8.5 x 11 in., and A4, 210 x 297 mm (ISO 216), in points of 1/72 in.
    assert!(count(&first, "/MediaBox[0 0 612 792]") > 5);
    let (a4, _) = made(DEMO, &["--paper", "a4"]);
    assert!(count(&a4, "/MediaBox[0 0 595.28 841.89]") > 5);
    for data in [&first, &a4] {
        assert_eq!(count(data, "/CreationDate"), 0);
    }
}

#[test]
fn a_pdf_is_written_only_if_asked_for_and_an_old_one_is_told_of() {
    let dir = tempfile::tempdir().unwrap();
    let out = dir.path().to_str().unwrap();
    let pdf = dir.path().join("season.pdf");
    assert!(thawline(&["plan", DEMO, "--out", out]).status.success());
    assert!(!pdf.exists());
    assert!(
        thawline(&["plan", DEMO, "--out", out, "--pdf"])
            .status
            .success()
    );
    let before = fs::read(&pdf).unwrap();
    let done = thawline(&["plan", DEMO, "--out", out]);
    let err = String::from_utf8(done.stderr).unwrap();
    assert!(
        err.contains("Left from an earlier plan, and not of this one: season.pdf"),
        "{err}"
    );
    assert_eq!(fs::read(&pdf).unwrap(), before);
}

#[test]
fn where_the_pdf_cannot_be_written_nothing_is() {
    let dir = tempfile::tempdir().unwrap();
    let out = dir.path().to_str().unwrap();
    fs::create_dir(dir.path().join("season.pdf")).unwrap();
    fs::write(dir.path().join("plan.json"), "old").unwrap();
    let done = thawline(&["plan", DEMO, "--out", out, "--pdf"]);
    let err = String::from_utf8(done.stderr).unwrap();
    assert_eq!(done.status.code(), Some(2), "{err}");
    assert!(
        err.contains("season.pdf") && err.contains("no file was changed"),
        "{err}"
    );
    assert_eq!(
        fs::read_to_string(dir.path().join("plan.json")).unwrap(),
        "old"
    );
    let names: Vec<_> = fs::read_dir(dir.path()).unwrap().collect();
    assert_eq!(names.len(), 2);
}

#[test]
fn a_pdf_wants_a_folder_and_a_size_of_paper_wants_a_pdf() {
    for (words, expected) in [
        (vec!["plan", DEMO, "--pdf"], "--out"),
        (vec!["plan", DEMO, "--out", "x", "--paper", "a4"], "--pdf"),
        (
            vec!["plan", DEMO, "--out", "x", "--pdf", "--paper", "a5"],
            "letter, a4",
        ),
        (vec!["thaw", DEMO, "--pdf", "x.pdf"], "--session"),
    ] {
        let done = thawline(&words);
        let err = String::from_utf8(done.stderr).unwrap();
        assert_eq!(done.status.code(), Some(2));
        assert!(err.contains(expected), "{err}");
    }
    assert!(!Path::new("x").exists());
}

/// Names in letters that the type lacks, of right-to-left scripts, with signs, and with no blank.
#[test]
fn any_name_makes_pages_and_what_is_written_otherwise_is_told() {
    let long = "Windlass".repeat(20);
    let dir = tempfile::tempdir().unwrap();
    for (name, told) in [
        (long.as_str(), None),
        ("\u{5d0}\u{5d1}\u{5d2} 7", Some("U+05D0 as")),
        ("\u{1f402}", Some("U+1F402 as ox")),
        ("\u{e000}", Some("U+E000 as \u{fffd}")),
        ("Ünal & <b>Żółć</b> `x`", None),
    ] {
        let name = name.replace('"', "");
        let season = demo()
            .replace("Yearling heifers", &name)
            .replace("Lower Creek barn", &name)
            .replace("Ana (invented)", &name);
        assert!(season.contains(&name));
        let path = dir.path().join("season.yaml");
        fs::write(&path, season).unwrap();
        let (data, err) = made(path.to_str().unwrap(), &[]);
        assert!(data.starts_with(b"%PDF"));
        let err = err.split_whitespace().collect::<Vec<_>>().join(" ");
        match told {
            Some(words) => assert!(err.contains(words), "{err}"),
            None => assert!(!err.contains("written otherwise"), "{err}"),
        }
    }
}

#[test]
fn sheets_for_the_wall_as_pdf() {
    let dir = tempfile::tempdir().unwrap();
    let (pdf, page) = (dir.path().join("wall.pdf"), dir.path().join("wall.html"));
    let session = "first-calf/1/ai@creek";
    let words = [
        "thaw",
        DEMO,
        "--session",
        session,
        "--pdf",
        pdf.to_str().unwrap(),
    ];
    let done = thawline(&words);
    assert!(done.status.code().unwrap() < 2);
    let first = fs::read(&pdf).unwrap();
    assert!(first.starts_with(b"%PDF-1.7"));
    assert!(String::from_utf8(done.stderr).unwrap().contains("wall.pdf"));
    let mut words = words.to_vec();
    words.extend(["--page", page.to_str().unwrap()]);
    thawline(&words);
    assert_eq!(fs::read(&pdf).unwrap(), first);
    assert!(fs::read_to_string(&page).unwrap().starts_with("<!DOCTYPE"));
    // A folder in its place: neither file is touched.
    fs::remove_file(&page).unwrap();
    fs::create_dir(&page).unwrap();
    fs::write(&pdf, "old").unwrap();
    assert_eq!(thawline(&words).status.code(), Some(2));
    assert_eq!(fs::read_to_string(&pdf).unwrap(), "old");
}

/// A slip of the keyboard names the season file, or one file twice.
#[test]
fn no_other_file_is_written_over_and_none_is_named_twice() {
    let dir = tempfile::tempdir().unwrap();
    let at = |name: &str| dir.path().join(name).to_str().unwrap().to_owned();
    let season = at("season.yaml");
    fs::write(&season, demo()).unwrap();
    let session = ["thaw", DEMO, "--session", "late/1/ai@creek"];
    for more in [["--page", &season], ["--pdf", &season]] {
        let done = thawline(&[&session[..], &more].concat());
        let err = String::from_utf8(done.stderr).unwrap();
        assert_eq!(done.status.code(), Some(2), "{more:?}: {err}");
        assert!(err.contains("another kind of file stands there"), "{err}");
    }
    let done = thawline(&["calendar", DEMO, "-o", &season]);
    assert_eq!(done.status.code(), Some(2));
    assert_eq!(fs::read_to_string(&season).unwrap(), demo());
    // An earlier one of the same kind is replaced.
    let page = at("wall.html");
    for _ in 0..2 {
        let done = thawline(&[&session[..], &["--page", &page]].concat());
        assert!(done.status.success());
    }
    let (one, other) = (at("new"), at("./new"));
    let done = thawline(&[&session[..], &["--page", &one, "--pdf", &other]].concat());
    let err = String::from_utf8(done.stderr).unwrap();
    assert!(err.contains("one file is named for two things"), "{err}");
    assert!(!Path::new(&one).exists());
}
