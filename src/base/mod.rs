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

/// Each of these is said in files, tables and JSON by the word that `strum` derives.
macro_rules! file_words {
    ($($of:ty),+) => {$(
        impl $of {
            /// The word in files, tables and JSON.
            #[must_use]
            pub fn as_str(self) -> &'static str {
                self.into()
            }
        }
    )+};
}
pub(crate) use file_words;
