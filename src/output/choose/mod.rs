//! What was found for the wishes of groups.

mod csv;
mod document;
mod json;

pub use json::schema;

use super::answer::{Answer, Kind};
use super::document::Document;
use crate::planning::choose::Chosen;
use crate::trade::season::Season;

/// What was found, with its season.
pub struct Printed<'a> {
    /// What was found.
    pub chosen: &'a Chosen,
    /// For which season.
    pub season: &'a Season,
}

impl Answer for Printed<'_> {
    fn document(&self) -> Document {
        document::document(self.chosen, self.season)
    }

    fn json(&self) -> String {
        json::json(self.chosen, self.season)
    }

    /// The candidates of each group's list, and for several groups what is chosen for them together.
    fn tables(&self) -> Vec<Kind<Self>> {
        vec![
            Kind::new("candidates", |p| csv::candidates(p.chosen, p.season)),
            Kind::new("choice", |p| csv::choice(p.chosen, p.season)),
        ]
    }
}
