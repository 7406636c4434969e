//! What the steps of a protocol take for each head, at the season's prices.

use thawline::figures::{Price, Prices};
use thawline::protocol::{Action, Step};
use thawline::season::{Group, Season};

/// Hours to put out a day's feed (common practice, no source), and to watch heat for a day: three times
/// half an hour (COWS-IN-SYNCH).
const FEEDING: f64 = 0.5;
const WATCHING: f64 = 1.5;

/// What a group costs a head.
pub(super) struct Bill {
    pub(super) lines: Vec<Due>,
    pub(super) missing: Vec<&'static str>,
    pub(super) by_heat: bool,
}

impl Bill {
    pub(super) fn sum(&self) -> f64 {
        self.lines.iter().map(Due::amount).sum()
    }
}

/// Of a head the share that a step is done to.
fn share(step: &Step, in_heat: f64) -> f64 {
    if step.actions.contains(&Action::InseminateInHeat) {
        in_heat
    } else if step.actions.contains(&Action::InseminateRest) {
        1.0 - in_heat
    } else {
        1.0
    }
}

type Thing = (
    &'static str,
    &'static str,
    &'static str,
    Option<Price>,
    fn(Action) -> u32,
);

fn things(p: &Prices) -> [Thing; 8] {
    let bred = |a| {
        let ways = [
            Action::Inseminate,
            Action::InseminateInHeat,
            Action::InseminateRest,
        ];
        u32::from(ways.contains(&a))
    };
    [
        ("gnrh_per_dose", "GnRH", "dose", p.gnrh_per_dose, |a| {
            u32::from(a == Action::Gnrh)
        }),
        ("pg_per_dose", "PG", "dose", p.pg_per_dose, |a| {
            u32::from(a == Action::Pg) + 2 * u32::from(a == Action::PgDouble)
        }),
        (
            "estradiol_per_dose",
            "estradiol",
            "dose",
            p.estradiol_per_dose,
            |a| u32::from(a == Action::Estradiol),
        ),
        ("insert_each", "insert", "insert", p.insert_each, |a| {
            u32::from(a == Action::InsertIn)
        }),
        (
            "mga_per_head_day",
            "MGA",
            "head-day",
            p.mga_per_head_day,
            |a| u32::from(a == Action::FeedMga),
        ),
        ("patch_each", "patch", "patch", p.patch_each, |a| {
            u32::from(a == Action::PatchOn)
        }),
        ("straw_each", "semen", "straw", p.straw_each, bred),
        (
            "technician_per_head",
            "technician",
            "head bred",
            p.technician_per_head,
            bred,
        ),
    ]
}

/// The bill of a head, as so many are seen in heat.
pub(super) fn bill(season: &Season, group: &Group, prices: &Prices, in_heat: f64) -> Bill {
    let mut bill = Bill {
        lines: Vec::new(),
        missing: Vec::new(),
        by_heat: false,
    };
    let steps = &group.protocol.steps;
    let add = |bill: &mut Bill, key, what, unit, units: f64, price: Option<Price>| match price {
        Some(price) => bill.lines.push(Due {
            what,
            unit,
            units,
            price: price.into(),
            of: 0.0,
        }),
        None => bill.missing.push(key),
    };
    for (key, what, unit, price, of) in things(prices) {
        let (mut units, mut any, mut sure) = (0.0, false, [0.0; 2]);
        for step in steps {
            for action in &step.actions {
                let days = match action {
                    Action::FeedMga => step.lasts_days.unwrap_or(1),
                    _ => 1,
                };
                let each = f64::from(of(*action) * days);
                units += each * share(step, in_heat);
                // With all in heat, and with none: equal where heat does not matter.
                sure[0] += each * share(step, 0.0);
                sure[1] += each * share(step, 1.0);
                any |= each > 0.0;
            }
        }
        if any {
            bill.by_heat |= (sure[0] - sure[1]).abs() > 1e-12;
            add(&mut bill, key, what, unit, units, price);
        }
    }
    let site = &season.sites[group.site];
    let mut hours = 0.0;
    for step in steps {
        let breeds = |a: &Action| {
            matches!(
                a,
                Action::Inseminate | Action::InseminateInHeat | Action::InseminateRest
            )
        };
        let insert = |a: &Action| matches!(a, Action::InsertIn | Action::InsertOut);
        let head = f64::from(group.head().0);
        hours += match step.lasts_days {
            Some(days) if step.actions.contains(&Action::FeedMga) => {
                FEEDING * f64::from(days) / head
            }
            Some(days) => WATCHING * f64::from(days) / head,
            None if step.actions.iter().any(breeds) => 0.0,
            None if step.actions.iter().any(insert) => 1.0 / site.inserts.get(),
            None => 1.0 / site.injections.get(),
        };
    }
    if hours > 0.0 {
        let price = prices.labour_per_hour;
        add(&mut bill, "labour_per_hour", "labor", "hour", hours, price);
    }
    if let Some(other) = prices.other_per_head {
        add(&mut bill, "", "other", "head", 1.0, Some(other));
    }
    bill
}

/// The share seen in heat that a group is counted with, and where that comes from.
pub(super) fn in_heat(group: &Group) -> Option<(f64, String)> {
    if let Some(own) = group.in_heat_percent {
        return Some((own, "your own figure".to_owned()));
    }
    for step in &group.protocol.steps {
        let Some(told) = &step.share else { continue };
        let seen = share(step, 1.0) > share(step, 0.0);
        let rest = share(step, 1.0) < share(step, 0.0);
        if seen {
            return Some((told.expected, told.tag.clone()));
        }
        if rest {
            return Some((100.0 - told.expected, told.tag.clone()));
        }
    }
    None
}

/// One line: what, unit, units a head, price.
pub(super) struct Due {
    pub(super) what: &'static str,
    pub(super) unit: &'static str,
    pub(super) units: f64,
    pub(super) price: f64,
    /// What the units are the difference of: nothing for those that are counted.
    pub(super) of: f64,
}

/// Of numbers that are subtracted, what their sums lose.
pub(super) const LOST: f64 = 1e-11;

impl Due {
    /// How far the amount may be off, as units and price are told to nine digits.
    pub(super) fn rounding(&self) -> f64 {
        (self.units.abs() + self.price.abs()) * 1e-9
    }

    /// How far the units may be off.
    pub(super) fn slack(&self) -> f64 {
        self.of * LOST
    }

    pub(super) fn amount(&self) -> f64 {
        self.units * self.price
    }
}
