//! What words, codes and cautions mean: one entry each, found by any of its names.

use std::sync::LazyLock;

use serde::{Deserialize, Serialize};

use crate::document::Tree;
use crate::error::Code;
use crate::protocol::Caution;
use crate::units::Units;

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

/// What something means.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Entry {
    /// The word, the code, or the caution's word.
    pub name: String,
    /// `word`, `code` or `caution`.
    pub kind: &'static str,
    /// What it means, in sentences.
    pub means: String,
    /// Other words for it.
    pub also: Vec<String>,
    /// Words that lead on.
    pub see: Vec<String>,
    /// Tags of its sources, if it states a fact that needs one.
    pub source: Option<String>,
}

static TERMS: LazyLock<Vec<Term>> = LazyLock::new(|| {
    let tree = Tree::parse("terms.yaml", include_bytes!("terms.yaml"))
        .expect("the list of words is well-formed; a test reads it");
    tree.decode()
        .expect("the list of words has its form; a test reads it")
});

/// Every entry: words, then cautions, then codes. Figures are in both units.
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
    words.chain(cautions).chain(codes).collect()
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
        b'D' => "Dates and passes",
        b'W' => "The crew's work",
        _ => "The program's own check",
    }
}

/// Everything of that name, whatever the case: a word may be a caution too.
#[must_use]
pub fn find(name: &str) -> Vec<Entry> {
    find_in(name, Units::default())
}

/// The same, with figures in the units chosen.
#[must_use]
pub fn find_in(name: &str, units: Units) -> Vec<Entry> {
    let plain = |s: &str| s.trim().to_lowercase().replace(['-', '_'], " ");
    let wanted = plain(name);
    let is = |s: &String| plain(s) == wanted;
    let mut found = all_in(units);
    found.retain(|e| is(&e.name) || e.also.iter().any(is));
    found
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::sources;

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
}
