//! What a document comes to on paper: blocks out of the sections that only hold them together, and their
//! words in pieces of one face.

use std::borrow::Cow;

use super::letters::Face;
use crate::output::document::{
    Block, Cell, Drawing, Hold, Item, Kind, Line, ListKind, Role, Section, Span, Style, Table,
};

/// What a line is made of.
#[derive(Clone, Debug, PartialEq)]
pub(super) enum Piece {
    /// Words.
    Text(Face, String),
    /// A box to tick.
    Tick,
    /// The line ends here.
    Break,
}

/// A part of the sheets, from the top down.
#[derive(Clone, Debug, PartialEq)]
pub(super) enum Part<'a> {
    /// A heading, 1 the highest, with the anchor that lists of contents name.
    Heading {
        level: u8,
        text: Vec<Piece>,
        anchor: Option<&'a str>,
    },
    /// A paragraph; small for what is read at a desk.
    Paragraph { text: Vec<Piece>, small: bool },
    /// A line of the contents, which ends in the page of its anchor.
    Entry { text: Vec<Piece>, anchor: &'a str },
    /// A list.
    List(ListKind, &'a [Item]),
    /// A table.
    Table(&'a Table),
    /// A drawing.
    Drawing(Cow<'a, Drawing>),
    /// Blocks in a frame.
    Framed(&'a [Block]),
    /// Blocks under a rule, kept on one sheet if they fill little of it.
    Card(&'a [Block]),
    /// Parts kept on one sheet if they fill little of it.
    Whole(Vec<Part<'a>>),
    /// What follows begins on a new sheet.
    Sheet,
    /// From here on the foot of the sheet tells this day; none if it is empty.
    Day(String),
}

/// The parts of some blocks.
pub(super) fn parts(blocks: &[Block]) -> Vec<Part<'_>> {
    let mut found = Vec::new();
    for block in blocks {
        one(block, &mut found);
    }
    found
}

fn says_something(text: &[Piece]) -> bool {
    text.iter().any(|p| match p {
        Piece::Text(_, t) => !t.trim().is_empty(),
        Piece::Tick => true,
        Piece::Break => false,
    })
}

fn one<'a>(block: &'a Block, found: &mut Vec<Part<'a>>) {
    match block {
        Block::Heading(h) => {
            let mut text = Vec::new();
            if h.tick {
                text.push(Piece::Tick);
            }
            pieces(&h.line, Face::Bold, &mut text);
            if says_something(&text) {
                found.push(Part::Heading {
                    level: h.level,
                    text,
                    anchor: h.id.as_deref(),
                });
            }
        }
        Block::Paragraph(role, line) => paragraph(*role, line, found),
        Block::Text(line) => paragraph(Role::Plain, line, found),
        Block::Section(s) => section(s, found),
        Block::List(ListKind::Days, items) => found.extend(items.iter().filter_map(entry)),
        Block::List(kind, items) => {
            if items.iter().any(|i| !parts(&i.blocks).is_empty()) {
                found.push(Part::List(*kind, items));
            }
        }
        Block::Terms(_, terms) => {
            for term in terms {
                let mut text = words(&term.name, Face::Bold);
                text.push(Piece::Text(Face::Bold, ": ".to_owned()));
                pieces(&term.said, Face::Regular, &mut text);
                found.push(Part::Paragraph { text, small: false });
                found.extend(parts(&term.more));
            }
        }
        Block::Table(t) => found.push(Part::Table(t)),
        Block::Bars(bars) => found.push(Part::Drawing(Cow::Owned(Drawing::of_bars(bars)))),
        Block::Drawing(d) => found.push(Part::Drawing(Cow::Borrowed(d))),
    }
}

fn paragraph(role: Role, line: &Line, found: &mut Vec<Part<'_>>) {
    let face = match role {
        Role::Label | Role::Where | Role::Lead => Face::Bold,
        _ => Face::Regular,
    };
    let text = words(line, face);
    if says_something(&text) {
        let small = matches!(role, Role::Small | Role::Soft | Role::SmallSoft);
        found.push(Part::Paragraph { text, small });
    }
}

fn section<'a>(s: &'a Section, found: &mut Vec<Part<'a>>) {
    match s.kind {
        Kind::Card | Kind::Session => found.push(Part::Card(&s.blocks)),
        Kind::Verdict(_) => found.push(Part::Framed(&s.blocks)),
        Kind::Day => day(s, found),
        Kind::Sheet => {
            found.push(Part::Sheet);
            found.extend(parts(&s.blocks));
        }
        Kind::Part | Kind::GoingOn | Kind::Contents | Kind::Wide(_) | Kind::Rows => {
            found.extend(parts(&s.blocks));
        }
    }
}

/// A day: one with a session has sheets of its own, others follow each other.
fn day<'a>(s: &'a Section, found: &mut Vec<Part<'a>>) {
    let mut inner = parts(&s.blocks);
    let session = holds_table(&s.blocks);
    if session {
        found.push(Part::Sheet);
    }
    if let Some(Part::Heading { text, anchor, .. }) = inner.first_mut() {
        found.push(Part::Day(plain(text)));
        *anchor = s.id.as_deref();
    }
    if session {
        found.extend(inner);
        found.push(Part::Sheet);
    } else {
        found.push(Part::Whole(inner));
    }
    found.push(Part::Day(String::new()));
}

fn holds_table(blocks: &[Block]) -> bool {
    blocks.iter().any(|b| match b {
        Block::Table(_) => true,
        Block::Section(s) => holds_table(&s.blocks),
        _ => false,
    })
}

/// The words alone.
pub(super) fn plain(text: &[Piece]) -> String {
    let words = text.iter().map(|p| match p {
        Piece::Text(_, t) => t.as_str(),
        Piece::Tick => "",
        Piece::Break => " ",
    });
    let words: String = words.collect();
    words.split_whitespace().collect::<Vec<_>>().join(" ")
}

/// A line of the contents: the first way that it names.
fn entry(item: &Item) -> Option<Part<'_>> {
    let Block::Text(line) = item.blocks.first()? else {
        return None;
    };
    let Span::Link(anchor, named) = line.0.first()? else {
        return None;
    };
    let text = words(named, Face::Regular);
    Some(Part::Entry { text, anchor })
}

/// What stands in a cell; `heads` for the name of a row or a column.
pub(super) fn cell(c: &Cell, heads: bool) -> Vec<Piece> {
    let face = if heads { Face::Bold } else { Face::Regular };
    let mut text = Vec::new();
    if c.tick {
        text.push(Piece::Tick);
    }
    for line in &c.lines {
        pieces(line, face, &mut text);
        if c.hold == Hold::Entries {
            text.push(Piece::Break);
        }
    }
    while text.last() == Some(&Piece::Break) {
        text.pop();
    }
    text
}

/// A line's words.
pub(super) fn words(line: &Line, face: Face) -> Vec<Piece> {
    let mut found = Vec::new();
    pieces(line, face, &mut found);
    found
}

/// The same, each with its face, behind others.
fn pieces(line: &Line, face: Face, found: &mut Vec<Piece>) {
    for span in &line.0 {
        match span {
            Span::Text(words) | Span::Time(_, words) => {
                found.push(Piece::Text(face, words.clone()));
            }
            Span::Tick => found.push(Piece::Tick),
            Span::Break => found.push(Piece::Break),
            // A box to tick with its words is not torn apart.
            Span::Styled(Style::Box, inner) => {
                found.push(Piece::Tick);
                let words = inner.plain().replace(' ', "\u{a0}");
                found.push(Piece::Text(face, words));
            }
            Span::Styled(Style::Strong | Style::Clock | Style::Figure | Style::Word, inner) => {
                pieces(inner, Face::Bold, found);
            }
            Span::Styled(_, inner) | Span::Link(_, inner) => pieces(inner, face, found),
        }
    }
}
