//! Time on the road for breeding, and what it costs at the season's price.
//!
//! A technician's outing leads from the home site to the first session, on to each further one of
//! the same day, and home after the last: however many sessions it holds, it goes out and back
//! once.

use std::fmt::Write as _;

use chrono::{NaiveDate, TimeDelta};
use serde::{Deserialize, Serialize};

use super::{Moment, Plan, Session, Technician as Person};
use crate::forecast::{Money, Price};
use crate::season::{Season, Technician};
use crate::units::hundredths;

/// Two sessions with fewer hours between lie on one outing though midnight is between them, too:
/// nobody drives home for less than a night.
const NIGHT: TimeDelta = TimeDelta::hours(8);

/// The road of all technicians whose home site is known.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Road {
    /// Hours on the road, everybody's together.
    pub hours: f64,
    /// What they cost, where the season has a price for an hour on the road.
    pub cost: Option<Money>,
    /// That price.
    pub price_per_hour: Option<Price>,
    /// The currency, if the season names one.
    pub currency: Option<String>,
    /// Ids of technicians who breed and have no home site: their road is not in it.
    pub without_home: Vec<String>,
}

/// A technician's road over the season.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct OwnRoad {
    /// Hours on the road.
    pub hours: f64,
    /// What they cost, where the season has a price.
    pub cost: Option<Money>,
    /// Each time out and back, by time; those at the home site alone are left out.
    pub outings: Vec<Outing>,
}

/// From the home site to one session or several, and back.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Outing {
    /// Local day of the first session.
    pub day: NaiveDate,
    /// Ids of the sessions, by time.
    pub sessions: Vec<String>,
    /// Hours on the road: out, between sites, and back.
    pub hours: f64,
    /// What they cost, where the season has a price.
    pub cost: Option<Money>,
}

/// True if who breeds a last cow at one moment goes on to a session that begins at another without
/// going home between.
pub(super) fn on_one_outing(last: Moment, begins: Moment) -> bool {
    last.date_naive() == begins.date_naive() || begins - last < NIGHT
}

/// Prices time on the road.
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
) -> Vec<(Outing, TimeDelta)> {
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
            let mut at = home;
            for (_, _, site, _) in out {
                long += road(at, *site);
                at = *site;
            }
            long += road(at, home);
            let (hours, cost) = priced(season, long);
            let outing = Outing {
                day: out[0].0.date_naive(),
                sessions: out.iter().map(|(.., s)| s.id.clone()).collect(),
                hours,
                cost,
            };
            (outing, long)
        })
        .filter(|(_, long)| *long > TimeDelta::zero())
        .collect()
}

/// One technician's road; `None` without a home site.
pub(super) fn own(
    season: &Season,
    sessions: &[Session],
    technician: &Technician,
) -> Option<OwnRoad> {
    let outings = outings(season, sessions, technician, technician.home?);
    let (hours, cost) = priced(season, outings.iter().map(|(_, long)| *long).sum());
    Some(OwnRoad {
        hours,
        cost,
        outings: outings.into_iter().map(|(outing, _)| outing).collect(),
    })
}

/// The road of the whole crew; `None` where nobody has a home site.
pub(super) fn of_all(season: &Season, sessions: &[Session]) -> Option<Road> {
    let with_home = season.crew.iter().filter_map(|t| Some((t, t.home?)));
    with_home.clone().next()?;
    let long = with_home
        .flat_map(|(t, home)| outings(season, sessions, t, home))
        .map(|(_, long)| long)
        .sum();
    let (hours, cost) = priced(season, long);
    let breeds = |id: &str| {
        let mut at = sessions.iter().flat_map(|s| &s.technicians);
        at.any(|a| a.id == id)
    };
    Some(Road {
        hours,
        cost,
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
    /// Sessions, head and hours of breeding.
    #[must_use]
    pub fn share_words(&self) -> String {
        let plural = if self.sessions == 1 { "" } else { "s" };
        if self.sessions == 0 {
            return "breeds nobody".to_owned();
        }
        format!(
            "{} head in {} session{plural}, {:.1} h from bath to last cow",
            self.head, self.sessions, self.hours
        )
    }
}

impl Plan {
    /// `4.7 h on the road, 117.50 USD`.
    #[must_use]
    pub fn road_words(&self, hours: f64, cost: Option<Money>) -> String {
        if hours <= 0.0 {
            return "no road to drive".to_owned();
        }
        let cost = self.cost_words(cost);
        format!("{hours:.1} h on the road{cost}")
    }

    /// `4.7 h, 117.50 USD`.
    #[must_use]
    pub fn road_figures(&self, hours: f64, cost: Option<Money>) -> String {
        format!("{hours:.1} h{}", self.cost_words(cost))
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
    #[must_use]
    pub fn road_total(&self) -> Vec<String> {
        let Some(road) = &self.road else {
            return Vec::new();
        };
        let cost = self.cost_words(road.cost);
        let mut said = format!("{:.1} h on the road{cost}", road.hours);
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
