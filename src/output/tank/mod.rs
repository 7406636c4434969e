//! The tanks: what is where, what is left, and the nitrogen.

mod csv;
mod document;
mod drawing;

pub(super) use document::{place, runs};
pub(super) use drawing::map;

use super::answer::{Answer, Kind};
use super::document::Document;
use crate::analysis::tank::TankReport;

impl Answer for TankReport {
    fn document(&self) -> Document {
        document::document(self)
    }

    fn tables(&self) -> Vec<Kind<Self>> {
        csv::tables()
    }
}
