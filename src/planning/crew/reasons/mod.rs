//! Stage 8: why something is not bred, and what margin there is.
//!
//! A limit is named only if the season, solved again without it (`lift`), breeds more. `hints` does the same with
//! changes of the season file, `half_days` with the 95 percent head of a half-day.

pub(crate) mod explain;
pub(crate) mod half_days;
pub(crate) mod hints;
pub(crate) mod lift;
pub(crate) mod near;
pub(crate) mod shortfall;
pub(crate) mod words;
