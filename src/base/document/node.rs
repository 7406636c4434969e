//! The tree itself: values as YAML 1.2 reads them, each with its line and column.

use std::fmt;

use serde::de::{self, Deserialize, Deserializer, MapAccess, SeqAccess, Visitor};
use serde_yaml::Spanned;

use crate::base::error::Spot;

/// A value and where it stands.
#[derive(Clone, Debug)]
pub struct Node {
    /// Where.
    pub spot: Spot,
    /// What.
    pub value: Value,
}

/// A key of a map and where it stands.
#[derive(Clone, Debug)]
pub struct Key {
    /// Where.
    pub spot: Spot,
    /// The key's text.
    pub name: String,
}

/// What a node holds.
#[derive(Clone, Debug)]
pub enum Value {
    /// Nothing.
    Null,
    /// True or false.
    Bool(bool),
    /// A whole number.
    Int(i64),
    /// A number with a fraction, or one too large for `Int`; may be NaN or infinite.
    Float(f64),
    /// Text.
    Text(String),
    /// A list.
    List(Vec<Node>),
    /// Keys and values, in the file's order.
    Map(Vec<(Key, Node)>),
}

impl Node {
    /// The value under a key of a map.
    #[must_use]
    pub fn get(&self, name: &str) -> Option<&Node> {
        match &self.value {
            Value::Map(entries) => entries.iter().find(|(k, _)| k.name == name).map(|(_, v)| v),
            _ => None,
        }
    }

    /// The same, for changing.
    pub fn get_mut(&mut self, name: &str) -> Option<&mut Node> {
        let Value::Map(entries) = &mut self.value else {
            return None;
        };
        let mut entries = entries.iter_mut();
        entries.find(|(k, _)| k.name == name).map(|(_, v)| v)
    }

    /// Puts a value under a key of a map, in place of what was there; it stands where the map does.
    pub fn set(&mut self, name: &str, value: &serde_json::Value) {
        let spot = self.spot;
        let Value::Map(entries) = &mut self.value else {
            return;
        };
        entries.retain(|(k, _)| k.name != name);
        let name = name.to_owned();
        entries.push((Key { spot, name }, Self::from_json(value, spot)));
    }

    fn from_json(value: &serde_json::Value, spot: Spot) -> Self {
        use serde_json::Value as Json;
        let value = match value {
            Json::Null => Value::Null,
            Json::Bool(b) => Value::Bool(*b),
            Json::Number(n) => n
                .as_i64()
                .map_or_else(|| Value::Float(n.as_f64().unwrap_or(f64::NAN)), Value::Int),
            Json::String(t) => Value::Text(t.clone()),
            Json::Array(items) => {
                Value::List(items.iter().map(|i| Self::from_json(i, spot)).collect())
            }
            Json::Object(keys) => {
                let each = keys.iter().map(|(name, v)| {
                    let name = name.clone();
                    (Key { spot, name }, Self::from_json(v, spot))
                });
                Value::Map(each.collect())
            }
        };
        Self { spot, value }
    }

    /// Where a field such as `groups[1].start` stands, or its nearest holder.
    #[must_use]
    pub fn find(&self, field: &str) -> Spot {
        self.reach(field).0.spot
    }

    /// True if a field such as `groups[1].start` is there.
    #[must_use]
    pub fn holds(&self, field: &str) -> bool {
        self.reach(field).1
    }

    /// The node of a field such as `groups[1]`.
    #[must_use]
    pub fn at(&self, field: &str) -> Option<&Node> {
        let (node, found) = self.reach(field);
        found.then_some(node)
    }

    /// Every text under a key of one of these names, or in a list under it, with its field.
    #[must_use]
    pub fn texts_under(&self, keys: &[&str]) -> Vec<(String, &str)> {
        let mut found = Vec::new();
        self.add_texts(keys, false, String::new(), &mut found);
        found
    }

    fn add_texts<'a>(
        &'a self,
        keys: &[&str],
        under: bool,
        field: String,
        found: &mut Vec<(String, &'a str)>,
    ) {
        match &self.value {
            Value::Text(text) if under => found.push((field, text)),
            Value::List(items) => {
                for (n, item) in items.iter().enumerate() {
                    item.add_texts(keys, under, format!("{field}[{n}]"), found);
                }
            }
            Value::Map(entries) => {
                for (key, value) in entries {
                    let under = keys.contains(&key.name.as_str());
                    value.add_texts(keys, under, join(&field, &key.name), found);
                }
            }
            _ => {}
        }
    }

    /// The node of an item of a list under a key, such as `groups[1]`, for changing.
    pub fn item_mut(&mut self, field: &str) -> Option<&mut Node> {
        let (key, index) = field.strip_suffix(']')?.split_once('[')?;
        let Value::List(items) = &mut self.get_mut(key)?.value else {
            return None;
        };
        items.get_mut(index.parse::<usize>().ok()?)
    }

    /// The node of a field, or its nearest holder; and whether it is the field's own.
    fn reach(&self, field: &str) -> (&Node, bool) {
        let mut node = self;
        let mut rest = field;
        loop {
            rest = rest.trim_start_matches(['.', '[']);
            if rest.is_empty() {
                return (node, true);
            }
            // A key may hold dots and brackets itself: those of `minutes_to` are ids.
            if let Some(found) = node.get(rest) {
                return (found, true);
            }
            let end = rest.find(['.', '[']).unwrap_or(rest.len());
            let (part, after) = rest.split_at(end);
            let next = match (part.strip_suffix(']'), &node.value) {
                (Some(index), Value::List(items)) => {
                    index.parse().ok().and_then(|n: usize| items.get(n))
                }
                _ => node.get(part),
            };
            match next {
                Some(found) => (node, rest) = (found, after),
                None => return (node, false),
            }
        }
    }

    /// The JSON form. Numbers that JSON cannot hold become null; the shape check reports them. A
    /// key without a value is an absent key.
    #[must_use]
    pub fn to_json(&self) -> serde_json::Value {
        match &self.value {
            Value::Null => serde_json::Value::Null,
            Value::Bool(b) => (*b).into(),
            Value::Int(n) => (*n).into(),
            Value::Float(x) => (*x).into(),
            Value::Text(t) => t.as_str().into(),
            Value::List(items) => items.iter().map(Node::to_json).collect(),
            Value::Map(entries) => {
                let given = entries
                    .iter()
                    .filter(|(_, v)| !matches!(v.value, Value::Null));
                let given = given.map(|(k, v)| (k.name.clone(), v.to_json()));
                serde_json::Value::Object(given.collect())
            }
        }
    }
}

/// The field of a key below another.
pub(super) fn join(field: &str, name: &str) -> String {
    if field.is_empty() {
        name.to_owned()
    } else {
        format!("{field}.{name}")
    }
}

pub(super) fn spot(location: serde_yaml::Location) -> Spot {
    Spot {
        line: (location.line() as u32).max(1),
        column: (location.column() as u32).max(1),
    }
}

impl<'de> Deserialize<'de> for Node {
    fn deserialize<D: Deserializer<'de>>(d: D) -> Result<Self, D::Error> {
        let spanned = Spanned::<Value>::deserialize(d)?;
        Ok(Self {
            spot: spot(spanned.referenced),
            value: spanned.value,
        })
    }
}

impl<'de> Deserialize<'de> for Value {
    fn deserialize<D: Deserializer<'de>>(d: D) -> Result<Self, D::Error> {
        d.deserialize_any(AnyValue)
    }
}

struct AnyValue;

/// What each kind of scalar becomes.
macro_rules! visits {
    ($($visit:ident: $kind:ty => $value:expr;)+) => {$(
        fn $visit<E>(self, scalar: $kind) -> Result<Value, E> {
            let value: fn($kind) -> Value = $value;
            Ok(value(scalar))
        }
    )+};
}

impl<'de> Visitor<'de> for AnyValue {
    type Value = Value;

    fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("a YAML value")
    }

    visits! {
        visit_bool: bool => Value::Bool;
        visit_i64: i64 => Value::Int;
        visit_u64: u64 => |n| i64::try_from(n).map_or(Value::Float(n as f64), Value::Int);
        visit_i128: i128 => |n| Value::Float(n as f64);
        visit_u128: u128 => |n| Value::Float(n as f64);
        visit_f64: f64 => Value::Float;
        visit_str: &str => |t| Value::Text(t.to_owned());
        visit_string: String => Value::Text;
    }

    fn visit_unit<E>(self) -> Result<Value, E> {
        Ok(Value::Null)
    }

    fn visit_none<E>(self) -> Result<Value, E> {
        Ok(Value::Null)
    }

    fn visit_some<D: Deserializer<'de>>(self, d: D) -> Result<Value, D::Error> {
        Value::deserialize(d)
    }

    fn visit_seq<A: SeqAccess<'de>>(self, mut seq: A) -> Result<Value, A::Error> {
        let mut items = Vec::new();
        while let Some(item) = seq.next_element::<Node>()? {
            items.push(item);
        }
        Ok(Value::List(items))
    }

    fn visit_map<A: MapAccess<'de>>(self, mut map: A) -> Result<Value, A::Error> {
        let mut entries = Vec::new();
        while let Some(key) = map.next_key::<Spanned<String>>()? {
            let key = Key {
                spot: spot(key.referenced),
                name: key.value,
            };
            entries.push((key, map.next_value::<Node>()?));
        }
        if entries.len() > 100_000 {
            return Err(de::Error::custom("a map with more than 100,000 keys"));
        }
        Ok(Value::Map(entries))
    }
}
