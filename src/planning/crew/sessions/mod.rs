//! TODO sessions

pub(crate) mod gather;
pub(crate) mod parts;
pub(crate) mod place;
pub(crate) mod shape;
