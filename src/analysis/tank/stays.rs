//! Where a tank is when: one tank is at one place at a time, and on the road between.

use std::collections::{BTreeMap, BTreeSet};

use chrono::TimeDelta;

use super::take::take;
use crate::base::time::Instant;
use crate::planning::plan::straws::Want;
use crate::planning::plan::{Plan, Session};
use crate::trade::season::Season;

/// A tank at a session, for as long as its straws are thawed there.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Stay {
    /// The tank's id.
    pub tank: String,
    /// The session, by its place in the plan.
    pub session: usize,
    /// Its site, by its place in the season.
    pub site: usize,
    /// Groups that have straws of the tank, by their place in the plan.
    pub groups: BTreeSet<usize>,
    /// The first lift, or a moment before it.
    pub from: Instant,
    /// The last cow.
    pub to: Instant,
}

fn site(season: &Season, session: &Session) -> Option<usize> {
    let mut sites = season.sites.iter();
    sites.position(|s| s.id.as_str() == session.site)
}

/// How long before its cow a straw may be lifted: the bath's limit, and the lift itself.
fn lift(season: &Season) -> TimeDelta {
    TimeDelta::seconds(season.rules.straws.lift.0.ceil() as i64)
}

/// Whole seconds from a bath to its last cow at the most.
fn bath(season: &Season) -> TimeDelta {
    TimeDelta::seconds(season.rules.bath_to_cow.0.ceil() as i64)
}

/// From the first lift to the last cow of some groups at a session, nothing where none is bred. A
/// technician's first straws of these groups are lifted when he or she begins, or no longer before
/// the first of their cows than a straw may be thawed.
fn span(
    season: &Season,
    session: &Session,
    of: impl Fn(&str) -> bool,
) -> Option<(Instant, Instant)> {
    let mut all: Option<(Instant, Instant)> = None;
    for at in &session.technicians {
        let slots = session.slots.iter();
        let mine = slots.filter(|s| s.technician == at.id && of(&s.group));
        let cows = mine.flat_map(|s| {
            let second = |m: &f64| TimeDelta::seconds((m * 60.0).round() as i64);
            let cows = s.bred_minutes.iter();
            cows.map(move |m| s.start.to_utc() + second(m))
        });
        let (Some(first), Some(last)) = (cows.clone().min(), cows.max()) else {
            continue;
        };
        let bath = at.begins.to_utc().max(first - bath(season));
        let (from, to) = all.unwrap_or((bath, last));
        all = Some((from.min(bath), to.max(last)));
    }
    all.map(|(from, to)| (from - lift(season), to))
}

/// True if a tank is named, and there are sites to carry it between.
#[must_use]
pub fn may_clash(season: &Season) -> bool {
    let mut places = season.bulls.iter().flat_map(|b| &b.places);
    season.sites.len() > 1 && places.any(|p| p.tank.is_some())
}

/// Every stay of every tank that is named, by tank and time. Of straws of no tank nothing is known.
#[must_use]
pub fn stays(season: &Season, plan: &Plan) -> Vec<Stay> {
    if !may_clash(season) {
        return Vec::new();
    }
    let taking = take(season, plan);
    let mut all = Vec::new();
    for (n, (session, lots)) in plan.sessions.iter().zip(&taking.for_groups).enumerate() {
        let Some(site) = site(season, session) else {
            continue;
        };
        let mut groups: BTreeMap<&str, BTreeSet<usize>> = BTreeMap::new();
        for (group, lot) in lots {
            if let Some(tank) = &taking.stocks[lot.stock].place.tank {
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

/// Stays of one tank that one tank cannot make, the earlier first, however many of it there are.
#[must_use]
pub fn pairs<'a>(season: &Season, stays: &'a [Stay]) -> Vec<(&'a Stay, &'a Stay)> {
    let mine = |a: &Stay, b: &Stay| a.tank == b.tank;
    let mut found = Vec::new();
    for mine in stays.chunk_by(mine) {
        for (n, stay) in mine.iter().enumerate() {
            let before = mine[..n].iter().filter(|s| s.clashes(season, stay));
            found.extend(before.map(|s| (s, stay)));
        }
    }
    found
}

/// Stays of one tank that cannot both be, the earlier first, by tank and time. Where its straws can be
/// at several sites at once, as many others as that may be elsewhere.
#[must_use]
pub fn clashes<'a>(season: &Season, stays: &'a [Stay]) -> Vec<(&'a Stay, &'a Stay)> {
    let mut found = Vec::new();
    for mine in stays.chunk_by(|a, b| a.tank == b.tank) {
        let places = season.places_at_once(&mine[0].tank) as usize;
        for (n, stay) in mine.iter().enumerate() {
            let before: Vec<&Stay> = mine[..n]
                .iter()
                .filter(|s| s.clashes(season, stay))
                .collect();
            let sites: BTreeSet<usize> = before.iter().map(|s| s.site).collect();
            if sites.len() >= places {
                found.extend(before.into_iter().map(|s| (s, stay)));
            }
        }
    }
    found
}

/// Sessions with the hours in which their straws are thawed, and the tanks that they take them from:
/// for a choice of tanks that none is wanted at two sites.
pub(super) struct Spans<'a> {
    season: &'a Season,
    /// Site, and from when to when; nothing where nobody is bred, or where there is no choice.
    sessions: Vec<Option<(usize, Instant, Instant)>>,
    /// Tanks from which a session has to take, for want of any other, or has taken.
    at: Vec<BTreeSet<&'a str>>,
}

impl<'a> Spans<'a> {
    pub(super) fn of(season: &'a Season, plan: &Plan, wants: &[Vec<Want>]) -> Self {
        let places = || season.bulls.iter().flat_map(|b| &b.places);
        let tanks: BTreeSet<Option<&str>> = places().map(|p| p.tank.as_deref()).collect();
        let mut spans = Self {
            season,
            sessions: vec![None; plan.sessions.len()],
            at: vec![BTreeSet::new(); plan.sessions.len()],
        };
        if tanks.len() < 2 || season.sites.len() < 2 {
            return spans;
        }
        for (n, session) in plan.sessions.iter().enumerate() {
            let hours = site(season, session).zip(span(season, session, |_| true));
            spans.sessions[n] = hours.map(|(site, (from, to))| (site, from, to));
            for want in &wants[n] {
                let bull = &season.bulls[want.bull];
                let sort = |s| want.sexed.is_none_or(|w| w == s);
                let his = bull.places.iter();
                let his = his.filter(|p| p.straws.0 > 0 && sort(bull.is_sexed(p)));
                let tanks: BTreeSet<Option<&str>> = his.map(|p| p.tank.as_deref()).collect();
                if let (1, Some(Some(tank))) = (tanks.len(), tanks.first()) {
                    spans.at[n].insert(tank);
                }
            }
        }
        spans
    }

    /// Tanks that are at another site while a session lasts.
    pub(super) fn away(&self, n: usize) -> BTreeSet<&'a str> {
        let Some((here, from, to)) = self.sessions[n] else {
            return BTreeSet::new();
        };
        let road = |a: usize, b: usize| self.season.sites[a].road[b];
        let others = self.sessions.iter().zip(&self.at);
        others
            .filter(|(other, _)| {
                other.is_some_and(|(site, begin, end)| {
                    site != here && end + road(site, here) > from && to + road(here, site) > begin
                })
            })
            .flat_map(|(_, at)| at.iter().copied())
            .filter(|t| self.season.places_at_once(t) == 1)
            .collect()
    }

    /// A session has taken straws from these tanks.
    pub(super) fn took(&mut self, n: usize, tanks: impl Iterator<Item = &'a str>) {
        self.at[n].extend(tanks);
    }
}
