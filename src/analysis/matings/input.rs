//! What matings are made from.

use std::collections::BTreeMap;

use crate::base::error::Place;
use crate::trade::herd::Herd;
use crate::trade::herd::scores::Scores;
use crate::trade::protocol::Class;
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
    /// Short name.
    pub id: &'a str,
    /// Full name.
    pub name: &'a str,
    /// Cow or heifer.
    pub class: Class,
    /// All its animals.
    pub head: u32,
    /// Bulls that may be used, by their place in [`Season::bulls`], the first choice first.
    pub bulls: &'a [usize],
    /// Where it, or its herd file, is named.
    pub place: &'a Place,
    /// Its herd; none if the season names no file.
    pub herd: Option<&'a Herd>,
    /// Scores for this group alone.
    pub scores: Option<&'a Scores>,
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
        let group = |g: &'a GroupFacts| InputGroup {
            id: g.id.as_str(),
            name: &g.name,
            class: g.class,
            head: g.head().0,
            bulls: &g.bulls,
            place: g.herd.as_ref().map_or(&g.start_place, |h| &h.place),
            herd: herds.get(&g.nth),
            scores: own.get(&g.nth),
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
