//! How far it is between sites: as the season file says, else in a straight line over the ground.

use super::{Site, raw};
use crate::document::Tree;
use crate::error::{Code, Finding, quoted};
use crate::units::{KM_PER_MILE, Units};

/// Mean radius of the earth, km (International Union of Geodesy and Geophysics).
pub const EARTH_KM: f64 = 6_371.008_8;

/// Nobody drives faster over a whole road: our own limit, miles an hour.
const FASTEST_MILES_AN_HOUR: f64 = 80.0;

/// Roads that are told to be too fast, at the most.
const MOST_TOLD: usize = 20;

/// The way between two sites.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Stretch {
    /// Kilometres.
    pub km: f64,
    /// True if that is the straight line between their coordinates, and not the road.
    pub straight: bool,
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
        return Some(Stretch {
            km: 0.0,
            straight: false,
        });
    }
    let given = stated(a, &b.id).or_else(|| stated(b, &a.id));
    given
        .map(|(km, _)| Stretch {
            km,
            straight: false,
        })
        .or_else(|| {
            let km = straight_line_km(at(a)?, at(b)?);
            Some(Stretch { km, straight: true })
        })
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
            let Some(way) = a.far[m] else { continue };
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
            found.push(
                Finding::warning(
                    Code::RoadTooFast,
                    format!(
                        "from {} to {} are {}{line}, and {minutes:.0} minutes are planned for it",
                        quoted(a.id.as_str()),
                        quoted(b.id.as_str()),
                        units.far(way.km)
                    ),
                )
                .at(tree.place(&field))
                .expected(format!(
                    "at least {:.0} minutes: nobody drives more than {} an hour (our own limit)",
                    (way.km / KM_PER_MILE / FASTEST_MILES_AN_HOUR * 60.0).ceil(),
                    units.far(FASTEST_MILES_AN_HOUR * KM_PER_MILE)
                ))
                .hint("check `minutes_to`, the distance, and the coordinates of both sites"),
            );
            if found.len() >= MOST_TOLD {
                return found;
            }
        }
    }
    found
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
        near(straight_line_km((0.0, 0.0), (90.0, 17.0)), quarter);
        near(straight_line_km((0.0, -45.0), (0.0, 45.0)), quarter);
        near(
            straight_line_km((30.0, 10.0), (-30.0, -170.0)),
            2.0 * quarter,
        );
        near(
            straight_line_km((40.0, -108.0), (41.0, -108.0)),
            quarter / 90.0,
        );
        let chord = (0.5 * 0.5_f64.to_radians().sin()).asin();
        near(
            straight_line_km((60.0, 0.0), (60.0, 1.0)),
            2.0 * EARTH_KM * chord,
        );
        near(
            straight_line_km((40.0, 179.5), (40.0, -179.5)),
            straight_line_km((40.0, 0.0), (40.0, 1.0)),
        );
        near(straight_line_km((40.0, 7.0), (40.0, 7.0)), 0.0);
    }
}
