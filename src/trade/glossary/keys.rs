//! The keys of season and protocol files, read off the published schemas: what is explained is what is read.

use std::sync::LazyLock;

use serde_json::Value;

use super::Entry;

/// Keys of both kinds of file, each under its path: `groups.head`.
pub(super) static KEYS: LazyLock<Vec<Entry>> = LazyLock::new(|| {
    let mut found = Vec::new();
    for (kind, schema) in [
        ("season key", crate::trade::season::schema()),
        ("protocol key", crate::trade::protocol::schema()),
    ] {
        let mut walk = Walk {
            kind,
            schema,
            inside: Vec::new(),
            found: &mut found,
        };
        walk.node(schema, "");
    }
    found
});

struct Walk<'a> {
    kind: &'static str,
    schema: &'a Value,
    /// Names of the forms that the walk is in: a form within itself is told once.
    inside: Vec<&'a str>,
    found: &'a mut Vec<Entry>,
}

impl<'a> Walk<'a> {
    fn node(&mut self, node: &'a Value, path: &str) {
        if let Some(name) = form_name(node) {
            if !self.inside.contains(&name) {
                self.inside.push(name);
                self.node(&self.schema["$defs"][name], path);
                self.inside.pop();
            }
            return;
        }
        for part in alternatives(node).chain(node.get("items")) {
            self.node(part, path);
        }
        for (key, of) in node["properties"].as_object().into_iter().flatten() {
            let name = if path.is_empty() {
                key.clone()
            } else {
                format!("{path}.{key}")
            };
            let required = list(&node["required"]).any(|r| r == key);
            // An alternative form may have the same key.
            if self
                .found
                .iter()
                .any(|e| e.name == name && e.kind == self.kind)
            {
                continue;
            }
            let at = self.found.len();
            self.found.push(Entry {
                name: name.clone(),
                kind: self.kind,
                means: self.means(of, required),
                also: list(&of["x-also-called"]).map(str::to_owned).collect(),
                see: Vec::new(),
                source: None,
            });
            self.node(of, &name);
            let depth = name.matches('.').count() + 1;
            let within = self.found[at + 1..]
                .iter()
                .filter(|e| e.name.matches('.').count() == depth);
            self.found[at].see = within.map(|e| e.name.clone()).collect();
        }
    }

    /// What it is, what it takes, and whether it must be there.
    fn means(&self, of: &Value, required: bool) -> String {
        let told = of["description"].as_str().unwrap_or_default();
        let mut sentences = vec![told.split_whitespace().collect::<Vec<_>>().join(" ")];
        let mut words = Vec::new();
        self.words(of, &mut words);
        if !words.is_empty() {
            sentences.push(format!("One of {}.", words.join(", ")));
        }
        if let Some(limits) = self.limits(of) {
            sentences.push(limits);
        }
        if required {
            sentences.push("Must be given.".to_owned());
        }
        sentences.join(" ")
    }

    /// The words it takes, if it takes words.
    fn words(&self, of: &Value, words: &mut Vec<String>) {
        if let Some(name) = form_name(of) {
            self.words(&self.schema["$defs"][name], words);
        }
        if let Some(word) = of["const"].as_str() {
            words.push(format!("`{word}`"));
        }
        words.extend(list(&of["enum"]).map(|w| format!("`{w}`")));
        for part in alternatives(of) {
            self.words(part, words);
        }
    }

    /// The least and the most it takes: of a number itself, or of how many in a list.
    fn limits(&self, of: &Value) -> Option<String> {
        let number = |key: &str| of[key].as_f64();
        if let Some(name) = form_name(of) {
            return self.limits(&self.schema["$defs"][name]);
        }
        match (
            number("minimum"),
            number("exclusiveMinimum"),
            number("maximum"),
        ) {
            (Some(least), _, Some(most)) => Some(format!("From {least} to {most}.")),
            (None, Some(least), Some(most)) => Some(format!("Above {least}, up to {most}.")),
            (Some(least), _, None) => Some(format!("At least {least}.")),
            _ => None,
        }
    }
}

fn form_name(node: &Value) -> Option<&str> {
    node["$ref"].as_str()?.rsplit('/').next()
}

fn alternatives(node: &Value) -> impl Iterator<Item = &Value> {
    ["anyOf", "oneOf"]
        .into_iter()
        .filter_map(|key| node.get(key)?.as_array())
        .flatten()
}

fn list(value: &Value) -> impl Iterator<Item = &str> {
    value
        .as_array()
        .into_iter()
        .flatten()
        .filter_map(Value::as_str)
}
