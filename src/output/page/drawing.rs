//! What the drawings of the page share: their width, and places on it.

/// Width of a drawing, in its own units; text is 13 of them high.
pub(super) const WIDE: f64 = 720.0;

/// To a tenth of a unit: finer is not seen.
pub(super) fn tenth(x: f64) -> f64 {
    (x * 10.0).round() / 10.0
}

/// The place of a share, from 0 to 1, of the width between two edges.
pub(super) fn across(share: f64, edge: f64) -> f64 {
    tenth(edge + (WIDE - 2.0 * edge) * share)
}
