//! What is drawn, strip by strip, and what each part of it is for readers that speak it.

use std::rc::Rc;

use super::letters::Face;

/// Something drawn, from the strip's upper left corner, in points.
#[derive(Clone, Debug, PartialEq)]
pub(super) enum Draw {
    /// Words that begin at `x` and stand on `y`; `part` is their place in the structure. Those of a drawing
    /// have none: tables and lists say the same.
    Words {
        x: f32,
        y: f32,
        face: Face,
        size: f32,
        text: String,
        part: Option<usize>,
    },
    /// A box to tick, from its upper left corner.
    Tick { x: f32, y: f32, side: f32 },
    /// A line.
    Rule {
        from: (f32, f32),
        to: (f32, f32),
        wide: f32,
    },
    /// A chain of lines of a drawing.
    Chain {
        points: Vec<(f32, f32)>,
        closed: bool,
        pen: Pen,
    },
    /// A ring of a drawing, around its middle.
    Ring {
        at: (f32, f32),
        radius: f32,
        pen: Pen,
    },
    /// The number of the sheet with an anchor, which ends at `x`.
    SheetOf {
        x: f32,
        y: f32,
        size: f32,
        anchor: String,
        part: usize,
    },
}

/// What a part of the structure is, for readers that speak it.
#[derive(Clone, Debug, PartialEq)]
pub(super) enum Kind {
    Root,
    Heading(u8, String),
    Paragraph,
    List,
    Item,
    Body,
    Table(String),
    Head,
    Rows,
    Row,
    ColumnName(usize),
    RowName,
    Cell(usize),
}

/// Parts of the structure, each with its parent, which stands before it.
#[derive(Debug)]
pub(super) struct Structure(pub(super) Vec<(Kind, usize)>);

impl Structure {
    pub(super) fn add(&mut self, kind: Kind, parent: usize) -> usize {
        self.0.push((kind, parent));
        self.0.len() - 1
    }
}

/// A strip.
#[derive(Clone, Debug, Default)]
pub(super) struct Strip {
    /// Free above it, but at the top of a sheet.
    pub(super) above: f32,
    pub(super) high: f32,
    pub(super) draws: Vec<Draw>,
    /// Not parted from the next.
    pub(super) keep: bool,
    /// Begins a new sheet.
    pub(super) sheet: bool,
    /// The day told at the foot from here on.
    pub(super) day: Option<String>,
    /// Level and words for the list of contents that viewers show.
    pub(super) mark: Option<(u8, String)>,
    pub(super) anchor: Option<String>,
    /// Comes again at the top of the next sheet, if the table goes on there.
    pub(super) head: Option<Rc<Vec<Strip>>>,
    /// The part of the structure that its table is, if it is a row of one.
    pub(super) table: usize,
}

/// Measures of a set of sheets, in points.
#[derive(Clone, Copy, Debug)]
pub(super) struct Measures {
    /// Of the column.
    pub(super) wide: f32,
    /// Free height of a sheet.
    pub(super) high: f32,
    /// Of most text.
    pub(super) size: f32,
    /// Of text to be read at a desk.
    pub(super) small: f32,
}

/// Height of a line, in sizes.
pub(super) const LEADING: f32 = 1.32;

/// Where letters stand in it.
pub(super) const STAND: f32 = 1.0;

/// Where a block stands: its left and right edge, and the part of the structure it belongs to.
#[derive(Clone, Copy, Debug)]
pub(super) struct Place {
    pub(super) left: f32,
    pub(super) right: f32,
    pub(super) part: usize,
}

impl Place {
    pub(super) fn wide(self) -> f32 {
        self.right - self.left
    }
}

/// How a line is drawn, and what is within it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Pen {
    pub(super) wide: f32,
    /// Gray, for what only leads the eye.
    pub(super) faint: bool,
    pub(super) dashed: bool,
    pub(super) within: Within,
}

/// What is within a closed line.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Within {
    Nothing,
    White,
    Black,
}
