//! How large a table may be.

/// No table needs more: 100,000 animals with every cell filled take under 20 MB.
pub const MOST_BYTES: u64 = 64 * 1024 * 1024;

/// Cells of a row at the most: spreadsheets leave blank columns behind, but not so many.
pub(crate) const MOST_CELLS: usize = 1000;
