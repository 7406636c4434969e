//! The README and the chapters of the guide: every block is run, read or held against real output.
//!
//! - `console`: the commands are run, and every part of the output shown must be printed. `[...]` leaves lines out.
//! - A block after a line that ends with a file's name, as in "Save this as `cows.csv`:", is that file from there on.
//! - Other `yaml` blocks are keys of a season file, or (indented) of its first group: a season with them must be read.

use std::collections::BTreeMap;
use std::fmt::Write as _;
use std::fs;
use std::path::{Path, PathBuf};
use std::process::Command;

use crate::demo::same_as;

/// What fragments are put into.
const AROUND: &[(&str, &str)] = &[
    ("format", "format: thawline.season/1\n"),
    ("name", "name: N\n"),
    ("zone", "zone: America/Denver\n"),
    (
        "sites",
        "sites: [{id: s, injections_head_per_hour: 60, inserts_head_per_hour: 40, breeding_boxes: 1}]\n",
    ),
    ("groups", ""),
    ("crew", "crew: [{id: t, minutes_per_cow: 3}]\n"),
    (
        "semen",
        "semen: [{bull: Quartz 9, straws: 20}, {bull: Little Wren 3, straws: 20}]\n",
    ),
];
const GROUP: &str =
    "groups:\n  - id: g\n    site: s\n    class: heifer\n    head: 2\n    bulls: [Quartz 9]\n";
const BY_TIME: &str = "    protocol: heifer-7-day-co-synch-insert\n    start: 2027-05-17T14:00\n";
const BY_HEAT: &str =
    "    protocol: heifer-select-synch-insert-timed\n    start: 2027-05-17T08:00\n";

fn root() -> &'static Path {
    Path::new(env!("CARGO_MANIFEST_DIR"))
}

/// The README and all chapters.
fn pages() -> Vec<PathBuf> {
    let mut found: Vec<PathBuf> = fs::read_dir(root().join("src/guide"))
        .unwrap()
        .map(|entry| entry.unwrap().path())
        .filter(|path| !path.ends_with("links.md"))
        .collect();
    found.sort();
    found.push(root().join("README.md"));
    found
}

struct Block<'a> {
    language: &'a str,
    /// The file that the line before the block names.
    file: Option<&'a str>,
    text: &'a str,
}

fn blocks(page: &str) -> Vec<Block<'_>> {
    let pieces: Vec<&str> = page.split("```").collect();
    assert!(pieces.len() % 2 == 1, "a block that is not closed");
    pieces
        .chunks_exact(2)
        .map(|pair| {
            let (language, text) = pair[1].split_once('\n').unwrap();
            let file = pair[0]
                .trim_end()
                .strip_suffix("`:")
                .and_then(|said| said.rsplit('`').next());
            Block {
                language,
                file,
                text,
            }
        })
        .collect()
}

/// A folder as a reader has it: the demo, and what tests show of breeding by heat.
fn folder() -> tempfile::TempDir {
    let made = tempfile::tempdir().unwrap();
    for dir in ["demo", "tests/golden"] {
        fs::create_dir_all(made.path().join(dir)).unwrap();
        for entry in fs::read_dir(root().join(dir)).unwrap() {
            let path = entry.unwrap().path();
            let kind = path.extension().and_then(|x| x.to_str());
            if kind.is_some_and(|x| ["yaml", "csv"].contains(&x)) {
                fs::copy(&path, made.path().join(path.strip_prefix(root()).unwrap())).unwrap();
            }
        }
    }
    made
}

fn run(command: &str, folder: &Path) -> String {
    let mut words = command.split_whitespace();
    assert_eq!(words.next(), Some("thawline"), "{command}");
    let out = Command::new(env!("CARGO_BIN_EXE_thawline"))
        .args(words)
        .current_dir(folder)
        .env("SOURCE_DATE_EPOCH", "1798761600")
        .output()
        .unwrap();
    assert!(
        out.status.code().is_some_and(|code| code <= 2),
        "{command}: {out:?}"
    );
    String::from_utf8(out.stdout).unwrap() + &String::from_utf8(out.stderr).unwrap()
}

/// The block with each part as it is printed now: the lines from its own first line on.
fn as_printed(
    text: &str,
    folder: &Path,
    page: &Path,
    ran: &mut BTreeMap<String, String>,
) -> String {
    let mut all = String::new();
    for shown in text.split("$ ").skip(1) {
        let (command, parts) = shown.split_once('\n').unwrap();
        let printed = ran
            .entry(command.to_owned())
            .or_insert_with(|| run(command, folder));
        let lines: Vec<&str> = printed.lines().collect();
        writeln!(all, "$ {command}").unwrap();
        let mut from = 0;
        for (n, part) in parts.split("[...]\n").enumerate() {
            if n > 0 {
                all.push_str("[...]\n");
            }
            let Some(first) = part.lines().next() else {
                continue;
            };
            let at = lines[from..].iter().position(|line| *line == first);
            let at = from
                + at.unwrap_or_else(|| panic!("{}: {command} prints no\n{first}", page.display()));
            // What leaves nothing out grows with the output.
            let whole = at == 0 && part == parts;
            let count = if whole {
                lines.len()
            } else {
                part.lines().count()
            };
            from = lines.len().min(at + count);
            for line in &lines[at..from] {
                writeln!(all, "{line}").unwrap();
            }
        }
    }
    all
}

#[test]
fn what_is_shown_is_what_is_printed() {
    for page in pages() {
        let text = fs::read_to_string(&page).unwrap();
        let folder = folder();
        let mut now = text.clone();
        let mut ran = BTreeMap::new();
        for block in blocks(&text) {
            assert!(
                ["console", "yaml", "csv", "sh", "text", ""].contains(&block.language),
                "{}: {}",
                page.display(),
                block.language
            );
            if let Some(name) = block.file {
                fs::write(folder.path().join(name), block.text).unwrap();
                ran.clear();
            }
            if block.language == "console" {
                now = now.replace(
                    block.text,
                    &as_printed(block.text, folder.path(), &page, &mut ran),
                );
            }
        }
        same_as(&page, &now);
    }
}

/// A whole season around a block of keys.
fn whole(block: &str) -> String {
    if block.starts_with("format:") {
        return block.to_owned();
    }
    let of_group = block.starts_with("    ");
    let mut season = String::new();
    for (key, text) in AROUND {
        if *key == "groups" {
            season.push_str(GROUP);
            season.push_str(match block {
                _ if block.contains("wishes:") => "",
                _ if block.contains("heat_mean_hours:") => BY_HEAT,
                _ => BY_TIME,
            });
            if of_group {
                season.push_str(block);
            }
        } else if of_group || !block.lines().any(|l| l.starts_with(&format!("{key}:"))) {
            season.push_str(text);
        }
    }
    if !of_group {
        season.push_str(block);
    }
    season
}

#[test]
fn keys_that_are_shown_are_read() {
    let mut seen = 0;
    for page in pages() {
        let text = fs::read_to_string(&page).unwrap();
        for block in blocks(&text).iter().filter(|b| b.language == "yaml") {
            let folder = folder();
            fs::write(
                folder.path().join("scores.csv"),
                "animal,bull,score\nB204,Quartz 9,80\n",
            )
            .unwrap();
            fs::write(folder.path().join("season.yaml"), whole(block.text)).unwrap();
            let said = run("thawline check season.yaml", folder.path());
            let meant = block.text.contains("heads: 60");
            assert_eq!(
                said.contains(": a season "),
                !meant,
                "{}:\n{}\n{said}",
                page.display(),
                block.text
            );
            seen += 1;
        }
    }
    assert!(seen > 15, "{seen}");
}

#[test]
fn links_lead_to_files_and_chapters() {
    let known = fs::read_to_string(root().join("src/guide/links.md")).unwrap();
    for page in pages() {
        let text = fs::read_to_string(&page).unwrap();
        for target in text
            .split("](")
            .skip(1)
            .map(|t| t.split(')').next().unwrap())
        {
            let path = target.split('#').next().unwrap();
            assert!(
                target.contains("://") || page.parent().unwrap().join(path).exists(),
                "{}: {target}",
                page.display()
            );
        }
        for line in text
            .lines()
            .filter(|l| l.starts_with('[') && l.contains("]: "))
        {
            let (name, file) = line[1..].split_once("]: ").unwrap();
            assert_eq!(file, format!("{name}.md"), "{}", page.display());
            assert!(known.contains(&format!("[{name}]: ")), "{name}");
        }
        let stem = page.file_stem().unwrap().to_str().unwrap();
        assert!(
            stem == "README" || known.contains(&format!("[{stem}]: ")),
            "{stem}"
        );
    }
}

/// Lines of the demo's plan as a picture.
fn picture(plan: &str) -> String {
    let day = "Mon 17 May 2027\n";
    let (front, _) = plan.split_once("\nNotes\n").unwrap();
    let (session, _) = plan
        .split_once(day)
        .unwrap()
        .1
        .split_once("  14:00")
        .unwrap();
    let shown =
        format!("$ thawline plan demo/season.yaml\n{front}\n[...]\n\n{day}{session}[...]\n");
    let lines: Vec<&str> = shown.lines().collect();
    let height = 18 * lines.len() + 32;
    let mut svg = format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"720\" height=\"{height}\" viewBox=\"0 0 720 {height}\" role=\"img\">\n<title>Output of thawline plan demo/season.yaml</title>\n<rect width=\"720\" height=\"{height}\" rx=\"6\" fill=\"#fbfaf6\" stroke=\"#cfc9b8\"/>\n<g font-family=\"ui-monospace, Menlo, Consolas, 'DejaVu Sans Mono', monospace\" font-size=\"14\" fill=\"#26241f\">\n"
    );
    for (n, line) in lines
        .iter()
        .enumerate()
        .filter(|(_, line)| !line.is_empty())
    {
        let told = line.starts_with("On time") || line.contains("BREED");
        let weight = if told { " font-weight=\"bold\"" } else { "" };
        let text = line.replace('&', "&amp;").replace('<', "&lt;");
        // Spaces that no reader of SVG folds.
        let text = text.replace(' ', "\u{a0}");
        // A width for each line, so that the picture is the same in any monospaced type.
        let width = 8.4 * line.chars().count() as f64;
        writeln!(
            svg,
            "<text x=\"18\" y=\"{}\" textLength=\"{width:.1}\"{weight}>{text}</text>",
            18 * n + 30
        )
        .unwrap();
    }
    svg + "</g>\n</svg>\n"
}

#[test]
fn the_picture_is_of_the_demo() {
    let plan = fs::read_to_string(root().join("demo/plan.txt")).unwrap();
    same_as(&root().join("docs/plan.svg"), &picture(&plan));
}
