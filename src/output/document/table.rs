//! Tables: rows of cells under the names of columns.

use super::Line;

/// A table.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Table {
    /// How it is read where it is wider than the screen.
    pub kind: TableKind,
    /// Its name.
    pub caption: String,
    /// True if the name is shown, and not only told to those who do not see the table.
    pub caption_shown: bool,
    /// A line over the names of the columns, which comes again with them.
    pub over: Option<Line>,
    /// Names of the columns.
    pub columns: Vec<Cell>,
    /// Its rows, in one or more parts.
    pub parts: Vec<Vec<Row>>,
}

/// How a table is read where it is wider than the screen.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum TableKind {
    /// It is narrow enough.
    #[default]
    Narrow,
    /// A block for each row, the column's name before each value.
    Stack,
    /// People side by side: scrolled, the names of rows stay.
    Board,
    /// Rounds at the tank, at arm's length.
    Rounds,
}

/// A row.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Row {
    /// Facts for programs that read the page: name and value.
    pub data: Vec<(&'static str, String)>,
    /// A cell each, or one over all columns.
    pub cells: Vec<Cell>,
    /// True if its only cell goes over all columns.
    pub over_all: bool,
}

/// A cell.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Cell {
    /// What it holds.
    pub hold: Hold,
    /// True if there is a box to tick before it.
    pub tick: bool,
    /// True if it is the name of its row.
    pub heads: bool,
    /// Its line, or its entries.
    pub lines: Vec<Line>,
}

/// What a cell holds, for how wide and how large it is set.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Hold {
    /// Words and figures.
    #[default]
    Words,
    /// Somebody's names, which may be torn apart.
    Names,
    /// A figure with its unit, never torn apart.
    Figure,
    /// A number to find one's place by.
    Number,
    /// A clock time.
    Clock,
    /// The clock time that the round begins by.
    Start,
    /// The clock time that must not be passed.
    Limit,
    /// Who the round is for.
    Cows,
    /// Entries below each other, a line each.
    Entries,
}

impl Table {
    /// A table whose columns have these names; its own name is told and not shown.
    #[must_use]
    pub fn new(kind: TableKind, caption: impl Into<String>, columns: &[&str]) -> Self {
        Self {
            kind,
            caption: caption.into(),
            columns: columns.iter().map(|c| Cell::text(*c)).collect(),
            ..Self::default()
        }
    }

    /// Changes every text that is read in it.
    pub(super) fn each_text(&mut self, change: &mut dyn FnMut(&mut String)) {
        change(&mut self.caption);
        if let Some(over) = &mut self.over {
            over.each_text(change);
        }
        let rows = self.parts.iter_mut().flatten();
        let cells = rows.flat_map(|r| &mut r.cells);
        for cell in self.columns.iter_mut().chain(cells) {
            for line in &mut cell.lines {
                line.each_text(change);
            }
        }
    }
}

impl Row {
    /// A row of cells.
    #[must_use]
    pub fn of(cells: Vec<Cell>) -> Self {
        Self {
            cells,
            ..Self::default()
        }
    }

    /// A row's name, then its cells.
    #[must_use]
    pub fn named<L: Into<Line>>(name: impl Into<Line>, cells: impl IntoIterator<Item = L>) -> Self {
        let name = Cell::head(Hold::Names, name);
        let cells = cells.into_iter().map(Cell::text);
        Self::of([name].into_iter().chain(cells).collect())
    }

    /// A row of one cell over all columns.
    #[must_use]
    pub fn over_all(line: impl Into<Line>) -> Self {
        Self {
            cells: vec![Cell::text(line)],
            over_all: true,
            ..Self::default()
        }
    }
}

impl Cell {
    /// A cell of one line.
    #[must_use]
    pub fn of(hold: Hold, line: impl Into<Line>) -> Self {
        Self {
            hold,
            lines: vec![line.into()],
            ..Self::default()
        }
    }

    /// A cell with words or figures.
    #[must_use]
    pub fn text(line: impl Into<Line>) -> Self {
        Self::of(Hold::Words, line)
    }

    /// The name of a row.
    #[must_use]
    pub fn head(hold: Hold, line: impl Into<Line>) -> Self {
        Self {
            heads: true,
            ..Self::of(hold, line)
        }
    }
}
