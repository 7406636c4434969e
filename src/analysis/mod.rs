//! What a plan asks for and what comes of it: tank, thaw rounds, odds, supplies, matings, calves.

pub mod chance;
pub mod forecast;
pub mod mate;
pub mod supplies;
pub mod tank;
pub mod thaw;
