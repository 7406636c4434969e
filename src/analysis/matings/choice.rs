//! What an animal may have and what she would rather have: kinship, sorts of semen, calving ease
//! and scores.

use std::collections::BTreeMap;

use super::transport::Worth;
use super::{Input, InputGroup};
use crate::trade::herd::{Animal, same_id, scores};
use crate::trade::protocol::Class;
use crate::trade::season::{Bull, Season};

/// An animal, or all of a group without a herd.
#[derive(Clone, Copy, Debug)]
pub(super) struct Unit<'a> {
    /// The group's place in the input.
    pub(super) nth: usize,
    pub(super) group: &'a InputGroup<'a>,
    pub(super) animal: Option<&'a Animal>,
    pub(super) head: u32,
}

impl<'a> Unit<'a> {
    /// Those of all groups, in the files' order.
    pub(super) fn all(input: &'a Input<'a>) -> Vec<Self> {
        let mut all = Vec::new();
        for (nth, group) in input.groups.iter().enumerate() {
            let unit = |animal, head| Self {
                nth,
                group,
                animal,
                head,
            };
            match group.herd {
                Some(herd) => all.extend(herd.animals.iter().map(|a| unit(Some(a), 1))),
                None => all.push(unit(None, group.facts.head().0)),
            }
        }
        all
    }

    pub(super) fn class(&self) -> Class {
        self.animal.map_or(self.group.facts.class, |a| a.class)
    }

    /// True if she is marked for sexed straws.
    pub(super) fn marked(&self) -> bool {
        self.animal.is_some_and(|a| a.sexed)
    }
}

/// Straws of one bull and one sort.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Store {
    /// The bull's place in the season.
    pub(super) bull: usize,
    pub(super) sexed: bool,
    pub(super) straws: u32,
}

/// The season's stores, by bull: his conventional straws, then his sexed ones, as far as he has a
/// place for them.
pub(super) fn stores(season: &Season) -> Vec<Store> {
    let bulls = season.bulls.iter().enumerate();
    let sorts = bulls.flat_map(|(n, b)| [(n, b, false), (n, b, true)]);
    sorts
        .filter_map(|(bull, b, sexed)| {
            Some(Store {
                bull,
                sexed,
                straws: b.straws_of(sexed)?.0,
            })
        })
        .collect()
}

/// Why an animal may not have a bull, or had better not. The first four are kinship.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Bar {
    Sire,
    Son,
    SameSire,
    SameDam,
    NotMarked,
    NotOfGroup,
    NotForHeifers,
}

impl Bar {
    pub(super) const fn words(self) -> &'static str {
        match self {
            Self::Sire => "is her sire",
            Self::Son => "is her son",
            Self::SameSire => "has the same sire as she",
            Self::SameDam => "has the same dam as she",
            Self::NotMarked => "has sexed straws only, and she is not marked for them",
            Self::NotOfGroup => "is not among the group's bulls",
            Self::NotForHeifers => "is not marked for calving ease",
        }
    }
}

/// A bull, his sire and his dam, each in one writing.
struct Line {
    own: String,
    sire: Option<String>,
    dam: Option<String>,
}

/// All that is looked up again and again.
pub(super) struct Choice<'a> {
    pub(super) season: &'a Season,
    pub(super) stores: Vec<Store>,
    names: BTreeMap<String, usize>,
    bulls: Vec<Line>,
    /// True if any bull is marked for calving ease.
    ease: bool,
    scores: Option<&'a scores::Scores>,
}

impl<'a> Choice<'a> {
    pub(super) fn of(input: &Input<'a>) -> Self {
        let season = input.season;
        let mut names = BTreeMap::new();
        for (n, b) in season.bulls.iter().enumerate() {
            names.entry(same_id(&b.name)).or_insert(n);
        }
        // An id goes before another bull's name.
        for (n, b) in season.bulls.iter().enumerate() {
            names.insert(same_id(b.id.as_str()), n);
        }
        let mut choice = Self {
            season,
            stores: stores(season),
            names,
            bulls: Vec::new(),
            ease: season.bulls.iter().any(|b| b.facts.calving_ease),
            scores: input.scores,
        };
        choice.bulls = season.bulls.iter().map(|b| choice.line_of(b)).collect();
        choice
    }

    fn line_of(&self, b: &Bull) -> Line {
        Line {
            own: self.one_writing(b.id.as_str()),
            sire: b.facts.sire.as_ref().map(|s| self.one_writing(s)),
            dam: b.facts.dam.as_ref().map(|d| self.one_writing(d)),
        }
    }

    /// A bull of the season by his id, whether id or full name is written; others as written.
    fn one_writing(&self, name: &str) -> String {
        match self.bull(name) {
            Some(n) => same_id(self.season.bulls[n].id.as_str()),
            None => same_id(name),
        }
    }

    pub(super) fn bull(&self, name: &str) -> Option<usize> {
        self.names.get(&same_id(name)).copied()
    }

    /// How each bull is kin to an animal, as far as parents are known.
    pub(super) fn kin(&self, animal: &Animal) -> Vec<Option<Bar>> {
        let sire = animal.sire.as_ref().map(|s| self.one_writing(s));
        let dam = animal.dam.as_ref().map(|d| self.one_writing(d));
        let own = same_id(&animal.id);
        let of = |b: &Line| {
            if sire.as_ref() == Some(&b.own) {
                Some(Bar::Sire)
            } else if b.dam.as_ref() == Some(&own) {
                Some(Bar::Son)
            } else if sire.is_some() && sire == b.sire {
                Some(Bar::SameSire)
            } else if dam.is_some() && dam == b.dam {
                Some(Bar::SameDam)
            } else {
                None
            }
        };
        self.bulls.iter().map(of).collect()
    }

    /// True if she is a heifer and had better have another bull than this one.
    pub(super) fn not_for_heifers(&self, class: Class, bull: usize) -> bool {
        class == Class::Heifer && self.ease && !self.season.bulls[bull].facts.calving_ease
    }

    /// The score of a bull for an animal, in hundredths: by her group's file, else by
    /// the season's, else by the order of the group's bulls: of n bulls the first is worth 100, and
    /// each next one 100 / n less.
    pub(super) fn score(&self, unit: &Unit<'_>, bull: usize) -> i64 {
        let group = unit.group;
        let stated = unit.animal.and_then(|a| {
            let own = group.scores.and_then(|s| s.score(&a.id, bull));
            own.or_else(|| self.scores.and_then(|s| s.score(&a.id, bull)))
        });
        stated.unwrap_or_else(|| {
            let bulls = &group.facts.bulls;
            let n = bulls.len();
            let at = bulls.iter().position(|b| *b == bull).unwrap_or(n);
            ((n - at) as i64 * scores::MOST) / n.max(1) as i64
        })
    }

    /// Her first choice among the group's bulls, and his score. Of equal ones the group's first.
    pub(super) fn first(&self, unit: &Unit<'_>) -> Option<(usize, i64)> {
        let bulls = unit.group.facts.bulls.iter().rev();
        let scored = bulls.map(|b| (*b, self.score(unit, *b)));
        scored.max_by_key(|(_, score)| *score)
    }

    /// What each store is worth to an animal; none where she may not have it. `not` is a bull whom she
    /// has already.
    pub(super) fn worth(&self, unit: &Unit<'_>, not: Option<usize>) -> Vec<Option<Worth>> {
        let kin = unit.animal.map(|a| self.kin(a));
        // Of a group without a herd file nobody can be marked: what its bulls have is for all of it.
        let any_sort = unit.animal.is_none() || unit.marked();
        let ease = i64::from(unit.class() == Class::Heifer && self.ease);
        let of = |s: &Store| {
            let related = kin.as_ref().is_some_and(|k| k[s.bull].is_some());
            let fits = unit.group.facts.bulls.contains(&s.bull) && (any_sort || !s.sexed);
            (fits && !related && Some(s.bull) != not).then(|| {
                let easy = i64::from(self.season.bulls[s.bull].facts.calving_ease);
                let score = self.score(unit, s.bull);
                Worth([1, ease * easy, score, i64::from(s.sexed && unit.marked())])
            })
        };
        self.stores.iter().map(of).collect()
    }

    /// The store of a bull for straws of this sort, if he has any place for them.
    pub(super) fn store(&self, bull: usize, sexed: bool) -> Option<usize> {
        let mut all = self.stores.iter();
        all.position(|s| s.bull == bull && s.sexed == sexed)
    }

    /// True if whoever is not marked cannot have him.
    fn sexed_only(&self, bull: usize) -> bool {
        let straws = |sexed| Some(self.stores[self.store(bull, sexed)?].straws);
        match (straws(false), straws(true)) {
            (None, sexed) => sexed.is_some(),
            (Some(conventional), sexed) => conventional == 0 && sexed.is_some_and(|n| n > 0),
        }
    }

    /// What speaks against a bull for an animal, by the rules; of those not known one by one, that he is
    /// not for heifers.
    pub(super) fn bars(&self, unit: &Unit<'_>, bull: usize) -> Vec<Bar> {
        let mut all = Vec::new();
        if let Some(animal) = unit.animal {
            all.extend(self.kin(animal)[bull]);
            if !unit.group.facts.bulls.contains(&bull) {
                all.push(Bar::NotOfGroup);
            }
            if !animal.sexed && self.sexed_only(bull) {
                all.push(Bar::NotMarked);
            }
        }
        if self.not_for_heifers(unit.class(), bull) {
            all.push(Bar::NotForHeifers);
        }
        all
    }
}
