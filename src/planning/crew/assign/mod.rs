//! TODO assign

pub(crate) mod best;
pub(crate) mod columns;
pub(crate) mod formulate;
pub(crate) mod greedy;
pub(crate) mod greedy_routes;
pub(crate) mod model;
pub(crate) mod pricing;
