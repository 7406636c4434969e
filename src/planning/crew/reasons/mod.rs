//! TODO reasons

pub(crate) mod explain;
pub(crate) mod half_days;
pub(crate) mod hints;
pub(crate) mod lift;
pub(crate) mod shortfall;
