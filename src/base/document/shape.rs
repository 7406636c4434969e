//! Holds a tree against a JSON Schema and reports every misfit at its place.
//!
//! It reads the part of JSON Schema 2020-12 that the raw structs produce: `$ref`, `type`,
//! `properties`, `required`, `additionalProperties: false`, `items`, `enum`, `const`, `oneOf` and
//! `anyOf` of words or of a form and null, and the limits on numbers, texts and lists. A test
//! holds it against a general validator on the same schemas.
//!
//! The walk is our own: a general validator doubles the build (measured: 117 s against 53 s, clean, on
//! 2 cores) and knows nothing of places. It serves as a judge in the tests.

mod describe;

pub use describe::in_yaml;

use std::collections::BTreeMap;

use serde_json::Value as Json;

use super::node::join;
use super::{Node, Tree, Value};
use crate::base::error::{Code, Finding, Spot, nearest, quoted};
use describe::{describe, hint_of, kinds, list, shown, words};

/// Every misfit between the tree and the schema.
#[must_use]
pub fn check(tree: &Tree, schema: &Json) -> Vec<Finding> {
    fit(tree, schema).found
}

/// A tree held against a schema.
#[derive(Debug)]
pub struct Fit {
    /// Every misfit.
    pub found: Vec<Finding>,
    /// The tree as JSON that fits: what did not is replaced by the least that does, so that the
    /// rest can be read on and looked at too.
    pub value: Json,
}

/// Holds a tree against a schema.
#[must_use]
pub fn fit(tree: &Tree, schema: &Json) -> Fit {
    let mut walk = Walk {
        file: tree.file(),
        schema,
        found: Vec::new(),
    };
    let value = walk.node(tree.root(), schema, "");
    Fit {
        found: walk.found,
        value,
    }
}

/// A file with thousands of faults is the wrong file: the first ones say so.
const MOST_FINDINGS: usize = 200;

struct Walk<'a> {
    file: &'a str,
    schema: &'a Json,
    found: Vec<Finding>,
}

impl<'a> Walk<'a> {
    fn add(&mut self, spot: Spot, field: &str, finding: Finding) {
        if self.found.len() < MOST_FINDINGS {
            self.found.push(finding.at(spot.in_file(self.file, field)));
        }
    }

    fn resolve(&self, mut schema: &'a Json) -> &'a Json {
        while let Some(target) = schema.get("$ref").and_then(Json::as_str) {
            match self.schema.pointer(target.trim_start_matches('#')) {
                Some(next) => schema = next,
                None => break,
            }
        }
        // `anyOf: [form, null]` is how an optional form is written.
        if let Some(options) = schema.get("anyOf").and_then(Json::as_array) {
            let is_form = |o: &&Json| o.get("type").and_then(Json::as_str) != Some("null");
            let forms: Vec<_> = options.iter().filter(is_form).collect();
            if let [only] = forms[..] {
                return self.resolve(only);
            }
        }
        schema
    }

    fn node(&mut self, node: &Node, schema: &'a Json, field: &str) -> Json {
        let before = self.found.len();
        if before >= MOST_FINDINGS {
            return node.to_json();
        }
        let schema = self.resolve(schema);
        let kinds = kinds(schema);
        match (&node.value, words(schema)) {
            (_, Some(words)) => {
                if let Some(word) = self.word(node, &words, field) {
                    return word.into();
                }
            }
            (Value::Null, _) => {
                // Within a map a key without a value is an absent key; `map` sees to it.
                self.wrong_kind(node, schema, field);
            }
            (Value::Map(entries), _) if kinds.contains(&"object") => {
                return self.map(node, entries, schema, field);
            }
            (Value::List(items), _) if kinds.contains(&"array") => {
                self.limits(node, schema, field, items.len() as f64, "Items", "entries");
                let of = schema.get("items").unwrap_or(&Json::Null);
                let each = items.iter().enumerate();
                let each = each.map(|(n, item)| self.node(item, of, &format!("{field}[{n}]")));
                let mut fitting: Vec<Json> = each.collect();
                if fitting.is_empty() {
                    fitting.extend(self.least(schema).as_array().cloned().unwrap_or_default());
                }
                return fitting.into();
            }
            // One entry that stands in place of a list of such is that list.
            (Value::Text(_) | Value::Int(_) | Value::Float(_), _)
                if kinds.contains(&"array") && self.takes_scalars(schema) =>
            {
                let of = schema.get("items").unwrap_or(&Json::Null);
                return vec![self.node(node, of, &format!("{field}[0]"))].into();
            }
            (Value::Text(text), _) if kinds.contains(&"string") => {
                let length = text.chars().count();
                self.limits(node, schema, field, length as f64, "Length", "characters");
            }
            (Value::Bool(_), _) if kinds.contains(&"boolean") => {}
            (Value::Int(n), _) if kinds.contains(&"integer") || kinds.contains(&"number") => {
                self.number(node, schema, field, *n as f64);
            }
            (Value::Float(x), _) if kinds.contains(&"number") => {
                self.number(node, schema, field, *x);
            }
            (Value::Float(x), _)
                if kinds.contains(&"integer") && x.fract() == 0.0 && x.abs() < 1e9 =>
            {
                let what = format!("`{x:?}` is written with a fraction");
                let finding = Finding::error(Code::WrongType, what)
                    .expected(describe(schema))
                    .hint(format!("write `{x:.0}`"));
                self.add(node.spot, field, finding);
            }
            _ => self.wrong_kind(node, schema, field),
        }
        if self.found.len() > before {
            self.least(schema)
        } else {
            node.to_json()
        }
    }

    /// True if the entries of a list are texts, numbers or words.
    fn takes_scalars(&self, list: &'a Json) -> bool {
        let of = list.get("items").map(|i| self.resolve(i));
        of.is_some_and(|of| words(of).is_some() || !kinds(of).contains(&"object"))
    }

    /// The least value that fits a schema.
    fn least(&self, schema: &'a Json) -> Json {
        let schema = self.resolve(schema);
        if let Some(words) = words(schema) {
            return words.first().cloned().into();
        }
        let number = |key: &str| schema.get(key).and_then(Json::as_f64);
        let kinds = kinds(schema);
        if kinds.contains(&"integer") {
            (number("minimum").unwrap_or(0.0).max(1.0) as i64).into()
        } else if kinds.contains(&"number") {
            number("maximum").unwrap_or(1.0).min(1.0).into()
        } else if kinds.contains(&"string") {
            "x".into()
        } else if kinds.contains(&"boolean") {
            false.into()
        } else if kinds.contains(&"array") {
            let wanted = number("minItems").unwrap_or(0.0) as usize;
            let item = schema.get("items").map(|i| self.least(i));
            vec![item.unwrap_or_default(); wanted].into()
        } else {
            let required = schema.get("required").and_then(Json::as_array);
            let names = required.into_iter().flatten().filter_map(Json::as_str);
            let below = |name: &str| Some(self.least(schema.get("properties")?.get(name)?));
            let entries = names.map(|n| (n.to_owned(), below(n).unwrap_or_default()));
            Json::Object(entries.collect())
        }
    }

    fn map(
        &mut self,
        node: &Node,
        entries: &[(super::Key, Node)],
        schema: &'a Json,
        field: &str,
    ) -> Json {
        let keys = schema.get("properties").and_then(Json::as_object);
        let known = keys.into_iter().flatten().map(|(k, f)| (k.as_str(), f));
        let known: BTreeMap<&'a str, &'a Json> = known.collect();
        let required = schema.get("required").and_then(Json::as_array);
        let required = required.into_iter().flatten().filter_map(Json::as_str);
        let required: Vec<&str> = required.collect();
        let open = schema.get("additionalProperties").filter(|a| a.is_object());
        let mut fitting = serde_json::Map::new();
        let mut meant: Vec<&str> = Vec::new();
        for (key, value) in entries {
            if self.found.len() >= MOST_FINDINGS {
                break;
            }
            let below = join(field, &key.name);
            if let Some(form) = known.get(key.name.as_str()) {
                if matches!(value.value, Value::Null) && !required.contains(&key.name.as_str()) {
                    continue;
                }
                let value = self.node(value, form, &below);
                fitting.insert(key.name.clone(), value);
            } else if let Some(form) = open {
                let value = self.node(value, form, &below);
                fitting.insert(key.name.clone(), value);
            } else {
                let what = format!("there is no key {} here", quoted(&key.name));
                let near = also_called(&known, &key.name)
                    .or_else(|| nearest(&key.name, known.keys().copied()));
                let hint = match near {
                    Some(near) => format!("did you mean `{near}`?"),
                    None => self.elsewhere(&key.name),
                };
                let finding = Finding::error(Code::UnknownKey, what)
                    .expected(format!("one of {}", list(known.keys().copied())))
                    .hint(hint);
                self.add(key.spot, &below, finding);
                // What stands under the wrong word is looked at as if it were the right one.
                if let Some(near) = near.filter(|n| !entries.iter().any(|(k, _)| k.name == **n)) {
                    let value = self.node(value, known[near], &below);
                    fitting.insert(near.to_owned(), value);
                    meant.push(near);
                }
            }
        }
        for name in required {
            let absent = !entries.iter().any(|(k, _)| k.name == name);
            if absent && !meant.contains(&name) {
                let least = known.get(name).map(|f| self.least(f)).unwrap_or_default();
                fitting.insert(name.to_owned(), least);
                let form = known.get(name).map(|f| describe(self.resolve(f)));
                let form = form.unwrap_or_else(|| "a value".into());
                let what = format!("the key `{name}` is missing");
                let finding = Finding::error(Code::MissingKey, what)
                    .expected(format!("`{name}:` with {form}"))
                    .hint(hint_of(known.get(name).copied()));
                self.add(node.spot, &join(field, name), finding);
            }
        }
        Json::Object(fitting)
    }

    /// What to do with a key that is not known here: move it to where it is.
    fn elsewhere(&self, key: &str) -> String {
        let root = self.resolve(self.schema);
        let forms = root.get("properties").and_then(Json::as_object);
        let holds = |form: &'a Json| {
            let form = self.resolve(form);
            let form = self.resolve(form.get("items").unwrap_or(form));
            form.get("properties").is_some_and(|p| p.get(key).is_some())
        };
        let here = root.get("properties").is_some_and(|p| p.get(key).is_some());
        let parents = forms.into_iter().flatten().filter(|(_, form)| holds(form));
        let parents: Vec<&str> = parents.map(|(name, _)| name.as_str()).collect();
        if here {
            "it belongs at the top level of the file: move it there".to_owned()
        } else if parents.is_empty() {
            "remove it, or see `thawline schema season` (or `protocol`)".to_owned()
        } else {
            let parents = list(parents.into_iter());
            format!("it belongs under {parents}: move it there")
        }
    }

    /// The word that is meant: also with capitals, or longer, as `Cow`, `heifers` and `sunday`.
    fn word(&mut self, node: &Node, words: &[String], field: &str) -> Option<String> {
        let given = match &node.value {
            Value::Text(t) => t.clone(),
            other => shown(other),
        };
        let plain = |word: &str| word.to_lowercase().replace([' ', '_'], "-");
        let longer = |w: &&String| w.len() >= 3 && plain(&given).starts_with(&plain(w));
        let exact = words.iter().find(|w| plain(w) == plain(&given));
        let mut begun = words.iter().filter(longer);
        let meant = exact.or_else(|| begun.next().filter(|_| begun.next().is_none()));
        if let (Some(meant), Value::Text(_)) = (meant, &node.value) {
            return Some(meant.clone());
        }
        let allowed = list(words.iter().map(String::as_str));
        let what = format!("{} is not one of the words used here", quoted(&given));
        let hint = match nearest(&given, words.iter().map(String::as_str)) {
            Some(near) => format!("did you mean `{near}`?"),
            None => "choose one of these words".to_owned(),
        };
        let finding = Finding::error(Code::UnknownWord, what)
            .expected(format!("one of {allowed}"))
            .hint(hint);
        self.add(node.spot, field, finding);
        None
    }

    fn number(&mut self, node: &Node, schema: &Json, field: &str, x: f64) {
        let least = schema.get("minimum").and_then(Json::as_f64);
        let above = schema.get("exclusiveMinimum").and_then(Json::as_f64);
        let most = schema.get("maximum").and_then(Json::as_f64);
        let fits = x.is_finite()
            && least.is_none_or(|l| x >= l)
            && above.is_none_or(|l| x > l)
            && most.is_none_or(|m| x <= m);
        if !fits {
            let key = field.rsplit('.').next().unwrap_or(field);
            let what = format!("{} is outside the limits of `{key}`", shown(&node.value));
            let finding = Finding::error(Code::OutOfRange, what)
                .expected(describe(schema))
                .hint("check the digits and the unit");
            self.add(node.spot, field, finding);
        }
    }

    fn limits(
        &mut self,
        node: &Node,
        schema: &Json,
        field: &str,
        size: f64,
        kind: &str,
        unit: &str,
    ) {
        let least = schema.get(format!("min{kind}")).and_then(Json::as_f64);
        let most = schema.get(format!("max{kind}")).and_then(Json::as_f64);
        let hint = if least.is_some_and(|l| size < l) {
            "add what is missing"
        } else if most.is_some_and(|m| size > m) {
            "shorten it"
        } else {
            return;
        };
        let finding = Finding::error(Code::OutOfRange, format!("this has {size} {unit}"))
            .expected(describe(schema))
            .hint(hint);
        self.add(node.spot, field, finding);
    }

    fn wrong_kind(&mut self, node: &Node, schema: &Json, field: &str) {
        let given = match &node.value {
            Value::Null => "there is no value here".to_owned(),
            Value::List(_) => "this is a list".to_owned(),
            Value::Map(_) => "these are keys and values".to_owned(),
            Value::Text(text) if is_table(text, field) => {
                "this is a table (CSV), not a season or protocol file".to_owned()
            }
            other => format!("{} does not fit here", shown(other)),
        };
        let mut finding = Finding::error(Code::WrongType, given).expected(describe(schema));
        let wants = kinds(schema);
        finding = if wants.contains(&"string")
            && matches!(node.value, Value::Int(_) | Value::Float(_) | Value::Bool(_))
        {
            finding.hint("put it in quotes, exactly as you wrote it")
        } else if wants.contains(&"array") {
            finding.hint(match schema.pointer("/examples/0/0") {
                Some(example) => format!("write one entry a line: `- {}`", in_yaml(example)),
                None => "write a list: one entry a line, each after `- `".to_owned(),
            })
        } else if matches!(&node.value, Value::Text(text) if is_table(text, field)) {
            finding.hint("give the season file, such as season.yaml; a herd file is named in it, under `herd` of its group")
        } else if wants.contains(&"object") {
            finding.hint("write `key: value`, one to a line, indented with spaces")
        } else if wants.contains(&"boolean") {
            finding.hint("write `true` or `false`")
        } else {
            finding.hint(match number_in(&node.value) {
                Some(number) => format!("write only the number: {number}"),
                None => "write only the number, without a unit and without commas".to_owned(),
            })
        };
        self.add(node.spot, field, finding);
    }
}

/// The one number of a text such as `~180`, `1,200` or `60 head`.
fn number_in(value: &Value) -> Option<f64> {
    let Value::Text(text) = value else {
        return None;
    };
    let text = text.replace(',', "");
    let is_of = |c: char| c.is_ascii_digit() || c == '.';
    let mut numbers = text.split(|c| !is_of(c)).filter(|t| !t.is_empty());
    let number = numbers.next()?.parse().ok();
    number.filter(|_| numbers.next().is_none() && !text.contains('-'))
}

/// True for a whole file that is text with commas: a herd file given in place of a season reads so.
fn is_table(text: &str, field: &str) -> bool {
    field.is_empty() && text.contains([',', ';'])
}

/// True if a word is not a key of the form (of a list's entries, by the list's name; of the whole for none),
/// and stands for the key there.
#[must_use]
pub fn is_other_word(schema: &Json, list: &str, word: &str, key: &str) -> bool {
    let walk = Walk {
        file: "",
        schema,
        found: Vec::new(),
    };
    let form = match list {
        "" => Some(schema),
        list => schema.pointer(&format!("/properties/{list}/items")),
    };
    let keys = form.and_then(|f| walk.resolve(f).get("properties")?.as_object());
    keys.is_some_and(|keys| {
        let known = keys.iter().map(|(k, f)| (k.as_str(), f)).collect();
        !keys.contains_key(word)
            && also_called(&known, word).or_else(|| nearest(word, known.keys().copied()))
                == Some(key)
    })
}

/// The key that goes by another word too: `x-also-called` in the schema lists such words.
fn also_called<'a>(known: &BTreeMap<&'a str, &'a Json>, word: &str) -> Option<&'a str> {
    let word = word.to_lowercase().replace([' ', '-', '/'], "_");
    known.iter().find_map(|(key, form)| {
        let mut words = form.get("x-also-called")?.as_array()?.iter();
        words.any(|w| w.as_str() == Some(&word)).then_some(*key)
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use schemars::JsonSchema;
    use serde::Deserialize;

    /// A thing.
    #[derive(Debug, Deserialize, JsonSchema)]
    #[serde(deny_unknown_fields)]
    #[allow(dead_code)]
    struct Thing {
        /// Its name.
        #[schemars(length(min = 1, max = 5))]
        name: String,
        /// How many.
        #[schemars(range(min = 0, max = 100))]
        head: Option<u32>,
        word: Option<Word>,
        #[serde(default)]
        parts: Vec<Part>,
    }

    #[derive(Debug, Deserialize, JsonSchema)]
    #[serde(rename_all = "kebab-case")]
    enum Word {
        /// One.
        FirstWord,
        /// Two.
        Other,
    }

    #[derive(Debug, Deserialize, JsonSchema)]
    #[serde(deny_unknown_fields)]
    #[allow(dead_code)]
    struct Part {
        ratio: f64,
    }

    fn found(text: &str) -> Vec<String> {
        let tree = Tree::parse("t", text.as_bytes()).unwrap();
        let schema = schemars::schema_for!(Thing);
        check(&tree, schema.as_value())
            .iter()
            .map(|f| {
                let p = f.place.as_ref().unwrap();
                format!("{} {}:{} {}", f.code, p.line, p.column, p.field)
            })
            .collect()
    }

    #[test]
    fn every_misfit_is_found_where_it_stands() {
        let text =
            "naem: x\nhead: -3\nword: frist-word\nparts:\n  - ratio: .nan\n  - ratoi: 2\n  - 7\n";
        assert_eq!(
            found(text),
            [
                "K101 1:1 naem",
                "K104 2:7 head",
                "K105 3:7 word",
                "K104 5:12 parts[0].ratio",
                "K101 6:5 parts[1].ratoi",
                "K103 7:5 parts[2]",
            ]
        );
    }

    #[test]
    fn a_key_in_the_wrong_place_is_sent_to_the_right_one() {
        let tree = Tree::parse("t", b"name: x\nratio: 1\nparts: [{ratio: 1, head: 2}]\n").unwrap();
        let schema = schemars::schema_for!(Thing);
        let found = check(&tree, schema.as_value());
        let hints: Vec<_> = found.iter().map(|f| f.hint.as_deref().unwrap()).collect();
        let top = "it belongs at the top level of the file: move it there";
        assert_eq!(hints, ["it belongs under `parts`: move it there", top]);
    }

    #[test]
    fn what_fits_passes_and_empty_keys_are_absent() {
        assert_eq!(found("name: abc\nhead:\nword: other\nparts: []\n"), [""; 0]);
        assert_eq!(found("name: 208\n"), ["K103 1:7 name"]);
        assert_eq!(found("name: toolong\n"), ["K104 1:7 name"]);
        assert_eq!(found("name: a\nhead: 3.0\n"), ["K103 2:7 head"]);
    }
}
