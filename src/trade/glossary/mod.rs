//! What words, cautions, codes, protocols and keys of files mean: one entry each, found by any of its
//! names.

mod entry;
mod keys;

pub use entry::Entry;

use std::sync::LazyLock;

use serde::Deserialize;

use crate::base::document::Tree;
use crate::base::error::Code;
use crate::base::units::Units;
use crate::trade::protocol::{Caution, Library, Protocol};
use crate::trade::sources;

/// A word of the project.
#[derive(Clone, Debug, Deserialize, PartialEq, Eq)]
#[serde(deny_unknown_fields)]
struct Term {
    #[serde(rename = "term")]
    name: String,
    means: String,
    #[serde(default)]
    also: Vec<String>,
    #[serde(default)]
    see: Vec<String>,
    #[serde(default)]
    source: Option<String>,
}

static TERMS: LazyLock<Vec<Term>> = LazyLock::new(|| {
    let tree = Tree::parse("terms.yaml", include_bytes!("terms.yaml"))
        .expect("the list of words is well-formed; a test reads it");
    tree.decode()
        .expect("the list of words has its form; a test reads it")
});

/// Every entry: words, then cautions, codes, protocols, sources, keys of season files and of protocol
/// files.
/// Figures are in both units.
#[must_use]
pub fn all() -> Vec<Entry> {
    all_in(Units::default())
}

/// The same, with figures in the units chosen.
#[must_use]
pub fn all_in(units: Units) -> Vec<Entry> {
    let words = TERMS.iter().map(|t| Entry {
        name: t.name.clone(),
        kind: "word",
        means: units.prose(&t.means),
        also: t.also.clone(),
        see: t.see.clone(),
        source: t.source.clone(),
    });
    let cautions = Caution::ALL.into_iter().map(|c| Entry {
        name: c.as_str().to_owned(),
        kind: "caution",
        means: c.words().to_owned(),
        also: Vec::new(),
        see: Vec::new(),
        source: Some(c.source().to_owned()),
    });
    let codes = Code::ALL.iter().map(|c| Entry {
        name: c.as_str().to_owned(),
        kind: "code",
        means: format!("{}: {}.", room(*c), c.summary()),
        also: Vec::new(),
        see: Vec::new(),
        source: None,
    });
    let library = Library::built_in();
    let protocols = library.iter().map(of_protocol);
    let keys = keys::KEYS.iter().cloned();
    let sources = sources::all().iter().map(|s| Entry {
        name: s.tag.clone(),
        kind: "source",
        means: s.title.clone(),
        also: Vec::new(),
        see: Vec::new(),
        source: None,
    });
    words
        .chain(cautions)
        .chain(codes)
        .chain(protocols)
        .chain(sources)
        .chain(keys)
        .collect()
}

fn of_protocol(p: &Protocol) -> Entry {
    let tags: Vec<&str> = p.sources.iter().filter_map(|s| s.tag.as_deref()).collect();
    Entry {
        name: p.id.as_str().to_owned(),
        kind: "protocol",
        means: format!(
            "{}. {} Its steps: thawline protocols {}",
            p.name, p.suits, p.id
        ),
        also: vec![p.name.clone()],
        see: Vec::new(),
        source: (!tags.is_empty()).then(|| tags.join(", ")),
    }
}

/// What a code's letter says.
fn room(code: Code) -> &'static str {
    match code.as_str().as_bytes()[0] {
        b'F' => "Files",
        b'Y' => "YAML text",
        b'K' => "Keys and values",
        b'P' => "Protocols",
        b'S' => "The season",
        b'T' => "Straws and tanks",
        b'H' => "Herds",
        b'M' => "Matings",
        b'O' => "Orders",
        b'C' => "Calves and money",
        b'E' => "Earlier calendars",
        b'D' => "Dates and chute work",
        b'W' => "The crew's work",
        _ => "The program's own check",
    }
}

/// Everything of that name, whatever the case: a word may be a caution too. A key is found by its path
/// (`groups.head`, or `groups[0].head` as a finding has it), or by its last name.
#[must_use]
pub fn find(name: &str) -> Vec<Entry> {
    find_in(name, Units::default())
}

/// The same, with figures in the units chosen.
#[must_use]
pub fn find_in(name: &str, units: Units) -> Vec<Entry> {
    let wanted = plain(name);
    let is = |s: &String| plain(s) == wanted;
    let ends = |e: &Entry| {
        e.kind.ends_with(" key")
            && e.name
                .rsplit_once('.')
                .is_some_and(|(_, last)| plain(last) == wanted)
    };
    let mut found = all_in(units);
    // The other words for a key are many and plain ("number"): only those who find nothing else want them.
    let (others, own): (Vec<Entry>, Vec<Entry>) = found
        .drain(..)
        .filter(|e| is(&e.name) || ends(e) || e.also.iter().any(is))
        .partition(|e| e.kind.ends_with(" key") && !is(&e.name) && !ends(e));
    if own.is_empty() { others } else { own }
}

/// A name as it is compared: hyphens, underscores, places in lists and the case do not matter.
fn plain(name: &str) -> String {
    let mut text = String::new();
    let mut within = false;
    for c in name.trim().to_lowercase().chars() {
        match c {
            '[' => within = true,
            ']' => within = false,
            '-' | '_' => text.push(' '),
            _ if !within => text.push(c),
            _ => {}
        }
    }
    text
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn words_are_unique_and_lead_somewhere() {
        let entries = all();
        let mut names: Vec<String> = Vec::new();
        for t in TERMS.iter() {
            names.extend([t.name.to_lowercase()]);
            names.extend(t.also.iter().map(|a| a.to_lowercase()));
            assert!(t.means.ends_with('.'), "{}", t.name);
            for see in &t.see {
                assert!(entries.iter().any(|e| e.name == *see), "{see}");
            }
            for tag in t.source.iter().flat_map(|s| s.split(", ")) {
                let known = sources::find(tag).is_some();
                let none = ["common practice", "no source"].contains(&tag);
                assert!(known || none, "{}: {tag}", t.name);
            }
        }
        let count = names.len();
        names.sort();
        names.dedup();
        assert_eq!(names.len(), count);
    }

    #[test]
    fn names_are_found_in_any_writing() {
        assert_eq!(find("thaw ROUND")[0].name, "round");
        assert_eq!(find("fixed time")[0].name, "fixed-time");
        assert_eq!(find("w102")[0].kind, "code");
        // A word, and the caution of the same name.
        let kinds: Vec<&str> = find("insert").iter().map(|e| e.kind).collect();
        assert_eq!(kinds, ["word", "caution"]);
        assert!(find("no such word").is_empty());
    }

    #[test]
    fn keys_are_found_by_path_and_by_last_name() {
        let one = |name: &str| {
            let found = find(name);
            assert_eq!(found.len(), 1, "{name}: {found:#?}");
            found[0].clone()
        };
        let head = one("groups[3].head");
        assert_eq!(head.name, "groups.head");
        assert_eq!(head.kind, "season key");
        assert!(head.means.contains("From 1 to 100000."), "{}", head.means);
        assert!(head.means.ends_with("Must be given."), "{}", head.means);
        let order = find("groups.order");
        assert!(order[0].means.contains("One of `mixed`, `kept`."));
        let pace = find("cows per hour");
        assert!(pace.iter().any(|e| e.name == "crew.cows_per_hour"));
        // A slip that a file's reader takes for the key is taken so here.
        assert_eq!(one("inseminators").name, "crew");
        assert!(find("groups")[0].see.contains(&"groups.head".to_owned()));
        assert_eq!(one("cow-co-synch").kind, "protocol");
    }

    /// Each key says what it is, in sentences; a key with others inside leads to them.
    #[test]
    fn every_key_of_the_schemas_is_told() {
        let entries = all();
        let keys = entries.iter();
        let keys: Vec<&Entry> = keys.filter(|e| e.kind.ends_with(" key")).collect();
        assert!(keys.len() > 300, "{}", keys.len());
        for e in &keys {
            assert!(e.means.ends_with('.'), "{}: {}", e.name, e.means);
            if let Some((within, _)) = e.name.rsplit_once('.') {
                let parent = keys.iter().find(|k| k.name == within && k.kind == e.kind);
                assert!(
                    parent.is_some_and(|p| p.see.contains(&e.name)),
                    "{}",
                    e.name
                );
            }
        }
    }
}
