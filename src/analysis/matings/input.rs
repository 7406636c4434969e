//! What matings are made from.

use std::collections::BTreeMap;

use crate::base::error::Place;
use crate::base::units::Head;
use crate::trade::herd::Herd;
use crate::trade::herd::scores::Scores;
use crate::trade::protocol::Class;
use crate::trade::season::Season;

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
    /// Herds and groups' own scores are by [`crate::trade::season::GroupFacts::nth`].
    #[must_use]
    pub fn of(
        season: &'a Season,
        herds: &'a BTreeMap<usize, Herd>,
        own: &'a BTreeMap<usize, Scores>,
        scores: Option<&'a Scores>,
    ) -> Self {
        let group = |nth: usize, id, name, class, head: Head, bulls, place| {
            let group = InputGroup {
                id,
                name,
                class,
                head: head.0,
                bulls,
                place,
                herd: herds.get(&nth),
                scores: own.get(&nth),
            };
            (nth, group)
        };
        // Groups with a start and without have the same fields, and no type in common.
        let decided = season.groups.iter().map(|g| {
            let place = g.herd.as_ref().map_or(&g.start_place, |h| &h.place);
            group(
                g.nth,
                g.id.as_str(),
                g.name.as_str(),
                g.class,
                g.head(),
                g.bulls.as_slice(),
                place,
            )
        });
        let open = season.open.iter().map(|g| {
            let place = g.herd.as_ref().map_or(&g.start_place, |h| &h.place);
            group(
                g.nth,
                g.id.as_str(),
                &g.name,
                g.class,
                g.head(),
                &g.bulls,
                place,
            )
        });
        let mut groups: Vec<(usize, InputGroup<'a>)> = decided.chain(open).collect();
        groups.sort_by_key(|(nth, _)| *nth);
        Self {
            season,
            groups: groups.into_iter().map(|(_, p)| p).collect(),
            scores,
        }
    }
}
