//! TODO flow

pub(crate) mod aggregate;
pub(crate) mod guess;
pub(crate) mod network;
pub(crate) mod optimal_face;
pub(crate) mod simplex;
pub(crate) mod solve;
