//! What people weigh, as numbers: the less the better.
//!
//! A percentage pregnant that is not known counts as the least published for these animals. At a
//! general figure, protocols without one of their own would beat those that were tried and found
//! wanting. No choice beats another where one figure is published and the other is not.

use crate::base::units::{Clock, Percent, hundredths, in_hundredths};
use crate::trade::figures::{Cost, GENERAL, Money, Prices, Work, cost_a_head};
use crate::trade::protocol::{Action, Kind, Protocol, Rate, Semen};
use crate::trade::season::pace::{MOST_STRAWS, safest};
use crate::trade::season::{Group, GroupFacts, Season, Weights};
use chrono::TimeDelta;
use schemars::JsonSchema;
use serde::{Serialize, Serializer};

/// One thing that people weigh.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
#[derive(strum::VariantArray)]
pub enum Criterion {
    /// Wishes that are broken.
    Wishes,
    /// Head that the crew cannot breed in time.
    HeadNotBred,
    /// Head of other groups that can then not be bred in time.
    OtherHead,
    /// Quarters of an hour in which a chute is wanted twice.
    ChuteQuarters,
    /// Percent not pregnant to AI.
    PercentOpen,
    /// Cost per pregnancy.
    CostAPregnancy,
    /// Cost a head.
    CostAHead,
    /// Trips through the chute.
    Passes,
    /// Days from the first treatment to the first breeding.
    Days,
    /// Hours of work.
    WorkHours,
    /// Hours of work at night.
    NightHours,
    /// Days of the mean calving date after the earliest.
    CalvingDays,
    /// Minutes by which the crew has less than an hour to spare.
    ShortMinutes,
}

impl Criterion {
    /// Every one.
    pub const ALL: &'static [Self] = <Self as strum::VariantArray>::VARIANTS;

    /// What one unit of it is, in words.
    #[must_use]
    pub fn words(self, told: Clock) -> String {
        let words = match self {
            Self::Wishes => "broken wish",
            Self::HeadNotBred => "head not bred in time",
            Self::OtherHead => "head of another group not bred for it",
            Self::ChuteQuarters => "15 minutes with two groups at one chute",
            Self::PercentOpen => "percent not pregnant to AI",
            Self::CostAPregnancy => "unit of money per pregnancy",
            Self::CostAHead => "unit of money a head",
            Self::Passes => "trip through the chute",
            Self::Days => "day from first treatment to breeding",
            Self::WorkHours => "hour of anybody's work",
            Self::NightHours => {
                let [from, to] = [21, 5].map(|hour| told.hour(hour));
                return format!("hour of work from {from} to {to}");
            }
            Self::CalvingDays => "day that the average due date is later than the earliest",
            Self::ShortMinutes => "minute of spare time under one hour",
        };
        words.to_owned()
    }

    /// Points for one unit.
    #[must_use]
    pub const fn weight(self, w: &Weights) -> f64 {
        match self {
            Self::Wishes => w.wish,
            Self::HeadNotBred => w.head_not_bred,
            Self::OtherHead => w.other_head,
            Self::ChuteQuarters => w.chute_quarter,
            Self::PercentOpen => w.percent_open,
            Self::CostAPregnancy => w.cost_a_pregnancy,
            Self::CostAHead => w.cost_a_head,
            Self::Passes => w.pass,
            Self::Days => w.day,
            Self::WorkHours => w.work_hour,
            Self::NightHours => w.night_hour,
            Self::CalvingDays => w.calving_day,
            Self::ShortMinutes => w.short_minute,
        }
    }
}

/// How much there is of each criterion, in the order of [`Criterion::ALL`].
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Values {
    of: [f64; Criterion::ALL.len()],
    /// True if the percentage pregnant is published for the protocol.
    published: bool,
}

impl Serialize for Values {
    fn serialize<S: Serializer>(&self, to: S) -> Result<S::Ok, S::Error> {
        to.collect_map(Criterion::ALL.iter().map(|c| (c, self.get(*c))))
    }
}

impl Values {
    pub(super) fn none(published: bool) -> Self {
        Self {
            of: [0.0; Criterion::ALL.len()],
            published,
        }
    }

    /// How much of one.
    #[must_use]
    pub fn get(&self, c: Criterion) -> f64 {
        self.of[c as usize]
    }

    pub(super) fn set(&mut self, c: Criterion, value: f64) {
        // Differences that nobody could tell are none.
        self.of[c as usize] = hundredths(value);
    }

    /// The order of two with equal points: one that beats the other comes first.
    pub(super) fn order(&self, other: &Self) -> std::cmp::Ordering {
        let pairs = self.of.iter().zip(&other.of);
        pairs
            .map(|(a, b)| a.total_cmp(b))
            .find(|o| o.is_ne())
            .unwrap_or(std::cmp::Ordering::Equal)
    }

    /// All points.
    #[must_use]
    pub fn points(&self, weights: &Weights) -> f64 {
        Criterion::ALL
            .iter()
            .map(|c| c.weight(weights) * self.get(*c))
            .sum()
    }

    /// True if this is no worse in anything that counts, and better in something. A published
    /// percentage and one for want of any cannot be held against each other.
    pub(super) fn beats(&self, other: &Self, weights: &Weights) -> bool {
        if self.published != other.published {
            return false;
        }
        let mut better = false;
        for &c in Criterion::ALL {
            if c.weight(weights) > 0.0 {
                if self.get(c) > other.get(c) {
                    return false;
                }
                better |= self.get(c) < other.get(c);
            }
        }
        better
    }
}

/// Hours of work.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, JsonSchema)]
pub struct WorkHours {
    /// At the chute, drugs and breeding.
    #[serde(serialize_with = "in_hundredths")]
    pub chute: f64,
    /// Of the technicians.
    #[serde(serialize_with = "in_hundredths")]
    pub technicians: f64,
    /// Of watching for heat.
    #[serde(serialize_with = "in_hundredths")]
    pub heat_watch: f64,
    /// Of feeding MGA.
    #[serde(serialize_with = "in_hundredths")]
    pub feeding: f64,
    /// Of all these, at night.
    pub night: f64,
}

impl WorkHours {
    /// All hours.
    #[must_use]
    pub fn sum(&self) -> f64 {
        self.chute + self.technicians + self.heat_watch + self.feeding
    }
}

/// Heat is checked at least three times a day, 30 minutes each (COWS-IN-SYNCH).
const WATCH_HOURS_A_DAY: f64 = 1.5;

/// Half an hour to put out the feed of a day: common practice, no source.
const FEEDING_HOURS_A_DAY: f64 = 0.5;

/// What is published of fixed-time AI in general, where a protocol has no figure of its own.
fn general_rate() -> Rate {
    let general = &GENERAL[0];
    Rate {
        low: general.low_percent,
        mean: general.percent,
        high: general.high_percent,
        head: 0,
        tags: vec![general.source.into()],
    }
}

/// A pregnancy rate in percent.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct CountedRate {
    /// The rate that counts in the points.
    #[serde(serialize_with = "in_hundredths")]
    pub counted: f64,
    /// What is published.
    #[serde(flatten)]
    pub figures: Rate,
    /// False if it is a general rate, as none is published for the protocol.
    #[serde(rename = "published_for_the_protocol")]
    pub published: bool,
}

/// What a protocol is for a group, whatever the start.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct Standing {
    /// Days from the start to the first breeding.
    pub days: i64,
    /// Times that the group goes through the chute, breeding among them.
    #[serde(rename = "chute_passes")]
    pub passes: usize,
    /// True if breeding needs a trip through the chute of its own.
    pub breeding_apart: bool,
    /// Hours of work.
    #[serde(rename = "work_hours")]
    pub hours: WorkHours,
    /// Pregnancy rate, percent of the head due.
    #[serde(rename = "pregnant_percent")]
    pub rate: CountedRate,
    /// Cost a head; null without prices.
    #[serde(rename = "cost_a_head")]
    pub cost: Option<Cost>,
    /// Cost a pregnancy; null without prices.
    #[serde(serialize_with = "money")]
    #[schemars(with = "Option<f64>")]
    pub cost_a_pregnancy: Option<Money>,
}

// Serde hands a field by reference.
#[allow(clippy::ref_option)]
fn money<S: Serializer>(amount: &Option<Money>, to: S) -> Result<S::Ok, S::Error> {
    amount.map(|m| hundredths(m.0)).serialize(to)
}

impl Standing {
    /// Prices that are needed and not given. Without one for all else, nothing else is paid for.
    pub(crate) fn unpriced(&self) -> Vec<&'static str> {
        let missing = self.cost.iter().flat_map(|c| &c.missing).copied();
        missing.filter(|m| *m != "other_per_head").collect()
    }
}

/// What nobody published counts as the least that is published of any protocol for these animals,
/// or of timed AI in general: the unknown never wins by its name.
pub(super) fn count_rates(standings: &mut [Standing]) {
    let known = standings.iter().map(|s| &s.rate).filter(|r| r.published);
    let least = known.map(|r| r.figures.mean).fold(f64::INFINITY, f64::min);
    for s in standings {
        if !s.rate.published {
            s.rate.counted = s.rate.figures.low.min(least);
        }
        let cost = s.cost.as_ref().zip(Percent::new(s.rate.counted));
        s.cost_a_pregnancy = cost.and_then(|(cost, rate)| cost.a_pregnancy(rate));
    }
}

pub(super) fn standing(
    season: &Season,
    group: &GroupFacts,
    protocol: &Protocol,
    semen: Semen,
) -> Standing {
    let site = &season.sites[group.site];
    let mut hours = WorkHours {
        chute: 0.0,
        technicians: f64::from(group.head().0) * hours_a_cow(season),
        heat_watch: 0.0,
        feeding: 0.0,
        night: 0.0,
    };
    let road = hours_there_and_back(season, group.site);
    for step in &protocol.steps {
        if let Some(days) = step.lasts_days {
            if step.actions.contains(&Action::FeedMga) {
                hours.feeding += f64::from(days) * FEEDING_HOURS_A_DAY;
            } else {
                hours.heat_watch += f64::from(days) * WATCH_HOURS_A_DAY;
                hours.technicians += f64::from(days) * VISITS_A_DAY * road;
            }
        } else if !step.is_timed_breeding() {
            hours.chute += f64::from(group.head().0) / site.pace(step).get();
        }
    }
    let own = protocol.rate(semen);
    let figures = own.clone().unwrap_or_else(general_rate);
    Standing {
        days: protocol.days_to_breeding(),
        passes: protocol.chute_passes(),
        breeding_apart: protocol.kind == Kind::EstrusDetection,
        cost: season
            .prices
            .as_ref()
            .map(|p| cost_of(group, protocol, p, &hours)),
        cost_a_pregnancy: None,
        hours,
        rate: CountedRate {
            counted: figures.mean,
            published: own.is_some(),
            figures,
        },
    }
}

/// The source of a share in heat that nobody knows.
pub const ASSUMED: &str = "not known: all or none, whichever costs more";

/// The source of a share in heat that a plan counts from hours to heat.
pub const AS_PLANNED: &str = "as planned, by published or your own hours to heat";

/// What it costs a head. Where nobody knows the share in heat, all or none are taken to be seen in
/// heat, whichever costs more.
fn cost_of(group: &GroupFacts, protocol: &Protocol, prices: &Prices, hours: &WorkHours) -> Cost {
    let labour = hours.chute + hours.heat_watch + hours.feeding;
    let with = |in_heat: Option<f64>| {
        let work = Work {
            in_heat: in_heat.and_then(Percent::new),
            labour_hours: Some(labour / f64::from(group.head().0.max(1))),
        };
        cost_a_head(protocol, prices, &work)
    };
    let cost = with(group.in_heat_percent);
    if !cost.missing.contains(&"in_heat") {
        return cost;
    }
    let (all, none) = (with(Some(100.0)), with(Some(0.0)));
    let mut dearer = if none.total > all.total { none } else { all };
    if let Some(in_heat) = &mut dearer.in_heat {
        in_heat.source = ASSUMED.into();
    }
    dearer
}

/// What the protocol of a planned group costs a head, counted as for a choice: one hour of labor
/// for each hour at the chute, of heat watch and of feeding. Where neither the group nor its protocol has
/// a share in heat, `planned_percent` of a plan that counts heats counts. Nothing where the season has no
/// prices.
pub(crate) fn cost_of_group(
    season: &Season,
    group: &Group,
    planned_percent: Option<f64>,
) -> Option<Cost> {
    let mut undecided = group.facts.clone();
    let cost = |u: &GroupFacts| standing(season, u, &group.protocol, Semen::Conventional).cost;
    let known = cost(&undecided)?;
    let assumed = known.in_heat.as_ref().is_some_and(|h| h.source == ASSUMED);
    if !assumed || planned_percent.is_none() {
        return Some(known);
    }
    undecided.in_heat_percent = planned_percent;
    let mut counted = cost(&undecided)?;
    if let Some(in_heat) = &mut counted.in_heat {
        in_heat.source = AS_PLANNED.into();
    }
    Some(counted)
}

/// Morning and evening, as the AM/PM rule wants (COWS-IN-SYNCH).
const VISITS_A_DAY: f64 = 2.0;

/// On the road to a site and back, for the technician who lives nearest.
fn hours_there_and_back(season: &Season, site: usize) -> f64 {
    let homes = season.crew.iter().filter_map(|t| t.home);
    let nearest = homes.map(|home| season.sites[home].road[site]).min();
    nearest.map_or(0.0, |road| 2.0 * road.num_minutes() as f64 / 60.0)
}

/// Mean over the crew of a technician's hours for a cow, thawing and loading included.
fn hours_a_cow(season: &Season) -> f64 {
    let crew = season.crew.iter();
    let each = crew.filter_map(|t| safest(t, &season.rules, MOST_STRAWS));
    let each: Vec<f64> = each.map(|rounds| 1.0 / rounds.cows_per_hour()).collect();
    each.iter().sum::<f64>() / (each.len().max(1) as f64)
}

/// An hour to spare is enough: a cow that balks, a gate that sticks.
pub(super) const SPARE: TimeDelta = TimeDelta::hours(1);
