//! What every answer is printed as: words, JSON and tables. A command that has an answer has all forms.

use serde::Serialize;

use super::document::{Document, terminal};
use super::json;
pub use super::table::Kind;

/// The tables of an answer.
pub type Tables<A> = Vec<Kind<A>>;

/// An answer that can be printed.
pub trait Answer: Serialize {
    /// In words.
    fn document(&self) -> Document;

    /// Its tables, the first one first. What they hold never changes which there are.
    fn tables(&self) -> Tables<Self>;

    /// As JSON, with its form's name and version.
    fn json(&self) -> String {
        json::text(self)
    }

    /// Its words for the terminal.
    fn text(&self) -> String {
        terminal::text(&self.document())
    }
}
