//! Every technician is at one place, at work, at a pace that can be kept, with straws
//! that do not grow old.

use std::collections::BTreeSet;

use chrono::{DateTime, Days, TimeDelta, Utc};
use statrs::distribution::{ContinuousCDF, Normal};

use super::stays::{self, Cow, Stay, rounds};
use super::{CLOSE, Reading, close};
use crate::planning::plan::{AtSession, Session, Slot};
use crate::trade::season::{Site, Technician};

pub(super) fn check(r: &mut Reading<'_>, stays: &[Stay<'_>]) {
    let plan = r.plan;
    for session in &plan.sessions {
        let Some(site) = r.site(&session.site) else {
            r.wrong(&session.id, "a site of the season", &session.site);
            continue;
        };
        let listed: BTreeSet<&str> = session.technicians.iter().map(|t| t.id.as_str()).collect();
        let slots = session.slots.iter();
        let seen: BTreeSet<&str> = slots.map(|s| s.technician.as_str()).collect();
        let what = format!("{} technicians", session.id);
        r.same(&what, &seen, &listed);
        r.same(&what, &listed.len(), &session.technicians.len());
        for at in &session.technicians {
            let Some(t) = r.technician(&at.id) else {
                r.wrong(&session.id, "a technician of the season", &at.id);
                continue;
            };
            one(r, session, site, at, t);
            leaves(r, stays, session, site, at, t);
        }
    }
    for t in &r.season.crew {
        let mine = stays::of(stays, t);
        one_place(r, t, &mine);
        rests(r, t, &mine);
        longest_day(r, t, &mine);
    }
}

/// Nobody works longer than the rules allow without a rest; the road is no rest.
fn rests(r: &mut Reading<'_>, t: &Technician, mine: &[&Stay<'_>]) {
    let Some(rest) = r.season.rules.rest else {
        return;
    };
    let mut since: Option<DateTime<Utc>> = None;
    let mut before: Option<(DateTime<Utc>, usize)> = None;
    for stay in mine {
        for Cow { busy, at: bred, .. } in &stay.cows {
            let road = before.map_or(TimeDelta::zero(), |(_, site)| {
                r.season.sites[site].road[stay.site]
            });
            let rested =
                before.is_none_or(|(last, _)| *busy - last - road >= rest.long - CLOSE * 2);
            if rested {
                since = Some(*busy);
            }
            let worked = *bred - since.unwrap_or(*busy);
            if worked > rest.after + CLOSE * 2 {
                r.wrong(
                    t.id.as_str(),
                    format!(
                        "a rest of {} min after {} min of work",
                        rest.long.num_minutes(),
                        rest.after.num_minutes()
                    ),
                    format!("work from {} to {bred}", since.unwrap_or(*busy)),
                );
                return;
            }
            before = Some((*bred, stay.site));
        }
    }
}

/// From leaving home to being back, between two nights of at least eight hours.
fn longest_day(r: &mut Reading<'_>, t: &Technician, mine: &[&Stay<'_>]) {
    let Some(longest) = t.longest_day.or(r.season.rules.longest_day) else {
        return;
    };
    let road = |site: usize| r.season.road_home(t, site);
    let mut day: Option<(DateTime<Utc>, DateTime<Utc>)> = None;
    let mut wrong = None;
    for stay in mine {
        for Cow { busy, at: bred, .. } in &stay.cows {
            let out = *busy - road(stay.site);
            let left = match day {
                Some((left, last)) if *busy - last < TimeDelta::hours(8) => left,
                _ => out,
            };
            day = Some((left, *bred));
            if *bred + road(stay.site) - left > longest + CLOSE * 2 {
                wrong = wrong.or(Some((left, *bred)));
            }
        }
    }
    if let Some((left, last)) = wrong {
        let wanted = format!("a day of at most {} min", longest.num_minutes());
        let got = format!("out at {left}, last cow at {last}");
        r.wrong(t.id.as_str(), wanted, got);
    }
}

fn one(r: &mut Reading<'_>, session: &Session, site: usize, at: &AtSession, t: &Technician) {
    let who = format!("{} at {}", at.id, session.id);
    let place: &Site = &r.season.sites[site];
    let slots = session.slots.iter().filter(|s| s.technician == at.id);
    let mut cows: Vec<DateTime<Utc>> = slots.flat_map(Slot::bred_at).collect();
    cows.sort();
    r.same(&who, &(cows.len() as u32), &at.head);
    let (Some(first), Some(last)) = (cows.first().copied(), cows.last().copied()) else {
        return;
    };
    if !close(first, at.first_cow.to_utc()) || !close(last, at.last_cow.to_utc()) {
        r.wrong(&who, format!("cows from {first} to {last}"), at.first_cow);
    }
    if !straws_at_once(r, &who, place, at, t) {
        return;
    }
    let (cow, _, period, lead) = rounds(r, t, f64::from(at.straws_at_once));
    // Cows follow each other no faster than the pace, and no more than k in a round.
    let span = |seconds: f64| TimeDelta::milliseconds((seconds * 1000.0) as i64) - CLOSE * 2;
    let straws = at.straws_at_once as usize;
    let fast = cows.windows(2).any(|w| w[1] - w[0] < span(cow))
        || cows
            .windows(straws + 1)
            .any(|w| w[straws] - w[0] < span(period));
    if fast {
        let wanted = format!("{cow} s a cow and {period} s a round of {straws}");
        r.wrong(&who, wanted, "a faster pace");
    }
    let begins = at.begins.to_utc();
    if first - begins < span(lead + cow) {
        let wanted = format!("{} s from the bath to the first cow", lead + cow);
        r.wrong(&who, wanted, begins);
    }
    let hours = at_site(r, t, site, begins, last);
    let road = r.season.road_home(t, site);
    let at_work = |from: DateTime<Utc>, to: DateTime<Utc>| {
        !r.is_idle(from - road + CLOSE, to + road - CLOSE)
            && hours
                .iter()
                .any(|(a, b)| *a <= from + CLOSE && to <= *b + CLOSE)
    };
    // A session may last over several shifts: each cow, with the thawing before the first one of
    // a shift, must lie in one of them.
    let thawed = |cow_bred: DateTime<Utc>| cow_bred - span(lead + cow) - CLOSE * 2;
    let off = cows.iter().find(|c| !at_work(thawed(**c), **c));
    if let Some(off) = off.or((!at_work(begins, first)).then_some(&first)) {
        r.wrong(
            &who,
            "work within shifts, less the road, and not in hours kept free of it",
            off,
        );
    }
}

/// No more straws at once than bath and technician allow, and none that grows too old; false if there is
/// no such number.
fn straws_at_once(
    r: &mut Reading<'_>,
    who: &str,
    place: &Site,
    at: &AtSession,
    t: &Technician,
) -> bool {
    let boxes = place.breeding_boxes.min(r.season.crew.len() as u32).max(1);
    let most = t
        .straws_at_once
        .map_or(10, |s| s.0)
        .min((place.thaw_bath.0 / boxes).max(1))
        .min(10);
    if at.straws_at_once == 0 || at.straws_at_once > most {
        r.wrong(
            who,
            format!("1 to {most} straws at once"),
            at.straws_at_once,
        );
        return false;
    }
    let k = f64::from(at.straws_at_once);
    let (cow, age, ..) = rounds(r, t, k);
    let limit = r.season.rules.bath_to_cow.0;
    let spread = t.spread.map_or(cow / 3.0, |s| s.0);
    let late = if spread > 0.0 {
        Normal::new(age, spread * k.sqrt()).map_or(1.0, |n| 1.0 - n.cdf(limit))
    } else {
        f64::from(u8::from(age > limit))
    };
    if age > limit + 1e-6 || late > r.season.rules.late_straw_risk + 1e-9 {
        let wanted = format!("straws in cows within {limit} s, but for the season's risk");
        r.wrong(who, wanted, format!("age {age} s, chance {late}"));
    }
    for (name, wanted, given) in [
        ("minutes a cow", cow / 60.0, at.minutes_per_cow),
        ("age of the last straw", age / 60.0, at.last_straw_minutes),
        ("chance of a late straw", late * 100.0, at.late_percent),
    ] {
        if (wanted - given).abs() > 0.0051 {
            r.wrong(&format!("{who} {name}"), wanted, given);
        }
    }
    true
}

/// When the technician can be at a site: hours of work, those that touch joined, less the road
/// both ways.
fn at_site(
    r: &Reading<'_>,
    t: &Technician,
    site: usize,
    from: DateTime<Utc>,
    to: DateTime<Utc>,
) -> Vec<(DateTime<Utc>, DateTime<Utc>)> {
    let road = r.season.road_home(t, site);
    let mut hours: Vec<(DateTime<Utc>, DateTime<Utc>)> = Vec::new();
    let mut day = r.local(from).date() - Days::new(2);
    while day <= r.local(to).date() + Days::new(1) {
        let mine = t.hours_of(day).into_iter();
        hours.extend(mine.map(|(a, b)| (r.instant(a), r.instant(b))));
        day = day + Days::new(1);
    }
    hours.sort();
    let mut joined: Vec<(DateTime<Utc>, DateTime<Utc>)> = Vec::new();
    for (a, b) in hours {
        match joined.last_mut() {
            Some((_, end)) if a <= *end => *end = b.max(*end),
            _ => joined.push((a, b)),
        }
    }
    joined
        .into_iter()
        .map(|(a, b)| (a + road, b - road))
        .collect()
}

/// Whoever comes from another site has time for the road from there.
fn leaves(
    r: &mut Reading<'_>,
    stays: &[Stay<'_>],
    session: &Session,
    site: usize,
    at: &AtSession,
    t: &Technician,
) {
    let who = &format!("{} at {}", at.id, session.id);
    let begins = at.begins.to_utc();
    let mut before = stays::of(stays, t);
    before.retain(|s| super::road::goes_on(r, s.last, begins));
    let before = before.iter().max_by_key(|s| s.last).map(|s| s.site);
    let from = before.or(t.home).filter(|from| *from != site);
    let wanted = from.map(|f| {
        let by = begins - r.season.sites[f].road[site];
        (r.season.sites[f].id.to_string(), by)
    });
    let far = from.and_then(|f| super::road::far(r.season, f, site));
    let told = at
        .leaves
        .as_ref()
        .and_then(|l| Some((l.km?, l.straight_line)));
    super::road::distance(r, who, far, told);
    let given = at.leaves.as_ref().map(|l| (l.site.clone(), l.by.to_utc()));
    r.same(who, &wanted, &given);
}

/// Nobody is at two sites at once, nor at one sooner than the road from the other allows.
fn one_place(r: &mut Reading<'_>, t: &Technician, mine: &[&Stay<'_>]) {
    let sites = &r.season.sites;
    for pair in mine.windows(2) {
        let (a, b) = (pair[0], pair[1]);
        if b.begins < a.last + sites[a.site].road[b.site] - CLOSE {
            let wanted = format!(
                "time for the road from {} to {}",
                sites[a.site].id, sites[b.site].id
            );
            r.wrong(t.id.as_str(), wanted, format!("{} to {}", a.last, b.begins));
        }
    }
}
