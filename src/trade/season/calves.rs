//! What the season says of calves, clean-up bulls and money.

use chrono::NaiveDate;

use super::raw;
use crate::base::error::Place;
use crate::base::time::parse_date;
use crate::base::units::{Head, LB_PER_KG, Percent};
use crate::trade::figures::{Breed, Bull, Gestation, Price};

/// Of a group: its calves and its clean-up bulls.
#[derive(Clone, Debug, PartialEq)]
pub struct Calves {
    /// Gestation of the AI calves.
    pub gestation: OwnGestation,
    /// Percent pregnant of those bred to AI, if the user says.
    pub pregnant: Option<Share>,
    /// Percent of pregnancies lost before calving, if the user says.
    pub lost: Option<Percent>,
    /// Percent that do not cycle, if the user says.
    pub not_cycling: Option<Share>,
    /// Bulls after AI.
    pub clean_up: Option<CleanUp>,
    /// Where it stands in the file, or else the group.
    pub place: Place,
}

/// A gestation as far as the user says.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct OwnGestation {
    /// The breed; all breeds if nothing is said.
    pub breed: Breed,
    /// Mean, in days, in place of the breed's.
    pub days: Option<f64>,
    /// One standard deviation, in days, in place of the published.
    pub spread_days: Option<f64>,
}

impl OwnGestation {
    /// In whole days, with the days either side in which calves are looked for.
    #[must_use]
    pub fn whole(&self) -> Gestation {
        let own = self.days.map(|d| d.round() as u32);
        own.and_then(Gestation::of_days)
            .unwrap_or_else(|| Gestation::for_breed(self.breed))
    }
}

/// A percentage with how far it may be off: `low <= expected <= high`.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Share {
    /// Lowest.
    pub low: Percent,
    /// Expected.
    pub expected: Percent,
    /// Highest.
    pub high: Percent,
}

/// Bulls with a group after AI.
#[derive(Clone, Debug, PartialEq)]
pub struct CleanUp {
    /// Turned out.
    pub first: NaiveDate,
    /// The last day with the group.
    pub last: NaiveDate,
    /// How many bulls.
    pub head: Head,
    /// Percent of heats settled, if the user says.
    pub settled: Option<Share>,
    /// Gestation of their calves.
    pub gestation: OwnGestation,
    /// Where their turn-out stands in the file.
    pub place: Place,
}

/// What calves bring and bulls cost, as far as the user says.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct MoneyFacts {
    /// Weight of a calf when sold, in pounds.
    pub calf_weight_lb: Option<f64>,
    /// What a pound of it brings.
    pub calf_price_per_lb: Option<Price>,
    /// What a calf gains a day, in pounds.
    pub calf_gain_lb_per_day: Option<f64>,
    /// What an AI calf brings more.
    pub ai_calf_premium: Option<Price>,
    /// What a bull costs. Its cows and pregnancies are one each: they are counted, not given.
    pub bull: Option<Bull>,
    /// Natural service, if it is to be held against.
    pub natural: Option<Natural>,
}

/// Bulls alone.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Natural {
    /// Head for each bull.
    pub cows_a_bull: Option<u32>,
    /// Days with bulls.
    pub days: Option<u32>,
    /// Percent of heats settled, if the user says.
    pub settled: Option<Share>,
}

/// Shares were checked.
fn share(raw: raw::Share) -> Share {
    let of = |x: f64| Percent::bounded(x);
    Share {
        low: of(raw.low.unwrap_or(raw.expected)),
        expected: of(raw.expected),
        high: of(raw.high.unwrap_or(raw.expected)),
    }
}

/// Dates were checked.
pub(super) fn build(group: &raw::Group, place: &dyn Fn(&str) -> Place) -> Calves {
    let empty = raw::Calves::default();
    let c = group.calves.as_ref().unwrap_or(&empty);
    let wished = group.wishes.as_ref();
    let gestation = OwnGestation {
        breed: c
            .breed
            .or_else(|| wished.and_then(|w| w.breed))
            .unwrap_or_default(),
        // A breed given here goes before days of the wishes.
        days: c.gestation_days.or_else(|| {
            let wished = wished.and_then(|w| w.gestation_days).map(f64::from);
            wished.filter(|_| c.breed.is_none())
        }),
        spread_days: c.gestation_spread_days,
    };
    Calves {
        gestation,
        pregnant: c.pregnancy_percent.map(share),
        lost: c.lost_percent.map(Percent::bounded),
        not_cycling: c.not_cycling_percent.map(share),
        clean_up: c.clean_up.as_ref().and_then(|b| {
            Some(CleanUp {
                first: parse_date(&b.turned_in)?,
                last: parse_date(&b.taken_out)?,
                head: Head(b.head),
                settled: b.settled_percent.map(share),
                gestation: OwnGestation {
                    breed: b.breed.unwrap_or(gestation.breed),
                    days: b
                        .gestation_days
                        .or(gestation.days.filter(|_| b.breed.is_none())),
                    spread_days: gestation.spread_days,
                },
                place: place("clean_up.in"),
            })
        }),
        place: place(""),
    }
}

pub(super) fn build_money(m: &raw::MoneyFacts) -> MoneyFacts {
    let pounds = |lb: Option<f64>, kg: Option<f64>| lb.or(kg.map(|x| x * LB_PER_KG));
    let a_pound = m.calf_price_per_kg.map(|p| f64::from(p) / LB_PER_KG);
    MoneyFacts {
        calf_weight_lb: pounds(m.calf_weight_lb, m.calf_weight_kg),
        calf_price_per_lb: m.calf_price_per_lb.or(a_pound.and_then(Price::new)),
        calf_gain_lb_per_day: pounds(m.calf_gain_lb_per_day, m.calf_gain_kg_per_day),
        ai_calf_premium: m.ai_calf_premium,
        bull: m.bull.as_ref().map(|b| Bull {
            price: b.price,
            sold_for: b.sold_for,
            seasons: b.seasons,
            lost_a_year: Percent::bounded(b.lost_a_year_percent),
            keep_a_year: b.keep_a_year,
            interest_a_year: Percent::bounded(b.interest_a_year_percent),
            cows: Head(1),
            pregnant: Percent::bounded(100.0),
        }),
        natural: m.natural.as_ref().map(|n| Natural {
            cows_a_bull: n.cows_a_bull,
            days: n.days,
            settled: n.settled_percent.map(share),
        }),
    }
}
