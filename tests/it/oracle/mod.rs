//! Answers counted a second time, in another way than the program counts them: of what makes an answer
//! only its types are known here, and which straws a session takes.

pub(crate) mod calves;
pub(crate) mod places;
pub(crate) mod supplies;
pub(crate) mod thaw;

use std::fmt::{Debug, Display};

use chrono::{DateTime, TimeDelta, Utc};
use thawline::error::{Code, Finding};
use thawline::plan::{Plan, Slot};
use thawline::season::Season;

/// When each cow of a slot is bred.
fn moments(slot: &Slot) -> impl Iterator<Item = DateTime<Utc>> {
    let after = |minutes: &f64| TimeDelta::milliseconds((minutes * 60_000.0).round() as i64);
    slot.bred_minutes
        .iter()
        .map(move |m| slot.start.with_timezone(&Utc) + after(m))
}

/// A season and its plan, with what was found wrong in an answer.
pub(crate) struct Reading<'a> {
    season: &'a Season,
    plan: &'a Plan,
    found: Vec<Finding>,
}

impl<'a> Reading<'a> {
    fn new(season: &'a Season, plan: &'a Plan) -> Self {
        Self {
            season,
            plan,
            found: Vec::new(),
        }
    }

    fn wrong(&mut self, who: &str, expected: impl Display, got: impl Display) {
        let what = format!("{who}: the answer has {got}");
        self.found
            .push(Finding::error(Code::Verify, what).expected(expected.to_string()));
    }

    fn same<T: PartialEq + Debug>(&mut self, who: &str, expected: &T, got: &T) {
        if expected != got {
            self.wrong(who, format!("{expected:?}"), format!("{got:?}"));
        }
    }
}
