//! Blocks into strips as wide as the sheet's column: what is never divided between sheets.

use std::rc::Rc;

use super::blocks::{Block, Item, Label, Piece, plain};
use super::drawing::Pen;
use super::letters::{Face, Letters};
use super::lines::{Line, Part, TICK, lines};
use super::rows::table;

/// Something drawn, from the strip's upper left corner, in points.
#[derive(Clone, Debug, PartialEq)]
pub(super) enum Draw {
    /// Words that begin at `x` and stand on `y`; `part` is their place in the structure.
    Words {
        x: f32,
        y: f32,
        face: Face,
        size: f32,
        text: String,
        part: usize,
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
    /// Words in a drawing: tables and lists say the same.
    Label {
        x: f32,
        y: f32,
        face: Face,
        size: f32,
        text: String,
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
/// Cards that fill less of a sheet are not divided.
const WHOLE_CARD: f32 = 0.6;

/// Sets blocks.
pub(super) struct Setter<'a> {
    pub(super) letters: &'a Letters,
    pub(super) measures: Measures,
    pub(super) structure: Structure,
}

/// Where a block stands: its left and right edge, and the part of the structure it belongs to.
#[derive(Clone, Copy, Debug)]
pub(super) struct Place {
    pub(super) left: f32,
    pub(super) right: f32,
    pub(super) part: usize,
}

impl Place {
    fn wide(self) -> f32 {
        self.right - self.left
    }
}

impl Setter<'_> {
    /// The strips of some blocks.
    pub(super) fn set(&mut self, blocks: &[Block], at: Place) -> Vec<Strip> {
        let mut strips: Vec<Strip> = Vec::new();
        let (mut sheet, mut day) = (false, None);
        for (n, block) in blocks.iter().enumerate() {
            let mut more = match block {
                Block::Sheet => {
                    sheet = true;
                    continue;
                }
                Block::Day(words) => {
                    day = Some(words.clone());
                    continue;
                }
                Block::Heading {
                    level,
                    text,
                    anchor,
                } => self.heading(*level, text, anchor.as_deref(), at),
                Block::Paragraph { text, small } => {
                    let size = if *small {
                        self.measures.small
                    } else {
                        self.measures.size
                    };
                    let part = self.structure.add(Kind::Paragraph, at.part);
                    self.text(text, size, Place { part, ..at }, 0.32 * size)
                }
                Block::Entry { text, anchor } => self.entry(text, anchor, at),
                Block::List(items) => self.list(items, at),
                Block::Table(t) => table(self, t, at),
                Block::Drawing(d) => {
                    let strip = d.strip(self.letters, at, self.measures.high);
                    strip.into_iter().collect()
                }
                Block::Framed(inner) => self.framed(inner, at),
                Block::Card(inner) => self.card(inner, at),
                Block::Whole(inner) => {
                    let mut strips = self.set(inner, at);
                    whole(&mut strips, self.measures.high * WHOLE_CARD);
                    strips
                }
            };
            // A sentence or two between a heading and a table go with the table.
            let between = matches!(block, Block::Paragraph { .. })
                && matches!(blocks.get(n + 1), Some(Block::Table(_)))
                && n > 0
                && matches!(blocks[n - 1], Block::Heading { .. });
            if between {
                for strip in &mut more {
                    strip.keep = true;
                }
            }
            let many = strips.len();
            if let Some(first) = more.first_mut() {
                // Headings just above go to the new sheet too.
                let kept = strips
                    .iter()
                    .rev()
                    .take_while(|s| s.keep && !s.sheet)
                    .count();
                let top = strips.get_mut(many - kept).unwrap_or(first);
                top.sheet |= std::mem::take(&mut sheet);
                if let Some(words) = day.take() {
                    top.day = Some(words);
                }
            }
            strips.append(&mut more);
        }
        strips
    }

    fn heading(
        &mut self,
        level: u8,
        text: &[Piece],
        anchor: Option<&str>,
        at: Place,
    ) -> Vec<Strip> {
        let times = match level {
            1 => 2.0,
            2 => 1.5,
            3 => 1.35,
            _ => 1.15,
        };
        let size = self.measures.size * times;
        let words = plain(text);
        let kind = Kind::Heading(level, words.clone());
        let part = self.structure.add(kind, at.part);
        let mut strips = self.text(text, size, Place { part, ..at }, 0.8 * size);
        for strip in &mut strips {
            strip.keep = true;
        }
        if let Some(first) = strips.first_mut() {
            first.mark = Some((level, words));
            first.anchor = anchor.map(str::to_owned);
        }
        strips
    }

    /// A strip for each line.
    pub(super) fn text(&self, text: &[Piece], size: f32, at: Place, above: f32) -> Vec<Strip> {
        let set = lines(self.letters, text, size, at.wide());
        let count = set.len();
        let strips = set.into_iter().enumerate().map(|(n, line)| Strip {
            above: if n == 0 { above } else { 0.0 },
            high: LEADING * size,
            draws: draws(&line, size, at, STAND * size),
            // No line of a paragraph is alone on a sheet.
            keep: n + 1 < count && (count < 4 || n == 0 || n + 2 == count),
            ..Strip::default()
        });
        strips.collect()
    }

    fn entry(&mut self, text: &[Piece], anchor: &str, at: Place) -> Vec<Strip> {
        let size = self.measures.size;
        let part = self.structure.add(Kind::Paragraph, at.part);
        // Room for four figures.
        let right = at.right - 3.2 * size;
        let mut strips = self.text(text, size, Place { right, part, ..at }, 0.2 * size);
        let many = strips.len();
        for strip in strips.iter_mut().take(many.saturating_sub(1)) {
            strip.keep = true;
        }
        if let Some(last) = strips.last_mut() {
            last.draws.push(Draw::SheetOf {
                x: at.right,
                y: STAND * size,
                size,
                anchor: anchor.to_owned(),
                part,
            });
        }
        strips
    }

    fn list(&mut self, items: &[Item], at: Place) -> Vec<Strip> {
        let size = self.measures.size;
        let list = self.structure.add(Kind::List, at.part);
        let mut strips = Vec::new();
        for item in items {
            let li = self.structure.add(Kind::Item, list);
            let part = self.structure.add(Kind::Body, li);
            let indent = match item.label {
                Label::Tick => 1.7 * size,
                Label::Bullet => 1.1 * size,
                Label::None => 0.0,
            };
            let left = at.left + indent;
            let mut body = self.set(&item.body, Place { left, part, ..at });
            let Some(first) = body.first_mut() else {
                continue;
            };
            match item.label {
                Label::Tick => first.draws.push(tick(at.left, STAND * size, size)),
                Label::Bullet => first.draws.push(Draw::Rule {
                    from: (at.left + 0.3 * size, 0.68 * size),
                    to: (at.left + 0.6 * size, 0.68 * size),
                    wide: 0.3 * size,
                }),
                Label::None => {}
            }
            first.above = first.above.max(0.3 * size);
            whole(&mut body, self.measures.high / 3.0);
            strips.append(&mut body);
        }
        strips
    }

    fn framed(&mut self, inner: &[Block], at: Place) -> Vec<Strip> {
        let pad = self.measures.size * 0.8;
        let place = Place {
            left: at.left + pad,
            right: at.right - pad,
            ..at
        };
        let mut strips = self.set(inner, place);
        whole(&mut strips, self.measures.high);
        let bar = |y: f32| Draw::Rule {
            from: (at.left, y),
            to: (at.right, y),
            wide: 1.5,
        };
        if let Some(first) = strips.first_mut() {
            first.above = pad;
            first.draws.push(bar(-pad * 0.5));
        }
        if let Some(last) = strips.last_mut() {
            let y = last.high + pad * 0.4;
            last.draws.push(bar(y));
            last.high += pad;
        }
        strips
    }

    fn card(&mut self, inner: &[Block], at: Place) -> Vec<Strip> {
        let size = self.measures.size;
        let mut strips = self.set(inner, at);
        whole(&mut strips, self.measures.high * WHOLE_CARD);
        if let Some(first) = strips.first_mut() {
            first.above = 1.3 * size;
            first.draws.push(Draw::Rule {
                from: (at.left, -0.25 * size),
                to: (at.right, -0.25 * size),
                wide: 0.8,
            });
        }
        strips
    }
}

/// Strips that are kept together if they are not higher than this.
pub(super) fn whole(strips: &mut [Strip], most: f32) {
    let high: f32 = strips.iter().map(|s| s.above + s.high).sum();
    if high <= most && strips.iter().skip(1).all(|s| !s.sheet) {
        let many = strips.len();
        for strip in strips.iter_mut().take(many.saturating_sub(1)) {
            strip.keep = true;
        }
    }
}

/// A box to tick beside letters that stand on `y`.
fn tick(x: f32, y: f32, size: f32) -> Draw {
    Draw::Tick {
        x,
        y: y - 0.85 * size,
        side: TICK * size,
    }
}

/// What a line draws; `y` is where it stands.
pub(super) fn draws(line: &Line, size: f32, at: Place, y: f32) -> Vec<Draw> {
    let last = line.parts.len().saturating_sub(1);
    let draw = |(n, part): (usize, &Part)| match part {
        Part::Tick { x } => tick(at.left + x, y, size),
        Part::Words { x, face, text } => Draw::Words {
            x: at.left + x,
            y,
            face: *face,
            size,
            // Readers that speak the page need a blank where a line ends between words.
            text: if line.goes_on && n == last {
                format!("{text} ")
            } else {
                text.clone()
            },
            part: at.part,
        },
    };
    line.parts.iter().enumerate().map(draw).collect()
}
