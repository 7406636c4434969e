//! What words, codes and cautions mean, for the terminal and as JSON.

use serde::Serialize;
use std::collections::BTreeSet;

use super::answer::{Answer, Tables};
use super::document::{Block, Document};
use super::table::{Table, fields, kinds};
use crate::trade::glossary::Entry;

/// More entries of one name than these are told in a line each.
const MOST_IN_FULL: usize = 6;

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
fn list_document(entries: &[Entry]) -> Document {
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
        let of_kind = || entries.iter().filter(|e| e.kind == kind);
        // Keys within keys are told with them.
        let is_key = ["season key", "protocol key"].contains(&kind);
        let parents = of_kind().filter(|_| is_key);
        let within: BTreeSet<&String> = parents.flat_map(|e| &e.see).collect();
        let names = of_kind().filter(|e| !within.contains(&e.name));
        let mut names: Vec<&str> = names.map(|e| e.name.as_str()).collect();
        if kind == "word" {
            names.sort_by_key(|n| n.to_lowercase());
        }
        let names = vec![Block::paragraph(names.join(", "))];
        blocks.push(Block::part(&kind.replace(' ', "-"), title, names));
    }
    Document::new(title, blocks)
}

/// Entries as they are printed.
#[derive(Serialize)]
#[serde(transparent)]
pub struct Printed<'a> {
    /// The entries.
    pub entries: &'a [Entry],
    /// Whether the text has their names alone.
    #[serde(skip)]
    pub names: bool,
}

impl Answer for Printed<'_> {
    /// Entries in full; of very many, the first sentence of each.
    fn document(&self) -> Document {
        let all = self.entries.iter();
        let blocks = match self.entries.len() {
            _ if self.names => return list_document(self.entries),
            0..=MOST_IN_FULL => all.enumerate().map(|(n, e)| in_full(n, e)).collect(),
            _ => all.map(in_short).collect(),
        };
        Document::new("Words", blocks)
    }

    fn tables(&self) -> Tables<Self> {
        kinds![words]
    }
}

fn words(printed: &Printed<'_>) -> String {
    let mut t = Table::of(printed.entries);
    fields!(t, |e| e => name, kind, means, also, see, source);
    t.csv()
}
