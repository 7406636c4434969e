//! What was found for the wishes of groups.

mod csv;
mod document;

use super::answer::{Answer, Kind};
use super::document::Document;
use crate::planning::choose::Chosen;

impl Answer for Chosen {
    fn document(&self) -> Document {
        document::document(self)
    }

    /// The candidates of each group's list, and for several groups what is chosen for them together.
    fn tables(&self) -> Vec<Kind<Self>> {
        vec![
            Kind::new("candidates", csv::candidates),
            Kind::new("choice", csv::choice),
        ]
    }
}
