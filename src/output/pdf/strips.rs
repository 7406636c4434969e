//! Blocks into strips as wide as the sheet's column: what is never divided between sheets.

use super::blocks::{Part, Piece, parts, plain};
use super::draw::{Draw, Kind, Place, STAND, Strip};
use super::drawing;
use super::rows::table;
use super::setter::{Setter, keep, tick, whole};
use crate::output::document::{Block, Item, ListKind};

/// Cards that fill less of a sheet are not divided.
const WHOLE_CARD: f32 = 0.6;

impl Setter<'_> {
    /// The strips of some parts.
    pub(super) fn set(&mut self, parts: &[Part<'_>], at: Place) -> Vec<Strip> {
        let mut strips: Vec<Strip> = Vec::new();
        let (mut sheet, mut day) = (false, None);
        for (n, part) in parts.iter().enumerate() {
            let mut more = match part {
                Part::Sheet => {
                    sheet = true;
                    continue;
                }
                Part::Day(words) => {
                    day = Some(words.clone());
                    continue;
                }
                Part::Heading {
                    level,
                    text,
                    anchor,
                } => self.heading(*level, text, *anchor, at),
                Part::Paragraph { text, small } => {
                    let size = if *small {
                        self.measures.small
                    } else {
                        self.measures.size
                    };
                    let part = self.structure.add(Kind::Paragraph, at.part);
                    self.text(text, size, Place { part, ..at }, 0.32 * size)
                }
                Part::Entry { text, anchor } => self.entry(text, anchor, at),
                Part::List(kind, items) => self.list(*kind, items, at),
                Part::Table(t) => table(self, t, at),
                Part::Drawing(d) => {
                    let strip = drawing::strip(d, self.letters, at, self.measures.high);
                    strip.into_iter().collect()
                }
                Part::Framed(inner) => self.framed(inner, at),
                Part::Card(inner) => self.card(inner, at),
                Part::Whole(inner) => {
                    let mut strips = self.set(inner, at);
                    whole(&mut strips, self.measures.high * WHOLE_CARD);
                    strips
                }
            };
            // A sentence or two between a heading and a table go with the table.
            let between = matches!(part, Part::Paragraph { .. })
                && matches!(parts.get(n + 1), Some(Part::Table(_)))
                && n > 0
                && matches!(parts[n - 1], Part::Heading { .. });
            if between {
                keep(&mut more);
            }
            let many = strips.len();
            if let Some(first) = more.first_mut() {
                // Headings just above go to the new sheet too.
                let above = strips.iter().rev();
                let kept = above.take_while(|s| s.keep && !s.sheet).count();
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
        keep(&mut strips);
        if let Some(first) = strips.first_mut() {
            first.mark = Some((level, words));
            first.anchor = anchor.map(str::to_owned);
        }
        strips
    }

    fn entry(&mut self, text: &[Piece], anchor: &str, at: Place) -> Vec<Strip> {
        let size = self.measures.size;
        let part = self.structure.add(Kind::Paragraph, at.part);
        // Room for four figures.
        let right = at.right - 3.2 * size;
        let mut strips = self.text(text, size, Place { right, part, ..at }, 0.2 * size);
        let last = strips.len().saturating_sub(1);
        keep(&mut strips[..last]);
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

    fn list(&mut self, kind: ListKind, items: &[Item], at: Place) -> Vec<Strip> {
        let size = self.measures.size;
        let list = self.structure.add(Kind::List, at.part);
        let mut strips = Vec::new();
        for item in items {
            let inner = parts(&item.blocks);
            if inner.is_empty() {
                continue;
            }
            let ticked = item.tick || matches!(kind, ListKind::Bring | ListKind::Kit);
            let plain = matches!(kind, ListKind::Plain | ListKind::Rows);
            let li = self.structure.add(Kind::Item, list);
            let part = self.structure.add(Kind::Body, li);
            let indent = match (ticked, plain) {
                (true, _) => 1.7 * size,
                (false, true) => 0.0,
                (false, false) => 1.1 * size,
            };
            let left = at.left + indent;
            let mut body = self.set(&inner, Place { left, part, ..at });
            let Some(first) = body.first_mut() else {
                continue;
            };
            if ticked {
                first.draws.push(tick(at.left, STAND * size, size));
            } else if !plain {
                first.draws.push(Draw::Rule {
                    from: (at.left + 0.3 * size, 0.68 * size),
                    to: (at.left + 0.6 * size, 0.68 * size),
                    wide: 0.3 * size,
                });
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
        let mut strips = self.set(&parts(inner), place);
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
        let mut strips = self.set(&parts(inner), at);
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
