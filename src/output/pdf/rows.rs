//! Tables: how wide each column is, rows that are not divided, heads that come again.

use std::rc::Rc;

use super::blocks::{Piece, cell, plain, words};
use super::draw::{Draw, Kind, LEADING, Place, STAND, Strip};
use super::letters::Face;
use super::lines::{Line, extent, lines};
use super::setter::{Setter, draws, keep, whole};
use crate::output::document::{Cell, Table};

/// A row: what stands in each cell, and whether it is the name of a row or a column.
type Row = Vec<(bool, Vec<Piece>)>;

/// Free beside the text of a cell, in sizes.
const BESIDE: f32 = 0.4;
/// Free above and below it.
const OVER: f32 = 0.25;
/// A column is never narrower, in sizes: some letters of any word.
const NARROWEST: f32 = 3.0;

/// The strips of a table: its name, its head, and each row.
pub(super) fn table(setter: &mut Setter, t: &Table, at: Place) -> Vec<Strip> {
    let size = setter.measures.size;
    let over = t.over.iter().map(|l| vec![(true, words(l, Face::Bold))]);
    let names = t.columns.iter().map(|c| (true, cell(c, true))).collect();
    let head: Vec<Row> = over.chain([names]).collect();
    let below = t.parts.iter().flatten();
    let of = |c: &Cell| (c.heads, cell(c, c.heads));
    let below: Vec<Row> = below.map(|r| r.cells.iter().map(of).collect()).collect();
    let columns = head.iter().chain(&below).map(Vec::len).max();
    let Some(columns) = columns.filter(|n| *n > 0) else {
        return Vec::new();
    };
    let mut strips = Vec::new();
    let caption = words(&t.caption.as_str().into(), Face::Bold);
    if t.caption_shown {
        let part = setter.structure.add(Kind::Paragraph, at.part);
        strips = setter.text(&caption, size, Place { part, ..at }, 0.7 * size);
        keep(&mut strips);
    }
    let all: Vec<&Row> = head.iter().chain(&below).collect();
    let widths = widths(setter, &all, columns, at.right - at.left);
    let name = Kind::Table(plain(&caption));
    let part = setter.structure.add(name, at.part);
    let head = set_head(setter, &head, &widths, Place { part, ..at });
    strips.extend(head.iter().cloned());
    // A head that fills much of a sheet (long names in narrow columns) would leave no room for rows.
    let again = if fills_much(setter, &head) {
        Vec::new()
    } else {
        head
    };
    let again = Rc::new(again);
    strips.extend(rows(setter, &below, &widths, Place { part, ..at }, &again));
    whole(&mut strips, setter.measures.high / 3.0);
    strips
}

/// True for strips that would leave too little of a sheet if they came again on it.
fn fills_much(setter: &Setter, strips: &[Strip]) -> bool {
    let high: f32 = strips.iter().map(|s| s.above + s.high).sum();
    high > setter.measures.high * 0.3
}

/// The names of the columns, kept with what follows.
fn set_head(setter: &mut Setter, rows: &[Row], widths: &[f32], at: Place) -> Vec<Strip> {
    let mut head: Vec<Strip> = Vec::new();
    let part = setter.structure.add(Kind::Head, at.part);
    for row in rows {
        head.extend(set_row(setter, row, widths, Place { part, ..at }, true));
    }
    keep(&mut head);
    if let Some(first) = head.first_mut() {
        first.above = 0.4 * setter.measures.size;
    }
    head
}

/// The rows; `again` is the head that comes again on each further sheet.
fn rows(
    setter: &mut Setter,
    rows: &[Row],
    widths: &[f32],
    at: Place,
    again: &Rc<Vec<Strip>>,
) -> Vec<Strip> {
    let part = setter.structure.add(Kind::Rows, at.part);
    let many = rows.len();
    let mut strips = Vec::new();
    // What is said of the rows below comes again with them: where their straws are, above all.
    let mut below = Rc::clone(again);
    for (n, row) in rows.iter().enumerate() {
        let mut more = set_row(setter, row, widths, Place { part, ..at }, false);
        let line_over_all = row.len() == 1 && widths.len() > 1;
        let head = if line_over_all { again } else { &below };
        for strip in &mut more {
            strip.head = Some(Rc::clone(head));
            strip.table = at.part;
            // What is said of the rows below, and the last two rows, are not left alone.
            strip.keep = (line_over_all && n + 1 < many) || (n + 2 == many && many > 2);
        }
        if line_over_all {
            let both: Vec<Strip> = again.iter().chain(&more).cloned().collect();
            below = if fills_much(setter, &both) {
                Rc::clone(again)
            } else {
                Rc::new(both)
            };
        }
        strips.append(&mut more);
    }
    strips
}

/// Columns as wide as their text and alike more, if there is room; else room is shared by what each would like,
/// and no word is torn as long as all fit.
fn widths(setter: &Setter, rows: &[&Row], columns: usize, room: f32) -> Vec<f32> {
    let size = setter.measures.size;
    let pad = 2.0 * BESIDE * size;
    let mut least = vec![NARROWEST * size; columns];
    let mut liked = least.clone();
    for row in rows {
        if row.len() == 1 && columns > 1 {
            continue;
        }
        for (n, (_, text)) in row.iter().enumerate() {
            let (word, line) = extent(setter.letters, text, size);
            least[n] = least[n].max(word + pad);
            liked[n] = liked[n].max(line + pad);
        }
    }
    let (sum_least, sum_liked): (f32, f32) = (least.iter().sum(), liked.iter().sum());
    if sum_liked <= room {
        let more = (room - sum_liked) / columns as f32;
        return liked.iter().map(|w| w + more).collect();
    }
    if sum_least <= room {
        let share = (room - sum_least) / (sum_liked - sum_least).max(f32::EPSILON);
        let both = least.iter().zip(&liked);
        return both.map(|(a, b)| a + (b - a) * share).collect();
    }
    // Words must be torn: the widest columns give way first.
    let mut cap = room / columns as f32;
    for _ in 0..columns {
        let narrow: Vec<f32> = least.iter().copied().filter(|w| *w <= cap).collect();
        let wide = columns - narrow.len();
        if wide > 0 {
            cap = (room - narrow.iter().sum::<f32>()) / wide as f32;
        }
    }
    least.iter().map(|w| w.min(cap)).collect()
}

/// A row; more than one strip only if it is higher than a sheet.
fn set_row(setter: &mut Setter, row: &Row, widths: &[f32], at: Place, head: bool) -> Vec<Strip> {
    let size = setter.measures.size;
    let part = setter.structure.add(Kind::Row, at.part);
    let line_high = LEADING * size;
    let mut cells: Vec<(f32, usize, Vec<Line>)> = Vec::new();
    let mut x = at.left;
    for (n, (heads, text)) in row.iter().enumerate() {
        let over = if row.len() == 1 { widths.len() } else { 1 };
        let wide: f32 = widths.iter().skip(n).take(over).sum();
        let kind = match (head, heads) {
            (true, _) => Kind::ColumnName(over),
            (false, true) => Kind::RowName,
            (false, false) => Kind::Cell(over),
        };
        let cell_part = setter.structure.add(kind, part);
        let room = wide - 2.0 * BESIDE * size;
        let set = lines(setter.letters, text, size, room);
        cells.push((x + BESIDE * size, cell_part, set));
        x += wide;
    }
    let right = at.left + widths.iter().sum::<f32>();
    let most = cells.iter().map(|c| c.2.len()).max().unwrap_or(0).max(1);
    let a_sheet = ((setter.measures.high * 0.6) / line_high).floor().max(1.0) as usize;
    let mut strips = Vec::new();
    for first in (0..most).step_by(a_sheet) {
        let count = a_sheet.min(most - first);
        let high = count as f32 * line_high + 2.0 * OVER * size;
        let mut drawn = Vec::new();
        for (x, part, set) in &cells {
            for (n, line) in set.iter().skip(first).take(count).enumerate() {
                let y = OVER * size + n as f32 * line_high + STAND * size;
                let place = Place {
                    left: *x,
                    right,
                    part: *part,
                };
                drawn.extend(draws(line, size, place, y));
            }
        }
        if first + count == most {
            drawn.push(Draw::Rule {
                from: (at.left, high),
                to: (right, high),
                wide: if head { 1.0 } else { 0.4 },
            });
        }
        strips.push(Strip {
            high,
            draws: drawn,
            ..Strip::default()
        });
    }
    strips
}
