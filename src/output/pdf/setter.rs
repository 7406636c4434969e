//! Text set into strips, and strips kept together.

use super::blocks::Piece;
use super::draw::{Draw, LEADING, Measures, Place, STAND, Strip, Structure};
use super::letters::Letters;
use super::lines::{Line, Part, TICK, lines};

/// Sets blocks.
pub(super) struct Setter<'a> {
    pub(super) letters: &'a Letters,
    pub(super) measures: Measures,
    pub(super) structure: Structure,
}

impl Setter<'_> {
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
}

/// None of these is parted from the next.
pub(super) fn keep(strips: &mut [Strip]) {
    for strip in strips {
        strip.keep = true;
    }
}

/// Strips that are kept together if they are not higher than this.
pub(super) fn whole(strips: &mut [Strip], most: f32) {
    let high: f32 = strips.iter().map(|s| s.above + s.high).sum();
    if high <= most && strips.iter().skip(1).all(|s| !s.sheet) {
        let last = strips.len().saturating_sub(1);
        keep(&mut strips[..last]);
    }
}

/// A box to tick beside letters that stand on `y`.
pub(super) fn tick(x: f32, y: f32, size: f32) -> Draw {
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
            part: Some(at.part),
        },
    };
    line.parts.iter().enumerate().map(draw).collect()
}
