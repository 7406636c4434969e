//! Where sessions are, and for how long a tank is at each: from the first lift to the last cow.

use std::collections::BTreeSet;

use chrono::TimeDelta;

use crate::base::time::Instant;
use crate::base::units::Seconds;
use crate::planning::plan::straws::Want;
use crate::planning::plan::{Plan, Session};
use crate::trade::season::Season;

pub(super) fn site(season: &Season, session: &Session) -> Option<usize> {
    let mut sites = season.sites.iter();
    sites.position(|s| s.id.as_str() == session.site)
}

/// From the first lift to the last cow of some groups at a session, nothing where none is bred. A
/// technician's first straws of these groups are lifted when he or she begins, or no longer before
/// the first of their cows than a straw may be thawed.
pub(super) fn span(
    season: &Season,
    session: &Session,
    of: impl Fn(&str) -> bool,
) -> Option<(Instant, Instant)> {
    let whole = |s: Seconds| TimeDelta::seconds(s.0.ceil() as i64);
    let (lift, bath) = (
        whole(season.rules.straws.lift),
        whole(season.rules.bath_to_cow),
    );
    let mut all: Option<(Instant, Instant)> = None;
    for at in &session.technicians {
        let slots = session.slots.iter();
        let mine = slots.filter(|s| s.technician == at.id && of(&s.group));
        let cows = mine.flat_map(|s| s.cows().map(|(at, _)| at.to_utc()));
        let (Some(first), Some(last)) = (cows.clone().min(), cows.max()) else {
            continue;
        };
        let bath = at.begins.to_utc().max(first - bath);
        let (from, to) = all.unwrap_or((bath, last));
        all = Some((from.min(bath), to.max(last)));
    }
    all.map(|(from, to)| (from - lift, to))
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
