//! What a protocol costs a head, counted from its steps at the user's prices. There is no default
//! price: what has none is named and left out of the total. The structure is common practice, no
//! source.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use super::money::{Money, Price};
use crate::base::units::{HeadPerHour, Percent};
use crate::trade::protocol::{Action, Protocol};

/// The user's prices, all in one currency. What is not given is named as lacking where it is
/// needed; where something costs nothing, give 0.
#[derive(Clone, Debug, Default, PartialEq, Deserialize, Serialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Prices {
    /// The currency, for people only: `USD`, `EUR`, or a word. Nothing is converted.
    #[schemars(length(min = 1, max = 20))]
    pub currency: Option<String>,
    /// One dose of `GnRH`.
    #[schemars(extend("x-also-called" = ["gnrh", "gnrh_dose", "gnrh_each"]))]
    pub gnrh_per_dose: Option<Price>,
    /// One dose of PG. A double dose counts as two.
    #[schemars(extend("x-also-called" = ["pg", "pg_dose", "pg_each", "prostaglandin"]))]
    pub pg_per_dose: Option<Price>,
    /// One dose of an estradiol ester.
    #[schemars(extend("x-also-called" = ["estradiol", "estradiol_dose", "estradiol_each"]))]
    pub estradiol_per_dose: Option<Price>,
    /// One progesterone insert.
    #[schemars(extend("x-also-called" = ["insert", "inserts", "insert_price"]))]
    pub insert_each: Option<Price>,
    /// MGA for one head for one day.
    #[schemars(extend("x-also-called" = ["mga", "mga_per_day", "mga_head_day"]))]
    pub mga_per_head_day: Option<Price>,
    /// One estrus-detection patch.
    #[schemars(extend("x-also-called" = ["patch", "patches", "patch_price"]))]
    pub patch_each: Option<Price>,
    /// One straw of semen.
    #[schemars(extend("x-also-called" = ["straw", "straws", "semen", "semen_per_straw"]))]
    pub straw_each: Option<Price>,
    /// The technician, for each head inseminated.
    #[schemars(extend("x-also-called" = ["technician", "technician_each", "breeding_per_head"]))]
    pub technician_per_head: Option<Price>,
    /// One hour of one worker at the chute or watching heat.
    #[schemars(extend("x-also-called" = ["labour", "labor", "labor_per_hour", "wage", "wages"]))]
    pub labour_per_hour: Option<Price>,
    /// One hour of one technician on the road, for the plan: vehicle, fuel and wage together. Out,
    /// between sites and back are counted by `minutes_to`, from the technician's `home_site`. It is
    /// in no cost a head: leave it out of `other_per_head`, or leave it out here.
    #[schemars(extend("x-also-called" = ["road", "road_hour", "road_each", "travel_per_hour", "travel", "driving"]))]
    pub road_per_hour: Option<Price>,
    /// All else for each head of the group: mileage, facility, supplies.
    #[schemars(extend("x-also-called" = ["other", "other_each", "mileage"]))]
    pub other_per_head: Option<Price>,
}

/// What the steps of a protocol do not say.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Work {
    /// The share seen in heat and bred by it. Where a protocol publishes one, that is taken unless
    /// given.
    pub in_heat: Option<Percent>,
    /// Hours of labor for each head over the whole protocol, those of all workers added. Anything
    /// but a finite number from 0 up counts as not given.
    pub labour_hours: Option<f64>,
}

/// One line of a cost a head.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, schemars::JsonSchema)]
pub struct Line {
    /// What is paid for.
    pub what: &'static str,
    /// How many units of it a head of the group, on average.
    pub units: f64,
    /// The unit.
    pub unit: &'static str,
    /// The price of a unit.
    pub price: Price,
    /// Units x price.
    pub amount: Money,
}

/// The share in heat that a cost was counted with.
#[derive(Clone, Debug, PartialEq, Serialize, schemars::JsonSchema)]
pub struct InHeat {
    /// The share, in percent.
    pub percent: f64,
    /// Source tag, or `your own figure`.
    pub source: String,
}

/// What a protocol costs for each head of a group.
#[derive(Clone, Debug, PartialEq, Serialize, schemars::JsonSchema)]
pub struct Cost {
    /// What was counted, in a fixed order.
    pub lines: Vec<Line>,
    /// The sum of the lines. While anything is missing it is the least that it costs.
    pub total: Money,
    /// What is needed and not given: keys of the season's `prices`, `in_heat` or `labour_hours`.
    /// It is not in the total.
    pub missing: Vec<&'static str>,
    /// The share in heat, where the number of units depends on it.
    pub in_heat: Option<InHeat>,
}

impl Cost {
    /// Expected cost of a pregnancy: cost a head over the rate. `None` if nobody gets pregnant.
    /// Like the total, the least that it costs while anything is missing.
    #[must_use]
    pub fn a_pregnancy(&self, pregnant: Percent) -> Option<Money> {
        (pregnant.get() > 0.0).then(|| self.total * (1.0 / pregnant.of_one()))
    }
}

/// Hours of labor a head for a number of trips through a chute, with so many workers at it.
#[must_use]
pub fn chute_hours_a_head(passes: usize, pace: HeadPerHour, workers: u32) -> f64 {
    passes as f64 * f64::from(workers) / pace.get()
}

/// Counts what a protocol takes for each head of a group, and prices it.
#[must_use]
pub fn cost_a_head(protocol: &Protocol, prices: &Prices, work: &Work) -> Cost {
    let in_heat = share_in_heat(protocol, work.in_heat);
    let mut bill = Bill {
        in_heat: in_heat.as_ref().map(|s| s.percent / 100.0),
        cost: Cost {
            lines: Vec::new(),
            total: Money::default(),
            missing: Vec::new(),
            in_heat: None,
        },
        share_used: false,
    };
    for item in items(prices) {
        let units = count(protocol, item.counts);
        bill.add(&item, units);
    }
    let labour = Item {
        key: "labour_per_hour",
        what: "labor",
        unit: "hour",
        price: prices.labour_per_hour,
        counts: &[],
    };
    if let Some(hours) = work.labour_hours.filter(|h| h.is_finite() && *h >= 0.0) {
        bill.add(&labour, Units::sure(hours));
    } else {
        bill.cost.missing.push("labour_hours");
        if labour.price.is_none() {
            bill.cost.missing.push(labour.key);
        }
    }
    let other = Item {
        key: "other_per_head",
        what: "other",
        unit: "head",
        price: prices.other_per_head,
        counts: &[],
    };
    bill.add(&other, Units::sure(1.0));

    let mut cost = bill.cost;
    cost.total = cost.lines.iter().map(|l| l.amount).sum();
    cost.in_heat = in_heat.filter(|_| bill.share_used);
    cost
}

/// A thing that has a price, and the actions that take a unit of it.
struct Item {
    key: &'static str,
    what: &'static str,
    unit: &'static str,
    price: Option<Price>,
    counts: &'static [(Action, f64)],
}

const BRED: &[(Action, f64)] = &[
    (Action::Inseminate, 1.0),
    (Action::InseminateInHeat, 1.0),
    (Action::InseminateRest, 1.0),
];

fn items(prices: &Prices) -> [Item; 8] {
    let item = |key, what, unit, price, counts| Item {
        key,
        what,
        unit,
        price,
        counts,
    };
    [
        item(
            "gnrh_per_dose",
            "GnRH",
            "dose",
            prices.gnrh_per_dose,
            &[(Action::Gnrh, 1.0)],
        ),
        item(
            "pg_per_dose",
            "PG",
            "dose",
            prices.pg_per_dose,
            &[(Action::Pg, 1.0), (Action::PgDouble, 2.0)],
        ),
        item(
            "estradiol_per_dose",
            "estradiol",
            "dose",
            prices.estradiol_per_dose,
            &[(Action::Estradiol, 1.0)],
        ),
        item(
            "insert_each",
            "insert",
            "insert",
            prices.insert_each,
            &[(Action::InsertIn, 1.0)],
        ),
        item(
            "mga_per_head_day",
            "MGA",
            "head-day",
            prices.mga_per_head_day,
            &[(Action::FeedMga, 1.0)],
        ),
        item(
            "patch_each",
            "patch",
            "patch",
            prices.patch_each,
            &[(Action::PatchOn, 1.0)],
        ),
        item("straw_each", "semen", "straw", prices.straw_each, BRED),
        item(
            "technician_per_head",
            "technician",
            "head bred",
            prices.technician_per_head,
            BRED,
        ),
    ]
}

/// Units a head: `sure + by_heat x share in heat`.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
struct Units {
    sure: f64,
    by_heat: f64,
}

impl Units {
    fn sure(sure: f64) -> Self {
        Self { sure, by_heat: 0.0 }
    }
}

fn count(protocol: &Protocol, counts: &[(Action, f64)]) -> Units {
    let mut units = Units::default();
    for step in &protocol.steps {
        // Whoever a step breeds is who gets all of the step.
        let (sure, by_heat) = if step.actions.contains(&Action::InseminateInHeat) {
            (0.0, 1.0)
        } else if step.actions.contains(&Action::InseminateRest) {
            (1.0, -1.0)
        } else {
            (1.0, 0.0)
        };
        for action in &step.actions {
            let each: f64 = counts.iter().filter(|c| c.0 == *action).map(|c| c.1).sum();
            let days = match action {
                Action::FeedMga => f64::from(step.lasts_days.unwrap_or(1)),
                _ => 1.0,
            };
            units.sure += each * days * sure;
            units.by_heat += each * days * by_heat;
        }
    }
    units
}

struct Bill {
    in_heat: Option<f64>,
    cost: Cost,
    share_used: bool,
}

impl Bill {
    fn add(&mut self, item: &Item, units: Units) {
        if units == Units::default() {
            return;
        }
        let mut lacks = false;
        if units.by_heat != 0.0 {
            self.share_used = true;
            lacks = self.in_heat.is_none();
            if lacks && !self.cost.missing.contains(&"in_heat") {
                self.cost.missing.push("in_heat");
            }
        }
        let Some(price) = item.price else {
            self.cost.missing.push(item.key);
            return;
        };
        if lacks {
            return;
        }
        let units = units.sure + units.by_heat * self.in_heat.unwrap_or_default();
        self.cost.lines.push(Line {
            what: item.what,
            units,
            unit: item.unit,
            price,
            amount: price.times(units),
        });
    }
}

/// The share given, or else the published one.
fn share_in_heat(protocol: &Protocol, given: Option<Percent>) -> Option<InHeat> {
    if let Some(percent) = given {
        return Some(InHeat {
            percent: percent.get(),
            source: "your own figure".to_owned(),
        });
    }
    protocol.steps.iter().find_map(|step| {
        let share = step.share.as_ref()?;
        let percent = if step.actions.contains(&Action::InseminateInHeat) {
            share.expected
        } else if step.actions.contains(&Action::InseminateRest) {
            100.0 - share.expected
        } else {
            return None;
        };
        Some(InHeat {
            percent,
            source: share.tag.clone(),
        })
    })
}

#[cfg(test)]
mod tests;
