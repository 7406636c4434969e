//! Tanks followed from site to site, by the plan's own cows: at one place at a time, with the drive
//! between, unless the season says that there are more of one, or the plan says that it does not do.

use std::collections::{BTreeMap, BTreeSet};

use chrono::{DateTime, TimeDelta, Utc};

use super::Reading;
use crate::analysis::tank::allocation::allocate;
use crate::base::error::{Code, Severity};
use crate::planning::plan::{Session, Slot};
use crate::trade::season::Group;

struct Stay<'a> {
    site: usize,
    session: &'a str,
    groups: Vec<&'a Group>,
    from: DateTime<Utc>,
    to: DateTime<Utc>,
}

pub(super) fn check(r: &mut Reading<'_>) {
    let places = r.season.bulls.iter().flat_map(|b| &b.places);
    let tanks: BTreeSet<&str> = places.filter_map(|p| p.tank.as_deref()).collect();
    if tanks.is_empty() || r.season.sites.len() < 2 {
        return;
    }
    let allocation = allocate(r.season, r.plan);
    let mut all: BTreeMap<&str, Vec<Stay<'_>>> = BTreeMap::new();
    for (session, lots) in r.plan.sessions.iter().zip(&allocation.for_groups) {
        let Some(site) = r.site(&session.site) else {
            continue;
        };
        let mut groups: BTreeMap<&str, BTreeSet<&str>> = BTreeMap::new();
        for (group, lot) in lots {
            let tank = allocation.stocks[lot.stock].place.tank.as_deref();
            if let Some(tank) = tank.and_then(|t| tanks.get(t)) {
                let group = r.plan.groups[*group].id.as_str();
                groups.entry(tank).or_default().insert(group);
            }
        }
        for (tank, groups) in groups {
            if let Some((from, to)) = hours(r, session, &groups) {
                all.entry(tank).or_default().push(Stay {
                    site,
                    session: &session.id,
                    groups: groups.iter().filter_map(|g| r.group(g)).collect(),
                    from,
                    to,
                });
            }
        }
    }
    for (tank, stays) in all {
        let listed = r.season.tanks.iter().find(|t| t.id.as_str() == tank);
        let many = listed.map_or(1, |t| t.places_at_once) as usize;
        for stay in &stays {
            // Sites at which it would have to be when this stay begins, beside its own.
            let others = stays.iter().filter(|s| s.site != stay.site);
            let others = others.filter(|s| {
                let there = r.season.sites[s.site].road[stay.site];
                let back = r.season.sites[stay.site].road[s.site];
                s.from <= stay.from && s.to + there > stay.from && stay.to + back > s.from
            });
            let others: BTreeMap<usize, &Stay<'_>> = others.map(|s| (s.site, s)).collect();
            // Said by the plan where it could not be done.
            let warned = |g: &&Group| r.told_at(Code::TankTwice, Severity::Warning, &g.start_place);
            let mut here = others.values().chain([&stay]).flat_map(|s| &s.groups);
            let said = here.any(warned);
            if others.len() >= many && !said {
                let at: Vec<&str> = others.values().map(|s| s.session).collect();
                let wanted = format!("at {many} places at a time");
                let got = format!("{} and {}", stay.session, at.join(", "));
                r.wrong(&format!("tank {tank}"), wanted, got);
            }
        }
    }
}

/// From the first lift for some groups to their last cow. A round's straws are lifted before its
/// technician begins, and no longer before a cow than its straw may be out.
fn hours(
    r: &Reading<'_>,
    session: &Session,
    groups: &BTreeSet<&str>,
) -> Option<(DateTime<Utc>, DateTime<Utc>)> {
    let whole = |s: f64| TimeDelta::seconds(s.ceil() as i64);
    let (out, up) = (
        whole(r.season.rules.bath_to_cow.0),
        whole(r.season.rules.straws.lift.0),
    );
    let mut begins: Vec<DateTime<Utc>> = Vec::new();
    let mut ends: Vec<DateTime<Utc>> = Vec::new();
    for t in &session.technicians {
        let slots = session.slots.iter();
        let mine = slots.filter(|s| s.technician == t.id && groups.contains(s.group.as_str()));
        let mut cows: Vec<DateTime<Utc>> = mine.flat_map(Slot::bred_at).collect();
        cows.sort_unstable();
        // Moments are whole seconds, written in hundredths of a minute.
        let second = |at: &DateTime<Utc>| {
            DateTime::from_timestamp((at.timestamp_millis() + 500).div_euclid(1000), 0)
        };
        if let (Some(first), Some(last)) = (cows.first(), cows.last()) {
            let first = second(first)?;
            begins.push(t.begins.to_utc().max(first - out) - up);
            ends.push(second(last)?);
        }
    }
    Some((begins.into_iter().min()?, ends.into_iter().max()?))
}
