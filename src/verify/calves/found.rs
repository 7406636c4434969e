//! What is found wrong with a forecast.

use std::fmt::{Debug, Display};

use crate::analysis::calves::{Answer, FORMAT};
use crate::base::error::{Code, Finding};
use crate::trade::season::Season;

/// Head are told to the ten-thousandth.
pub(super) const HEAD: f64 = 1e-4;

/// So are percentages.
pub(super) const PERCENT: f64 = 1e-4;

pub(super) struct Found(pub(super) Vec<Finding>);

impl Found {
    pub(super) fn wrong(&mut self, who: &str, expected: impl Display, got: impl Display) {
        self.0.push(
            Finding::error(Code::Verify, format!("{who}: the forecast has {got}"))
                .expected(expected.to_string())
                .hint("please report this with the season file"),
        );
    }

    pub(super) fn same(&mut self, who: &str, expected: f64, got: f64, within: f64) {
        // A value that is no number is wrong, too; large sums carry their own rounding.
        let near = (expected - got).abs() <= within + 1e-9 * expected.abs().max(1.0);
        if !near {
            self.wrong(who, expected, got);
        }
    }

    pub(super) fn exactly<T: PartialEq + Debug>(&mut self, who: &str, expected: &T, got: &T) {
        if expected != got {
            self.wrong(who, format!("{expected:?}"), format!("{got:?}"));
        }
    }

    pub(super) fn head(&mut self, season: &Season, answer: &Answer) {
        let right = [
            FORMAT,
            env!("CARGO_PKG_VERSION"),
            &season.name,
            season.zone.name(),
        ];
        let told = [
            &*answer.format,
            &*answer.program,
            &*answer.season,
            &*answer.zone,
        ];
        self.exactly("the forecast's head", &right, &told);
    }
}
