//! Calves and money: in words, as JSON, and as tables.

mod csv;
mod document;
mod money;

use super::answer::{Answer, Kind};
use super::document::Document;
use super::json;
use crate::analysis::forecast::Forecast;

impl Answer for Forecast {
    fn document(&self) -> Document {
        document::document(self)
    }

    fn json(&self) -> String {
        json::text(self)
    }

    fn tables(&self) -> Vec<Kind<Self>> {
        csv::tables()
    }
}
