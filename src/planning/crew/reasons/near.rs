//! What a session hangs together with, as a season of its own: what a change costs to plan again then
//! follows from what lies near, not from how large the season is.

use std::collections::{BTreeMap, BTreeSet};

use super::lift::{self, Key, MOST_DUES, Run, key, take_straws};
use crate::planning::crew::sessions::parts::NEAR;
use crate::planning::crew::{Allotted, Session};
use crate::planning::dating::{self, DatedSeason};
use crate::trade::season::Season;
use chrono::TimeDelta;

/// A start is moved by no more than this.
const MOST_MOVED: TimeDelta = TimeDelta::days(2);

/// The runs of a season that is too large to be planned again as a whole.
pub(crate) struct Runs {
    runs: Vec<Run>,
    of_due: Vec<usize>,
    /// The season without its groups.
    bare: Season,
}

impl Runs {
    /// None for a season of which all dues may be planned again.
    pub(crate) fn of(season: &Season, dated: &DatedSeason) -> Option<Self> {
        if dated.dues.len() <= MOST_DUES {
            return None;
        }
        let runs = lift::runs(&dated.dues);
        let mut of_due = vec![0; dated.dues.len()];
        for (n, run) in runs.iter().enumerate() {
            run.dues.iter().for_each(|d| of_due[*d] = n);
        }
        let mut bare = season.clone();
        bare.groups.clear();
        bare.open.clear();
        Some(Self { runs, of_due, bare })
    }

    /// The dues in the runs of these, and in those that they may be moved into.
    fn around(&self, dues: &BTreeSet<usize>) -> BTreeSet<usize> {
        let mine: BTreeSet<usize> = dues.iter().map(|d| self.of_due[*d]).collect();
        let far = NEAR + MOST_MOVED;
        let near = |a: &Run| {
            let mut mine = mine.iter().map(|m| &self.runs[*m]);
            mine.any(|m| a.from <= m.to + far && m.from <= a.to + far)
        };
        let runs = self.runs.iter().filter(|run| near(run));
        runs.flat_map(|run| run.dues.iter().copied()).collect()
    }
}

/// A session with the groups that it hangs together with, numbered anew, and no others.
pub(crate) struct Near {
    pub(crate) season: Season,
    pub(crate) dated: DatedSeason,
    pub(crate) session: Session,
    pub(crate) bred: BTreeMap<Key, u32>,
    pub(crate) straws: Vec<Allotted>,
    /// True where too many hang together: then only the session's own groups are here.
    pub(crate) crowded: bool,
    /// Groups by their place in the whole season.
    groups: Vec<usize>,
}

impl Near {
    /// Straws set aside for the other groups stay theirs.
    pub(crate) fn new(
        runs: &Runs,
        (season, dated): (&Season, &DatedSeason),
        session: &Session,
        bred: &BTreeMap<Key, u32>,
        straws: &[Allotted],
    ) -> Self {
        let group_of = |d: &usize| dated.dues[*d].group;
        let own: BTreeSet<usize> = session.dues.iter().map(group_of).collect();
        let dues = 0..dated.dues.len();
        let dues = runs.around(&dues.filter(|d| own.contains(&group_of(d))).collect());
        let crowded = dues.len() > MOST_DUES;
        let groups: Vec<usize> = if crowded {
            own.into_iter().collect()
        } else {
            let all: BTreeSet<usize> = dues.iter().map(group_of).collect();
            all.into_iter().collect()
        };
        let place: BTreeMap<usize, usize> = groups.iter().copied().zip(0..).collect();
        let mut part = runs.bare.clone();
        part.groups
            .extend(groups.iter().map(|g| season.groups[*g].clone()));
        let mut mine = Vec::new();
        for a in straws {
            match place.get(&a.group) {
                Some(group) => mine.push(Allotted {
                    group: *group,
                    ..*a
                }),
                None => take_straws(&mut part, a.bull, a.straws),
            }
        }
        let mut new_due = BTreeMap::new();
        let mut part_dated = DatedSeason::default();
        for (n, due) in dated.dues.iter().enumerate() {
            if let Some(group) = place.get(&due.group) {
                new_due.insert(n, part_dated.dues.len());
                let mut due = due.clone();
                due.group = *group;
                part_dated.dues.push(due);
            }
        }
        for heats in &dated.heats {
            if let Some(group) = place.get(&heats.group) {
                let mut heats = heats.clone();
                heats.group = *group;
                part_dated.heats.push(heats);
            }
        }
        part_dated.findings = dating::date(&part).findings;
        let mut session = session.clone();
        session.dues.iter_mut().for_each(|d| *d = new_due[d]);
        session
            .bred
            .iter_mut()
            .for_each(|b| b.due = new_due[&b.due]);
        let uncovered = session.uncovered.iter_mut();
        uncovered.for_each(|u| u.due = new_due[&u.due]);
        let keys = dated.dues.iter().filter_map(|due| {
            let k = key(due);
            let group = place.get(&k.0)?;
            Some(((*group, k.1, k.2, k.3), *bred.get(&k)?))
        });
        Self {
            bred: keys.collect(),
            season: part,
            dated: part_dated,
            session,
            straws: mine,
            crowded,
            groups,
        }
    }

    /// A due as the whole season numbers it.
    pub(crate) fn in_whole(&self, k: Key) -> Key {
        (self.groups[k.0], k.1, k.2, k.3)
    }

    /// The whole season with what was changed here.
    pub(crate) fn onto(&self, whole: &Season, changed: &Season) -> Season {
        let mut season = Season {
            crew: changed.crew.clone(),
            sites: changed.sites.clone(),
            rules: changed.rules.clone(),
            ..whole.clone()
        };
        let groups = self
            .groups
            .iter()
            .zip(self.season.groups.iter().zip(&changed.groups));
        for (n, (_, now)) in groups.filter(|(_, (before, now))| before != now) {
            season.groups[*n] = now.clone();
        }
        // Straws that other groups have are not here; what is bought comes last.
        let bulls = season
            .bulls
            .iter_mut()
            .zip(self.season.bulls.iter().zip(&changed.bulls));
        for (bull, (before, now)) in bulls {
            let bought = now.places.iter().skip(before.places.len());
            bull.places.extend(bought.cloned());
        }
        season
    }
}
