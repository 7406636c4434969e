//! Time on the road and its cost, leg by leg: each session is asked what its technicians drive to
//! it, and what they drive home from it if they go nowhere else.

use std::collections::BTreeMap;

use chrono::{DateTime, NaiveDate, TimeDelta, Utc};

use super::Reading;
use super::stays::{self, Stay};
use crate::trade::season::Season;

/// Whoever breeds again before the day is over, or before a night of eight hours is, has not been
/// home. Sites may be no minutes apart: then the last cow at one and the first straws at the other may be
/// of one moment.
pub(super) fn goes_on(r: &Reading<'_>, last: DateTime<Utc>, begins: DateTime<Utc>) -> bool {
    last <= begins
        && (r.local(last).date() == r.local(begins).date()
            || (begins - last).num_seconds() < 8 * 3600)
}

/// Kilometers from site to site and whether they are of a straight line: that again by vectors from
/// the middle of the earth, the angle between them from their cross and dot products.
pub(super) fn far(season: &Season, from: usize, to: usize) -> Option<(f64, bool)> {
    let over = &season.sites[from].over[to];
    if let Some(first) = over.first() {
        let stops = [over.as_slice(), &[to]].concat();
        let on = stops.windows(2).map(|w| far(season, w[0], w[1]));
        let all: Vec<_> = std::iter::once(far(season, from, *first))
            .chain(on)
            .collect();
        return sum(&all);
    }
    let known = season.sites[from].far[to]?;
    if !known.straight {
        return Some((known.km, false));
    }
    let unit = |n: usize| {
        season.sites[n].position.map(|(north, east)| {
            let (north, east) = (north.to_radians(), east.to_radians());
            [
                north.cos() * east.cos(),
                north.cos() * east.sin(),
                north.sin(),
            ]
        })
    };
    let (a, b) = (unit(from)?, unit(to)?);
    let dot: f64 = a.iter().zip(&b).map(|(x, y)| x * y).sum();
    let cross = [
        a[1] * b[2] - a[2] * b[1],
        a[2] * b[0] - a[0] * b[2],
        a[0] * b[1] - a[1] * b[0],
    ];
    let sine = cross.iter().map(|x| x * x).sum::<f64>().sqrt();
    Some((6_371.008_8 * sine.atan2(dot), true))
}

/// A distance is known where it should be, to half a unit of the second digit.
pub(super) fn distance(
    r: &mut Reading<'_>,
    who: &str,
    wanted: Option<(f64, bool)>,
    told: Option<(f64, bool)>,
) {
    let alike = match (wanted, told) {
        (None, None) => true,
        (Some((a, line)), Some((b, told))) => (a - b).abs() <= 0.006 && line == told,
        _ => false,
    };
    if !alike {
        r.wrong(who, format!("{wanted:?} km"), format!("{told:?}"));
    }
}

/// Distances one after the other: nothing where one is not known.
fn sum(all: &[Option<(f64, bool)>]) -> Option<(f64, bool)> {
    all.iter().try_fold((0.0, false), |(km, line), x| {
        x.map(|(more, straight)| (km + more, line || straight))
    })
}

/// Roads are the shortest ways over those that the season states: each of these is gone over, again
/// and again, until none makes a way shorter.
fn ways(r: &mut Reading<'_>) {
    let sites = &r.season.sites;
    let mut roads: Vec<(usize, usize, i64)> = Vec::new();
    for (a, site) in sites.iter().enumerate() {
        let given = site.stated.iter().enumerate();
        roads.extend(given.filter_map(|(b, long)| Some((a, b, long.as_ref()?.num_seconds()))));
    }
    let usual = r.season.rules.road.num_seconds();
    for (from, site) in sites.iter().enumerate() {
        let mut least: Vec<Option<i64>> = vec![None; sites.len()];
        least[from] = Some(0);
        let mut shorter = true;
        while shorter {
            shorter = false;
            for (a, b, long) in &roads {
                let Some(way) = least[*a].map(|w| w.saturating_add(*long)) else {
                    continue;
                };
                if least[*b].is_none_or(|known| way < known) {
                    least[*b] = Some(way);
                    shorter = true;
                }
            }
        }
        for (to, least) in least.into_iter().enumerate() {
            let usual = if site.stated[to].is_some() {
                i64::MAX
            } else {
                usual
            };
            let wanted = least.unwrap_or(usual).min(usual);
            let who = format!("road from {} to {}", site.id, sites[to].id);
            r.same(&who, &wanted, &site.road[to].num_seconds());
            let stops = [&[from], site.over[to].as_slice(), &[to]].concat();
            let parts = stops.windows(2).map(|w| sites[w[0]].stated[w[1]]);
            let mut parts: Option<TimeDelta> = parts.sum();
            if site.over[to].is_empty() {
                parts = parts.or(Some(r.season.rules.road));
            }
            if parts != Some(site.road[to]) {
                r.wrong(&who, "roads that add up to it", format!("{parts:?}"));
            }
        }
    }
}

pub(super) fn check(r: &mut Reading<'_>, stays: &[Stay<'_>]) {
    ways(r);
    let (season, plan) = (r.season, r.plan);
    let price = season.prices.as_ref().and_then(|p| p.road_per_hour);
    let price = price.map(f64::from);
    let mut all_seconds = 0;
    let mut all_ways = Vec::new();
    let mut strays = Vec::new();
    for t in &season.crew {
        let who = format!("road of {}", t.id);
        let given = plan.technicians.iter().find(|x| x.id == t.id.as_str());
        let given = given.and_then(|x| x.road.as_ref());
        let stays = stays::of(stays, t);
        let Some(home) = t.home else {
            r.same(&who, &false, &given.is_some());
            if !stays.is_empty() {
                strays.push(t.id.to_string());
            }
            continue;
        };
        let Some(given) = given else {
            r.wrong(&who, "hours on the road", "none");
            continue;
        };
        let legs = legs(r, &stays, home);
        let mut seconds = 0;
        let wanted = legs.values().map(|out| (out.day, out.sessions.as_slice()));
        let wanted: Vec<(NaiveDate, &[&str])> = wanted.collect();
        let told: Vec<(NaiveDate, Vec<&str>)> = given
            .outings
            .iter()
            .map(|o| (o.day, o.sessions.iter().map(String::as_str).collect()))
            .collect();
        let told: Vec<(NaiveDate, &[&str])> =
            told.iter().map(|(d, s)| (*d, s.as_slice())).collect();
        r.same(&who, &wanted, &told);
        for (out, outing) in legs.values().zip(&given.outings) {
            let (cost, who) = (outing.cost.map(|c| c.0), format!("{who} on {}", out.day));
            amounts(r, &who, out.seconds, price, (outing.hours, cost));
            let told = outing.km.map(|km| (km, outing.straight_line));
            distance(r, &who, sum(&out.ways), told);
        }
        let mut ways = Vec::new();
        for out in legs.values() {
            seconds += out.seconds;
            ways.extend_from_slice(&out.ways);
        }
        let told = given.km.map(|km| (km, given.straight_line));
        distance(r, &who, sum(&ways), told);
        all_ways.extend(ways);
        amounts(
            r,
            &who,
            seconds,
            price,
            (given.hours, given.cost.map(|c| c.0)),
        );
        all_seconds += seconds;
    }
    let home = season.crew.iter().any(|t| t.home.is_some());
    r.same("road", &home, &plan.road.is_some());
    if let Some(given) = &plan.road {
        amounts(
            r,
            "road",
            all_seconds,
            price,
            (given.hours, given.cost.map(|c| c.0)),
        );
        let told = given.km.map(|km| (km, given.straight_line));
        distance(r, "road", sum(&all_ways), told);
        r.same("road", &price, &given.price_per_hour.map(f64::from));
        let currency = season.prices.as_ref().and_then(|p| p.currency.as_ref());
        r.same("road", &currency, &given.currency.as_ref());
        r.same("road", &strays, &given.without_home);
    }
}

/// A time out and back.
struct Out<'a> {
    day: NaiveDate,
    sessions: Vec<&'a str>,
    seconds: i64,
    ways: Vec<Option<(f64, bool)>>,
}

/// Each outing that leaves the home site, by its first moment.
fn legs<'a>(r: &Reading<'_>, stays: &[&Stay<'a>], home: usize) -> BTreeMap<DateTime<Utc>, Out<'a>> {
    let seconds = |a: usize, b: usize| r.season.sites[a].road[b].num_seconds();
    let mut found: BTreeMap<DateTime<Utc>, Out<'a>> = BTreeMap::new();
    let mut out = None;
    for (n, stay) in stays.iter().enumerate() {
        let before = n.checked_sub(1).map(|b| stays[b]);
        let before = before.filter(|b| goes_on(r, b.last, stay.begins));
        let next = stays.get(n + 1);
        let next = next.filter(|next| goes_on(r, stay.last, next.begins));
        let from = before.map_or(home, |b| b.site);
        let first = before.and(out).unwrap_or(stay.begins);
        out = Some(first);
        let outing = found.entry(first).or_insert(Out {
            day: r.local(first).date(),
            sessions: Vec::new(),
            seconds: 0,
            ways: Vec::new(),
        });
        outing.sessions.push(&stay.session.id);
        outing.seconds += seconds(from, stay.site);
        outing.ways.push(far(r.season, from, stay.site));
        if next.is_none() {
            outing.seconds += seconds(stay.site, home);
            outing.ways.push(far(r.season, stay.site, home));
        }
    }
    found.retain(|_, out| out.seconds > 0);
    found
}

/// Hours and cost are those of so many seconds, to half a unit of the second digit.
fn amounts(
    r: &mut Reading<'_>,
    who: &str,
    seconds: i64,
    price: Option<f64>,
    (hours, cost): (f64, Option<f64>),
) {
    let exact = seconds as f64 / 3600.0;
    if (exact - hours).abs() > 0.006 {
        r.wrong(who, format!("{exact} hours"), hours);
    }
    match (price.map(|p| p * exact), cost) {
        (None, None) => {}
        (Some(wanted), Some(cost)) if (wanted - cost).abs() <= 0.006 => {}
        (wanted, cost) => r.wrong(who, format!("a cost of {wanted:?}"), format!("{cost:?}")),
    }
}
