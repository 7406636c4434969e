//! Calves and money: in words, as JSON, and as tables.

mod csv;
mod document;
mod money;

use super::answer::{Answer, Kind};
use super::document::Document;
use crate::analysis::forecast::Forecast;

impl Answer for Forecast {
    fn document(&self) -> Document {
        document::document(self)
    }

    fn tables(&self) -> Vec<Kind<Self>> {
        csv::tables()
    }
}
