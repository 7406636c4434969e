//! From the page's tree to blocks that can be laid on paper: headings, paragraphs, lists, tables.

use super::drawing::Drawing;
use super::letters::Face;
use super::markup::{Element, Node};

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

/// Elements that are read within a line.
const IN_LINE: [&str; 6] = ["a", "b", "br", "small", "span", "time"];

/// The blocks of a page.
pub(super) fn blocks(page: &Element) -> Vec<Block> {
    let mut found = Vec::new();
    within(&page.children, &mut found);
    found
}

/// What is in an element; text between blocks becomes a paragraph.
fn within(children: &[Node], found: &mut Vec<Block>) {
    let mut loose: Vec<Piece> = Vec::new();
    for child in children {
        match child {
            Node::Text(text) => loose.push(Piece::Text(Face::Regular, text.clone())),
            Node::Element(e) if IN_LINE.contains(&e.name.as_str()) => {
                in_line(e, Face::Regular, &mut loose);
            }
            Node::Element(e) => {
                close(&mut loose, found);
                block(e, found);
            }
        }
    }
    close(&mut loose, found);
}

fn close(loose: &mut Vec<Piece>, found: &mut Vec<Block>) {
    let text = std::mem::take(loose);
    if says_something(&text) {
        found.push(Block::Paragraph { text, small: false });
    }
}

fn says_something(text: &[Piece]) -> bool {
    text.iter().any(|p| match p {
        Piece::Text(_, t) => !t.trim().is_empty(),
        Piece::Tick => true,
        Piece::Break => false,
    })
}

fn block(e: &Element, found: &mut Vec<Block>) {
    let for_screens = ["back", "skip"].iter().any(|c| e.is_of(c));
    if for_screens || e.attribute("hidden").is_some() {
        return;
    }
    match e.name.as_str() {
        "h1" | "h2" | "h3" | "h4" => heading(e, found),
        "p" => paragraph(e, found),
        "ul" | "ol" if e.is_of("days") => found.extend(e.elements().filter_map(entry)),
        "ul" | "ol" => list(e, found),
        "dl" => terms(e, found),
        "table" => found.push(Block::Table(table(e))),
        "article" => {
            let mut inner = Vec::new();
            within(&e.children, &mut inner);
            found.push(Block::Card(inner));
        }
        "section" if e.is_of("verdict") => {
            let mut inner = Vec::new();
            within(&e.children, &mut inner);
            found.push(Block::Framed(inner));
        }
        "section" if e.is_of("day") => day(e, found),
        "section" if e.is_of("sheet") => {
            found.push(Block::Sheet);
            within(&e.children, found);
        }
        "svg" => found.extend(Drawing::read(e).map(Block::Drawing)),
        "script" | "style" => {}
        _ => within(&e.children, found),
    }
}

fn heading(e: &Element, found: &mut Vec<Block>) {
    let mut text = Vec::new();
    inner(e, Face::Bold, &mut text);
    if says_something(&text) {
        let level = e.name.as_bytes()[1] - b'0';
        found.push(Block::Heading {
            level,
            text,
            anchor: e.attribute("id").map(str::to_owned),
        });
    }
}

fn paragraph(e: &Element, found: &mut Vec<Block>) {
    let mut text = Vec::new();
    let bold = ["label", "where", "lead"].iter().any(|c| e.is_of(c));
    inner(e, if bold { Face::Bold } else { Face::Regular }, &mut text);
    if says_something(&text) {
        let small = e.is_of("small") || e.is_of("soft");
        found.push(Block::Paragraph { text, small });
    }
}

/// A day: one with a session has sheets of its own, others follow each other.
fn day(e: &Element, found: &mut Vec<Block>) {
    let session = e.holds("table");
    if session {
        found.push(Block::Sheet);
    }
    let mut inner = Vec::new();
    within(&e.children, &mut inner);
    if let Some(Block::Heading { text, anchor, .. }) = inner.first_mut() {
        found.push(Block::Day(plain(text)));
        *anchor = e.attribute("id").map(str::to_owned);
    }
    if session {
        found.extend(inner);
        found.push(Block::Sheet);
    } else {
        found.push(Block::Whole(inner));
    }
    found.push(Block::Day(String::new()));
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

fn entry(item: &Element) -> Option<Block> {
    let link = item.elements().next()?;
    let mut text = Vec::new();
    inner(link, Face::Regular, &mut text);
    let anchor = link.attribute("href")?.strip_prefix('#')?.to_owned();
    Some(Block::Entry { text, anchor })
}

fn list(e: &Element, found: &mut Vec<Block>) {
    let bullet = if e.is_of("plain") || e.is_of("kit") {
        Label::None
    } else {
        Label::Bullet
    };
    let items = e.elements().map(|li| {
        let mut children = li.children.as_slice();
        let mut label = bullet;
        if let Some((Node::Element(first), rest)) = children.split_first()
            && is_tick(first)
        {
            label = Label::Tick;
            children = rest;
        }
        let mut body = Vec::new();
        within(children, &mut body);
        Item { label, body }
    });
    let items: Vec<Item> = items.filter(|i| !i.body.is_empty()).collect();
    if !items.is_empty() {
        found.push(Block::List(items));
    }
}

fn is_tick(e: &Element) -> bool {
    e.is_of("tick") || (e.is_of("box") && e.children.is_empty())
}

/// Terms with what is said of them, a paragraph each.
fn terms(e: &Element, found: &mut Vec<Block>) {
    for pair in e.elements() {
        let mut text = Vec::new();
        for part in pair.elements() {
            let face = if part.name == "dt" {
                Face::Bold
            } else {
                Face::Regular
            };
            if !text.is_empty() {
                text.push(Piece::Text(Face::Bold, ": ".to_owned()));
            }
            inner(part, face, &mut text);
        }
        if says_something(&text) {
            found.push(Block::Paragraph { text, small: false });
        }
    }
}

fn table(e: &Element) -> Table {
    let mut table = Table::default();
    for part in e.elements() {
        match part.name.as_str() {
            "caption" => {
                inner(part, Face::Bold, &mut table.caption);
                table.caption_shown = !part.is_of("unseen");
            }
            "thead" => table.head.extend(part.elements().map(row)),
            _ => table.rows.extend(part.elements().map(row)),
        }
    }
    table
}

fn row(e: &Element) -> Vec<Cell> {
    let cells = e.elements().map(|cell| {
        let heads = cell.name == "th";
        let mut text = Vec::new();
        let face = if heads { Face::Bold } else { Face::Regular };
        inner(cell, face, &mut text);
        while text.last() == Some(&Piece::Break) {
            text.pop();
        }
        Cell { heads, text }
    });
    cells.collect()
}

/// What is in an element, as one line.
fn inner(e: &Element, face: Face, pieces: &mut Vec<Piece>) {
    for child in &e.children {
        match child {
            Node::Text(text) => pieces.push(Piece::Text(face, text.clone())),
            Node::Element(e) => in_line(e, face, pieces),
        }
    }
}

fn in_line(e: &Element, face: Face, pieces: &mut Vec<Piece>) {
    if is_tick(e) {
        pieces.push(Piece::Tick);
        return;
    }
    if e.is_of("back") {
        return;
    }
    match e.name.as_str() {
        "br" => pieces.push(Piece::Break),
        // A box to tick with its words is not torn apart.
        "span" if e.is_of("box") => {
            let mut bound = Vec::new();
            inner(e, face, &mut bound);
            pieces.extend(bound.into_iter().map(|piece| match piece {
                Piece::Text(face, text) => Piece::Text(face, text.replace(' ', "\u{a0}")),
                other => other,
            }));
        }
        "b" => inner(e, Face::Bold, pieces),
        "svg" => {}
        // Entries of a cell, one below the other.
        "div" | "p" | "li" => {
            inner(e, face, pieces);
            pieces.push(Piece::Break);
        }
        _ => inner(e, face, pieces),
    }
}
