//! What words, codes and cautions mean, for the terminal and as JSON.

use std::fmt::Write as _;

use serde::Serialize;

use super::{json, line, table};
use crate::trade::glossary::Entry;

/// More entries of one name than these are told in a line each.
const MOST_IN_FULL: usize = 6;

/// Entries in full; of very many, the first sentence of each.
#[must_use]
pub fn text(entries: &[Entry]) -> String {
    let mut text = String::new();
    if entries.len() > MOST_IN_FULL {
        for e in entries {
            let first = e.means.split(". ").next().unwrap_or_default();
            let first = first.trim_end_matches('.');
            line(&mut text, &format!("{} ({}): {first}.", e.name, e.kind), "");
        }
        return text;
    }
    for (n, e) in entries.iter().enumerate() {
        if n > 0 {
            text.push('\n');
        }
        let _ = writeln!(text, "{} ({})", e.name, e.kind);
        line(&mut text, &e.means, "  ");
        for (word, all) in [("Also", &e.also), ("See", &e.see)] {
            if !all.is_empty() {
                line(&mut text, &format!("{word}: {}.", all.join(", ")), "  ");
            }
        }
        if let Some(source) = &e.source {
            line(&mut text, &format!("Source: {source}."), "  ");
        }
    }
    text
}

/// All names, by kind.
#[must_use]
pub fn list(entries: &[Entry]) -> String {
    let mut text = String::new();
    for (kind, title) in [
        ("word", "Words"),
        ("caution", "Cautions"),
        ("code", "Codes of findings"),
        ("protocol", "Protocols"),
        ("source", "Sources"),
        ("season key", "Keys of a season file"),
        ("protocol key", "Keys of a protocol file"),
    ] {
        let mut names: Vec<&str> = entries
            .iter()
            .filter(|e| e.kind == kind)
            // Keys within keys are told with them.
            .filter(|e| !kind.ends_with(" key") || !e.name.contains('.'))
            .map(|e| e.name.as_str())
            .collect();
        if kind == "word" {
            names.sort_by_key(|n| n.to_lowercase());
        }
        let _ = writeln!(text, "{title}");
        line(&mut text, &names.join(", "), "  ");
        text.push('\n');
    }
    text.push_str("What one means: thawline explain WORD\n");
    text
}

/// The schema of [`json()`].
#[must_use]
pub fn schema() -> serde_json::Value {
    json::schema_of::<Vec<Entry>>()
}

/// Entries as JSON.
#[must_use]
pub fn json(entries: &[Entry]) -> String {
    json::text(&entries)
}

#[derive(Default, Serialize)]
struct Row<'a> {
    name: &'a str,
    kind: &'static str,
    means: &'a str,
    also: String,
    see: String,
    source: &'a str,
}

/// Entries as a table of comma-separated values.
#[must_use]
pub fn csv(entries: &[Entry]) -> String {
    let rows: Vec<Row<'_>> = entries
        .iter()
        .map(|e| Row {
            name: &e.name,
            kind: e.kind,
            means: &e.means,
            also: table::joined(&e.also),
            see: table::joined(&e.see),
            source: e.source.as_deref().unwrap_or(""),
        })
        .collect();
    table::of(&rows)
}
