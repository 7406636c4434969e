//! Blocks as text in 80 columns: parts are set in under their heading, a blank line before each.

use std::fmt::Write as _;

use super::{Bar, Block, Cell, Document, Item, Kind, Line, ListKind, Row, Table, Term};
use crate::output::{COLUMNS, at_spaces, whole_words, wrapped};

/// Columns by which what belongs to something is set in under it.
const STEP: usize = 2;
/// The widest name of a term that what is said of it stands beside; else it stands below.
const BESIDE: usize = 24;

/// A document's text.
#[must_use]
pub fn text(document: &Document) -> String {
    let mut page = Page::default();
    page.blocks(&document.blocks, 0);
    page.text
}

#[derive(Default)]
struct Page {
    text: String,
}

impl Page {
    fn blocks(&mut self, blocks: &[Block], indent: usize) {
        let outer = indent;
        let mut indent = indent;
        // Headings that what follows stands under: level, and how far each is set in.
        let mut above: Vec<(u8, usize)> = Vec::new();
        for block in blocks {
            match block {
                Block::Heading(h) if h.level == 1 => self.paragraph(&h.line, 0),
                Block::Heading(h) => {
                    while above.pop_if(|(level, _)| *level >= h.level).is_some() {}
                    indent = above.last().map_or(outer, |(_, at)| at + STEP);
                    if !h.tight {
                        self.blank();
                    }
                    self.paragraph(&h.line, indent);
                    above.push((h.level, indent));
                    indent += STEP;
                }
                Block::Paragraph(_, line) | Block::Text(line) => self.paragraph(line, indent),
                Block::Section(s) => match s.kind {
                    // What only paper needs.
                    Kind::Contents => {}
                    _ => self.blocks(&s.blocks, indent),
                },
                Block::List(kind, items) => items.iter().for_each(|i| self.item(*kind, i, indent)),
                Block::Terms(_, terms) => self.terms(terms, indent),
                Block::Table(t) => self.table(t, indent),
                Block::Bars(bars) => self.bars(bars, indent),
                // All that it shows stands in words too.
                Block::Drawing(_) => {}
            }
        }
    }

    /// A blank line, if something stands before it.
    fn blank(&mut self) {
        if !self.text.is_empty() && !self.text.ends_with("\n\n") {
            self.text.push('\n');
        }
    }

    /// Words after a first indent, their further lines after another.
    fn words(&mut self, line: &Line, first: &str, rest: usize) {
        let rest = " ".repeat(rest);
        for (n, part) in line.plain().split('\n').enumerate() {
            let first = if n == 0 { first } else { &rest };
            self.text.push_str(&wrapped(part, first, &rest));
            self.text.push('\n');
        }
    }

    fn paragraph(&mut self, line: &Line, indent: usize) {
        self.words(line, &" ".repeat(indent), indent + STEP);
    }

    fn item(&mut self, kind: ListKind, item: &Item, indent: usize) {
        let sign = if kind == ListKind::Bullets { "- " } else { "" };
        let mut blocks = item.blocks.iter();
        if let Some(Block::Text(line) | Block::Paragraph(_, line)) = item.blocks.first() {
            self.words(
                line,
                &format!("{}{sign}", " ".repeat(indent)),
                indent + STEP,
            );
            blocks.next();
        }
        self.blocks(blocks.as_slice(), indent + STEP);
    }

    fn terms(&mut self, terms: &[Term], indent: usize) {
        let wide = |t: &Term| textwrap::core::display_width(&t.name.plain());
        let column = terms.iter().map(wide).max().unwrap_or(0).min(BESIDE);
        for term in terms {
            let (name, under) = (term.name.plain(), indent + column + STEP);
            let beside = wide(term) <= column;
            if !beside {
                self.paragraph(&term.name, indent);
            }
            let name = if beside { &*name } else { "" };
            let free = column - textwrap::core::display_width(name) + STEP;
            let first = format!("{}{name}{}", " ".repeat(indent), " ".repeat(free));
            self.words(&term.said, &first, under);
            self.blocks(&term.more, under);
        }
    }

    fn table(&mut self, t: &Table, indent: usize) {
        if t.caption_shown {
            self.words(
                &t.caption.as_str().into(),
                &" ".repeat(indent),
                indent + STEP,
            );
        }
        if let Some(over) = &t.over {
            self.paragraph(over, indent);
        }
        let names: Vec<String> = t.columns.iter().map(words_of).collect();
        let rows: Vec<&Row> = t.parts.iter().flatten().collect();
        let cells = |r: &Row| r.cells.iter().map(words_of).collect::<Vec<String>>();
        let plain = rows.iter().filter(|r| !r.over_all);
        let mut all: Vec<Vec<String>> = plain.map(|r| cells(r)).collect();
        all.push(names.clone());
        let Some(widths) = widths(&all, COLUMNS - indent) else {
            self.stacked(&names, &rows, indent);
            return;
        };
        let figures: Vec<bool> = (0..widths.len())
            .map(|n| {
                let column = rows.iter().filter(|r| !r.over_all);
                let column = column.filter_map(|r| r.cells.get(n));
                column.clone().all(is_figure) && column.clone().any(|c| !c.heads)
            })
            .collect();
        if names.iter().any(|n| !n.is_empty()) {
            self.row(&names, &widths, &figures, indent);
        }
        for row in rows {
            if row.over_all {
                self.paragraph(&words_of(&row.cells[0]).into(), indent + STEP);
            } else {
                self.row(&cells(row), &widths, &figures, indent);
            }
        }
    }

    /// Cells beside each other, in as many lines as the highest has; heads stand on their last line.
    fn row(&mut self, cells: &[String], widths: &[usize], figures: &[bool], indent: usize) {
        let set: Vec<Vec<_>> = cells
            .iter()
            .zip(widths)
            .map(|(cell, wide)| {
                cell.split('\n')
                    .flat_map(|l| textwrap::wrap(l, at_spaces(*wide)))
                    .collect()
            })
            .collect();
        let high = set.iter().map(Vec::len).max().unwrap_or(0);
        for n in 0..high {
            let mut line = " ".repeat(indent);
            for ((cell, wide), figure) in set.iter().zip(widths).zip(figures) {
                let words = cell.get(n).map_or("", |l| l.as_ref());
                let free = " ".repeat(wide.saturating_sub(textwrap::core::display_width(words)));
                let (before, after) = if *figure { (&*free, "") } else { ("", &*free) };
                line.extend([before, words, after, "  "]);
            }
            self.text.push_str(line.trim_end());
            self.text.push('\n');
        }
    }

    /// A block for each row, where there is no room for columns beside each other.
    fn stacked(&mut self, names: &[String], rows: &[&Row], indent: usize) {
        for row in rows {
            for (n, cell) in row.cells.iter().enumerate() {
                let words = words_of(cell);
                match names.get(n).filter(|name| n > 0 && !name.is_empty()) {
                    None if n == 0 => self.paragraph(&words.into(), indent),
                    None => self.paragraph(&words.into(), indent + STEP),
                    Some(_) if words.is_empty() => {}
                    Some(name) => {
                        let line = format!("{name}: {words}");
                        self.paragraph(&line.into(), indent + STEP);
                    }
                }
            }
        }
    }

    fn bars(&mut self, bars: &[Bar], indent: usize) {
        const WIDEST: usize = 40;
        let most = bars.iter().map(Bar::sum).fold(0.0, f64::max);
        let wide = |words: &str| textwrap::core::display_width(words);
        let name = bars.iter().map(|b| wide(&b.name)).max().unwrap_or(0);
        let last = bars.iter().flat_map(|b| &b.said).map(|s| wide(s)).max();
        let last = last.unwrap_or(0);
        let said = bars.iter().map(|b| b.said.len()).max().unwrap_or(0) * (last + STEP);
        let room = COLUMNS.saturating_sub(indent + name + said + STEP + 1);
        let room = room.clamp(8, WIDEST);
        for bar in bars {
            let mut signs = String::new();
            let mut sum = 0.0;
            for (part, sign) in bar.parts.iter().zip(['#', 'o', '+']) {
                sum += part;
                let until = if most > 0.0 {
                    (room as f64 * sum / most).round() as usize
                } else {
                    0
                };
                let more = until.saturating_sub(signs.len());
                signs.extend(std::iter::repeat_n(sign, more));
            }
            let free = name - wide(&bar.name);
            let mut line = format!("{}{}{} |", " ".repeat(indent), bar.name, " ".repeat(free));
            let _ = write!(line, "{signs:<room$}");
            for words in &bar.said {
                let free = last.saturating_sub(wide(words));
                let _ = write!(line, "{}{words}", " ".repeat(free + STEP));
            }
            self.text.push_str(line.trim_end());
            self.text.push('\n');
        }
    }
}

fn words_of(cell: &Cell) -> String {
    let lines: Vec<String> = cell.lines.iter().map(Line::plain).collect();
    lines.join("\n")
}

/// How wide each column is: as its cells like it, or narrower where room is short, but never so that a
/// word is torn. Nothing where even that has no room.
fn widths(rows: &[Vec<String>], room: usize) -> Option<Vec<usize>> {
    let columns = rows.iter().map(Vec::len).max()?;
    let longest = |n: usize, parts: &dyn Fn(&str) -> usize| {
        let cells = rows.iter().filter_map(|r| r.get(n));
        cells.map(|c| parts(c)).max().unwrap_or(0)
    };
    let wide = textwrap::core::display_width;
    let line = |c: &str| c.split('\n').map(wide).max().unwrap_or(0);
    let words = |c: &str| c.split('\n').flat_map(whole_words).map(|w| wide(&w)).max();
    let word = |c: &str| words(c).unwrap_or(0);
    let mut widths: Vec<usize> = (0..columns).map(|n| longest(n, &line)).collect();
    let least: Vec<usize> = (0..columns).map(|n| longest(n, &word)).collect();
    let room = room.checked_sub(STEP * columns.saturating_sub(1))?;
    while widths.iter().sum::<usize>() > room {
        let wider = (0..columns).filter(|n| widths[*n] > least[*n]);
        let widest = wider.max_by_key(|n| widths[*n])?;
        widths[widest] -= 1;
    }
    Some(widths)
}

/// True for a number, alone or with its unit.
fn is_figure(cell: &Cell) -> bool {
    let words = words_of(cell);
    let bare = words.trim_start_matches(['<', '>', '!', '(', '-', '+', '~', ' ']);
    let letters = |w: &&str| w.starts_with(char::is_alphabetic);
    let units = words.split_whitespace().filter(letters).count();
    words.trim_matches('-').is_empty()
        || (bare.starts_with(|c: char| c.is_ascii_digit()) && units < 2)
}
