//! Components and content lines (RFC 5545, sections 3.1 and 3.4).
//!
//! The `icalendar` crate writes values, parameters and escapes. Components are framed and lines
//! are folded here: the crate gives VTIMEZONE and VALARM a random UID and the clock's DTSTAMP,
//! and its folding lets a last line run to 76 octets.

use icalendar::{Component as _, Event, EventLike as _, Property};

use crate::base::error::is_hidden;

/// The most octets of a line, without its CRLF (RFC 5545, section 3.1).
pub(super) const MOST_OCTETS: usize = 75;

/// A content line: made here, or taken over from an earlier file.
#[derive(Clone, Debug)]
enum Line {
    Made(Box<Property>),
    Kept(String),
}

/// A component: its properties in the order given, then its parts.
#[derive(Clone, Debug)]
pub(super) struct Component {
    kind: &'static str,
    lines: Vec<Line>,
    parts: Vec<Component>,
}

impl Component {
    pub(super) fn new(kind: &'static str) -> Self {
        Self {
            kind,
            lines: Vec::new(),
            parts: Vec::new(),
        }
    }

    /// Adds a property whose value holds no text from people, or is already made safe.
    pub(super) fn with(mut self, property: Property) -> Self {
        self.lines.push(Line::Made(Box::new(property)));
        self
    }

    /// Adds an unfolded content line of an earlier file, which holds no control characters.
    pub(super) fn kept(mut self, line: &str) -> Self {
        self.lines.push(Line::Kept(line.to_owned()));
        self
    }

    /// Adds a property of type TEXT.
    pub(super) fn text(self, name: &str, text: &str) -> Self {
        self.with(Property::new(name, plain(text)))
    }

    /// Adds a part.
    pub(super) fn part(mut self, part: Self) -> Self {
        self.parts.push(part);
        self
    }

    /// The component as it stands in a file.
    pub(super) fn to_text(&self) -> String {
        let mut out = String::new();
        self.write(&mut out);
        out
    }

    fn write(&self, out: &mut String) {
        fold(&format!("BEGIN:{}", self.kind), out);
        for one in &self.lines {
            match one {
                Line::Made(property) => fold(&line(property), out),
                Line::Kept(text) => fold(text, out),
            }
        }
        for part in &self.parts {
            part.write(out);
        }
        fold(&format!("END:{}", self.kind), out);
    }
}

/// Text that stays one value: line ends become the one that the crate escapes (it leaves a bare
/// CR alone), and what could end a line or turn the reading direction becomes a space.
pub(super) fn plain(text: &str) -> String {
    text.replace("\r\n", "\n")
        .chars()
        .map(|c| match c {
            '\n' | '\r' => '\n',
            c if is_hidden(c) => ' ',
            c => c,
        })
        .collect()
}

/// CATEGORIES: a list, each item escaped on its own (RFC 5545, section 3.8.1.2).
pub(super) fn categories(items: &[&str]) -> Property {
    let mut event = Event::new();
    event.categories(items.iter().map(|i| plain(i)));
    let mut lists = event.multi_properties().values().flatten();
    lists.next().cloned().expect("one list was added")
}

/// The whole content line of a property, unfolded and without its CRLF.
fn line(property: &Property) -> String {
    let folded: String = property
        .clone()
        .try_into()
        .expect("writing to a string does not fail");
    let mut line = folded.replace("\r\n ", "");
    line.truncate(line.trim_end_matches("\r\n").len());
    line
}

/// Writes a line, folded between characters so that no piece is longer than [`MOST_OCTETS`].
fn fold(line: &str, out: &mut String) {
    let mut room = MOST_OCTETS;
    for c in line.chars() {
        if c.len_utf8() > room {
            out.push_str("\r\n ");
            // The space that marks a continued line counts.
            room = MOST_OCTETS - 1;
        }
        out.push(c);
        room -= c.len_utf8();
    }
    out.push_str("\r\n");
}

/// How the maker of a file is named, whatever the version.
pub(super) const PRODUCT: &str = "-//Thawline//Thawline ";

/// Names the maker of the file (RFC 5545, section 3.7.3).
pub(super) const PRODID: &str =
    concat!("-//Thawline//Thawline ", env!("CARGO_PKG_VERSION"), "//EN");

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    /// What a reader does: joins folded lines, then undoes the escapes (section 3.3.11).
    fn read_back(file: &str, name: &str) -> Option<String> {
        let whole = file.replace("\r\n ", "");
        let value = whole
            .split("\r\n")
            .find_map(|l| l.strip_prefix(&format!("{name}:")))?;
        let mut out = String::new();
        let mut chars = value.chars();
        while let Some(c) = chars.next() {
            match c {
                '\\' => match chars.next()? {
                    'n' | 'N' => out.push('\n'),
                    c @ ('\\' | ';' | ',') => out.push(c),
                    _ => return None,
                },
                // Bare commas and semicolons would split the value.
                ';' | ',' => return None,
                c => out.push(c),
            }
        }
        Some(out)
    }

    fn event(text: &str) -> String {
        Component::new("VEVENT").text("SUMMARY", text).to_text()
    }

    fn assert_lines(file: &str) {
        assert!(file.ends_with("\r\n"));
        assert!(!file.replace("\r\n", "").contains(['\r', '\n']));
        for line in file.split("\r\n") {
            assert!(line.len() <= MOST_OCTETS, "{} octets: {line}", line.len());
        }
    }

    #[test]
    fn lines_fold_at_75_octets_and_not_within_a_character() {
        // `SUMMARY:` and 67 letters are 75 octets; each continued line holds 74.
        for (letters, lines) in [(67, 1), (68, 2), (141, 2), (142, 3), (215, 3), (216, 4)] {
            let file = event(&"x".repeat(letters));
            assert_lines(&file);
            assert_eq!(file.split("\r\n").count(), lines + 3, "{letters}");
        }
        let long = "Nordstrøm · Färse 🐂 牛 ".repeat(40);
        let file = event(&long);
        assert_lines(&file);
        assert_eq!(read_back(&file, "SUMMARY").as_deref(), Some(long.as_str()));
    }

    /// A bare carriage return is a line end like any other; what other readers take for one becomes a space.
    #[test]
    fn line_ends_are_told_apart() {
        for (text, told) in [
            ("a\rb\r\nc\nd", "a\\nb\\nc\\nd"),
            (
                "a\u{2028}b\u{85}c\u{b}d\u{c}e\u{1e}f\u{0}g",
                "a b c d e f g",
            ),
        ] {
            let whole = format!("BEGIN:VEVENT\r\nSUMMARY:{told}\r\nEND:VEVENT\r\n");
            assert_eq!(event(text), whole);
        }
    }

    #[test]
    fn text_stays_in_its_value() {
        let hostile = "END:VEVENT\r\nBEGIN:VEVENT\nSUMMARY:x;y,z\\n\\";
        let file = event(hostile);
        assert_lines(&file);
        assert_eq!(file.matches("\r\nBEGIN").count(), 0);
        assert_eq!(read_back(&file, "SUMMARY"), Some(plain(hostile)));
    }

    #[test]
    fn categories_are_a_list_and_parameters_come_in_order() {
        let list = categories(&["Chute work", "Barn, north; \\ \n:x"]);
        let told = r"CATEGORIES:Chute work,Barn\, north\; \\ \n:x";
        assert_eq!(line(&list), told);
        let start = Property::new("DTSTART", "20270518T050000")
            .add_parameter("VALUE", "DATE-TIME")
            .add_parameter("TZID", "America/Denver")
            .done();
        let told = "DTSTART;TZID=America/Denver;VALUE=DATE-TIME:20270518T050000";
        assert_eq!(line(&start), told);
    }

    proptest! {
        #[test]
        fn any_text_comes_back(text in prop_oneof![
            "(?s).{0,300}",
            "[\r\n;,:\\\\\"n N牛🐂=BEGIND]{0,400}",
        ]) {
            let file = event(&text);
            assert_lines(&file);
            prop_assert_eq!(read_back(&file, "SUMMARY"), Some(plain(&text)));
        }
    }
}
