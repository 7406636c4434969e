//! Files that others wrote, and what a terminal would obey in them: nothing of it is printed.

use super::{Folder, Run, thawline};
use crate::codes::{PROTOCOL, SEASON};
use crate::support::Dice;

/// A title, colours, a C1 control, a change of the reading direction and a line to be overwritten, as
/// YAML writes them between double quotes and as they are.
const WRITTEN: &str = r"\e]0;owned\a\e[31m\x9b2J\u202ex\r";
const HOSTILE: &str = "\u{1b}]0;owned\u{7}\u{1b}[31m\u{9b}2J\u{202e}x\r";

fn is_tame(text: &str) -> bool {
    let tame = |c: char| c == '\n' || c == '\t' || !thawline::error::is_hidden(c);
    text.replace("\r\n", "\n").chars().all(tame)
}

/// One word of a YAML text written with controls behind it, by number; `None` behind the last word.
fn spoiled(text: &str, nth: usize) -> Option<String> {
    let word = |c: char| c.is_alphanumeric() || matches!(c, '-' | '_' | '.');
    let mut starts = Vec::new();
    let mut before = '\n';
    for (n, c) in text.char_indices() {
        if c.is_alphanumeric() && !word(before) {
            starts.push(n);
        }
        before = c;
    }
    let at = *starts.get(nth)?;
    let end = at + text[at..].find(|c| !word(c)).unwrap_or(text.len() - at);
    let (head, name, tail) = (&text[..at], &text[at..end], &text[end..]);
    Some(format!("{head}\"{name}{WRITTEN}\"{tail}"))
}

fn with_all() -> Folder {
    let folder = Folder::with("s.yaml", whole_season());
    folder.write("herd.csv", HERD);
    folder.write("scores.csv", SCORES);
    folder.write("straws.csv", STRAWS);
    folder.write("own/p.yaml", PROTOCOL);
    folder
}

const HERD: &str = "animal,body_condition,mating,notes\nA1,5,Ash 1,\nA2,6,,calm\n";
const SCORES: &str = "animal,bull,score\nA1,Ash 1,5\nA2,Ash 1,7\n";
const STRAWS: &str = "bull,straws,cane\nAsh 1,10,A1\nAsh 1,10,A2\n";

fn whole_season() -> String {
    SEASON
        .replacen("head: 20", "head: 2", 1)
        .replacen("[Ash 1]\n", "[Ash 1]\n    herd: herd.csv\n", 1)
        .replacen(
            "semen:\n  - {bull: Ash 1, straws: 40}\n",
            "semen_file: straws.csv\nscores: scores.csv\n",
            1,
        )
}

fn all_tame(folder: &Folder, args: &[&str]) {
    let got = thawline()
        .current_dir(folder.path())
        .args(args)
        .output()
        .unwrap();
    for bytes in [got.stdout, got.stderr] {
        let text = String::from_utf8(bytes).unwrap();
        assert!(is_tame(&text), "{args:?}: {text:?}");
        assert!(!text.contains("panicked"), "{args:?}: {text}");
    }
}

const OWN: [&str; 2] = ["--protocols", "own"];

/// Each word of a season and of a protocol in turn, in every form of findings.
#[test]
fn no_word_of_a_file_reaches_the_terminal_as_a_command() {
    let folder = with_all();
    let season = whole_season();
    let mut n = 0;
    while let Some(text) = spoiled(&season, n) {
        folder.write("s.yaml", text);
        let form = ["--strict", "--csv", "--json"][n % 3];
        all_tame(&folder, &["check", "s.yaml", form]);
        let other = ["plan", "cover", "choose", "matings"][n % 4];
        all_tame(&folder, &[other, "s.yaml"]);
        n += 1;
    }
    assert!(n > 40);
    folder.write("s.yaml", season);
    n = 0;
    while let Some(text) = spoiled(PROTOCOL, n) {
        folder.write("own/p.yaml", text);
        let form = [&[][..], &["--csv"], &["--json"]][n % 3];
        all_tame(&folder, &[&["protocols", "--check", "own"], form].concat());
        all_tame(&folder, &[&["plan", "s.yaml"], &OWN[..]].concat());
        n += 1;
    }
    assert!(n > 30);
}

/// Cells and headings of each table, at random places.
#[test]
fn no_cell_of_a_table_reaches_the_terminal_as_a_command() {
    let folder = with_all();
    let mut dice = Dice(41);
    for n in 0..60 {
        let (name, text) = *dice.pick(&[
            ("herd.csv", HERD),
            ("scores.csv", SCORES),
            ("straws.csv", STRAWS),
        ]);
        let mut cells: Vec<&str> = text.split_inclusive([',', '\n']).collect();
        let at = dice.below(cells.len() as u64) as usize;
        let spoiled = format!("{}{}", HOSTILE.trim_end(), cells[at]);
        cells[at] = &spoiled;
        folder.write(name, cells.concat());
        let form = ["--strict", "--csv", "--json"][n % 3];
        all_tame(&folder, &["check", "s.yaml", form]);
        let other = ["plan", "matings", "herd", "supplies"][n % 4];
        all_tame(&folder, &[other, "s.yaml", "--csv"]);
        folder.write(name, text);
    }
}

/// Names of files and folders, and words on the command line.
#[test]
fn no_name_or_argument_reaches_the_terminal_as_a_command() {
    let folder = with_all();
    let odd = HOSTILE.trim_end();
    for args in [
        &[odd][..],
        &["plan", odd],
        &["plan", "s.yaml", odd],
        &["plan", "s.yaml", "--units", odd],
        &["chance", "s.yaml", "--runs", odd],
        &["chance", "s.yaml", "--session", odd],
        &["cover", "s.yaml", "--technicians", odd],
        &["explain", odd],
        &["man", "--out", odd],
        &["calendar", "s.yaml", "--for", odd, "--previous", odd],
        &["calendar", "s.yaml", "-o", odd],
        &["thaw", "s.yaml", "--session", odd],
        &["protocols", odd, "--start", odd, "--zone", odd],
    ] {
        all_tame(&folder, args);
    }
    assert_eq!(folder.run(&["plan", "s.yaml", "--out", "plan"]).code, 0);
    folder.write(&format!("plan/technician-{odd}.ics.bak"), "");
    let run = Run::of(
        thawline()
            .current_dir(folder.path())
            .args(["plan", "s.yaml", "--out", "plan"]),
    );
    assert!(run.err.contains("Left from an earlier plan"), "{}", run.err);
    assert!(run.err.contains("technician-\\u{1b}"), "{}", run.err);
}

/// Numbers stand in JSON for what is hidden: a reader gets the characters back.
#[test]
fn json_stays_json() {
    let folder = with_all();
    folder.write("own/p.yaml", PROTOCOL.replacen("our notes", "\u{202e}", 1));
    let got = thawline()
        .current_dir(folder.path())
        .args(["protocols", "--check", "own", "--json"])
        .output()
        .unwrap();
    let text = String::from_utf8(got.stdout).unwrap();
    assert!(is_tame(&text), "{text:?}");
    serde_json::from_str::<serde_json::Value>(&text).unwrap();
}
