//! Where a tank is when: one tank is at one place at a time, and on the road between.

use std::collections::{BTreeMap, BTreeSet};

use super::allocation::allocate;
use super::spans::{site, span};
use crate::base::time::Instant;
use crate::planning::plan::Plan;
use crate::trade::season::Season;

/// A tank at a session, for as long as its straws are thawed there.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct Stay {
    pub(crate) tank: String,
    /// The session, by its place in the plan.
    pub(crate) session: usize,
    /// Its site, by its place in the season.
    pub(crate) site: usize,
    /// Groups that have straws of the tank, by their place in the plan.
    pub(crate) groups: BTreeSet<usize>,
    /// The first lift, or a moment before it.
    pub(crate) from: Instant,
    /// The last cow.
    pub(crate) to: Instant,
}

/// True if a tank is named, and there are sites to carry it between.
pub(crate) fn may_clash(season: &Season) -> bool {
    let mut places = season.bulls.iter().flat_map(|b| &b.places);
    season.sites.len() > 1 && places.any(|p| p.tank.is_some())
}

/// Every stay of every tank that is named, by tank and time. Of straws of no tank nothing is known.
pub(crate) fn stays(season: &Season, plan: &Plan) -> Vec<Stay> {
    if !may_clash(season) {
        return Vec::new();
    }
    let allocation = allocate(season, plan);
    let mut all = Vec::new();
    for (n, (session, lots)) in plan.sessions.iter().zip(&allocation.for_groups).enumerate() {
        let Some(site) = site(season, session) else {
            continue;
        };
        let mut groups: BTreeMap<&str, BTreeSet<usize>> = BTreeMap::new();
        for (group, lot) in lots {
            if let Some(tank) = &allocation.stocks[lot.stock].place.tank {
                groups.entry(tank).or_default().insert(*group);
            }
        }
        for (tank, groups) in groups {
            let of = |id: &str| groups.iter().any(|g| plan.groups[*g].id == id);
            if let Some((from, to)) = span(season, session, of) {
                all.push(Stay {
                    tank: tank.to_owned(),
                    session: n,
                    site,
                    groups,
                    from,
                    to,
                });
            }
        }
    }
    all.sort_by(|a, b| (&a.tank, a.from, a.session).cmp(&(&b.tank, b.from, b.session)));
    all
}

impl Stay {
    /// True if a tank that is here cannot be there in time, nor the other way round.
    fn clashes(&self, season: &Season, other: &Self) -> bool {
        let road = |a: &Self, b: &Self| season.sites[a.site].road[b.site];
        self.site != other.site
            && self.to + road(self, other) > other.from
            && other.to + road(other, self) > self.from
    }
}

/// Stays of one tank that cannot both be, the earlier first, by tank and time, where the tank can be at
/// so many sites at once: with one, the first two that clash; with more, one that comes where as many
/// others are elsewhere.
pub(crate) fn clashes<'a>(
    season: &Season,
    stays: &'a [Stay],
    at_once: impl Fn(&str) -> u32,
) -> Vec<(&'a Stay, &'a Stay)> {
    let mut found = Vec::new();
    for mine in stays.chunk_by(|a, b| a.tank == b.tank) {
        let at_once = at_once(&mine[0].tank) as usize;
        for (n, stay) in mine.iter().enumerate() {
            let before = || mine[..n].iter().filter(|s| s.clashes(season, stay));
            let sites: BTreeSet<usize> = before().map(|s| s.site).collect();
            if sites.len() >= at_once {
                found.extend(before().map(|s| (s, stay)));
            }
        }
    }
    found
}
