//! The pages' own markup read back as a tree: paper says word for word what the page says.
//!
//! Only markup that this program made is read, so the little that HTML allows beyond XML is two
//! things: elements that are never closed, and attributes without a value.
//!
//! A model between page and paper would hold the same tree under other names, and a second set of
//! sentences would drift. What does not close is a fault of the program, and never reaches a file.

use std::borrow::Cow;

use quick_xml::Reader;
use quick_xml::escape::unescape;
use quick_xml::events::{BytesStart, Event};

/// Elements that have no end.
const NEVER_CLOSED: [&str; 2] = ["br", "meta"];

/// Text, or an element.
#[derive(Clone, Debug, PartialEq)]
pub(super) enum Node {
    /// Text, its character references resolved.
    Text(String),
    /// An element with what is in it.
    Element(Element),
}

/// An element.
#[derive(Clone, Debug, Default, PartialEq)]
pub(super) struct Element {
    /// Its name.
    pub(super) name: String,
    attributes: Vec<(String, String)>,
    /// What is in it, in order.
    pub(super) children: Vec<Node>,
}

impl Element {
    /// The value of an attribute.
    pub(super) fn attribute(&self, name: &str) -> Option<&str> {
        let found = self.attributes.iter().find(|(n, _)| n == name);
        found.map(|(_, value)| value.as_str())
    }

    /// True if it is of this class.
    pub(super) fn is_of(&self, class: &str) -> bool {
        let classes = self.attribute("class").unwrap_or_default();
        classes.split(' ').any(|c| c == class)
    }

    /// The elements in it, without text between them.
    pub(super) fn elements(&self) -> impl Iterator<Item = &Element> {
        self.children.iter().filter_map(|n| match n {
            Node::Element(e) => Some(e),
            Node::Text(_) => None,
        })
    }

    /// True if an element of this name is somewhere in it.
    pub(super) fn holds(&self, name: &str) -> bool {
        self.elements().any(|e| e.name == name || e.holds(name))
    }

    /// Changes every text in it.
    pub(super) fn each_text(&mut self, change: &mut dyn FnMut(&mut String)) {
        for child in &mut self.children {
            match child {
                Node::Text(text) => change(text),
                Node::Element(element) => element.each_text(change),
            }
        }
    }
}

/// The tree of some markup, under one element without a name.
///
/// # Errors
/// In words, what is no markup of ours.
pub(super) fn read(markup: &str) -> Result<Element, String> {
    let mut reader = Reader::from_str(markup);
    reader.config_mut().check_end_names = false;
    reader.config_mut().allow_unmatched_ends = true;
    let mut open = vec![Element::default()];
    loop {
        match reader.read_event().map_err(|e| e.to_string())? {
            Event::Start(start) => {
                let element = begun(&start)?;
                if NEVER_CLOSED.contains(&element.name.as_str()) {
                    put(&mut open, Node::Element(element));
                } else {
                    open.push(element);
                }
            }
            Event::Empty(start) => put(&mut open, Node::Element(begun(&start)?)),
            Event::End(end) => {
                let name = end.name();
                let name = name.as_ref();
                if NEVER_CLOSED.contains(&name) {
                    continue;
                }
                match open.pop() {
                    Some(element) if !open.is_empty() && element.name == name => {
                        put(&mut open, Node::Element(element));
                    }
                    _ => return Err(format!("`{name}` ends that did not begin")),
                }
            }
            Event::Text(text) => put(&mut open, Node::Text(text.into_inner().into_owned())),
            Event::GeneralRef(reference) => {
                let written = format!("&{};", &*reference);
                let text = unescape(&written).map_err(|e| e.to_string())?;
                put(&mut open, Node::Text(text.into_owned()));
            }
            Event::Eof => break,
            _ => {}
        }
    }
    match (open.pop(), open.is_empty()) {
        (Some(root), true) => Ok(root),
        (Some(left), false) => Err(format!("`{}` does not end", left.name)),
        (None, _) => Err("nothing is there".to_owned()),
    }
}

/// Puts a node into the innermost open element; texts that meet become one.
fn put(open: &mut [Element], node: Node) {
    let Some(inner) = open.last_mut() else {
        return;
    };
    match (inner.children.last_mut(), node) {
        (Some(Node::Text(before)), Node::Text(more)) => before.push_str(&more),
        (_, node) => inner.children.push(node),
    }
}

fn begun(start: &BytesStart) -> Result<Element, String> {
    let mut attributes = Vec::new();
    for attribute in start.html_attributes() {
        let attribute = attribute.map_err(|e| e.to_string())?;
        let value: &str = &attribute.value;
        let value: Cow<str> = unescape(value).map_err(|e| e.to_string())?;
        attributes.push((attribute.key.as_ref().to_owned(), value.into_owned()));
    }
    Ok(Element {
        name: start.name().as_ref().to_owned(),
        attributes,
        children: Vec::new(),
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_tree_with_its_attributes_and_texts() {
        let root = read(r#"<p class="a b" hidden>1 &lt; 2<br>&amp; <b title="&quot;">x</b></p>"#);
        let root = root.unwrap();
        let p = root.elements().next().unwrap();
        assert!(p.is_of("a") && p.is_of("b") && !p.is_of("c"));
        assert_eq!(p.attribute("hidden"), Some(""));
        assert_eq!(p.children[0], Node::Text("1 < 2".to_owned()));
        assert_eq!(p.children[2], Node::Text("& ".to_owned()));
        let b = p.elements().nth(1).unwrap();
        assert_eq!(b.attribute("title"), Some("\""));
        assert!(p.holds("b") && !p.holds("i"));
    }

    #[test]
    fn what_does_not_close_is_told() {
        assert_eq!(read("<p>").unwrap_err(), "`p` does not end");
        assert!(read("<p></b>").is_err());
        assert!(read("</p>").is_err());
    }

    /// Names that try to be markup come back as the names they are.
    #[test]
    fn escaped_text_comes_back_as_it_was() {
        let bad = "<b>\"&amp;' \u{1f402}";
        let page = maud::html! { p title=(bad) { (bad) } }.into_string();
        let root = read(&page).unwrap();
        let p = root.elements().next().unwrap();
        assert_eq!(p.attribute("title"), Some(bad));
        assert_eq!(p.children, [Node::Text(bad.to_owned())]);
    }
}
