//! What all parts of a plan are made with: moments, hours, and the ids of passes and sessions.

use super::{Hours, Moment};
use crate::base::time::Instant;
use crate::planning::crew::FullHalfDay;
use crate::planning::dating::{self, DatedSeason, Due};
use crate::trade::protocol::Action;
use crate::trade::season::Season;

pub(super) struct Maker<'a> {
    pub(super) season: &'a Season,
    pub(super) dated: &'a DatedSeason,
    pub(super) full: &'a [FullHalfDay],
}

impl Maker<'_> {
    pub(super) fn at(&self, at: Instant) -> Moment {
        self.season.zone.moment(at)
    }

    pub(super) fn pass_id(&self, group: usize, pen: usize, step: usize) -> String {
        let g = &self.season.groups[group];
        format!("{}/{}/{}", g.id, pen + 1, g.protocol.steps[step].id)
    }

    pub(super) fn due_id(&self, due: &Due) -> String {
        match due.half_day {
            Some(half) => self.half_id(due.group, due.step, half),
            None => self.pass_id(due.group, due.pen, due.step),
        }
    }

    /// Named for its first pen's breeding pass, which is in no other session.
    pub(super) fn session_id(&self, first: &Due) -> String {
        format!(
            "{}@{}",
            self.due_id(first),
            self.season.sites[first.site].id
        )
    }

    pub(super) fn hours(&self, hours: &dating::Hours, window: String) -> Hours {
        Hours {
            earliest: self.at(hours.earliest),
            aim: self.at(hours.aim),
            latest: self.at(hours.latest),
            window,
        }
    }
}

pub(super) fn actions_words(actions: &[Action]) -> String {
    let words: Vec<&str> = actions.iter().map(|a| a.words()).collect();
    words.join(" + ")
}
