//! TODO bounds

pub(crate) mod by_session;
pub(crate) mod by_slot;
pub(crate) mod coverage;
