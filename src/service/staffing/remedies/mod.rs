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

/// A kind of change, in the order of what it usually asks, with its words.
#[derive(
    Clone, Copy, Debug, PartialEq, Eq, strum::EnumMessage, strum::VariantArray, strum::IntoStaticStr,
)]
#[strum(serialize_all = "kebab-case")]
pub(super) enum Kind {
    #[strum(message = "a group spread over days")]
    Days,
    #[strum(message = "the order of the last treatment kept")]
    KeepOrder,
    #[strum(message = "straws of another bull, or more straws")]
    Straws,
    #[strum(message = "the chute slower or faster")]
    PassPace,
    #[strum(message = "more or fewer pens")]
    Pens,
    #[strum(message = "pens begun at times of their own")]
    PenStarts,
    #[strum(message = "the group begun earlier or later on its day")]
    StartHour,
    #[strum(message = "the crew's hours begun earlier or ended later")]
    Shifts,
    #[strum(message = "more breeding boxes")]
    Boxes,
    #[strum(message = "technicians of the season who were left out")]
    LeftOutTechnician,
    #[strum(message = "a helper for a technician who works alone")]
    Helper,
    #[strum(message = "the group moved to another day")]
    StartDay,
    #[strum(message = "a protocol with a wider window")]
    Protocol,
    #[strum(message = "one technician more")]
    Technician,
}

impl Kind {
    pub(super) const ALL: &'static [Self] = <Self as strum::VariantArray>::VARIANTS;

    /// Its name in the answer.
    pub(super) fn as_str(self) -> &'static str {
        self.into()
    }

    pub(super) fn words(self) -> &'static str {
        strum::EnumMessage::get_message(&self).unwrap_or_default()
    }
}

/// Changes of one thing, the least first.
pub(super) type Ladder = Vec<Change>;

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
        let open = dues.iter().map(|d| d.span().0).min()?;
        let close = dues.iter().map(|d| d.span().1).max()?;
        // Where no hour suits all, the aim still says when the crew is wanted.
        let middle = dues.iter().map(|d| d.safe_hours().aim).min()?;
        let half = TimeDelta::hours(1);
        Some(Scene {
            site: dues.first()?.site,
            open: open.min(middle - half),
            close: close.max(middle + half),
        })
    }

    pub(super) fn ladders(&self, kind: Kind, season: &Season) -> Vec<Ladder> {
        let here = |of: &dyn Fn(&Season, &Scene) -> Vec<Ladder>| {
            let scene = self.scene(season);
            scene.map_or_else(Vec::new, |scene| of(season, &scene))
        };
        let mut all = match kind {
            Kind::KeepOrder => herd::keep(self, season),
            Kind::Straws => straws::ladders(self, season),
            Kind::PassPace => chute::pace(self, season),
            Kind::Pens => herd::pens(self, season),
            Kind::PenStarts => herd::stagger(self, season),
            Kind::Days => herd::days(self, season),
            Kind::StartHour => dates::hours(self, season),
            Kind::StartDay => dates::days(self, season),
            Kind::Shifts => here(&crew::shifts),
            Kind::Helper => here(&crew::helper),
            Kind::LeftOutTechnician => crew::send(self),
            Kind::Boxes => here(&chute::boxes),
            Kind::Protocol => protocols::wider(self, season),
            Kind::Technician => here(&|season, scene| crew::hire(self, season, scene)),
        };
        // A group of one head has no pens to split into.
        all.retain(|ladder| !ladder.is_empty());
        all
    }
}
