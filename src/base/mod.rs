//! What everything stands on: errors, quantities, time, trees and tables of text, the solver.

#[cfg(test)]
pub(crate) mod dice;
pub mod document;
pub mod error;
pub mod progress;
pub mod sheet;
pub mod solver;
pub mod time;
pub mod units;
