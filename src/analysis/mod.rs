//! What a plan asks for and what comes of it: tank, thaw rounds, odds, supplies, matings, calves.

pub mod forecast;
pub mod matings;
pub mod simulate;
pub mod supplies;
pub mod tank;
pub mod thaw;
