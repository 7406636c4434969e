//! Time on the road for breeding, and what it costs at the season's price.
//!
//! A technician's outing leads from the home site to the first session, on to each further one of
//! the same day, and home after the last: however many sessions it holds, it goes out and back
//! once.

use std::fmt::Write as _;

use chrono::TimeDelta;

use super::{Leave, Moment, Outing, OwnRoad, Plan, Road, Session, Technician as Person};
use crate::base::units::hundredths;
use crate::trade::figures::{Money, Price};
use crate::trade::season::{Season, Technician};

/// Two sessions with fewer hours between lie on one outing though midnight is between them, too:
/// nobody drives home for less than a night.
const NIGHT: TimeDelta = TimeDelta::hours(8);

/// True if who breeds a last cow at one moment goes on to a session that begins at another without
/// going home between.
pub(super) fn on_one_outing(last: Moment, begins: Moment) -> bool {
    last.date_naive() == begins.date_naive() || begins - last < NIGHT
}

/// How far: nothing where one stretch is not known.
#[derive(Clone, Copy)]
struct Way {
    km: Option<f64>,
    straight: bool,
}

impl Way {
    const NONE: Self = Self {
        km: Some(0.0),
        straight: false,
    };

    fn of(season: &Season, from: usize, to: usize) -> Self {
        let far = season.sites[from].far[to];
        Self {
            km: far.map(|f| f.km),
            straight: far.is_some_and(|f| f.straight),
        }
    }

    fn and(self, more: Self) -> Self {
        Self {
            km: self.km.zip(more.km).map(|(a, b)| a + b),
            straight: self.straight || more.straight,
        }
    }

    /// Kilometers to the meter, and whether they are of straight lines.
    fn length(self) -> (Option<f64>, bool) {
        // To the meter: people read tenths, which are rounded once.
        let meters = |km: f64| (km * 1000.0).round() / 1000.0;
        (self.km.map(meters), self.km.is_some() && self.straight)
    }
}

/// When to leave one site for another.
pub(super) fn leave(season: &Season, from: usize, to: usize, by: Moment) -> Leave {
    let (km, straight_line) = Way::of(season, from, to).length();
    Leave {
        site: season.sites[from].id.to_string(),
        by,
        km,
        straight_line,
    }
}

fn priced(season: &Season, road: TimeDelta) -> (f64, Option<Money>) {
    let hours = road.num_seconds() as f64 / 3600.0;
    let cost = price(season).map(|p| Money(hundredths(p.times(hours).0)));
    (hundredths(hours), cost)
}

fn price(season: &Season) -> Option<Price> {
    season.prices.as_ref()?.road_per_hour
}

/// The outings of one technician with the time of each.
fn outings(
    season: &Season,
    sessions: &[Session],
    technician: &Technician,
    home: usize,
) -> Vec<(Outing, TimeDelta, Way)> {
    let mut stays: Vec<(Moment, Moment, usize, &Session)> = Vec::new();
    for s in sessions {
        let here = s
            .technicians
            .iter()
            .find(|a| a.id == technician.id.as_str());
        let site = season.sites.iter().position(|x| x.id.as_str() == s.site);
        if let (Some(a), Some(site)) = (here, site) {
            stays.push((a.begins, a.last_cow, site, s));
        }
    }
    stays.sort_by_key(|stay| (stay.0, stay.1));
    let of_one = stays.chunk_by(|a, b| on_one_outing(a.1, b.0));
    let road = |from: usize, to: usize| season.sites[from].road[to];
    of_one
        .map(|out| {
            let mut long = TimeDelta::zero();
            let mut way = Way::NONE;
            let mut at = home;
            for (_, _, site, _) in out {
                long += road(at, *site);
                way = way.and(Way::of(season, at, *site));
                at = *site;
            }
            long += road(at, home);
            way = way.and(Way::of(season, at, home));
            let (hours, cost) = priced(season, long);
            let (km, straight_line) = way.length();
            let outing = Outing {
                day: out[0].0.date_naive(),
                sessions: out.iter().map(|(.., s)| s.id.clone()).collect(),
                hours,
                km,
                straight_line,
                cost,
            };
            (outing, long, way)
        })
        .filter(|(_, long, _)| *long > TimeDelta::zero())
        .collect()
}

/// Hours and cost of some outings together, and their length.
fn together(season: &Season, outings: &[(Outing, TimeDelta, Way)]) -> OwnRoad {
    let (hours, cost) = priced(season, outings.iter().map(|(_, long, _)| *long).sum());
    let ways = outings.iter().map(|(_, _, way)| *way);
    let (km, straight_line) = ways.fold(Way::NONE, Way::and).length();
    OwnRoad {
        hours,
        km,
        straight_line,
        cost,
        outings: Vec::new(),
    }
}

/// One technician's road; `None` without a home site.
pub(super) fn own(
    season: &Season,
    sessions: &[Session],
    technician: &Technician,
) -> Option<OwnRoad> {
    let outings = outings(season, sessions, technician, technician.home?);
    let all = together(season, &outings);
    Some(OwnRoad {
        outings: outings.into_iter().map(|(outing, ..)| outing).collect(),
        ..all
    })
}

/// The road of the whole crew; `None` where nobody has a home site.
pub(super) fn of_all(season: &Season, sessions: &[Session]) -> Option<Road> {
    let with_home = season.crew.iter().filter_map(|t| Some((t, t.home?)));
    with_home.clone().next()?;
    let all: Vec<_> = with_home
        .flat_map(|(t, home)| outings(season, sessions, t, home))
        .collect();
    let all = together(season, &all);
    let breeds = |id: &str| {
        let mut at = sessions.iter().flat_map(|s| &s.technicians);
        at.any(|a| a.id == id)
    };
    Some(Road {
        hours: all.hours,
        km: all.km,
        straight_line: all.straight_line,
        cost: all.cost,
        price_per_hour: price(season),
        currency: season.prices.as_ref().and_then(|p| p.currency.clone()),
        without_home: season
            .crew
            .iter()
            .filter(|t| t.home.is_none() && breeds(t.id.as_str()))
            .map(|t| t.id.to_string())
            .collect(),
    })
}

impl Person {
    pub(crate) fn share_words(&self) -> String {
        let plural = if self.sessions == 1 { "" } else { "s" };
        if self.sessions == 0 {
            return "breeds nobody".to_owned();
        }
        format!(
            "{} head in {} session{plural}, {:.1} h of breeding",
            self.head, self.sessions, self.hours
        )
    }
}

impl Plan {
    /// `4.7 h on the road, 43.4 miles / 69.9 km in straight lines, 117.50 USD`.
    pub(crate) fn road_words(&self, road: &OwnRoad) -> String {
        if road.hours <= 0.0 {
            return "no road to drive".to_owned();
        }
        let far = self.far_words(road.km, road.straight_line);
        let cost = self.cost_words(road.cost);
        format!("{:.1} h on the road{far}{cost}", road.hours)
    }

    /// `4.7 h, 43.4 miles / 69.9 km in straight lines, 117.50 USD`.
    pub(crate) fn road_figures(&self, road: &OwnRoad) -> String {
        let far = self.far_words(road.km, road.straight_line);
        format!("{:.1} h{far}{}", road.hours, self.cost_words(road.cost))
    }

    /// ` (21.7 miles in a straight line)` behind a drive, or nothing.
    pub(crate) fn drive_words(&self, leave: &Leave) -> String {
        let line = if leave.straight_line {
            " in a straight line"
        } else {
            ""
        };
        // Sites at one place have a road all the same: its length is not known.
        let km = leave.km.filter(|km| *km > 0.0);
        km.map_or_else(String::new, |km| format!(" ({}{line})", self.units.far(km)))
    }

    fn far_words(&self, km: Option<f64>, straight: bool) -> String {
        let lines = if straight { " in straight lines" } else { "" };
        let km = km.filter(|km| *km > 0.0);
        km.map_or_else(String::new, |km| format!(", {}{lines}", self.units.far(km)))
    }

    fn cost_words(&self, cost: Option<Money>) -> String {
        cost.map_or(String::new(), |c| format!(", {c}{}", self.currency()))
    }

    /// The currency of the road's price with a blank before it, or nothing.
    fn currency(&self) -> String {
        let named = self.road.as_ref().and_then(|r| r.currency.as_ref());
        named.map_or(String::new(), |c| format!(" {c}"))
    }

    /// The road of all, in sentences; none where no home site is known.
    pub(crate) fn road_total(&self) -> Vec<String> {
        let Some(road) = &self.road else {
            return Vec::new();
        };
        let cost = self.cost_words(road.cost);
        let far = self.far_words(road.km, road.straight_line);
        let mut said = format!("{:.1} h on the road{far}{cost}", road.hours);
        if let Some(price) = road.price_per_hour {
            let _ = write!(said, " at {}{} an hour", price.each(), self.currency());
        }
        let mut all = vec![format!(
            "Together {said}: out, between sites and back, once for each day out."
        )];
        if !road.without_home.is_empty() {
            all.push(format!(
                "Without `home_site`, and so not in it: {}.",
                road.without_home.join(", ")
            ));
        }
        all
    }
}
