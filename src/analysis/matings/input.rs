//! What matings are made from.

use std::collections::BTreeMap;

use crate::base::error::Place;
use crate::trade::herd::Herd;
use crate::trade::herd::scores::Scores;
use crate::trade::season::{GroupFacts, Season};

/// The most bulls that matings are found for.
pub const MOST_BULLS: usize = 500;

/// A season's groups with their herds and scores.
#[derive(Clone, Debug)]
pub struct Input<'a> {
    /// The season.
    pub season: &'a Season,
    /// Its groups, in the file's order, with a start or without.
    pub groups: Vec<InputGroup<'a>>,
    /// Scores for animals of any group.
    pub scores: Option<&'a Scores>,
}

/// A group, as far as matings need it.
#[derive(Clone, Debug)]
pub struct InputGroup<'a> {
    /// What is stated of it; its bulls may be used, the first choice first.
    pub facts: &'a GroupFacts,
    /// Its herd; none if the season names no file.
    pub herd: Option<&'a Herd>,
    /// Scores for this group alone.
    pub scores: Option<&'a Scores>,
}

impl InputGroup<'_> {
    /// Its short name.
    pub(crate) fn id(&self) -> &str {
        self.facts.id.as_str()
    }

    /// Where it, or its herd file, is named.
    pub(super) fn place(&self) -> Place {
        let herd = self.facts.herd.as_ref();
        herd.map_or(&self.facts.start_place, |h| &h.place).clone()
    }
}

impl<'a> Input<'a> {
    /// Herds and groups' own scores are by [`GroupFacts::nth`].
    #[must_use]
    pub fn of(
        season: &'a Season,
        herds: &'a BTreeMap<usize, Herd>,
        own: &'a BTreeMap<usize, Scores>,
        scores: Option<&'a Scores>,
    ) -> Self {
        let group = |facts: &'a GroupFacts| InputGroup {
            facts,
            herd: herds.get(&facts.nth),
            scores: own.get(&facts.nth),
        };
        let mut groups: Vec<&GroupFacts> = season.every_group().collect();
        groups.sort_by_key(|g| g.nth);
        Self {
            season,
            groups: groups.into_iter().map(group).collect(),
            scores,
        }
    }
}
