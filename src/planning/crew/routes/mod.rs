//! TODO routes

pub(crate) mod graph;
pub(crate) mod list;
