//! Who breeds how many, where, in which slot: passes x crew x sites x straws.
//!
//! The season is cut into parts that share nobody and nothing. Each part is a network flow
//! (`formulate`), solved whole by a small LP (`solve`) and read back into cows and people
//! (`readback`). [`explain`] says, by plain arithmetic and not from the solver, what
//! margin is left and what binds.
//!
//! Objectives, each before the next: head covered; distance from the aim; even load; early finish.

mod alone;
mod count;
mod coverage;
mod crew;
mod drives;
pub mod explain;
mod face;
mod formulate;
mod network;
mod parts;
mod pieces;
mod readback;
mod routes;
mod send;
mod shortfall;
mod solve;
pub mod starts;
mod straws;
mod timing;
mod ways;

use crate::error::Finding;
use crate::expand::Expanded;
use crate::season::Season;
use crate::season::pace::Rounds;
use crate::time::Instant;
use crate::units::Head;

pub use alone::covered_by_all;
pub use count::{Counted, count, count_as_planned, covered_at_most, most_between};
pub use crew::Slots;
pub use explain::{Binding, Margin};
pub use straws::lacking as straws_lacking;

/// The breeding of one site over one connected stretch of hours.
#[derive(Clone, Debug, PartialEq)]
pub struct Session {
    /// Site, by its place in the season.
    pub site: usize,
    /// Dues bred here, by their place in [`Expanded::dues`].
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
    /// Due, by its place in [`Expanded::dues`].
    pub due: usize,
    /// Technician, by its place in the season.
    pub technician: usize,
    /// When each is bred.
    pub at: Vec<Instant>,
    /// For order kept: which animals, by their place in the pen from 0.
    pub cows: Vec<u32>,
}

/// Animals of one due that nobody can breed in their hours.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Uncovered {
    /// Due, by its place in [`Expanded::dues`].
    pub due: usize,
    /// How many.
    pub head: Head,
    /// For order kept: which, by their place in the pen from 0.
    pub cows: Vec<u32>,
    /// The limit that is met first.
    pub binding: Binding,
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
    /// What was noticed.
    pub findings: Vec<Finding>,
    /// How the search ended.
    pub search: Search,
}

/// How the search ended, for people who want to know.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Search {
    /// Parts that share nothing.
    pub parts: usize,
    /// Parts whose best plan was proven.
    pub proven: usize,
    /// Parts in which somebody had to be sent to one of two places.
    pub with_choices: usize,
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

/// True if straws were set aside beforehand for a group of the part, which other groups might
/// have used better.
fn part_of_reserved(
    expanded: &Expanded,
    shapes: &[crew::Shape],
    part: &parts::Part,
    short: &straws::Short,
) -> bool {
    let dues = part.sessions.iter().flat_map(|s| &shapes[*s].dues);
    dues.map(|d| expanded.dues[*d].group)
        .any(|g| short.reserved.contains_key(&g))
}

fn shapes_of<'a>(part: &parts::Part, shapes: &'a [crew::Shape]) -> Vec<&'a crew::Shape> {
    part.sessions.iter().map(|s| &shapes[*s]).collect()
}

/// Spreads the breeding over the crew.
///
/// # Errors
/// A [`Fault`] if the solver fails on a model that always has an answer.
pub fn assign(season: &Season, expanded: &Expanded) -> Result<Workload, Fault> {
    let slots = Slots::new(season);
    let shapes = crew::sessions(season, expanded, slots);
    let short = straws::short(season, expanded);
    let parts = parts::cut(season, expanded, &shapes, &short);
    let mut sessions = Vec::new();
    let mut findings = Vec::new();
    let mut unproven = std::collections::BTreeSet::new();
    let mut search = Search {
        parts: parts.len(),
        ..Search::default()
    };
    for part in &parts {
        let (way, bred) =
            drives::without_idle(season, expanded, &shapes, part, &short).map_err(|cause| {
                Fault {
                    day: season.zone.human(shapes[part.sessions[0]].open),
                    cause,
                }
            })?;
        search.with_choices += usize::from(!way.model.network.switches.is_empty());
        let set_aside = part_of_reserved(expanded, &shapes, part, &short);
        search.proven += usize::from(way.proven() && !set_aside);
        if !way.proven() {
            let dues = part.sessions.iter().flat_map(|s| &shapes[*s].dues);
            unproven.extend(dues.copied());
            findings.push(readback::search_stopped(season, &shapes, part));
        }
        sessions.extend(bred);
    }
    let (straws, lacking) =
        straws::allot(season, expanded, &short, &sessions).map_err(|cause| Fault {
            day: "the whole season".into(),
            cause,
        })?;
    findings.extend(lacking);
    explain::explain(season, expanded, &shapes, &straws, &mut sessions);
    for u in sessions.iter_mut().flat_map(|s| &mut s.uncovered) {
        if unproven.contains(&u.due) {
            u.why.push(
                "the search over who goes where was not finished, and more might be covered".into(),
            );
        }
    }
    for session in &sessions {
        findings.extend(shortfall::findings(season, expanded, session, &unproven));
    }
    findings.extend(readback::chute_in_use(season, expanded, &sessions));
    sessions.sort_by_key(|s| (s.open, s.site));
    Ok(Workload {
        sessions,
        straws,
        findings,
        search,
    })
}
