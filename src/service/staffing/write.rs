//! What to write in the season file for a change.

use chrono::{NaiveDate, NaiveDateTime, NaiveTime, TimeDelta};
use serde_json::Value;

use super::change::{Change, NewShift, even_pens};
use super::words::number;
use crate::base::units::{Clock, Head, Straws};
use crate::trade::season::{Bull, Group, Pace, PenStarts, Season, Technician, weekday};

fn pace_keys(technician: &Technician) -> String {
    match technician.pace {
        Pace::AtTheCow(cow) => format!("minutes_per_cow: {}", number(cow.minutes())),
        Pace::Overall(pace) => format!("cows_per_hour: {}", number(pace.get())),
    }
}

/// Pens with starts of their own move with their group.
fn along(group: &Group) -> &'static str {
    match &group.pen_starts {
        PenStarts::InTurn => "",
        _ => ", and `pen_starts` moved by as much",
    }
}

/// Starts that are given and `days` cannot both stand, nor can two ways of giving pens.
fn in_place(group: &Group) -> &'static str {
    if group.days > 1 {
        ", in place of days"
    } else {
        ""
    }
}

/// A time as the season file has it.
fn clock(t: NaiveTime) -> String {
    Clock::H24.time(t)
}

fn stamp(t: NaiveDateTime) -> String {
    t.format("%Y-%m-%dT%H:%M").to_string()
}

/// Starts of pens, as a list.
fn stamps(starts: &[NaiveDateTime]) -> String {
    let each: Vec<String> = starts.iter().map(|s| stamp(*s)).collect();
    format!("pen_starts: [{}]", each.join(", "))
}

fn heads(pens: &[Head]) -> String {
    let each: Vec<String> = pens.iter().map(|h| h.0.to_string()).collect();
    format!("pen_head: [{}], ", each.join(", "))
}

/// The starts of pens that the plan found, to be written in place of the key that let it.
pub(super) fn found_starts(group: &Group, key: &str) -> Option<String> {
    let PenStarts::Given(starts) = &group.pen_starts else {
        return None;
    };
    let heads = if key == "days" {
        heads(&group.pens)
    } else {
        String::new()
    };
    let (id, starts) = (&group.id, stamps(starts));
    Some(format!("groups, {id}: {heads}{starts}, in place of {key}"))
}

fn span(from: NaiveTime, to: NaiveTime) -> String {
    format!("from: \"{}\", to: \"{}\"", clock(from), clock(to))
}

fn day(date: NaiveDate) -> String {
    format!("days: [{:?}]", weekday(date)).to_lowercase()
}

fn longest(day: TimeDelta) -> String {
    let hours = day.num_minutes() as f64 / 60.0;
    format!("longest_day_hours: {}", number(hours))
}

fn shifts_to_write(before: &Season, date: NaiveDate, new: &[NewShift]) -> String {
    let each = new.iter().map(|(t, nth, from, to)| {
        let technician = &before.crew[*t];
        let (id, shift) = (&technician.id, &technician.shifts[*nth]);
        let (day, new) = (day(date), span(*from, *to));
        let now = format!("{} to {}", clock(shift.from), clock(shift.to));
        format!("crew, {id}: shifts: {{{day}, {new}}}, on that day in place of {now}")
    });
    each.collect::<Vec<_>>().join("; ")
}

fn person_to_write(before: &Season, technician: &Technician, date: NaiveDate) -> String {
    let mut keys = vec![format!("id: {}", technician.id), pace_keys(technician)];
    let spread = technician.spread.map(|s| number(s.minutes()));
    keys.extend(spread.map(|minutes| format!("minutes_spread: {minutes}")));
    keys.push(format!("helper: {}", technician.helper));
    let straws = technician.straws_at_once;
    keys.extend(straws.map(|n| format!("straws_at_once: {}", n.0)));
    keys.extend(technician.longest_day.map(longest));
    let home = technician.home.map(|h| &before.sites[h].id);
    keys.extend(home.map(|site| format!("home_site: {site}")));
    let shift = technician.shifts.first();
    keys.extend(shift.map(|s| format!("shifts: [{{{}, {}}}]", day(date), span(s.from, s.to))));
    let off: Vec<String> = technician
        .days_off
        .iter()
        .map(NaiveDate::to_string)
        .collect();
    if !off.is_empty() {
        keys.push(format!("days_off: [{}]", off.join(", ")));
    }
    format!("crew: - {{{}}}", keys.join(", "))
}

fn days_to_write(before: &Group, pens: &[u32], starts: &[NaiveDateTime]) -> String {
    let new: Vec<Head> = pens.iter().map(|h| Head(*h)).collect();
    let pens_key = if new == before.pens {
        String::new()
    } else if new == even_pens(before.head().0, pens.len() as u32) {
        format!("pens: {}, ", pens.len())
    } else {
        heads(&new)
    };
    let no_more = if before.pens_stated && !pens_key.is_empty() {
        ", in place of the pens given"
    } else {
        in_place(before)
    };
    format!("{pens_key}{}{no_more}", stamps(starts))
}

fn straws_to_write(bull: &Bull, more: u32) -> String {
    let keys = bull.bought_keys(Straws(more)).into_iter();
    let plain = |v: Value| v.as_str().map_or_else(|| v.to_string(), str::to_owned);
    let keys: Vec<String> = keys.map(|(k, v)| format!("{k}: {}", plain(v))).collect();
    format!("semen: - {{{}}}", keys.join(", "))
}

impl Change {
    /// What to write in the season file.
    #[must_use]
    pub fn write(&self, before: &Season) -> String {
        let group = |n: &usize| format!("groups, {}:", before.groups[*n].id);
        match self {
            Self::Keep { group: g } => format!("{} order: kept", group(g)),
            Self::Pace {
                site,
                inserts,
                head_per_hour,
            } => format!(
                "sites, {}: {}: {}",
                before.sites[*site].id,
                if *inserts {
                    "inserts_head_per_hour"
                } else {
                    "injections_head_per_hour"
                },
                number(*head_per_hour)
            ),
            Self::Pens { group: g, pens } => format!("{} pens: {pens}", group(g)),
            Self::PenStarts { group: g, starts } => {
                let no_more = in_place(&before.groups[*g]);
                format!("{} {}{no_more}", group(g), stamps(starts))
            }
            Self::Days {
                group: g,
                pens,
                starts,
            } => format!(
                "{} {}",
                group(g),
                days_to_write(&before.groups[*g], pens, starts)
            ),
            Self::Hours {
                technician,
                from,
                to,
                longest: day,
            } => format!(
                "crew, {}: {}, shifts: [{{{}}}]",
                before.crew[*technician].id,
                longest(*day),
                span(*from, *to)
            ),
            Self::Start { group: g, start } => {
                let along = along(&before.groups[*g]);
                format!("{} start: {}{along}", group(g), stamp(*start))
            }
            Self::Shifts { date, new } => shifts_to_write(before, *date, new),
            Self::Helper { technician, cow } => {
                let (id, minutes) = (&before.crew[*technician].id, number(cow.minutes()));
                format!("crew, {id}: helper: true, minutes_per_cow: {minutes}")
            }
            Self::Boxes { site, boxes } => {
                let site = &before.sites[*site];
                let needs = site.for_boxes(*boxes).into_iter();
                let keys: Vec<String> = needs.map(|(key, to, _)| format!("{key}: {to}")).collect();
                format!("sites, {}: {}", site.id, keys.join(", "))
            }
            Self::Bull { group: g, bull } => {
                format!("{} bulls: add {}", group(g), before.bulls[*bull].id)
            }
            Self::Straws { bull, more } => straws_to_write(&before.bulls[*bull], *more),
            Self::Protocol {
                group: g,
                protocol,
                start,
            } => format!(
                "{} protocol: {}, start: {}{}",
                group(g),
                protocol.id,
                stamp(*start),
                along(&before.groups[*g])
            ),
            Self::Send { technician } => format!("crew: {} as in the file", technician.id),
            Self::Hire {
                technician, date, ..
            } => person_to_write(before, technician, *date),
        }
    }
}
