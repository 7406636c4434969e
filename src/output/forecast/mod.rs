//! Calves and money: in words, as JSON, and as tables.

mod csv;
mod document;
mod money;

pub use csv::{Table, csv};
pub use document::document;

use super::document::Document;
use crate::analysis::forecast::Answer;

/// The whole answer for the terminal.
#[must_use]
pub fn text(answer: &Answer) -> String {
    super::document::terminal::text(&document(answer))
}

/// The whole answer as JSON: `thawline.forecast/1`.
#[must_use]
pub fn json(answer: &Answer) -> String {
    super::json::text(answer)
}

impl crate::output::answer::Answer for Answer {
    fn document(&self) -> Document {
        document(self)
    }

    fn json(&self) -> String {
        json(self)
    }

    fn tables(&self) -> &'static [&'static str] {
        &["curve", "groups", "money"]
    }

    fn table(&self, name: &str) -> String {
        csv(
            self,
            match name {
                "groups" => Table::Groups,
                "money" => Table::Money,
                _ => Table::Curve,
            },
        )
    }
}
