//! What words, codes and cautions mean, for the terminal and as JSON.

use serde::Serialize;

use super::answer::{Answer, Kind};
use super::document::{Block, Document, terminal};
use super::{json, table};
use crate::trade::glossary::Entry;

/// More entries of one name than these are told in a line each.
const MOST_IN_FULL: usize = 6;

/// Entries in full; of very many, the first sentence of each.
#[must_use]
pub fn document(entries: &[Entry]) -> Document {
    let blocks = if entries.len() > MOST_IN_FULL {
        entries.iter().map(in_short).collect()
    } else {
        let all = entries.iter().enumerate();
        all.map(|(n, e)| in_full(n, e)).collect()
    };
    Document {
        title: "Words".to_owned(),
        blocks,
    }
}

/// The document for the terminal.
#[must_use]
pub fn text(entries: &[Entry]) -> String {
    terminal::text(&document(entries))
}

fn in_short(e: &Entry) -> Block {
    let first = e.means.split(". ").next().unwrap_or_default();
    let first = first.trim_end_matches('.');
    Block::paragraph(format!("{} ({}): {first}.", e.name, e.kind))
}

fn in_full(n: usize, e: &Entry) -> Block {
    let named = |word: &str, all: &[String]| {
        (!all.is_empty()).then(|| format!("{word}: {}.", all.join(", ")))
    };
    let said = [
        Some(e.means.clone()),
        named("Also", &e.also),
        named("See", &e.see),
        e.source.as_ref().map(|source| format!("Source: {source}.")),
    ];
    let said = said.into_iter().flatten().map(Block::paragraph).collect();
    let title = format!("{} ({})", e.name, e.kind);
    Block::part(&format!("entry-{}", n + 1), title, said)
}

/// All names, by kind.
#[must_use]
pub fn list_document(entries: &[Entry]) -> Document {
    let title = "Words, cautions, codes and keys";
    let mut blocks = vec![
        Block::heading(1, title),
        Block::paragraph("What one means: thawline explain WORD"),
    ];
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
        let names = vec![Block::paragraph(names.join(", "))];
        blocks.push(Block::part(&kind.replace(' ', "-"), title, names));
    }
    Document {
        title: title.to_owned(),
        blocks,
    }
}

/// The names for the terminal.
#[must_use]
pub fn list(entries: &[Entry]) -> String {
    terminal::text(&list_document(entries))
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

/// Entries as they are printed.
pub struct Printed<'a> {
    /// The entries.
    pub entries: &'a [Entry],
    /// Whether the text has their names alone.
    pub names: bool,
}

impl Answer for Printed<'_> {
    fn document(&self) -> Document {
        if self.names {
            list_document(self.entries)
        } else {
            document(self.entries)
        }
    }

    fn json(&self) -> String {
        json(self.entries)
    }

    fn tables(&self) -> &'static [Kind] {
        const { &[Kind::whole("words")] }
    }

    fn table(&self, kind: &Kind) -> String {
        kind.of(&rows(self.entries))
    }
}

fn rows(entries: &[Entry]) -> Vec<Row<'_>> {
    entries
        .iter()
        .map(|e| Row {
            name: &e.name,
            kind: e.kind,
            means: &e.means,
            also: table::joined(&e.also),
            see: table::joined(&e.see),
            source: e.source.as_deref().unwrap_or(""),
        })
        .collect()
}
