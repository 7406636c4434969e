//! Values and schemas in words.

use serde_json::Value as Json;

use crate::base::document::Value;
use crate::base::error::quoted;

pub(super) fn list<'a>(words: impl Iterator<Item = &'a str>) -> String {
    let quoted: Vec<String> = words.map(|w| format!("`{w}`")).collect();
    quoted.join(", ")
}

pub(super) fn plain(value: &Value) -> String {
    match value {
        Value::Bool(b) => b.to_string(),
        Value::Int(n) => n.to_string(),
        Value::Float(x) => x.to_string(),
        Value::Text(t) => t.clone(),
        _ => String::new(),
    }
}

pub(super) fn shown(value: &Value) -> String {
    quoted(&plain(value))
}

pub(super) fn kinds(schema: &Json) -> Vec<&str> {
    match schema.get("type") {
        Some(Json::String(one)) => vec![one.as_str()],
        Some(Json::Array(many)) => many.iter().filter_map(Json::as_str).collect(),
        _ => Vec::new(),
    }
}

/// The closed list of words a schema allows, if it is one.
pub(super) fn words(schema: &Json) -> Option<Vec<String>> {
    if let Some(words) = schema.get("enum").and_then(Json::as_array) {
        let words = words.iter().filter_map(Json::as_str);
        return Some(words.map(str::to_owned).collect());
    }
    if let Some(word) = schema.get("const").and_then(Json::as_str) {
        return Some(vec![word.to_owned()]);
    }
    let options = schema.get("oneOf").and_then(Json::as_array)?;
    let mut all = Vec::new();
    for option in options {
        all.extend(words(option)?);
    }
    Some(all)
}

/// What a schema asks for, in words.
pub(super) fn describe(schema: &Json) -> String {
    if let Some(words) = words(schema) {
        return format!("one of {}", list(words.iter().map(String::as_str)));
    }
    let range = |least: &str, most: &str, unit: &str| {
        let l = schema.get(least).and_then(Json::as_f64);
        let m = schema.get(most).and_then(Json::as_f64);
        match (l, m) {
            (Some(l), Some(m)) => format!(", {l} to {m}{unit}"),
            (Some(l), None) => format!(", at least {l}{unit}"),
            (None, Some(m)) => format!(", at most {m}{unit}"),
            (None, None) => String::new(),
        }
    };
    let kinds = kinds(schema);
    if kinds.contains(&"integer") {
        format!("a whole number{}", range("minimum", "maximum", ""))
    } else if kinds.contains(&"number") {
        match schema.get("exclusiveMinimum").and_then(Json::as_f64) {
            Some(l) => match schema.get("maximum").and_then(Json::as_f64) {
                Some(m) => format!("a number above {l}, at most {m}"),
                None => format!("a number above {l}"),
            },
            None => format!("a number{}", range("minimum", "maximum", "")),
        }
    } else if kinds.contains(&"boolean") {
        "`true` or `false`".to_owned()
    } else if kinds.contains(&"string") {
        format!("text{}", range("minLength", "maxLength", " characters"))
    } else if kinds.contains(&"array") {
        format!("a list{}", range("minItems", "maxItems", " entries"))
    } else {
        "keys and values".to_owned()
    }
}

pub(super) fn hint_of(schema: Option<&Json>) -> String {
    let told = schema
        .and_then(|s| s.get("description"))
        .and_then(Json::as_str);
    let first = told.and_then(|d| d.split("\n\n").next());
    first.map_or_else(|| "add it".to_owned(), |d| d.replace('\n', " "))
}

/// A value as it is written in a file, on one line.
#[must_use]
pub fn in_yaml(value: &Json) -> String {
    match value {
        Json::String(text) if text.contains(':') => format!("\"{text}\""),
        Json::String(text) => text.clone(),
        Json::Array(items) => {
            let all: Vec<String> = items.iter().map(in_yaml).collect();
            format!("[{}]", all.join(", "))
        }
        Json::Object(keys) => {
            let all: Vec<String> = keys
                .iter()
                .map(|(k, v)| format!("{k}: {}", in_yaml(v)))
                .collect();
            format!("{{{}}}", all.join(", "))
        }
        other => other.to_string(),
    }
}
