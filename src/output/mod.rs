//! The finished plan in the forms that people and programs read: one pure function and one file
//! a form. Nothing here computes; everything shown stands in the
//! [`crate::planning::plan::Plan`], in the herd reports of [`crate::trade::herd::summary`], or in what
//! [`crate::planning::choose`], [`crate::service::staffing`], [`crate::analysis::tank`], [`crate::analysis::forecast`] and [`crate::analysis::thaw`] found.

pub mod answer;
pub mod calendar;
pub mod chance;
pub mod choose;
pub mod dates;
#[cfg(test)]
mod demo;
pub mod document;
pub mod findings;
pub mod forecast;
pub mod glossary;
pub mod herd;
pub mod json;
pub mod library_page;
pub mod matings;
pub mod staffing;

pub mod page;
pub mod pdf;
pub mod plan_csv;
mod protocol_facts;
pub mod protocols;
pub mod supplies;
mod table;
pub mod tank;
pub mod text;
pub mod thaw;
pub mod thaw_page;

mod timeline;
mod times;

use textwrap::core::Word;

/// Columns of a terminal that every text fits in.
pub const COLUMNS: usize = 80;

/// A paragraph wrapped to the terminal, with the same indent on every line.
#[must_use]
pub fn wrapped(text: &str, first: &str, rest: &str) -> String {
    let at_spaces = at_spaces(COLUMNS);
    textwrap::fill(
        text,
        at_spaces.initial_indent(first).subsequent_indent(rest),
    )
}

/// Words between blanks; a time of day is one with its am or pm.
fn whole_words(line: &str) -> Box<dyn Iterator<Item = Word<'_>> + '_> {
    let mut ends: Vec<usize> = Vec::new();
    let mut end = 0;
    for word in textwrap::WordSeparator::AsciiSpace.find_words(line) {
        let before = line[..end].strip_suffix(' ').unwrap_or_default();
        let before = before.rsplit(' ').next().unwrap_or_default();
        if times::is_one_time(before, word.word) {
            ends.pop();
        }
        end += word.word.len() + word.whitespace.len();
        ends.push(end);
    }
    let mut start = 0;
    let word = move |end| Word::from(&line[std::mem::replace(&mut start, end)..end]);
    Box::new(ends.into_iter().map(word))
}

/// Dates, times and ids hold hyphens: they are copied whole or not at all.
fn at_spaces<'a>(wide: usize) -> textwrap::Options<'a> {
    textwrap::Options::new(wide)
        .word_separator(textwrap::WordSeparator::Custom(whole_words))
        .word_splitter(textwrap::WordSplitter::NoHyphenation)
}

/// `1 to 4, 7, 9 to 12` from numbers in rising order, with ` to ` between the ends of a run.
fn ranges(numbers: &[u32], between: &str) -> String {
    let runs = numbers.chunk_by(|a, b| a.checked_add(1) == Some(*b));
    let runs = runs.map(|run| match run {
        [only] => only.to_string(),
        _ => format!("{}{between}{}", run[0], run[run.len() - 1]),
    });
    runs.collect::<Vec<_>>().join(", ")
}

/// How the cows of a pen come to be bred. The season file has shorter words for it.
const fn order_words(order: crate::trade::season::Order) -> &'static str {
    use crate::trade::season::Order;
    match order {
        Order::Kept => "treatment order",
        Order::Mixed => "any order",
    }
}

/// `5 more head in the tightest pen, or a start up to 1 h later`: what is to spare where all are bred.
fn spare_words(s: &crate::planning::plan::Session) -> String {
    let head = format!("{} more head in the tightest pen", s.margin_head);
    let later = crate::base::units::human_minutes(s.margin_minutes);
    let later = format!("a start up to {later} later");
    match (s.margin_head > 0, s.margin_minutes > 0) {
        (true, true) => format!("{head}, or {later}"),
        (true, false) => head,
        (false, true) => later,
        (false, false) => "none".to_owned(),
    }
}

/// ` (3 sexed)` behind straws of a bull, where the plan says so.
fn sexed(straws: &crate::planning::plan::BullStraws) -> String {
    match straws.sexed_straws {
        Some(n) if n > 0 => format!(" ({n} sexed)"),
        _ => String::new(),
    }
}

/// Findings as a list; nothing where there are none.
fn remarks(findings: &[crate::planning::plan::Remark]) -> Option<document::Block> {
    use document::{Block, ListKind};
    let items = findings.iter().map(remark_item);
    let list = Block::List(ListKind::Plain, items.collect());
    (!findings.is_empty()).then(|| Block::part("findings", "Findings", vec![list]))
}

/// The same, of findings that are in no answer.
fn findings(found: &[crate::base::error::Finding]) -> Option<document::Block> {
    let found: Vec<_> = found.iter().map(From::from).collect();
    remarks(&found)
}

/// What is said of a finding: code and place, then what, expected and hint.
fn remark_lines(r: &crate::planning::plan::Remark) -> (String, [Option<String>; 3]) {
    let place = r.place.as_ref().map_or(String::new(), |p| format!(" {p}"));
    let expected = r.expected.as_ref().map(|text| format!("expected: {text}"));
    let hint = r.hint.as_ref().map(|text| format!("hint: {text}"));
    let head = format!("{} {}{place}", r.severity, r.code);
    (head, [Some(r.what.clone()), expected, hint])
}

/// A finding as an item of a list.
fn remark_item(r: &crate::planning::plan::Remark) -> document::Item {
    use document::{Block, Item};
    let (head, below) = remark_lines(r);
    let mut item = Item::text(head);
    let below = below.into_iter().flatten();
    item.blocks.extend(below.map(Block::paragraph));
    item.mark = mark(r.severity);
    item
}

/// How a finding is marked off.
fn mark(severity: crate::base::error::Severity) -> document::Remark {
    match severity {
        crate::base::error::Severity::Note => document::Remark::Note,
        _ => document::Remark::Warning,
    }
}

/// A finding's lines: code and place, then what, expected and hint, wrapped.
#[must_use]
pub fn remark(r: &crate::planning::plan::Remark) -> String {
    let (mut text, below) = remark_lines(r);
    // What goes on after the first of them stands further in.
    for (line, rest) in below.iter().zip(["  ", "    ", "    "]) {
        if let Some(line) = line {
            text = text + "\n" + &wrapped(line, "  ", rest);
        }
    }
    text
}
