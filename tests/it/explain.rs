//! `explain`, completions and manual pages.

use crate::bad_input::{Folder, thawline};
use thawline::output::answer::Answer as _;

fn run(args: &[&str]) -> (Option<i32>, String, String) {
    let out = thawline().args(args).output().unwrap();
    (
        out.status.code(),
        String::from_utf8(out.stdout).unwrap(),
        String::from_utf8(out.stderr).unwrap(),
    )
}

#[test]
fn every_name_listed_is_explained() {
    let (code, json, _) = run(&["explain", "--json"]);
    assert_eq!(code, Some(0));
    let all: serde_json::Value = serde_json::from_str(&json).unwrap();
    let all = all.as_array().unwrap();
    assert!(all.len() > 150, "{}", all.len());
    let (_, list, _) = run(&["explain"]);
    assert!(list.lines().all(|l| l.chars().count() <= 80), "{list}");
    for e in all {
        let name = e["name"].as_str().unwrap();
        let found = thawline::glossary::find(name);
        assert!(found.iter().any(|f| f.name == name), "{name}");
        let printed = thawline::output::glossary::Printed {
            entries: &found,
            names: false,
        };
        let text = printed.text();
        assert!(text.lines().all(|l| l.chars().count() <= 80), "{text}");
        let flat: String = list.split_whitespace().collect();
        let flat_name: String = name.split_whitespace().collect();
        // A key within another is found from that one, which leads to it.
        let within = e["kind"].as_str().unwrap().ends_with(" key") && name.contains('.');
        assert!(within || flat.contains(&flat_name), "{name}");
    }
}

#[test]
fn a_word_a_code_and_a_slip() {
    let (code, text, _) = run(&["explain", "thaw", "round"]);
    assert_eq!(code, Some(0));
    assert!(text.starts_with("round (word)\n"), "{text}");
    let (_, text, _) = run(&["explain", "T203"]);
    assert!(text.contains("Straws and tanks: a tank whose"), "{text}");
    let (_, text, _) = run(&["explain", "prostaglandin"]);
    assert!(text.contains("Source: CFR-690"), "{text}");
    // Two codes, and a source.
    let (_, text, _) = run(&["explain", "W102", "CFR-690"]);
    assert!(
        text.starts_with("W102 (code)\n") && text.contains("\nCFR-690 (source)\n"),
        "{text}"
    );
    let (code, _, err) = run(&["explain", "canne"]);
    assert_eq!(code, Some(2));
    assert!(err.contains("did you mean `cane`"), "{err}");
}

/// Each command stands in the completions of each shell, and has a manual page.
#[test]
fn completions_and_manual_pages_know_every_command() {
    let (_, help, _) = run(&["--help"]);
    let (_, commands) = help.split_once("Commands:\n").unwrap();
    let commands: Vec<&str> = commands
        .lines()
        .take_while(|l| !l.is_empty())
        .filter(|l| l.starts_with("  ") && !l.starts_with("   "))
        .filter_map(|l| l.split_whitespace().next())
        .filter(|c| *c != "help")
        .collect();
    assert!(commands.len() >= 13, "{commands:?}");
    for shell in ["bash", "zsh", "fish", "powershell", "elvish"] {
        let (code, script, _) = run(&["completions", shell]);
        assert_eq!(code, Some(0));
        for c in &commands {
            assert!(script.contains(c), "{shell}: {c}");
        }
    }
    let folder = Folder::new();
    let dir = folder.path().join("man");
    let (code, _, err) = run(&["man", "--out", dir.to_str().unwrap()]);
    assert_eq!(code, Some(0), "{err}");
    for c in &commands {
        let page = std::fs::read_to_string(dir.join(format!("thawline-{c}.1"))).unwrap();
        assert!(page.contains(".SH SYNOPSIS"), "{c}");
    }
    assert!(dir.join("thawline.1").is_file());
}
