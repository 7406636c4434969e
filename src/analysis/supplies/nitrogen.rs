//! Fillings of a tank until its last session, and the liters that go in.
//!
//! Days and levels are [`crate::analysis::tank`]'s. A day is filled where the tank would not last from there.

use chrono::NaiveDate;

use super::answer::{Fill, TankNitrogen};
use crate::analysis::tank::allocation::Allocation;
use crate::analysis::tank::nitrogen::{Outlook, Road};
use crate::base::time::human_date;
use crate::base::units::{count, hundredths};
use crate::planning::plan::Plan;
use crate::trade::season::{Reading, Season, Tank};

/// Fillings that are counted at the most: a tank that is filled each day of a year.
const MOST: usize = 400;

pub(super) fn tanks(season: &Season, plan: &Plan, allocation: &Allocation) -> Vec<TankNitrogen> {
    let tanks = season.tanks.iter();
    tanks
        .map(|t| of_tank(t, plan, allocation, season.supplies.lead_days))
        .collect()
}

fn of_tank(tank: &Tank, plan: &Plan, allocation: &Allocation, lead_days: u32) -> TankNitrogen {
    let day = |k: usize| plan.sessions[k].begins().date_naive();
    let inside = |k: &usize| {
        let mut drawn = allocation.drawn[*k].iter();
        drawn.any(|d| allocation.stocks[d.stock].place.tank.as_deref() == Some(tank.id.as_str()))
    };
    let sessions = 0..plan.sessions.len();
    let openings: Vec<NaiveDate> = sessions.clone().filter(inside).map(day).collect();
    // A tank from which nothing is taken keeps its semen all the same.
    let last = openings.iter().max().copied();
    let last = last.or_else(|| sessions.map(day).max());
    let outlook = Outlook::of(&tank.nitrogen, &openings, last);
    let mut fills = last.map_or(Vec::new(), |last| fills(tank, &openings, last, &outlook));
    for fill in &mut fills {
        fill.order_by = super::uses::order_by(fill.date, lead_days);
    }
    let filled = fills.iter().filter_map(|f| f.liters);
    let liters = tank.liters.map(|_| hundredths(filled.sum()));
    TankNitrogen {
        tank: tank.id.to_string(),
        name: tank.name.clone(),
        last_day: last,
        words: last.map_or(Vec::new(), |last| words(last, &fills, liters, &outlook)),
        fills,
        liters,
    }
}

/// Fillings after the last reading up to the last day: those stated, and those due so many days
/// before the level may be below the limit on a day on which it must hold.
fn fills(tank: &Tank, openings: &[NaiveDate], last: NaiveDate, outlook: &Outlook) -> Vec<Fill> {
    let (Some(from), Some(fit)) = (outlook.from, outlook.fit) else {
        return Vec::new();
    };
    let (mean_loss, high_loss) = (fit.a_day, fit.at_most().unwrap_or(fit.a_day));
    let n = &tank.nitrogen;
    let road = Road { n, openings, from };
    // The first of the next days on which a tank that is at `share` in the evening of `date`, at the
    // highest loss, is below the limit; none if it is filled before.
    let below = |share: f64, date: NaiveDate, limit: f64, ahead: u32| {
        let from = Reading { date, share };
        let next = Road { from, ..road }.days(high_loss).skip(1);
        let mut next = next.take(ahead as usize).take_while(|d| !d.filled);
        // A hair below is rounding.
        next.find(|d| d.share < limit - 1e-9).map(|d| d.date)
    };
    let ahead = n.margin_days + 1;
    let mut fills: Vec<Fill> = Vec::new();
    let (mut mean, mut high) = (from.share, from.share);
    for day in from.date.iter_days().skip(1).take_while(|d| *d <= last) {
        let stated = n.filled.contains(&day);
        let opened = road.opened(day);
        let before = (mean - (mean_loss + opened)).max(0.0);
        let worst = (high - (high_loss + opened)).max(0.0);
        let limit = outlook.limit.map(|(share, _)| share);
        let due = limit.is_some_and(|limit| {
            // Where the margin is longer than a full tank lasts, it is filled on the eve.
            let lasts = below(1.0, day, limit, ahead).is_none();
            let ahead = if lasts { ahead } else { 1 };
            let low = below(worst, day, limit, ahead);
            worst < limit - 1e-9 || low.is_some_and(|on| on <= last)
        });
        if !stated && (!due || fills.len() >= MOST) {
            (mean, high) = (before, worst);
            continue;
        }
        let share = 1.0 - before;
        fills.push(Fill {
            date: day,
            order_by: None,
            stated,
            percent: hundredths(share * 100.0),
            liters: tank.liters.map(|l| hundredths(share * l)),
        });
        (mean, high) = (1.0, 1.0);
    }
    fills
}

fn words(last: NaiveDate, fills: &[Fill], liters: Option<f64>, outlook: &Outlook) -> Vec<String> {
    if outlook.from.is_none() || outlook.fit.is_none() || outlook.limit.is_none() {
        return vec![
            "What it needs is not known: add readings and a limit under `tanks`; see `thawline tank`."
                .to_owned(),
        ];
    }
    let last = human_date(last);
    if fills.is_empty() {
        let by = outlook.refill_by.map_or_else(String::new, |by| {
            let by = human_date(by);
            format!(" To keep semen safe after that, refill by {by}.")
        });
        return vec![format!(
            "Needs no filling before its last session, {last}.{by}"
        )];
    }
    let n = count(fills.len() as u32, "filling", "fillings");
    match liters {
        None => vec![format!(
            "{n} by its last session, {last}; add `liters` of the tank to know how much."
        )],
        Some(l) => vec![
            format!("{n} by its last session, {last}, about {l:.0} L in all."),
            "Liters assume the average daily loss. Buy extra for what boils off when you pour; no figure is published."
                .to_owned(),
        ],
    }
}
