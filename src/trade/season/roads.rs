//! How far it is between sites: as the season file says, else in a straight line over the ground.
//!
//! Roads are closed: the way between two sites is the shortest over stated roads, made once and read by
//! all. Tables that people type have roads that take longer than a detour; nobody drives them, and a
//! model that believes them keeps people from what they could do. Minutes that nobody stated shorten
//! only what is not stated either: a guess must not overrule a measurement.
//!
//! Distances are only told, because the plan counts minutes: a mile of gravel is not a mile of highway.
//! A straight line is never longer than the road, so one that is too fast is a mistake for certain.

use std::collections::{BTreeMap, BTreeSet};

use chrono::TimeDelta;

use super::{Site, raw};
use crate::base::document::Tree;
use crate::base::error::{Code, Finding, quoted};
use crate::base::units::{KM_PER_MILE, Units, hundredths};

/// Mean radius of the earth, km (International Union of Geodesy and Geophysics).
pub const EARTH_KM: f64 = 6_371.008_8;

/// Nobody drives faster over a whole road: our own limit, miles an hour.
const FASTEST_MILES_AN_HOUR: f64 = 80.0;

/// Roads that are told to be too fast, at the most.
const MOST_TOLD: usize = 20;

/// The way between two sites.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Stretch {
    /// Kilometers.
    pub km: f64,
    /// True if that is the straight line between their coordinates, and not the road.
    pub straight: bool,
}

impl Stretch {
    const fn by_road(km: f64) -> Self {
        let straight = false;
        Self { km, straight }
    }
}

/// The great circle between two places by degrees north and east, km: haversines on a sphere of the
/// earth's mean radius, which is up to 0.6 % off the ellipsoid.
#[must_use]
pub fn straight_line_km(a: (f64, f64), b: (f64, f64)) -> f64 {
    let (north, south) = (a.0.to_radians(), b.0.to_radians());
    let half = |x: f64| (x / 2.0).sin().powi(2);
    let h = half(south - north) + north.cos() * south.cos() * half((b.1 - a.1).to_radians());
    2.0 * EARTH_KM * h.clamp(0.0, 1.0).sqrt().asin()
}

/// What the file says of the way from one site to the other, at the first of them: km, and the key.
pub(super) fn stated(a: &raw::Site, b: &str) -> Option<(f64, &'static str)> {
    let km = a.km_to.get(b).map(|km| (*km, "km_to"));
    km.or_else(|| a.miles_to.get(b).map(|m| (m * KM_PER_MILE, "miles_to")))
}

/// The way between two sites, if anybody can tell.
pub(super) fn between(a: &raw::Site, b: &raw::Site) -> Option<Stretch> {
    let at = |s: &raw::Site| s.latitude.zip(s.longitude);
    if a.id == b.id {
        return Some(Stretch::by_road(0.0));
    }
    let given = stated(a, &b.id).or_else(|| stated(b, &a.id));
    let straight = || {
        let km = straight_line_km(at(a)?, at(b)?);
        Some(Stretch { km, straight: true })
    };
    given.map(|(km, _)| Stretch::by_road(km)).or_else(straight)
}

/// A way from one site to another over roads whose minutes are stated.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct Way {
    pub(super) seconds: i64,
    /// Sites on it between the two, by their place.
    pub(super) over: Vec<usize>,
}

/// Seconds on the road between two sites, as the file states them.
fn stated_seconds(a: &raw::Site, b: &raw::Site) -> Option<i64> {
    road_between(a, b).map(|m| (m * 60.0).round() as i64)
}

/// The same as a time.
pub(super) fn stated_time(a: &raw::Site, b: &raw::Site) -> Option<TimeDelta> {
    let seconds = if a.id == b.id {
        Some(0)
    } else {
        stated_seconds(a, b)
    };
    seconds.map(TimeDelta::seconds)
}

/// The shortest way over stated roads from each site to each one after it; none where stated roads do
/// not lead there. Of equal ways the one over fewest sites, then over the first.
pub(super) fn stated_ways(sites: &[raw::Site]) -> Vec<Vec<Option<Way>>> {
    let mut roads: Vec<Vec<(usize, i64)>> = vec![Vec::new(); sites.len()];
    let place = sites.iter().enumerate();
    let place: BTreeMap<&str, usize> = place.rev().map(|(n, s)| (s.id.as_str(), n)).collect();
    for (n, a) in sites.iter().enumerate() {
        for to in a.minutes_to.keys() {
            let Some(m) = place.get(to.as_str()).copied().filter(|m| *m != n) else {
                continue;
            };
            if let Some(seconds) = stated_seconds(&sites[n.min(m)], &sites[n.max(m)]) {
                roads[n].push((m, seconds));
                roads[m].push((n, seconds));
            }
        }
    }
    (0..sites.len())
        .map(|from| ways_from(&roads, from))
        .collect()
}

fn ways_from(roads: &[Vec<(usize, i64)>], from: usize) -> Vec<Option<Way>> {
    // Seconds, roads taken, and the site before.
    let mut best: Vec<Option<(i64, usize, usize)>> = vec![None; roads.len()];
    let mut open = BTreeSet::from([(0, 0, from, from)]);
    while let Some((seconds, taken, at, before)) = open.pop_first() {
        if best[at].is_some() {
            continue;
        }
        best[at] = Some((seconds, taken, before));
        for (to, more) in &roads[at] {
            if best[*to].is_none() {
                open.insert((seconds.saturating_add(*more), taken + 1, *to, at));
            }
        }
    }
    let way = |to: usize| {
        let (seconds, ..) = best[to]?;
        let mut over = Vec::new();
        let mut at = best[to]?.2;
        while at != from {
            over.push(at);
            at = best[at]?.2;
        }
        over.reverse();
        Some(Way { seconds, over })
    };
    (0..roads.len())
        .map(|to| if to > from { way(to) } else { None })
        .collect()
}

/// Time on the road from each site to each, and the sites passed on the way. A stated road gives way to
/// a shorter way over other stated roads, and so does `usual`, which stands for those that are not
/// stated: a time that nobody gave never shortens one that somebody did.
pub(super) fn roads(sites: &[raw::Site], usual: TimeDelta) -> Vec<Vec<(TimeDelta, Vec<usize>)>> {
    let ways = stated_ways(sites);
    let mut all = vec![vec![(TimeDelta::zero(), Vec::new()); sites.len()]; sites.len()];
    for (n, a) in sites.iter().enumerate() {
        for (m, b) in sites.iter().enumerate().skip(n + 1) {
            let direct = stated_seconds(a, b).unwrap_or(usual.num_seconds());
            let shorter = ways[n][m].as_ref().filter(|w| w.seconds < direct);
            let (seconds, over) =
                shorter.map_or((direct, Vec::new()), |w| (w.seconds, w.over.clone()));
            let mut back = over.clone();
            back.reverse();
            all[m][n] = (TimeDelta::seconds(seconds), back);
            all[n][m] = (TimeDelta::seconds(seconds), over);
        }
    }
    all
}

/// How far that is: each part of the way as it is known.
pub(super) fn far(sites: &[raw::Site], from: usize, over: &[usize], to: usize) -> Option<Stretch> {
    let stops: Vec<usize> = [from].iter().chain(over).chain(&[to]).copied().collect();
    let mut all = Stretch::by_road(0.0);
    for w in stops.windows(2) {
        let part = between(&sites[w[0]], &sites[w[1]])?;
        all.km += part.km;
        all.straight |= part.straight;
    }
    Some(all)
}

/// Stated roads that take longer than a way over other sites.
pub(super) fn detours(sites: &[raw::Site], ways: &[Vec<Option<Way>>]) -> Vec<(String, Finding)> {
    let mut found = Vec::new();
    for (n, a) in sites.iter().enumerate() {
        for (m, b) in sites.iter().enumerate().skip(n + 1) {
            let (Some(direct), Some(way)) = (stated_seconds(a, b), &ways[n][m]) else {
                continue;
            };
            if way.seconds < direct {
                found.push((n, m, direct, way));
            }
        }
    }
    let minutes = |seconds: i64| format!("{} minutes", hundredths(seconds as f64 / 60.0));
    let all = found.len();
    let told = found.into_iter().take(MOST_TOLD).map(|(n, m, direct, way)| {
        let (a, b) = (&sites[n], &sites[m]);
        let over: Vec<String> = way.over.iter().map(|s| quoted(&sites[*s].id)).collect();
        let here = a.minutes_to.contains_key(&b.id);
        let (at, to) = if here { (n, &b.id) } else { (m, &a.id) };
        let what = format!(
            "the road between {} and {} takes {}, and the way through {} takes {}: that is planned",
            quoted(&a.id),
            quoted(&b.id),
            minutes(direct),
            over.join(" and "),
            minutes(way.seconds),
        );
        let finding = Finding::warning(Code::RoadDetour, what)
            .expected("no road that takes longer than the way through another site")
            .hint("check `minutes_to` of these sites: one of the times may be mistyped");
        (format!("sites[{at}].minutes_to.{to}"), finding)
    });
    let mut told: Vec<(String, Finding)> = told.collect();
    if all > MOST_TOLD {
        let what = format!(
            "{} more roads take longer than the way through another site: the shorter way is planned",
            all - MOST_TOLD
        );
        told.push(("sites".into(), Finding::warning(Code::RoadDetour, what)));
    }
    told
}

/// Distances given twice for one road, otherwise each time.
pub(super) fn twice(raw: &raw::Season) -> Vec<(String, Finding)> {
    let mut found = Vec::new();
    for (n, a) in raw.sites.iter().enumerate() {
        for b in &raw.sites {
            let both = a.km_to.contains_key(&b.id) && a.miles_to.contains_key(&b.id);
            let other = stated(b, &a.id).filter(|_| a.id < b.id);
            let (Some((here, key)), true) = (stated(a, &b.id), both || other.is_some()) else {
                continue;
            };
            // A mile and its kilometres as people round them are one distance: half a mile and half a
            // kilometer off, or a fiftieth of a long road.
            let near = (0.5 + 0.5 * KM_PER_MILE).max(0.02 * here);
            let same = |there: f64| (here - there).abs() <= near;
            if !both && other.is_some_and(|(there, _)| same(there)) {
                continue;
            }
            let (a, b) = (quoted(&a.id), quoted(&b.id));
            let what = if both {
                format!("the road between {a} and {b} is given in miles and in kilometers")
            } else {
                format!("the road between {a} and {b} has one length here and another there")
            };
            let finding = Finding::error(Code::RoadLength, what)
                .expected("one of `miles_to` and `km_to` for each pair of sites")
                .hint("give it at one of the two sites only");
            found.push((format!("sites[{n}].{key}"), finding));
        }
    }
    found
}

/// Roads that would have to be driven faster than anybody does: a minute, a mile or a coordinate is
/// not what was meant.
pub(super) fn too_fast(
    tree: &Tree,
    raw: &raw::Season,
    sites: &[Site],
    units: Units,
) -> Vec<Finding> {
    let mut found = Vec::new();
    for (n, a) in sites.iter().enumerate() {
        for (m, b) in sites.iter().enumerate().skip(n + 1) {
            // Of a way over other sites each part is looked at by itself.
            let Some(way) = a.far[m].filter(|_| a.over[m].is_empty()) else {
                continue;
            };
            let hours = a.road[m].num_seconds() as f64 / 3600.0;
            if way.km <= hours * FASTEST_MILES_AN_HOUR * KM_PER_MILE + 1.0 {
                continue;
            }
            let minutes = hours * 60.0;
            let known = [(n, b.id.as_str()), (m, a.id.as_str())];
            let given = known
                .into_iter()
                .find(|(at, to)| raw.sites[*at].minutes_to.contains_key(*to));
            // Where nobody gave the minutes, they are those of the rules, for all roads alike.
            let field = given.map_or_else(
                || format!("sites[{n}]"),
                |(at, to)| format!("sites[{at}].minutes_to.{to}"),
            );
            let line = if way.straight {
                " in a straight line"
            } else {
                ""
            };
            let what = format!(
                "from {} to {} are {}{line}, and {minutes:.0} minutes are planned for it",
                quoted(a.id.as_str()),
                quoted(b.id.as_str()),
                units.far(way.km)
            );
            let finding = Finding::warning(Code::RoadTooFast, what)
                .at(tree.place(&field))
                .expected(format!(
                    "at least {:.0} minutes: nobody drives more than {} an hour (our own limit)",
                    (way.km / KM_PER_MILE / FASTEST_MILES_AN_HOUR * 60.0).ceil(),
                    units.far(FASTEST_MILES_AN_HOUR * KM_PER_MILE)
                ))
                .hint("check `minutes_to`, the distance, and the coordinates of both sites");
            found.push(finding);
            if found.len() >= MOST_TOLD {
                return found;
            }
        }
    }
    found
}

/// The minutes given between two sites, at either of them.
pub(super) fn road_between(a: &raw::Site, b: &raw::Site) -> Option<f64> {
    a.minutes_to
        .get(&b.id)
        .or_else(|| b.minutes_to.get(&a.id))
        .copied()
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Closed forms of the sphere: a quarter of a great circle, the whole way to the other side, a
    /// degree along a meridian, and a degree along the parallel of 60 degrees, which is by the chord.
    #[test]
    fn the_straight_line_is_that_of_the_sphere() {
        let near = |a: f64, b: f64| assert!((a - b).abs() < 1e-6, "{a} {b}");
        let quarter = EARTH_KM * std::f64::consts::FRAC_PI_2;
        let chord = (0.5 * 0.5_f64.to_radians().sin()).asin();
        for (from, to, km) in [
            ((0.0, 0.0), (90.0, 17.0), quarter),
            ((0.0, -45.0), (0.0, 45.0), quarter),
            ((30.0, 10.0), (-30.0, -170.0), 2.0 * quarter),
            ((40.0, -108.0), (41.0, -108.0), quarter / 90.0),
            ((60.0, 0.0), (60.0, 1.0), 2.0 * EARTH_KM * chord),
            ((40.0, 7.0), (40.0, 7.0), 0.0),
        ] {
            near(straight_line_km(from, to), km);
        }
        let over_the_date_line = straight_line_km((40.0, 179.5), (40.0, -179.5));
        near(
            over_the_date_line,
            straight_line_km((40.0, 0.0), (40.0, 1.0)),
        );
    }
}
