//! Who breeds whom, where and when: sessions with their people and slots, and who is left.

use std::collections::BTreeMap;

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};
use serde_json::Value;

use crate::base::error::{Code, Error, Finding};
use crate::base::time::Instant;
use crate::base::units::Head;
use crate::planning::crew::margin::{Binding, Margin};
use crate::trade::season::pace::Rounds;

/// The breeding of one site over one connected stretch of hours.
#[derive(Clone, Debug, PartialEq)]
pub struct Session {
    /// Site, by its place in the season.
    pub site: usize,
    /// Dues bred here, by their place in [`DatedSeason::dues`](crate::planning::dating::DatedSeason::dues).
    pub dues: Vec<usize>,
    /// First moment of the hours.
    pub open: Instant,
    /// Last moment of the hours.
    pub close: Instant,
    /// Technicians sent here, with their rounds.
    pub crew: Vec<Present>,
    /// What is bred, by slot, due and technician.
    pub bred: Vec<Bred>,
    /// What is not.
    pub uncovered: Vec<Uncovered>,
    /// What is left over, and what binds.
    pub margin: Margin,
}

impl Session {
    /// Head bred.
    #[must_use]
    pub fn head_bred(&self) -> u32 {
        self.bred.iter().map(|b| b.at.len() as u32).sum()
    }
}

/// A technician at a session.
#[derive(Clone, Debug, PartialEq)]
pub struct Present {
    /// Technician, by its place in the season.
    pub technician: usize,
    /// Rounds of straws.
    pub rounds: Rounds,
    /// Head bred.
    pub head: Head,
    /// When the first straws go into the bath; `None` without cows.
    pub begins: Option<Instant>,
    /// First and last cow.
    pub cows: Option<(Instant, Instant)>,
    /// From when to when the technician is here at the most, where another session on the same
    /// day takes the rest.
    pub stay: Option<(Instant, Instant)>,
}

/// Animals of one due that one technician breeds in one slot.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Bred {
    /// First moment of the slot.
    pub slot: Instant,
    /// Due, by its place in [`DatedSeason::dues`](crate::planning::dating::DatedSeason::dues).
    pub due: usize,
    /// Technician, by its place in the season.
    pub technician: usize,
    /// When each is bred.
    pub at: Vec<Instant>,
    /// For order kept: which animals, by their place in the pen from 0.
    pub cows: Vec<u32>,
}

/// Animals of one due that nobody can breed in their hours.
#[derive(Clone, Debug, PartialEq)]
pub struct Uncovered {
    /// Due, by its place in [`DatedSeason::dues`](crate::planning::dating::DatedSeason::dues).
    pub due: usize,
    /// How many.
    pub head: Head,
    /// For order kept: which, by their place in the pen from 0.
    pub cows: Vec<u32>,
    /// The limit that costs most.
    pub binding: Binding,
    /// Limits without which more could be bred, the one that costs most first.
    pub lifted: Vec<Lifted>,
    /// Changes of the season file that breed more.
    pub hints: Vec<Hint>,
    /// No more head than this is bred in the session by those at hand, whatever their shifts, where that
    /// is sure.
    pub at_most: Option<u32>,
    /// Why, in words with figures.
    pub why: Vec<String>,
}

/// Straws of one bull set aside for one group.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Allotted {
    /// Group, by its place in the season.
    pub group: usize,
    /// Bull, by its place in the season.
    pub bull: usize,
    /// Whether they are sexed; not said where it does not matter.
    pub sexed: Option<bool>,
    /// Straws.
    pub straws: u32,
}

/// The whole season's breeding.
#[derive(Clone, Debug, PartialEq)]
pub struct Workload {
    /// Sessions by time, then site.
    pub sessions: Vec<Session>,
    /// Straws by group and bull.
    pub straws: Vec<Allotted>,
    /// Straws that groups are short of, for animals that people could breed.
    pub straws_short: BTreeMap<usize, u32>,
    /// Groups whose animals are known by their order: these, by pen.
    pub in_order: BTreeMap<usize, Vec<Vec<Ordered>>>,
    /// What was noticed.
    pub findings: Vec<Finding>,
    /// How the search ended.
    pub search: Search,
}

/// A fault of the model or solver: never of the input.
#[derive(Clone, Debug, thiserror::Error)]
#[error("the breeding model of sessions on {day} could not be solved: {cause}")]
pub struct Fault {
    /// Which sessions.
    pub day: String,
    /// What the solver said.
    pub cause: String,
}

impl From<Fault> for Error {
    fn from(fault: Fault) -> Self {
        let finding = Finding::error(Code::Verify, fault.to_string());
        Self::internal(vec![
            finding.hint("please report this with the season file"),
        ])
    }
}

/// How the search ended, for people who want to know.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Search {
    /// Parts that share nothing.
    pub parts: usize,
    /// Parts whose best plan was proven.
    pub proven: usize,
    /// Parts in which somebody had to be sent to one of two places.
    pub with_choices: usize,
    /// The parts that are not proven, in the order of the season.
    pub open: Vec<Open>,
    /// True if somebody ended the search by hand before all parts were searched.
    pub stopped: bool,
}

/// A part of the season whose plan may not be the best.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Open {
    /// First due of each of its sessions, by their place in [`crate::planning::dating::DatedSeason::dues`].
    pub dues: Vec<usize>,
    /// Head that is bred.
    pub covered: Head,
    /// No plan breeds more of the part.
    pub bound: Head,
}

/// A change of the season file that breeds more.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Hint {
    /// What to do, in words with figures.
    pub words: String,
    /// Head bred more, in all sessions that hang together.
    pub head: u32,
    /// The values to set.
    pub set: Vec<Set>,
}

/// A value of the season file.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Set {
    /// Where it stands, as a JSON Pointer (RFC 6901); with `-` at its end, as one more of a list. What
    /// is missing on the way is to be made.
    pub at: String,
    /// The value.
    pub to: Value,
}

/// Limits that, lifted together, breed more.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Lifted {
    /// One, or two where none does alone.
    pub limits: Vec<Binding>,
    /// Head of the pen that could then be bred, at the most.
    pub head: u32,
}

/// An animal in the order of her pen.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Ordered {
    /// Her id.
    pub animal: String,
    /// The straw she is mated with; none without.
    pub straw: Option<Sort>,
}

/// A bull, by his place in the season, and whether his straws are sexed.
pub type Sort = (usize, bool);
