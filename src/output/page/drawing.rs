//! What the drawings of the page share: their width, and places on it.

use crate::base::units::tenths;
use crate::output::document::{Block, Drawing, Kind, Mark};

/// Width of a drawing, in its own units; text is 13 of them high.
pub(super) const WIDE: f64 = 720.0;

/// A chart that may be wider than a screen: its name, and what it shows, for those who do not see
/// it.
pub(super) fn chart(name: impl Into<String>, shows: &str, high: f64, marks: Vec<Mark>) -> Block {
    let drawing = Block::Drawing(Drawing {
        label: shows.to_owned(),
        wide: WIDE,
        high,
        marks,
        ..Drawing::default()
    });
    Block::section(Kind::Wide(name.into()), vec![drawing])
}

/// The place of a share, from 0 to 1, of the width between two edges.
pub(super) fn across(share: f64, edge: f64) -> f64 {
    tenths(edge + (WIDE - 2.0 * edge) * share)
}
