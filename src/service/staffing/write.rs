//! What to write in the season file for a change.

use chrono::{NaiveDate, NaiveDateTime, NaiveTime};
use serde_json::Value;

use super::change::{Change, even_pens};
use super::words::{clock, number};
use crate::base::units::{Head, Straws};
use crate::trade::season::{Group, Pace, PenStarts, Season, Technician, weekday};

/// Technician, place of the shift, and the new clock times.
type NewShift = (usize, usize, NaiveTime, NaiveTime);

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

pub(super) fn stamp(t: NaiveDateTime) -> String {
    t.format("%Y-%m-%dT%H:%M").to_string()
}

fn shifts_to_write(before: &Season, date: NaiveDate, new: &[NewShift]) -> String {
    let day = format!("{:?}", weekday(date)).to_lowercase();
    let each: Vec<String> = new
        .iter()
        .filter_map(|(t, nth, from, to)| {
            let technician = before.crew.get(*t)?;
            let shift = technician.shifts.get(*nth)?;
            Some(format!(
                "crew, {}: shifts: {{days: [{day}], from: \"{}\", to: \"{}\"}}, on that day in place of {} to {}",
                technician.id,
                clock(*from),
                clock(*to),
                clock(shift.from),
                clock(shift.to)
            ))
        })
        .collect();
    each.join("; ")
}

fn person_to_write(before: &Season, technician: &Technician, date: NaiveDate) -> String {
    let shift = technician.shifts.first();
    let hours = shift.map_or_else(String::new, |s| {
        let day = format!("{:?}", weekday(date)).to_lowercase();
        format!(
            ", shifts: [{{days: [{day}], from: \"{}\", to: \"{}\"}}]",
            clock(s.from),
            clock(s.to)
        )
    });
    let fewer = technician
        .straws_at_once
        .map_or_else(String::new, |n| format!(", straws_at_once: {}", n.0));
    let spread = technician.spread.map_or_else(String::new, |s| {
        format!(", minutes_spread: {}", number(s.minutes()))
    });
    let home = technician.home.map_or_else(String::new, |h| {
        format!(", home_site: {}", before.sites[h].id)
    });
    let longest = technician.longest_day.map_or_else(String::new, |l| {
        format!(
            ", longest_day_hours: {}",
            number(l.num_minutes() as f64 / 60.0)
        )
    });
    let off = if technician.days_off.is_empty() {
        String::new()
    } else {
        let days: Vec<String> = technician
            .days_off
            .iter()
            .map(NaiveDate::to_string)
            .collect();
        format!(", days_off: [{}]", days.join(", "))
    };
    format!(
        "crew: - {{id: {}, {}{spread}, helper: {}{fewer}{longest}{home}{hours}{off}}}",
        technician.id,
        pace_keys(technician),
        technician.helper
    )
}

fn days_to_write(before: &Group, pens: &[u32], starts: &[NaiveDateTime]) -> String {
    let list: Vec<String> = starts.iter().map(|s| stamp(*s)).collect();
    let heads: Vec<Head> = pens.iter().map(|h| Head(*h)).collect();
    let pens = if heads == before.pens {
        String::new()
    } else if heads == even_pens(before.head().0, pens.len() as u32) {
        format!("pens: {}, ", pens.len())
    } else {
        let each: Vec<String> = pens.iter().map(u32::to_string).collect();
        format!("pen_head: [{}], ", each.join(", "))
    };
    let no_more = if before.pens_stated && !pens.is_empty() {
        ", in place of the pens given"
    } else {
        in_place(before)
    };
    format!("{pens}pen_starts: [{}]{no_more}", list.join(", "))
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
                let list: Vec<String> = starts.iter().map(|s| stamp(*s)).collect();
                let no_more = in_place(&before.groups[*g]);
                format!("{} pen_starts: [{}]{no_more}", group(g), list.join(", "))
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
                longest,
            } => format!(
                "crew, {}: longest_day_hours: {}, shifts: [{{from: \"{}\", to: \"{}\"}}]",
                before.crew.get(*technician).map_or("", |t| t.id.as_str()),
                number(longest.num_minutes() as f64 / 60.0),
                clock(*from),
                clock(*to)
            ),
            Self::Start { group: g, start } => {
                format!(
                    "{} start: {}{}",
                    group(g),
                    stamp(*start),
                    along(&before.groups[*g])
                )
            }
            Self::Shifts { date, new } => shifts_to_write(before, *date, new),
            Self::Helper { technician, cow } => {
                let id = before.crew.get(*technician).map_or("", |t| t.id.as_str());
                format!(
                    "crew, {id}: helper: true, minutes_per_cow: {}",
                    number(cow.minutes())
                )
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
            Self::Straws { bull, more } => {
                let keys = before.bulls[*bull].bought_keys(Straws(*more)).into_iter();
                let plain = |v: Value| v.as_str().map_or_else(|| v.to_string(), str::to_owned);
                let keys: Vec<String> = keys.map(|(k, v)| format!("{k}: {}", plain(v))).collect();
                format!("semen: - {{{}}}", keys.join(", "))
            }
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
