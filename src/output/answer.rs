//! What every answer is printed as: words, JSON and tables. A command that has an answer has all forms.

use super::document::{Document, terminal};
pub use super::table::Kind;

/// An answer that can be printed.
pub trait Answer {
    /// In words.
    fn document(&self) -> Document;

    /// As JSON, with its form's name and version.
    fn json(&self) -> String;

    /// Its tables, the first one first. What they hold never changes which there are.
    fn tables(&self) -> Vec<Kind<Self>>;

    /// Its words for the terminal.
    fn text(&self) -> String {
        terminal::text(&self.document())
    }
}
