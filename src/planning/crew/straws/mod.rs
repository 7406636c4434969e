//! TODO straws

pub(crate) mod allot;
pub(crate) mod demand;
pub(crate) mod reserve;
