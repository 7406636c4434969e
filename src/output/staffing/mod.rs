//! Whether a crew can breed what was asked about, and what would make it so.

mod csv;
mod document;
mod remedies;

use super::answer::{Answer, Kind};
use super::document::Document;
use crate::service::staffing::Staffing;

impl Answer for Staffing {
    fn document(&self) -> Document {
        document::document(self)
    }

    fn tables(&self) -> Vec<Kind<Self>> {
        csv::tables()
    }
}
