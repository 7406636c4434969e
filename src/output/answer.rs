//! What every answer is printed as: words, JSON and tables. A command that has an answer has all forms.

use super::document::Document;

/// An answer that can be printed.
pub trait Answer {
    /// In words.
    fn document(&self) -> Document;

    /// As JSON, with its form's name and version.
    fn json(&self) -> String;

    /// The names of its tables, the first one first.
    fn tables(&self) -> &'static [&'static str];

    /// One of its tables as comma-separated values; of a name that it does not have, the first.
    fn table(&self, name: &str) -> String;
}
