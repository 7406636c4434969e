//! Values set in a YAML text, with everything else left as it is: comments, order and spaces.

use super::{Node, Spot, Tree, Value};
use crate::base::error::{Code, Finding, quoted};

/// Keys of a map to be set, and the key that they go in front of where they are not there yet.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Setting {
    /// The map: an item of a list of the file, such as `groups[1]`.
    pub holder: String,
    /// Keys and their values: plain words, such as ids and dates.
    pub values: Vec<(&'static str, String)>,
    /// A key that the map has.
    pub before: &'static str,
    /// Keys that the map loses with their values, where it has them.
    pub gone: &'static [&'static str],
}

/// A piece of the text in place of another.
struct Patch {
    from: usize,
    to: usize,
    text: String,
}

/// Sets the values in the text of a tree. What comes out is read again: it differs from the
/// tree in these values and in nothing else.
///
/// # Errors
/// A finding where the text is written in a way that cannot be changed safely.
pub fn set(text: &str, tree: &Tree, settings: &[Setting]) -> Result<String, Finding> {
    let mut text = text.to_owned();
    let mut wanted = tree.root().clone();
    let mut now = None;
    for setting in settings {
        for (key, value) in &setting.values {
            put(&mut wanted, &setting.holder, key, value);
        }
        if let Some(Value::Map(entries)) = wanted.item_mut(&setting.holder).map(|n| &mut n.value) {
            entries.retain(|(k, _)| !setting.gone.contains(&k.name.as_str()));
        }
        let current = now.as_ref().unwrap_or(tree);
        let done = [true, false].into_iter().find_map(|block| {
            let mut patches = patches(&text, current, setting, block)?;
            patches.extend(gaps(&text, current, setting)?);
            let changed = apply(&text, patches);
            let read = Tree::parse(tree.file(), changed.as_bytes()).ok()?;
            same(read.root(), &wanted).then_some((changed, read))
        });
        let Some((changed, read)) = done else {
            return Err(by_hand(tree, setting));
        };
        text = changed;
        now = Some(read);
    }
    Ok(text)
}

fn by_hand(tree: &Tree, setting: &Setting) -> Finding {
    let values = setting.values.iter();
    let lines: Vec<String> = values.map(|(k, v)| format!("`{k}: {v}`")).collect();
    let has = |key: &&&str| tree.has(&format!("{}.{key}", setting.holder));
    let gone = setting.gone.iter().filter(has);
    let gone = gone.map(|key| format!(", and take `{key}` out"));
    let gone = gone.collect::<Vec<_>>().concat();
    let holder = quoted(&setting.holder);
    let what = format!("{holder} is written in a way that cannot be changed without changing more");
    Finding::error(Code::WriteUnsure, what)
        .at(tree.place(&setting.holder))
        .expected("keys and values written out, without `&`, `*` or `<<`")
        .hint(format!("write {} there by hand{gone}", lines.join(" and ")))
}

/// The values, whatever their spots and the order of keys.
fn same(a: &Node, b: &Node) -> bool {
    a.to_json() == b.to_json()
}

fn put(root: &mut Node, holder: &str, key: &str, value: &str) {
    let Some(node) = root.item_mut(holder) else {
        return;
    };
    let spot = node.spot;
    if let Value::Map(entries) = &mut node.value {
        let text = Node {
            spot,
            value: Value::Text(value.to_owned()),
        };
        if let Some((_, old)) = entries.iter_mut().find(|(k, _)| k.name == key) {
            *old = text;
        } else {
            let name = key.to_owned();
            entries.push((super::Key { spot, name }, text));
        }
    }
}

/// What to change: values that are there are replaced; the others are put on lines of their own
/// (`block`), or into the line.
fn patches(text: &str, tree: &Tree, setting: &Setting, block: bool) -> Option<Vec<Patch>> {
    let holder = tree.root().at(&setting.holder)?;
    let Value::Map(entries) = &holder.value else {
        return None;
    };
    let mut found = Vec::new();
    let mut new = Vec::new();
    for (key, value) in &setting.values {
        match entries.iter().find(|(k, _)| k.name == *key) {
            Some((_, node)) => {
                let from = offset(text, node.spot)?;
                let to = from + length(&text[from..])?;
                let text = value.clone();
                found.push(Patch { from, to, text });
            }
            None => new.push((key, value)),
        }
    }
    let (before, _) = entries.iter().find(|(k, _)| k.name == setting.before)?;
    let at = offset(text, before.spot)?;
    let line = &text[..at].rsplit('\n').next()?;
    // A list's dash stands for as many blanks.
    let indent = " ".repeat(line.chars().count());
    let end = if text.contains("\r\n") { "\r\n" } else { "\n" };
    let behind = if block {
        format!("{end}{indent}")
    } else {
        ", ".to_owned()
    };
    let lines = new.iter().map(|(k, v)| format!("{k}: {v}{behind}"));
    let text = lines.collect::<Vec<_>>().concat();
    let (from, to) = (at, at);
    found.push(Patch { from, to, text });
    Some(found)
}

/// Takes out each key that goes: up to the next key; the last one from the end of what stands before it.
fn gaps(text: &str, tree: &Tree, setting: &Setting) -> Option<Vec<Patch>> {
    let Value::Map(entries) = &tree.root().at(&setting.holder)?.value else {
        return None;
    };
    let all = entries.iter().enumerate();
    let gone = all.filter(|(_, (k, _))| setting.gone.contains(&k.name.as_str()));
    gone.map(|(n, (key, value))| {
        let from = offset(text, key.spot)?;
        let (from, to) = if let Some((next, _)) = entries.get(n + 1) {
            (from, offset(text, next.spot)?)
        } else {
            let value = offset(text, value.spot)?;
            let before = text[..from].trim_end_matches([' ', '\r', '\n', ',']);
            (before.len(), value + length(&text[value..])?)
        };
        // A comment may be about what stays.
        let bare = !text[from..to].contains('#');
        let text = String::new();
        bare.then_some(Patch { from, to, text })
    })
    .collect()
}

fn apply(text: &str, mut patches: Vec<Patch>) -> String {
    patches.sort_by_key(|p| std::cmp::Reverse((p.from, p.to)));
    let mut text = text.to_owned();
    for p in patches {
        text.replace_range(p.from..p.to, &p.text);
    }
    text
}

/// The place of a spot in the text, in bytes.
fn offset(text: &str, spot: Spot) -> Option<usize> {
    let mut start = 0;
    for _ in 1..spot.line {
        start += text[start..].find('\n')? + 1;
    }
    let mut letters = text[start..].char_indices();
    let (at, _) = letters.nth(spot.column.checked_sub(1)? as usize)?;
    Some(start + at)
}

/// Bytes of the scalar that the text begins with, or of the list in brackets of plain scalars.
fn length(text: &str) -> Option<usize> {
    match text.chars().next()? {
        '[' => text.find(']').map(|n| n + 1),
        '-' if text[1..].starts_with(char::is_whitespace) => None,
        '"' => {
            let mut escaped = false;
            let end = text.char_indices().skip(1).find(|(_, c)| {
                let closes = *c == '"' && !escaped;
                escaped = *c == '\\' && !escaped;
                closes
            });
            end.map(|(n, _)| n + 1)
        }
        '\'' => {
            let mut rest = 1;
            loop {
                rest += text[rest..].find('\'')? + 1;
                if !text[rest..].starts_with('\'') {
                    return Some(rest);
                }
                rest += 1;
            }
        }
        _ => {
            let end = text.find([',', '}', ']', '\n']).unwrap_or(text.len());
            let line = &text[..end];
            let line = line.find(" #").map_or(line, |n| &line[..n]);
            Some(line.trim_end().len())
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn setting(n: usize) -> Setting {
        Setting {
            holder: format!("groups[{n}]"),
            values: vec![
                ("protocol", "cow-co-synch".into()),
                ("start", "2027-05-17T14:00".into()),
            ],
            before: "wishes",
            gone: &["late"],
        }
    }

    fn edited(text: &str, which: &[usize]) -> Result<String, Finding> {
        let tree = Tree::parse("f", text.as_bytes()).unwrap();
        let settings: Vec<Setting> = which.iter().map(|n| setting(*n)).collect();
        set(text, &tree, &settings)
    }

    #[test]
    fn comments_and_forms_stay() {
        let text = "# top\ngroups:\n  - id: a  # first\n    # wanted\n    wishes: {x: 1}  # w\n  - {id: b, wishes: {x: 2}}\n  - wishes:\n      x: 3\n    id: c\n";
        let out = edited(text, &[0, 1, 2]).unwrap();
        assert_eq!(
            out,
            "# top\ngroups:\n  - id: a  # first\n    # wanted\n    protocol: cow-co-synch\n    start: 2027-05-17T14:00\n    wishes: {x: 1}  # w\n  - {id: b, protocol: cow-co-synch, start: 2027-05-17T14:00, wishes: {x: 2}}\n  - protocol: cow-co-synch\n    start: 2027-05-17T14:00\n    wishes:\n      x: 3\n    id: c\n"
        );
    }

    #[test]
    fn what_is_there_is_replaced() {
        for old in ["other", "\"ot\\\"her\"", "'it''s'", "other  # why"] {
            let text = format!(
                "groups:\n- id: a\n  protocol: {old}\n  wishes: {{x: 1}}\n  start: \"2027-01-01 05:00\"\n"
            );
            let out = edited(&text, &[0]).unwrap();
            let why = if old.contains('#') { "  # why" } else { "" };
            assert_eq!(
                out,
                format!(
                    "groups:\n- id: a\n  protocol: cow-co-synch{why}\n  wishes: {{x: 1}}\n  start: 2027-05-17T14:00\n"
                )
            );
        }
    }

    #[test]
    fn line_ends_and_wide_letters_stay() {
        let text = "groups:\r\n  - {id: ä€, name: 'ö, }', wishes: {x: 1}}\r\n  - id: b\r\n    wishes: {x: 1}\r\n";
        let out = edited(text, &[0, 1]).unwrap();
        for part in [
            "name: 'ö, }', protocol: cow-co-synch, start: 2027-05-17T14:00, wishes",
            "\r\n    protocol: cow-co-synch\r\n    start: 2027-05-17T14:00\r\n    wishes",
        ] {
            assert!(out.contains(part), "{out}");
        }
        assert!(!out.replace("\r\n", "").contains('\n'));
    }

    #[test]
    fn keys_go_with_their_values() {
        let set = "protocol: cow-co-synch";
        let at = "start: 2027-05-17T14:00";
        // Before and after, with `SET` and `AT` for what is set: nothing where it is left to people.
        for case in [
            "- id: a\n  late: [1, 2]\n  wishes: 1\n|- id: a\n  SET\n  AT\n  wishes: 1\n",
            "- late: 5\n  # w\n  wishes: 1\n|",
            "- late: 5\n  wishes: 1\n|- SET\n  AT\n  wishes: 1\n",
            "- wishes: 1  # w\n  late:\n    - 1\n    - 2\n  id: a\n|- SET\n  AT\n  wishes: 1  # w\n  id: a\n",
            "- wishes: 1  # w\n  late: '5'\n# end\n|- SET\n  AT\n  wishes: 1  # w\n# end\n",
            "- {late: 5, wishes: 1}\n|- {SET, AT, wishes: 1}\n",
            "- {wishes: 1, late: [5]}\n|- {SET, AT, wishes: 1}\n",
            "- wishes: 1\n  late:\n    - 1\n|",
        ] {
            let (before, after) = case.split_once('|').unwrap();
            let after = after.replace("SET", set).replace("AT", at);
            match edited(&format!("groups:\n{before}"), &[0]) {
                Ok(out) => assert_eq!(out, format!("groups:\n{after}")),
                // A comment may belong to what stays, and a list may end anywhere.
                Err(fault) => {
                    assert!(after.is_empty(), "{before}: {fault}");
                    let hint = fault.hint.unwrap();
                    assert!(hint.ends_with("by hand, and take `late` out"));
                }
            }
        }
    }

    #[test]
    fn an_alias_is_left_to_people() {
        let text = "groups:\n  - &a {id: a, wishes: {x: 1}}\n  - *a\n";
        let fault = edited(text, &[1]).unwrap_err();
        assert_eq!(fault.code, Code::WriteUnsure);
        assert!(fault.hint.unwrap().contains("start: 2027-05-17T14:00"));
    }
}
