//! Numbers and sessions held against each other.

use chrono::{NaiveDate, TimeDelta};

use crate::analysis::supplies::{Answer, Item, TankNitrogen};
use crate::planning::plan::Session;
use crate::verify::Reading;

pub(super) fn who(item: &Item) -> String {
    format!("{} of the order list", item.item)
}

/// The day of an order for something that is used first on a day.
pub(super) fn before(first: Option<NaiveDate>, lead_days: u32) -> Option<NaiveDate> {
    match lead_days {
        0 => None,
        n => first?.checked_sub_signed(TimeDelta::days(i64::from(n))),
    }
}

/// Told to the hundredth.
pub(super) fn close(r: &mut Reading<'_>, who: &str, right: f64, told: f64) {
    // What is no number is wrong, too.
    let near = (right - told).abs() <= 0.0051 + right.abs() * 1e-9;
    if !near {
        r.wrong(who, right, told);
    }
}

/// The same of what may be absent.
pub(super) fn close_if(r: &mut Reading<'_>, who: &str, right: Option<f64>, told: Option<f64>) {
    match (right, told) {
        (Some(right), Some(told)) => close(r, who, right, told),
        (None, None) => {}
        _ => r.wrong(who, format!("{right:?}"), format!("{told:?}")),
    }
}

/// The day on which a session's first cow is bred, by its slots; its first where nobody is.
pub(super) fn first_cow(session: &Session) -> NaiveDate {
    let cows = session.slots.iter().flat_map(|slot| {
        let minutes = slot.bred_minutes.iter();
        minutes.map(|m| slot.start + TimeDelta::seconds((m * 60.0).round() as i64))
    });
    cows.min().unwrap_or(session.open).date_naive()
}

/// The tank of an id.
pub(super) fn tank_of<'a>(told: &'a Answer, id: &str) -> Option<&'a TankNitrogen> {
    told.nitrogen.iter().find(|t| t.tank == id)
}
