//! Time on the road, and what it costs.

use chrono::NaiveDate;
use serde::{Deserialize, Serialize};

use crate::base::time::Moment;
use crate::trade::figures::{Money, Price};

/// When to leave for a session.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Leave {
    /// Site id to leave: that of the session before on the same day, or the home site.
    pub site: String,
    /// At the latest.
    pub by: Moment,
    /// Kilometers, where the distance is known.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub km: Option<f64>,
    /// True if these are the straight line between coordinates, and not the road.
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub straight_line: bool,
}

/// The road of all technicians whose home site is known.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Road {
    /// Hours on the road, everybody's together.
    pub hours: f64,
    /// Kilometers on the road, everybody's together, where every distance is known.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub km: Option<f64>,
    /// True if these are, or some of them, the straight line between coordinates, and not the road.
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub straight_line: bool,
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
    /// Kilometers on the road, where every distance is known.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub km: Option<f64>,
    /// True if these are, or some of them, the straight line between coordinates, and not the road.
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub straight_line: bool,
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
    /// Kilometers on the road, where every distance is known.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub km: Option<f64>,
    /// True if these are, or some of them, the straight line between coordinates, and not the road.
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub straight_line: bool,
    /// What they cost, where the season has a price.
    pub cost: Option<Money>,
}
