//! A document: headings, paragraphs, lists, tables and drawings, with no look of their own.
//!
//! An answer is put in words once, as a [`Document`]'s blocks; `html` writes them for screens, `terminal`
//! for 80 columns, and [`super::pdf`] lays them on paper. What a block is (a verdict, a day, a
//! card) is said here; how it looks is each renderer's.

pub mod drawing;
pub mod html;
mod line;
mod table;
pub mod terminal;

pub use drawing::{Bar, Drawing, Look, Mark, Shape};
pub(crate) use line::words;
pub use line::{Line, Span, Style};
pub use table::{Cell, Hold, Row, Table, TableKind};

/// What is read, from the top down.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Document {
    /// What a window, a viewer or a file's own title says.
    pub title: String,
    /// What is in it.
    pub blocks: Vec<Block>,
}

impl Document {
    /// Blocks under a title.
    #[must_use]
    pub fn new(title: impl Into<String>, blocks: Vec<Block>) -> Self {
        let title = title.into();
        Self { title, blocks }
    }
}

/// A part of a document.
#[derive(Clone, Debug, PartialEq)]
pub enum Block {
    /// A heading, 1 the highest.
    Heading(Heading),
    /// A paragraph.
    Paragraph(Role, Line),
    /// Text that is a paragraph only where nothing else says where it ends: in an item or a cell.
    Text(Line),
    /// Blocks that belong together.
    Section(Section),
    /// A list.
    List(ListKind, Vec<Item>),
    /// Terms, each with what is said of it.
    Terms(TermsKind, Vec<Term>),
    /// A table.
    Table(Table),
    /// Bars beside each other, each as long as it is much.
    Bars(Vec<Bar>),
    /// A drawing.
    Drawing(Drawing),
}

/// A heading.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Heading {
    /// From 1, the document's own, down.
    pub level: u8,
    /// What it says.
    pub line: Line,
    /// Its anchor.
    pub id: Option<String>,
    /// True for one of many alike within a part: what follows belongs to it alone.
    pub part: bool,
    /// True if there is a box to tick before it.
    pub tick: bool,
    /// True if it stands close under what is before it.
    pub tight: bool,
}

/// What a paragraph is to its reader.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Role {
    /// Said as anything else.
    #[default]
    Plain,
    /// What the document is, above its name.
    Kind,
    /// The one sentence of its section.
    Lead,
    /// The name of what follows.
    Label,
    /// Whose work, and where.
    Where,
    /// Figures to work by.
    Facts,
    /// The day of a sheet.
    Day,
    /// What goes wrong if it is not read.
    Warning,
    /// Which cautions hold, each leading to its words.
    Cautions,
    /// Beside the matter.
    Soft,
    /// Read at a desk.
    Small,
    /// Both.
    SmallSoft,
    /// On paper alone.
    Paper,
}

/// Blocks that belong together, as what they are.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Section {
    /// What it is.
    pub kind: Kind,
    /// Its anchor.
    pub id: Option<String>,
    /// Facts for programs that read the page: name and value.
    pub data: Vec<(&'static str, String)>,
    /// What is in it.
    pub blocks: Vec<Block>,
}

/// What a section is.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub enum Kind {
    /// A part under its own heading.
    #[default]
    Part,
    /// The answer.
    Verdict(Verdict),
    /// A day, or a stretch of days, of work; its first block is its heading.
    Day,
    /// Work of one group or session.
    Card,
    /// A session's card.
    Session,
    /// What goes on from earlier days.
    GoingOn,
    /// The list of contents.
    Contents,
    /// A sheet of its own on paper.
    Sheet,
    /// What may be wider than a screen, in words for those who do not see it.
    Wide(String),
    /// Blocks in a row, nothing more.
    Rows,
}

/// How an answer turned out.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Verdict {
    /// All is covered, and no rule is broken.
    Well,
    /// All is covered, and a rule is broken.
    Warned,
    /// Not all is covered.
    Short,
}

/// What a list is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum ListKind {
    /// Each with a bullet.
    Bullets,
    /// Without any sign.
    Plain,
    /// A row each, with a box to tick.
    Rows,
    /// What to bring.
    Bring,
    /// What to have at hand.
    Kit,
    /// Cautions at arm's length.
    Care,
    /// Entries of a list of contents: a link each.
    Days,
}

/// An item of a list.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Item {
    /// How it is marked off.
    pub mark: Remark,
    /// True if there is a box to tick before it.
    pub tick: bool,
    /// Its anchor.
    pub id: Option<String>,
    /// Facts for programs that read the page: name and value.
    pub data: Vec<(&'static str, String)>,
    /// What is in it.
    pub blocks: Vec<Block>,
}

/// How an item is marked off.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Remark {
    /// Not at all.
    #[default]
    None,
    /// As a note.
    Note,
    /// As a warning.
    Warning,
    /// As something that falls short.
    Short,
}

/// What is said of the terms.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum TermsKind {
    /// Cautions.
    Care,
    /// Publications.
    Sources,
    /// Facts.
    Facts,
}

/// A term and what is said of it.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Term {
    /// Its anchor.
    pub id: Option<String>,
    /// The term.
    pub name: Line,
    /// What is said of it.
    pub said: Line,
    /// More of it, below.
    pub more: Vec<Block>,
}

impl Block {
    /// A heading.
    #[must_use]
    pub fn heading(level: u8, line: impl Into<Line>) -> Self {
        Self::Heading(Heading {
            level,
            line: line.into(),
            ..Heading::default()
        })
    }

    /// A paragraph.
    #[must_use]
    pub fn paragraph(line: impl Into<Line>) -> Self {
        Self::Paragraph(Role::Plain, line.into())
    }

    /// A paragraph that is something to its reader.
    #[must_use]
    pub fn of_role(role: Role, line: impl Into<Line>) -> Self {
        Self::Paragraph(role, line.into())
    }

    /// A part under a heading of the second level, whose anchor names both.
    #[must_use]
    pub fn part(id: &str, title: impl Into<Line>, blocks: Vec<Self>) -> Self {
        Self::headed(Kind::Part, id, title, blocks)
    }

    /// The same of a section of any kind.
    #[must_use]
    pub fn headed(kind: Kind, id: &str, title: impl Into<Line>, blocks: Vec<Self>) -> Self {
        let heading = Self::Heading(Heading {
            level: 2,
            line: title.into(),
            id: Some(id.to_owned()),
            ..Heading::default()
        });
        Self::section(kind, [heading].into_iter().chain(blocks).collect())
    }

    /// A section of a kind.
    #[must_use]
    pub fn section(kind: Kind, blocks: Vec<Self>) -> Self {
        Self::Section(Section {
            kind,
            blocks,
            ..Section::default()
        })
    }

    /// Facts, each beside its name.
    #[must_use]
    pub fn facts<N: Into<Line>, L: Into<Line>>(facts: impl IntoIterator<Item = (N, L)>) -> Self {
        let terms = facts.into_iter().map(|(name, said)| Term::new(name, said));
        Self::Terms(TermsKind::Facts, terms.collect())
    }

    /// A narrow table in one part; its name is told and not shown.
    #[must_use]
    pub fn table(caption: &str, columns: &[&str], rows: impl IntoIterator<Item = Row>) -> Self {
        Self::table_of(TableKind::Narrow, caption, columns, rows)
    }

    /// A table in one part; its name is told and not shown.
    #[must_use]
    pub fn table_of(
        kind: TableKind,
        caption: &str,
        columns: &[&str],
        rows: impl IntoIterator<Item = Row>,
    ) -> Self {
        Self::Table(Table {
            parts: vec![rows.into_iter().collect()],
            ..Table::new(kind, caption, columns)
        })
    }

    /// A list of lines, each with a bullet.
    #[must_use]
    pub fn bullets<L: Into<Line>>(lines: impl IntoIterator<Item = L>) -> Self {
        let items = lines.into_iter().map(Item::text);
        Self::List(ListKind::Bullets, items.collect())
    }
}

/// Changes every text that is read in some blocks.
pub fn each_text(blocks: &mut [Block], change: &mut dyn FnMut(&mut String)) {
    for block in blocks {
        match block {
            Block::Heading(h) => h.line.each_text(change),
            Block::Paragraph(_, line) | Block::Text(line) => line.each_text(change),
            Block::Section(s) => each_text(&mut s.blocks, change),
            Block::List(_, items) => {
                for item in items {
                    each_text(&mut item.blocks, change);
                }
            }
            Block::Terms(_, terms) => {
                for term in terms {
                    term.name.each_text(change);
                    term.said.each_text(change);
                    each_text(&mut term.more, change);
                }
            }
            Block::Table(t) => t.each_text(change),
            Block::Bars(bars) => {
                for bar in bars {
                    change(&mut bar.name);
                    bar.said.iter_mut().for_each(&mut *change);
                }
            }
            Block::Drawing(d) => {
                for mark in &mut d.marks {
                    if let Shape::Words(_, words) = &mut mark.shape {
                        change(words);
                    }
                }
            }
        }
    }
}

impl Item {
    /// An item of one line.
    #[must_use]
    pub fn text(line: impl Into<Line>) -> Self {
        Self {
            blocks: vec![Block::Text(line.into())],
            ..Self::default()
        }
    }

    /// An item of one line with a box to tick.
    #[must_use]
    pub fn to_tick(line: impl Into<Line>) -> Self {
        Self {
            tick: true,
            ..Self::text(line)
        }
    }
}

impl Term {
    /// A term and what is said of it.
    #[must_use]
    pub fn new(name: impl Into<Line>, said: impl Into<Line>) -> Self {
        Self {
            name: name.into(),
            said: said.into(),
            ..Self::default()
        }
    }
}
