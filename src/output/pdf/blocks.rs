//! What a document comes to on paper: what is set in one way, whatever it is.

use super::letters::Face;
use crate::output::document::{
    self, Drawing, Hold, Kind, Line, ListKind, Role, Row, Section, Span,
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
pub(super) enum Block {
    /// A heading, 1 the highest, with the anchor that lists of contents name.
    Heading {
        level: u8,
        text: Vec<Piece>,
        anchor: Option<String>,
    },
    /// A paragraph; small for what is read at a desk.
    Paragraph { text: Vec<Piece>, small: bool },
    /// A line of the contents, which ends in the page of its anchor.
    Entry { text: Vec<Piece>, anchor: String },
    /// A list.
    List(Vec<Item>),
    /// A table.
    Table(Table),
    /// A drawing.
    Drawing(Drawing),
    /// Blocks in a frame.
    Framed(Vec<Block>),
    /// Blocks under a rule, kept on one sheet if they fill little of it.
    Card(Vec<Block>),
    /// Blocks kept on one sheet if they fill little of it.
    Whole(Vec<Block>),
    /// What follows begins on a new sheet.
    Sheet,
    /// From here on the foot of the sheet tells this day; none if it is empty.
    Day(String),
}

/// An item of a list.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Item {
    /// What stands before it.
    pub(super) label: Label,
    pub(super) body: Vec<Block>,
}

/// What stands before an item.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Label {
    /// A box to tick.
    Tick,
    /// A bullet.
    Bullet,
    /// Nothing.
    None,
}

/// A table.
#[derive(Clone, Debug, Default, PartialEq)]
pub(super) struct Table {
    /// Its name, told above it if it is shown on the page.
    pub(super) caption: Vec<Piece>,
    pub(super) caption_shown: bool,
    /// Rows that come again on each sheet.
    pub(super) head: Vec<Vec<Cell>>,
    pub(super) rows: Vec<Vec<Cell>>,
}

/// A cell.
#[derive(Clone, Debug, Default, PartialEq)]
pub(super) struct Cell {
    /// True if it is the name of a row or a column.
    pub(super) heads: bool,
    pub(super) text: Vec<Piece>,
}

/// The blocks of a document.
pub(super) fn blocks(blocks: &[document::Block]) -> Vec<Block> {
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

fn one(block: &document::Block, found: &mut Vec<Block>) {
    match block {
        document::Block::Heading(h) => {
            let mut text = Vec::new();
            if h.tick {
                text.push(Piece::Tick);
            }
            pieces(&h.line, Face::Bold, &mut text);
            if says_something(&text) {
                found.push(Block::Heading {
                    level: h.level,
                    text,
                    anchor: h.id.clone(),
                });
            }
        }
        document::Block::Paragraph(role, line) => paragraph(*role, line, found),
        document::Block::Text(line) => paragraph(Role::Plain, line, found),
        document::Block::Section(s) => section(s, found),
        document::Block::List(ListKind::Days, items) => {
            found.extend(items.iter().filter_map(entry));
        }
        document::Block::List(kind, items) => list(*kind, items, found),
        document::Block::Terms(_, terms) => {
            for term in terms {
                let mut text = Vec::new();
                pieces(&term.name, Face::Bold, &mut text);
                text.push(Piece::Text(Face::Bold, ": ".to_owned()));
                pieces(&term.said, Face::Regular, &mut text);
                found.push(Block::Paragraph { text, small: false });
                found.extend(blocks(&term.more));
            }
        }
        document::Block::Table(t) => found.push(Block::Table(table(t))),
        document::Block::Bars(bars) => found.push(Block::Drawing(Drawing::of_bars(bars))),
        document::Block::Drawing(d) => found.push(Block::Drawing(d.clone())),
    }
}

fn paragraph(role: Role, line: &Line, found: &mut Vec<Block>) {
    let face = match role {
        Role::Label | Role::Where | Role::Lead => Face::Bold,
        _ => Face::Regular,
    };
    let mut text = Vec::new();
    pieces(line, face, &mut text);
    if says_something(&text) {
        let small = matches!(role, Role::Small | Role::Soft | Role::SmallSoft);
        found.push(Block::Paragraph { text, small });
    }
}

fn section(s: &Section, found: &mut Vec<Block>) {
    let inner = blocks(&s.blocks);
    match s.kind {
        Kind::Card | Kind::Session => found.push(Block::Card(inner)),
        Kind::Verdict(_) => found.push(Block::Framed(inner)),
        Kind::Day => day(s, inner, found),
        Kind::Sheet => {
            found.push(Block::Sheet);
            found.extend(inner);
        }
        Kind::Part | Kind::GoingOn | Kind::Contents | Kind::Wide(_) | Kind::Rows => {
            found.extend(inner);
        }
    }
}

/// A day: one with a session has sheets of its own, others follow each other.
fn day(s: &Section, mut inner: Vec<Block>, found: &mut Vec<Block>) {
    let session = holds_table(&s.blocks);
    if session {
        found.push(Block::Sheet);
    }
    if let Some(Block::Heading { text, anchor, .. }) = inner.first_mut() {
        found.push(Block::Day(plain(text)));
        anchor.clone_from(&s.id);
    }
    if session {
        found.extend(inner);
        found.push(Block::Sheet);
    } else {
        found.push(Block::Whole(inner));
    }
    found.push(Block::Day(String::new()));
}

fn holds_table(blocks: &[document::Block]) -> bool {
    blocks.iter().any(|b| match b {
        document::Block::Table(_) => true,
        document::Block::Section(s) => holds_table(&s.blocks),
        _ => false,
    })
}

/// The words alone.
pub(super) fn plain(text: &[Piece]) -> String {
    let words: String = text
        .iter()
        .map(|p| match p {
            Piece::Text(_, t) => t.as_str(),
            Piece::Tick => "",
            Piece::Break => " ",
        })
        .collect();
    words.split_whitespace().collect::<Vec<_>>().join(" ")
}

/// A line of the contents: the first way that it names.
fn entry(item: &document::Item) -> Option<Block> {
    let document::Block::Text(line) = item.blocks.first()? else {
        return None;
    };
    let Span::Link(to, words) = line.0.first()? else {
        return None;
    };
    let mut text = Vec::new();
    pieces(words, Face::Regular, &mut text);
    Some(Block::Entry {
        text,
        anchor: to.clone(),
    })
}

fn list(kind: ListKind, items: &[document::Item], found: &mut Vec<Block>) {
    let items = items.iter().map(|item| Item {
        label: match kind {
            ListKind::Bring | ListKind::Kit => Label::Tick,
            _ if item.tick => Label::Tick,
            ListKind::Plain | ListKind::Rows => Label::None,
            ListKind::Bullets | ListKind::Care | ListKind::Days => Label::Bullet,
        },
        body: blocks(&item.blocks),
    });
    let items: Vec<Item> = items.filter(|i| !i.body.is_empty()).collect();
    if !items.is_empty() {
        found.push(Block::List(items));
    }
}

fn table(t: &document::Table) -> Table {
    let mut caption = Vec::new();
    pieces(&t.caption.as_str().into(), Face::Bold, &mut caption);
    let over = t.over.iter().map(|line| {
        let mut text = Vec::new();
        pieces(line, Face::Bold, &mut text);
        vec![Cell { heads: true, text }]
    });
    let names = t.columns.iter().map(|c| cell(c, true));
    Table {
        caption,
        caption_shown: t.caption_shown,
        head: over.chain([names.collect()]).collect(),
        rows: t.parts.iter().flatten().map(row).collect(),
    }
}

fn row(r: &Row) -> Vec<Cell> {
    r.cells.iter().map(|c| cell(c, c.heads)).collect()
}

fn cell(c: &document::Cell, heads: bool) -> Cell {
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
    Cell { heads, text }
}

/// A line's words, each with its face.
fn pieces(line: &Line, face: Face, found: &mut Vec<Piece>) {
    for span in &line.0 {
        match span {
            Span::Text(words) | Span::Time(_, words) => {
                found.push(Piece::Text(face, words.clone()));
            }
            Span::Tick => found.push(Piece::Tick),
            Span::Break => found.push(Piece::Break),
            // A box to tick with its words is not torn apart.
            Span::Box(inner) => {
                found.push(Piece::Tick);
                let words = inner.plain().replace(' ', "\u{a0}");
                found.push(Piece::Text(face, words));
            }
            Span::Strong(inner) | Span::Clock(inner) | Span::Figure(inner) | Span::Word(inner) => {
                pieces(inner, Face::Bold, found);
            }
            other => {
                if let Some(inner) = other.inner() {
                    pieces(inner, face, found);
                }
            }
        }
    }
}
