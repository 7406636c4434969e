//! Blocks as text in 80 columns: parts are set in under their heading, a blank line before each.

use comfy_table::{CellAlignment, ContentArrangement, presets};

use super::{Bar, Block, Cell, Document, Item, Kind, Line, ListKind, Row, Table, Term};
use crate::output::{COLUMNS, wrapped};

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
        let mut indent = indent;
        let (outer, mut under) = (indent, false);
        for block in blocks {
            match block {
                Block::Heading(h) if h.level == 1 => self.paragraph(&h.line, 0),
                Block::Heading(h) => {
                    // A second heading ends what the first one set in.
                    if under {
                        indent = outer;
                    }
                    if !h.tight {
                        self.blank();
                    }
                    self.paragraph(&h.line, indent);
                    (indent, under) = (indent + STEP, true);
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
            let free = column.saturating_sub(wide(term));
            let lead = " ".repeat(indent);
            if wide(term) > column {
                self.paragraph(&term.name, indent);
                self.words(
                    &term.said,
                    &" ".repeat(indent + column + STEP),
                    indent + column + STEP,
                );
                continue;
            }
            let first = format!("{lead}{}{}", term.name.plain(), " ".repeat(free + STEP));
            self.words(&term.said, &first, indent + column + STEP);
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
        for part in runs(t) {
            self.rows(t, &part, indent);
        }
    }

    /// Rows between two that go over all columns.
    fn rows(&mut self, t: &Table, rows: &[&Row], indent: usize) {
        let [first, ..] = rows else { return };
        if first.over_all {
            for cell in &first.cells {
                self.paragraph(&line_of(cell), indent);
            }
            return;
        }
        let mut set = comfy_table::Table::new();
        set.load_style(presets::NOTHING)
            .set_content_arrangement(ContentArrangement::Dynamic)
            .set_width((COLUMNS - indent) as u16);
        if t.columns.iter().any(|c| !line_of(c).0.is_empty()) {
            set.set_header(t.columns.iter().map(|c| line_of(c).plain()));
        }
        for row in rows {
            set.add_row(row.cells.iter().map(|c| line_of(c).plain()));
        }
        for (n, column) in set.column_iter_mut().enumerate() {
            column.set_padding((0, STEP as u16));
            let cells = rows.iter().filter_map(|r| r.cells.get(n));
            if cells.clone().all(is_figure) && cells.clone().any(|c| !c.heads) {
                column.set_cell_alignment(CellAlignment::Right);
            }
        }
        for line in set.lines() {
            let line = format!("{}{}", " ".repeat(indent), line.trim_end());
            self.text.push_str(line.trim_end());
            self.text.push('\n');
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
            line.push_str(&format!("{signs:<room$}"));
            for words in &bar.said {
                let free = last.saturating_sub(wide(words));
                line.push_str(&format!("{}{words}", " ".repeat(free + STEP)));
            }
            self.text.push_str(line.trim_end());
            self.text.push('\n');
        }
    }
}

/// Rows in a row, divided where one goes over all columns.
fn runs(t: &Table) -> Vec<Vec<&Row>> {
    let mut runs: Vec<Vec<&Row>> = Vec::new();
    for row in t.parts.iter().flatten() {
        match runs.last_mut() {
            Some(run) if !row.over_all && !run[0].over_all => run.push(row),
            _ => runs.push(vec![row]),
        }
    }
    runs
}

fn line_of(cell: &Cell) -> Line {
    Line::joined(cell.lines.iter().cloned(), super::Span::Break)
}

/// True for a number, with what may stand around one.
fn is_figure(cell: &Cell) -> bool {
    let words = line_of(cell).plain();
    let bare = words.trim_start_matches(['<', '>', '(', '-', '+', '~', ' ']);
    words.trim_matches('-').is_empty() || bare.starts_with(|c: char| c.is_ascii_digit())
}

#[cfg(test)]
mod tests {
    use super::super::TableKind;
    use super::*;

    fn text_of(blocks: Vec<Block>) -> String {
        text(&Document {
            title: String::new(),
            blocks,
        })
    }

    #[test]
    fn what_belongs_to_a_heading_is_set_in_under_it() {
        let text = text_of(vec![
            Block::heading(1, "Season"),
            Block::paragraph("Times are local."),
            Block::part("a", "First", vec![Block::bullets(["one", "two"])]),
            Block::heading(2, "Second"),
            Block::paragraph("word ".repeat(20)),
        ]);
        let words = "word word word word word word word word word word word word word word word";
        let rest = "    word word word word word";
        assert_eq!(
            text,
            format!(
                "Season\nTimes are local.\n\nFirst\n  - one\n  - two\n\nSecond\n  {words}\n{rest}\n"
            )
        );
    }

    #[test]
    fn figures_stand_under_each_other() {
        let row = |name: &str, n: u32| {
            Row::of(vec![
                Cell::head(super::super::Hold::Names, name),
                Cell::text(n),
            ])
        };
        let table = Table {
            parts: vec![vec![row("Dry Fork", 9), row("Wren", 120)]],
            ..Table::new(TableKind::Narrow, "", &["Bull", "Straws"])
        };
        let text = text_of(vec![Block::Table(table)]);
        let lines = ["Bull      Straws", "Dry Fork       9", "Wren         120"];
        assert_eq!(text.lines().collect::<Vec<_>>(), lines);
    }

    #[test]
    fn bars_are_as_long_as_they_are_many() {
        let bar = |name: &str, parts: &[f64]| Bar {
            name: name.to_owned(),
            parts: parts.to_vec(),
            said: vec![parts.iter().sum::<f64>().to_string()],
        };
        let text = text_of(vec![Block::Bars(vec![
            bar("a", &[10.0, 10.0]),
            bar("bc", &[5.0]),
        ])]);
        let signs = |line: &str, sign: char| line.matches(sign).count();
        let lines: Vec<&str> = text.lines().collect();
        assert_eq!((signs(lines[0], '#'), signs(lines[0], 'o')), (20, 20));
        assert_eq!(signs(lines[1], '#'), 10);
        assert!(lines[0].starts_with("a  |") && lines[1].ends_with(" 5"));
    }
}
