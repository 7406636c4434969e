//! A clock time before which nobody works.

use schemars::JsonSchema;
use serde::Deserialize;

use super::hours::{FreeHours, Rule, Stops, When};
use crate::base::error::Finding;
use crate::base::time::{parse_clock, read};

/// Local clock time before which nobody works, on any day, such as `05:00`: no treatment and no
/// breeding begins sooner, no straw is thawed, and nobody leaves home. Any time unless given.
#[derive(Debug, Default, Deserialize, JsonSchema)]
#[schemars(inline, extend("x-also-called" = ["earliest_work", "work_from", "not_before"]))]
pub struct NoWorkBefore(Option<String>);

impl Rule for NoWorkBefore {
    fn wrong(&self) -> Vec<(String, Finding)> {
        let clock = self
            .0
            .as_deref()
            .map(|t| read::clock_like(t, false, "05:00"));
        let wrong = clock.and_then(Result::err);
        wrong.into_iter().map(|f| (String::new(), f)).collect()
    }

    fn free(&self) -> Vec<FreeHours> {
        let until = self.0.as_deref().and_then(parse_clock);
        let hours = until.map(|until| FreeHours {
            when: When::Daily,
            from: None,
            to: Some(until),
            stops: Stops::AllWork,
            why: None,
        });
        hours.into_iter().collect()
    }
}
