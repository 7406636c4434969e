//! What a season file may leave out, so that the first question can be asked before the last one is
//! answered: each is put in its place before the file is checked, and told with where to set it.

use std::collections::{BTreeMap, BTreeSet};

use serde_json::{Value as Json, json};

use crate::base::document::shape::{self, in_yaml};
use crate::base::document::{Node, Tree, Value};
use crate::base::error::{Code, Finding, Spot, quoted};
use crate::base::time::parse_date;
use crate::trade::protocol::{Class, Library, Protocol};

/// Keys that a file need not have, by the form that holds them.
const OPTIONAL: [(&str, &[&str]); 5] = [
    ("", &["format", "name", "sites", "crew"]),
    (
        "Site",
        &["id", "breeding_boxes", "injections_head_per_hour"],
    ),
    ("Group", &["id", "site", "class", "bulls"]),
    ("Technician", &["id"]),
    ("Semen", &["straws"]),
];

const SITES: &str = "one place";
const CREW: &str = "one person who breeds";
const BULLS: &str = "none is named";
const START: &str = "the hour that brings breeding nearest to 8:00";

/// A number that is taken unless given, and why that.
type Number = (u32, &'static str);
pub(super) const BOXES: Number = (1, "common practice, no source");
pub(super) const INJECTIONS: Number = (60, "60 to 100 with a good crew, from memory");
pub(super) const INSERTS: Number = (40, "40 to 60, from memory");
pub(super) const PACE: Number = (
    20,
    "15 to 30 for one technician at one box with a crew, from memory",
);

/// Hours of work.
pub(super) const SHIFT: (&str, &str) = ("05:00", "19:00");
pub(super) const SHIFTS: &str = "common practice, no source";
const STRAWS: &str = "twice the head that may be bred; the order list counts none as on hand";

/// The schema as published: what may be left out is not among what must be there.
pub(super) fn published(mut schema: Json) -> Json {
    for (form, keys) in OPTIONAL {
        let form = match form {
            "" => Some(&mut schema),
            form => schema.pointer_mut(&format!("/$defs/{form}")),
        };
        let required = form.and_then(|f| f.get_mut("required")?.as_array_mut());
        if let Some(required) = required {
            required.retain(|key| key.as_str().is_none_or(|key| !keys.contains(&key)));
        }
    }
    schema
}

/// What was put in place.
pub(super) struct Assumed {
    pub(super) notes: Vec<Finding>,
    /// Bulls whose straws nobody has counted.
    pub(super) bulls: BTreeSet<String>,
}

/// Puts in place what the file leaves out and a plan can be made without.
pub(super) fn assume(tree: &mut Tree, schema: &Json, library: &Library) -> Assumed {
    let file = tree.file().to_owned();
    let mut missing = Missing {
        schema,
        said: Vec::new(),
        bulls: BTreeSet::new(),
    };
    let root = tree.root_mut();
    if matches!(root.value, Value::Map(_)) {
        missing.put(root, "", "format", &json!(super::FORMAT), "");
        missing.put(root, "", "name", &json!("Breeding season"), "");
        missing.put(root, "", "sites", &json!([{"id": "home"}]), SITES);
        missing.put(root, "", "crew", &json!([{"id": "technician"}]), CREW);
        missing.sites(root);
        missing.groups(root, library);
        missing.crew(root);
        missing.straws(root);
    }
    Assumed {
        notes: notes(&file, &missing.said),
        bulls: missing.bulls,
    }
}

/// What is said of one key, for all entries that leave it out.
struct Said {
    spot: Spot,
    field: &'static str,
    words: String,
}

/// One note for the keys of the whole, and one for those of each list.
fn notes(file: &str, said: &[(&'static str, Said)]) -> Vec<Finding> {
    let lists: BTreeSet<&str> = said.iter().map(|(list, _)| *list).collect();
    let note = |of: &str| {
        let mine = || said.iter().filter(|(list, _)| *list == of).map(|(_, s)| s);
        let first = mine().next()?;
        let words: Vec<&str> = mine().map(|s| s.words.as_str()).collect();
        let under = match of {
            "" => String::new(),
            of => format!(" under `{of}`"),
        };
        let what = format!("not given{under}, and assumed: {}", words.join(", "));
        let note = Finding::note(Code::Assumed, what)
            .at(first.spot.in_file(file, first.field))
            .hint("where it is otherwise with you, write that line in the file with your figure");
        Some(note)
    };
    lists.into_iter().filter_map(note).collect()
}

struct Missing<'a> {
    schema: &'a Json,
    /// With the list that each is of; each key once.
    said: Vec<(&'static str, Said)>,
    bulls: BTreeSet<String>,
}

impl Missing<'_> {
    /// True if a key is not there, and no other word stands for it.
    fn lacks(&self, node: &Node, list: &str, key: &str) -> bool {
        let other = |name: &str| shape::is_other_word(self.schema, list, name, key);
        matches!(&node.value, Value::Map(entries) if entries.iter().all(|(k, v)| {
            let empty = k.name == key && matches!(v.value, Value::Null);
            empty || k.name != key && !other(&k.name)
        }))
    }

    /// Puts a value in place of a key that is not there, and says so where it is a guess, with why.
    fn put(
        &mut self,
        node: &mut Node,
        list: &'static str,
        key: &'static str,
        value: &Json,
        why: &'static str,
    ) -> bool {
        if !self.lacks(node, list, key) {
            return false;
        }
        node.set(key, value);
        let line = quoted(&format!("{key}: {}", in_yaml(value)));
        let words = format!("{line} ({why})");
        let known = self
            .said
            .iter()
            .any(|(of, s)| *of == list && s.words == words);
        if !why.is_empty() && !known {
            let field = if list.is_empty() { key } else { list };
            let spot = node.spot;
            self.said.push((list, Said { spot, field, words }));
        }
        true
    }

    fn sites(&mut self, root: &mut Node) {
        let only = entries(root, "sites").count() == 1;
        for (n, site) in entries(root, "sites") {
            let id = if only {
                "home".to_owned()
            } else {
                format!("site-{n}")
            };
            self.put(site, "sites", "id", &json!(id), "");
            self.put(site, "sites", "breeding_boxes", &json!(BOXES.0), BOXES.1);
            let key = "injections_head_per_hour";
            // A chute whose pace is counted keeps it for inserts.
            if self.put(site, "sites", key, &json!(INJECTIONS.0), INJECTIONS.1) {
                let key = "inserts_head_per_hour";
                self.put(site, "sites", key, &json!(INSERTS.0), INSERTS.1);
            }
        }
    }

    fn groups(&mut self, root: &mut Node, library: &Library) {
        let sites = texts(root, "sites", "id");
        let mut bulls = texts(root, "semen", "bull");
        if bulls.is_empty() && self.lacks(root, "", "semen_file") {
            bulls.push("bull".to_owned());
        }
        for (n, group) in entries(root, "groups") {
            self.put(group, "groups", "id", &json!(format!("group-{n}")), "");
            if let [only] = &sites[..] {
                self.put(group, "groups", "site", &json!(only), "");
            }
            let protocol = group.get("protocol").and_then(text);
            let protocol = protocol.and_then(|p| library.get(p));
            let class = protocol.map(|p| p.class);
            if let Some(class) = class.filter(|c| *c != Class::Both) {
                self.put(group, "groups", "class", &json!(class), "");
            }
            if !bulls.is_empty() {
                self.put(group, "groups", "bulls", &json!(bulls), BULLS);
            }
            if let Some(day) = group.get("start").and_then(text).and_then(parse_date) {
                let hour = protocol.map_or(7, hour_for_morning_breeding);
                group.set("start", &Json::Null);
                let start = json!(format!("{day}T{hour:02}:00"));
                self.put(group, "groups", "start", &start, START);
            }
        }
    }

    fn crew(&mut self, root: &mut Node) {
        for (n, who) in entries(root, "crew") {
            let id = format!("technician-{n}");
            self.put(who, "crew", "id", &json!(id), "");
            let paced = !self.lacks(who, "crew", "minutes_per_cow");
            if !paced && self.put(who, "crew", "cows_per_hour", &json!(PACE.0), PACE.1) {
                // Nothing else is said of such a person's hours; where `crew` is written out, it is known.
                let day = json!([{"from": SHIFT.0, "to": SHIFT.1}]);
                self.put(who, "crew", "shifts", &day, SHIFTS);
            }
        }
    }

    /// Straws that nobody has counted are as many as could be needed.
    fn straws(&mut self, root: &mut Node) {
        let mut may: BTreeMap<String, i64> = BTreeMap::new();
        let mut order = Vec::new();
        for (_, group) in entries(root, "groups") {
            let Some(Value::Int(head)) = group.get("head").map(|h| &h.value) else {
                continue;
            };
            for bull in group.get("bulls").into_iter().flat_map(listed) {
                order.push(bull.to_owned());
                let sum = may.entry(bull.to_owned()).or_default();
                *sum = sum.saturating_add(*head);
            }
        }
        let enough = |bull: &str| {
            may.get(bull)
                .map_or(0, |n| n.saturating_mul(2).clamp(0, 100_000))
        };
        if !order.is_empty() && self.lacks(root, "", "semen") && self.lacks(root, "", "semen_file")
        {
            let mut seen = BTreeSet::new();
            order.retain(|b| seen.insert(b.clone()));
            let each = order
                .iter()
                .map(|b| json!({"bull": b, "straws": enough(b)}));
            let all: Vec<Json> = each.collect();
            self.put(root, "", "semen", &json!(all), STRAWS);
            self.bulls.extend(order);
            return;
        }
        for (_, semen) in entries(root, "semen") {
            let Some(bull) = semen.get("bull").and_then(text).map(str::to_owned) else {
                continue;
            };
            if self.put(semen, "semen", "straws", &json!(enough(&bull)), STRAWS) {
                self.bulls.insert(bull);
            }
        }
    }
}

/// The hour of the day, of those at which cattle are worked, from which breeding comes nearest to 8:00.
fn hour_for_morning_breeding(protocol: &Protocol) -> i64 {
    let step = protocol
        .breeding_step()
        .and_then(|n| protocol.nominal_offsets().get(n).copied());
    let bred = step.map_or(0, |after| after.num_minutes());
    let off = |hour: &i64| ((hour * 60 + bred) % (24 * 60) - 8 * 60).abs();
    (6..=18).min_by_key(off).unwrap_or(7)
}

/// The entries of a list, each with its number from 1.
fn entries<'a>(
    root: &'a mut Node,
    list: &'static str,
) -> impl Iterator<Item = (usize, &'a mut Node)> + use<'a> {
    let items = match root.get_mut(list).map(|n| &mut n.value) {
        Some(Value::List(items)) => &mut items[..],
        _ => &mut [],
    };
    let items = items.iter_mut().enumerate();
    items.map(|(n, item)| (n + 1, item))
}

/// The texts under a key of the entries of a list, each once.
fn texts(root: &Node, list: &str, key: &str) -> Vec<String> {
    let Some(Value::List(items)) = root.get(list).map(|n| &n.value) else {
        return Vec::new();
    };
    let mut seen = BTreeSet::new();
    let found = items.iter().filter_map(|item| text(item.get(key)?));
    let found = found.filter(|t| seen.insert(*t));
    found.map(str::to_owned).collect()
}

fn text(node: &Node) -> Option<&str> {
    match &node.value {
        Value::Text(t) => Some(t),
        _ => None,
    }
}

/// The texts of a list, or the one that stands in its place.
fn listed(node: &Node) -> Vec<&str> {
    match &node.value {
        Value::List(items) => items.iter().filter_map(text).collect(),
        _ => text(node).into_iter().collect(),
    }
}
