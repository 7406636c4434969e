//! How YAML text becomes a tree whose every key and value knows its line and column, and how
//! that tree is held against a form.
//!
//! Reading goes in three steps, so that *every* fault of a file comes back, each with its place:
//! text to tree ([`Tree::parse`]); tree against the JSON Schema made from the raw structs
//! ([`shape::check`]); tree to raw structs ([`Tree::decode`]), which then cannot fail on form.
//!
//! Why not structs at once: a struct reader stops at the first fault. Because the schema is made from
//! the raw structs, form and schema cannot drift apart.

pub mod edit;
mod node;
pub mod shape;

use std::collections::BTreeMap;

use serde::de::DeserializeOwned;
use serde_yaml::budget::BudgetBreach;

pub use node::{Key, Node, Value};

use crate::base::error::{Code, Finding, Place, Spot, quoted, utf8};

/// No season or protocol file needs more: a season of 2,000 groups takes under 1 MB.
pub const MOST_BYTES: u64 = 8 * 1024 * 1024;

/// The most values a file may hold once aliases are followed.
const MOST_NODES: usize = 400_000;

/// The deepest that values may stand in each other.
const MOST_DEPTH: usize = 24;

/// The JSON Schema of a form: of a plan, or of an answer.
#[must_use]
pub fn schema_of<T: schemars::JsonSchema>() -> serde_json::Value {
    schemars::schema_for!(T).to_value()
}

/// A parsed file.
#[derive(Debug)]
pub struct Tree {
    file: String,
    root: Node,
    /// Fields that stand in another file, by name.
    elsewhere: BTreeMap<String, Place>,
}

impl Tree {
    /// Parses one YAML document.
    ///
    /// # Errors
    /// A finding with line and column: not UTF-8, too large, malformed, a key twice, aliases
    /// that expand without end, or nothing there at all.
    pub fn parse(file: &str, bytes: &[u8]) -> Result<Self, Finding> {
        let at = |spot: Spot| spot.in_file(file, "");
        if bytes.len() as u64 > MOST_BYTES {
            let what = "the file is larger than any season or protocol needs";
            let finding = Finding::error(Code::FileTooLarge, what)
                .at(at(Spot::FIRST))
                .expected(format!("at most {MOST_BYTES} bytes"))
                .hint("is this the right file? Notes, photographs and exports do not belong in it");
            return Err(finding);
        }
        let text = utf8(bytes).map_err(|end| {
            Finding::error(Code::FileNotText, "the file is not UTF-8 text")
                .at(at(end))
                .expected("a YAML text file")
                .hint("save it as plain text in UTF-8; a spreadsheet or word processor file will not do")
        })?;
        if let Some(n) = text.find(|c: char| c.is_control() && !matches!(c, '\t' | '\r' | '\n')) {
            let mut rest = text[n..].chars();
            let hidden = rest.next().unwrap_or_default().escape_unicode();
            let what = format!("the file holds the control character {hidden}");
            return Err(Finding::error(Code::FileNotText, what)
                .at(at(Spot::behind(&text[..n])))
                .expected("a YAML text file")
                .hint("is this the right file? Save it as plain text in UTF-8"));
        }
        let root: Node = serde_yaml::from_str_with_options(text, options()).map_err(|e| {
            let spot = e.location().map_or(Spot::FIRST, node::spot);
            match tab_in_indent(text, spot.line).filter(|_| e.to_string().contains("tab")) {
                Some(tab) => Finding::error(Code::YamlSyntax, "a tab stands where only spaces may")
                    .expected("lines indented by spaces")
                    .hint("put spaces in its place: two for each level")
                    .at(at(tab)),
                None => yaml_fault(&e).at(at(spot)),
            }
        })?;
        if matches!(root.value, Value::Null) {
            return Err(Finding::error(Code::YamlSyntax, "the file is empty")
                .at(at(Spot::FIRST))
                .expected("keys and values, one to a line")
                .hint("is this the right file? What was written may not have been saved yet"));
        }
        Ok(Self {
            file: file.to_owned(),
            root,
            elsewhere: BTreeMap::new(),
        })
    }

    /// The file's name as given.
    #[must_use]
    pub fn file(&self) -> &str {
        &self.file
    }

    /// The top of the tree.
    #[must_use]
    pub fn root(&self) -> &Node {
        &self.root
    }

    /// The same, for changing.
    pub fn root_mut(&mut self) -> &mut Node {
        &mut self.root
    }

    /// The place of a field such as `groups[1].start`; where the field itself is absent, the
    /// place of the nearest thing that holds it.
    #[must_use]
    pub fn place(&self, field: &str) -> Place {
        if let Some(place) = self.elsewhere(field) {
            return place;
        }
        self.root.find(field).in_file(&self.file, field)
    }

    /// Says that a field, and what is below it, stands in another file.
    pub fn add_place(&mut self, field: String, place: Place) {
        self.elsewhere.insert(field, place);
    }

    fn elsewhere(&self, field: &str) -> Option<Place> {
        if self.elsewhere.is_empty() {
            return None;
        }
        let holder = field.rsplit_once('.').map_or(field, |(holder, _)| holder);
        let place = self.elsewhere.get(field);
        place.or_else(|| self.elsewhere.get(holder)).cloned()
    }

    /// True if a field such as `groups[1].start` stands in the file.
    #[must_use]
    pub fn has(&self, field: &str) -> bool {
        self.root.holds(field)
    }

    /// Turns a tree that [`shape::check`] found nothing wrong with into raw structs.
    ///
    /// # Errors
    /// A finding where the value still does not fit, which the shape check should have caught.
    pub fn decode<T: DeserializeOwned>(&self) -> Result<T, Finding> {
        self.decode_value(self.root.to_json())
    }

    /// The same, from the JSON that [`shape::fit`] made of this tree.
    ///
    /// # Errors
    /// As [`Tree::decode`].
    pub fn decode_value<T: DeserializeOwned>(
        &self,
        value: serde_json::Value,
    ) -> Result<T, Finding> {
        serde_json::from_value(value).map_err(|e| {
            Finding::error(Code::WrongType, quoted(&e.to_string()))
                .at(self.place(""))
                .expected("the form that `thawline schema` prints")
                .hint("compare the file with it key by key")
        })
    }
}

fn options() -> serde_yaml::Options {
    serde_yaml::options! {
        // YAML 1.2: only true and false are yes and no, so a bull may be called `No`.
        strict_booleans: true,
        with_snippet: false,
        // The shape check says where such a number stands and what was expected there.
        non_finite_float_policy: serde_yaml::options::NonFiniteFloatPolicy::PassThrough,
        budget: serde_yaml::budget! {
            max_nodes: MOST_NODES,
            max_events: 3 * MOST_NODES,
            max_aliases: 1_000,
            max_anchors: 1_000,
            max_documents: 1,
            max_depth: MOST_DEPTH,
            max_total_scalar_bytes: MOST_BYTES as usize,
        },
        alias_limits: serde_yaml::alias_limits! {
            max_total_replayed_events: 20_000,
            max_replay_stack_depth: 8,
            max_alias_expansions_per_anchor: 1_000,
        },
    }
}

/// The first tab in the indentation of a line, or of the two after it: the parser points at what
/// stands before the tab.
fn tab_in_indent(text: &str, line: u32) -> Option<Spot> {
    let lines = (1..).zip(text.split('\n'));
    lines.skip(line as usize - 1).take(3).find_map(|(line, l)| {
        let indent = l.len() - l.trim_start().len();
        let column = l[..indent].find('\t')? as u32 + 1;
        Some(Spot { line, column })
    })
}

/// A fault of the text in plain words: the parser speaks to programmers.
fn yaml_fault(e: &serde_yaml::Error) -> Finding {
    use serde_yaml::Error as E;
    let mut cause = e.without_snippet();
    while let E::AliasError { error, .. } = cause {
        cause = error.without_snippet();
    }
    let fault = |what: &str| Finding::error(Code::YamlSyntax, what);
    match cause {
        E::DuplicateMappingKey { key, .. } => fault(&match key {
            Some(key) => format!("the key {} is there twice", quoted(key)),
            None => "a key is there twice".to_owned(),
        })
        .expected("each key once")
        .hint("remove one of the two, or begin a new entry with `- `"),
        E::MultipleDocuments { .. }
        | E::Budget {
            breach: BudgetBreach::Documents { .. },
            ..
        } => fault("a line `---` divides the file into several")
            .expected("one season or protocol in a file")
            .hint("remove the line `---`, or make two files of it"),
        E::Budget { .. }
        | E::AliasReplayCounterOverflow { .. }
        | E::AliasReplayLimitExceeded { .. }
        | E::AliasExpansionLimitExceeded { .. }
        | E::AliasReplayStackDepthExceeded { .. }
        | E::RecursiveReferencesRequireWeakTypes { .. } => {
            fault("the file has too many levels, or holds or repeats too many values")
                .expected(format!(
                    "at most {MOST_NODES} values, {MOST_DEPTH} levels deep, repeats by `*` counted"
                ))
                .hint("write values out in place of `&` and `*`; is this the right file?")
        }
        E::UnknownAnchor { .. } => fault("a `*` names something that no `&` stands before")
            .expected("`&name` before `*name`")
            .hint("put text that begins with `*` in quotes"),
        E::NullIntoString { .. } | E::Unexpected { .. } => {
            fault("here something other than plain text is used as a key")
                .expected("keys and values: `key: value`")
                .hint("put a key that is not a plain word in quotes")
        }
        other => {
            let text = other.to_string();
            let first = text.lines().next().unwrap_or_default();
            let first = first.split(" at line ").next().unwrap_or(first);
            let shown = |c: &char| !crate::base::error::is_hidden(*c);
            let kept: String = first.chars().filter(shown).take(200).collect();
            fault(&format!("the file cannot be read at this line (YAML: {kept})"))
                .expected("keys and values, one to a line: `key: value`")
                .hint("check the spaces before the key (no tabs), the colon and the quotes here and on the line above")
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn fault(bytes: &[u8]) -> Finding {
        Tree::parse("t.yaml", bytes).unwrap_err()
    }

    #[test]
    fn places_point_at_values() {
        let tree = Tree::parse("t.yaml", b"a: 1\nb:\n  - x: 2\n  - x: 3\n").unwrap();
        assert_eq!(tree.place("b[1].x").to_string(), "t.yaml:4:8 b[1].x");
        // A missing field stands where its holder stands.
        assert_eq!(tree.place("b[1].y").line, 4);
    }

    #[test]
    fn a_key_given_twice_is_refused_with_its_place() {
        let f = fault(b"a: 1\nb: 2\na: 3\n");
        assert_eq!(f.code, Code::YamlSyntax);
        assert_eq!(f.place.unwrap().line, 3);
    }

    #[test]
    fn bombs_binaries_and_nothing_are_refused() {
        let mut bomb = String::from("a: &a [x,x,x,x,x,x,x,x,x]\n");
        for (b, a) in ('b'..='j').zip('a'..='i') {
            let nine = vec![format!("*{a}"); 9].join(",");
            bomb.push_str(&[&format!("{b}: &{b} ["), nine.as_str(), "]\n"].concat());
        }
        assert_eq!(fault(bomb.as_bytes()).code, Code::YamlSyntax);
        assert_eq!(fault(&[0xff, 0xfe, 0x00]).code, Code::FileNotText);
        assert_eq!(fault(b"a: \x00").code, Code::FileNotText);
        assert_eq!(fault(b"").code, Code::YamlSyntax);
        assert_eq!(fault(b"a: [1").code, Code::YamlSyntax);
        assert_eq!(fault(b"--- a\n--- b\n").code, Code::YamlSyntax);
        let deep = "[".repeat(3000);
        assert_eq!(fault(deep.as_bytes()).code, Code::YamlSyntax);
        let expected = Code::FileTooLarge;
        assert_eq!(fault(&vec![b'#'; MOST_BYTES as usize + 1]).code, expected);
    }
}
