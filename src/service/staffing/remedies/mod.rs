//! The kinds of change that may help, and for each the ladders to climb: changes of one thing,
//! the least first.

mod chute;
mod crew;
mod dates;
mod herd;
mod protocols;
mod straws;

use chrono::TimeDelta;

pub(super) use dates::{broken_wishes, finer};

use super::change::Change;
use super::evaluate::Evaluator;
use crate::base::time::Instant;
use crate::trade::protocol::Library;
use crate::trade::season::{Season, Technician};

/// A kind of change, in the order of what it usually asks.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(super) enum Kind {
    Days,
    KeepOrder,
    Bulls,
    Pace,
    Pens,
    PenStarts,
    Start,
    Shifts,
    Boxes,
    Send,
    Helper,
    Day,
    Protocol,
    Hire,
}

impl Kind {
    pub(super) const ALL: [Self; 14] = [
        Self::Days,
        Self::KeepOrder,
        Self::Bulls,
        Self::Pace,
        Self::Pens,
        Self::PenStarts,
        Self::Start,
        Self::Shifts,
        Self::Boxes,
        Self::Send,
        Self::Helper,
        Self::Day,
        Self::Protocol,
        Self::Hire,
    ];

    /// Its name in the answer, and in words.
    const fn names(self) -> (&'static str, &'static str) {
        match self {
            Self::KeepOrder => ("keep-order", "the order of the last treatment kept"),
            Self::Bulls => ("straws", "straws of another bull, or more straws"),
            Self::Pace => ("pass-pace", "the chute slower or faster"),
            Self::Pens => ("pens", "more or fewer pens"),
            Self::PenStarts => ("pen-starts", "pens begun at times of their own"),
            Self::Days => ("days", "a group spread over days"),
            Self::Start => ("start-hour", "the group begun earlier or later on its day"),
            Self::Shifts => ("shifts", "the crew's hours begun earlier or ended later"),
            Self::Boxes => ("boxes", "more breeding boxes"),
            Self::Send => (
                "left-out-technician",
                "technicians of the season who were left out",
            ),
            Self::Helper => ("helper", "a helper for a technician who works alone"),
            Self::Day => ("start-day", "the group moved to another day"),
            Self::Protocol => ("protocol", "a protocol with a wider window"),
            Self::Hire => ("technician", "one technician more"),
        }
    }

    pub(super) const fn as_str(self) -> &'static str {
        self.names().0
    }

    pub(super) const fn words(self) -> &'static str {
        self.names().1
    }
}

/// Changes of one thing, the least first.
pub(super) type Ladder = Vec<Change>;

/// What ladders are made for.
pub(super) struct Neighborhood<'a> {
    pub(super) evaluator: &'a Evaluator<'a>,
    pub(super) library: &'a Library,
    /// Technicians of the season who are not counted on.
    pub(super) left_out: &'a [Technician],
    /// Groups whose pens' starts the plan found, and the key that let it: a change is a change to these.
    pub(super) pinned: &'a [(usize, &'static str)],
    /// Other groups that are bred about the same hours.
    pub(super) beside: Vec<usize>,
    /// True for changes one by one: each kind at its own grain.
    pub(super) fine: bool,
}

/// Where and when a season breeds what is asked about.
pub(super) struct Scene {
    pub(super) site: usize,
    pub(super) open: Instant,
    pub(super) close: Instant,
}

impl Neighborhood<'_> {
    /// The groups asked about.
    pub(super) fn groups(&self) -> &[usize] {
        &self.evaluator.target.groups
    }

    /// Those, and one by one others that are bred about the same hours: with them somebody may be
    /// free.
    pub(super) fn movable(&self) -> Vec<usize> {
        let beside = self.beside.iter().filter(|_| self.fine);
        self.groups().iter().chain(beside).copied().collect()
    }

    /// `None` where nobody is due.
    pub(super) fn scene(&self, season: &Season) -> Option<Scene> {
        let dues = self.evaluator.dues(season);
        let hours = || dues.iter().map(crate::planning::dating::Due::safe_hours);
        let open = hours().map(|h| h.earliest.min(h.latest)).min()?;
        let close = hours().map(|h| h.earliest.max(h.latest)).max()?;
        // Where no hour suits all, the aim still says when the crew is wanted.
        let middle = hours().map(|h| h.aim).min()?;
        let half = TimeDelta::hours(1);
        Some(Scene {
            site: dues.first()?.site,
            open: open.min(middle - half),
            close: close.max(middle + half),
        })
    }

    /// The ladders of a kind for a season.
    pub(super) fn ladders(&self, kind: Kind, season: &Season) -> Vec<Ladder> {
        let here = |of: &dyn Fn(&Season, &Scene) -> Vec<Ladder>| {
            let scene = self.scene(season);
            scene.map_or_else(Vec::new, |scene| of(season, &scene))
        };
        let mut all = match kind {
            Kind::KeepOrder => herd::keep(self, season),
            Kind::Bulls => straws::ladders(self, season),
            Kind::Pace => chute::pace(self, season),
            Kind::Pens => herd::pens(self, season),
            Kind::PenStarts => herd::stagger(self, season),
            Kind::Days => herd::days(self, season),
            Kind::Start => dates::hours(self, season),
            Kind::Day => dates::days(self, season),
            Kind::Shifts => here(&crew::shifts),
            Kind::Helper => here(&crew::helper),
            Kind::Send => crew::send(self),
            Kind::Boxes => here(&chute::boxes),
            Kind::Protocol => protocols::wider(self, season),
            Kind::Hire => here(&|season, scene| crew::hire(self, season, scene)),
        };
        // A group of one head has no pens to split into.
        all.retain(|ladder| !ladder.is_empty());
        all
    }
}
