//! A change in words: what it asks of people.

use chrono::{NaiveDate, NaiveDateTime, NaiveTime};

use super::change::{self, Change, NewShift};
use crate::base::time::human_date;
use crate::base::units::{Clock, human_minutes, hundredths};
use crate::trade::protocol::{Anchor, Delay, Protocol, Window};
use crate::trade::season::{Group, Season, Technician};

fn moved(from: NaiveDateTime, to: NaiveDateTime) -> String {
    let by = (to - from).num_minutes();
    let way = if by < 0 { "earlier" } else { "later" };
    let by = by.abs();
    let (days, rest) = (by / (24 * 60), by % (24 * 60));
    let plural = if days == 1 { "" } else { "s" };
    match (days, rest) {
        (0, rest) => format!("{} {way}", human_minutes(rest)),
        (days, 0) => format!("{days} day{plural} {way}"),
        (days, rest) => format!("{days} day{plural} and {} {way}", human_minutes(rest)),
    }
}

fn begin(told: Clock, group: &Group, start: NaiveDateTime) -> String {
    let by = moved(group.start, start);
    let (now, then) = (told.day(group.start), told.day(start));
    format!(
        "Start `{}` {by}, {then} in place of {now}; every treatment moves with it.",
        group.id
    )
}

/// The window of a group's first breeding at set hours, and the words of the step that it counts
/// from.
pub(super) fn window(group: &Group) -> Option<(Window, String)> {
    let steps = &group.protocol.steps;
    steps
        .iter()
        .filter(|s| s.is_timed_breeding())
        .find_map(|s| match s.delay {
            Delay::Elapsed(window) => {
                let from = match s.anchor {
                    Anchor::Step(a) => steps[a].words(),
                    Anchor::Start => "start".to_owned(),
                };
                Some((window, from))
            }
            Delay::Days(_) => None,
        })
}

pub(super) fn number(x: f64) -> String {
    hundredths(x).to_string()
}

fn pace(before: &Season, site: usize, inserts: bool, head_per_hour: f64) -> String {
    let site = &before.sites[site];
    let now = change::pace(site, inserts);
    let kind = if inserts { "inserts" } else { "injections" };
    let way = if head_per_hour < now {
        "Slow down"
    } else {
        "Speed up"
    };
    let who: Vec<&str> = before
        .groups
        .iter()
        .filter(|g| before.sites[g.site].id == site.id)
        .map(|g| g.id.as_str())
        .collect();
    let all = if who.len() > 1 {
        " It counts for every group there."
    } else {
        ""
    };
    format!(
        "{way} chute work with {kind} at {}: {} head an hour in place of {}.{all}",
        site.name,
        number(head_per_hour),
        number(now)
    )
}

fn shifts(before: &Season, date: NaiveDate, new: &[NewShift]) -> String {
    let told = before.zone.told();
    let each = new.iter().map(|(t, nth, from, to)| {
        let technician = &before.crew[*t];
        let (shift, name) = (&technician.shifts[*nth], &technician.name);
        let (from, to) = (told.time(*from), told.time(*to));
        let now = format!("{} to {}", told.time(shift.from), told.time(shift.to));
        format!("{name} {from} to {to} in place of {now}")
    });
    let each: Vec<String> = each.collect();
    let date = human_date(date);
    format!("Other hours of work on {date}: {}.", each.join("; "))
}

fn other_protocol(told: Clock, group: &Group, protocol: &Protocol, start: NaiveDateTime) -> String {
    let now = window(group).map_or_else(String::new, |w| w.0.words());
    let mut changed = group.clone();
    changed.protocol = protocol.clone();
    let then = window(&changed).map_or_else(String::new, |w| w.0.words());
    let passes = protocol.chute_passes() as i64 - group.protocol.chute_passes() as i64;
    let trips = match passes {
        0 => "as many trips through the chute".to_owned(),
        n if n < 0 => format!(
            "{} fewer trip{} through the chute",
            -n,
            if n == -1 { "" } else { "s" }
        ),
        n => format!(
            "{n} more trip{} through the chute",
            if n == 1 { "" } else { "s" }
        ),
    };
    let memory = if protocol.has_unverified() {
        " Some of its times were not checked against the published sheet: check them."
    } else {
        ""
    };
    format!(
        "Put `{}` on {} ({}): breeding {then} in place of {now}, start {}, {trips}.{memory}",
        group.id,
        protocol.name,
        protocol.id,
        told.day(start)
    )
}

fn person(told: Clock, technician: &Technician, like: &str, date: NaiveDate) -> String {
    let hours = technician.shifts.first().map_or_else(
        || "all day".to_owned(),
        |s| format!("from {} to {}", told.time(s.from), told.time(s.to)),
    );
    format!(
        "Find one more technician for {} {hours}, at the pace of {like}{}.",
        human_date(date),
        if technician.helper {
            ", with a helper"
        } else {
            ""
        }
    )
}

/// `60 head on Tue 25 May, 60 on Wed 26 May`: by day, with the clock time of its first pen.
fn spread(told: Clock, group: &Group, pens: &[u32], starts: &[NaiveDateTime]) -> String {
    let mut days: Vec<(NaiveDateTime, u32)> = Vec::new();
    for (at, head) in starts.iter().zip(pens) {
        match days.last_mut() {
            Some(day) if day.0.date() == at.date() => day.1 += head,
            _ => days.push((*at, *head)),
        }
    }
    let list: Vec<String> = days
        .iter()
        .map(|(at, head)| format!("{head} head {}", told.day(*at)))
        .collect();
    format!(
        "Spread `{}` over {} days, each lot kept apart with its own hours: {} begin.",
        group.id,
        days.len(),
        list.join(", ")
    )
}

fn hours(
    told: Clock,
    who: &Technician,
    (from, to): (NaiveTime, NaiveTime),
    longest: chrono::TimeDelta,
) -> String {
    format!(
        "Have {} work {} to {}, at most {} h from leaving home to being back, as is assumed for anyone without shifts in the file.",
        who.name,
        told.time(from),
        told.time(to),
        number(longest.num_minutes() as f64 / 60.0)
    )
}

impl Change {
    /// What it asks, in a sentence. `before` is the season that it changes.
    #[must_use]
    pub fn asks(&self, before: &Season) -> String {
        let told = before.zone.told();
        match self {
            Self::Keep { group } => {
                let group = &before.groups[*group];
                let pass = window(group).map_or_else(|| "last".to_owned(), |w| w.1);
                format!(
                    "Bring `{}` to breeding in the order of the {pass} treatment, or by tag and time.",
                    group.id
                )
            }
            Self::Pace {
                site,
                inserts,
                head_per_hour,
            } => pace(before, *site, *inserts, *head_per_hour),
            Self::Pens { group, pens } => {
                let (id, now) = (&before.groups[*group].id, before.groups[*group].pens.len());
                format!(
                    "Split `{id}` into {pens} pens, each kept apart with its own hours, in place of {now}."
                )
            }
            Self::PenStarts { group, starts } => {
                let pens = starts.iter().zip(1..);
                let pens = pens.map(|(s, n): (_, u32)| format!("pen {n} {}", told.day(*s)));
                format!(
                    "Start the pens of `{}` at their own times: {}.",
                    before.groups[*group].id,
                    pens.collect::<Vec<_>>().join(", ")
                )
            }
            Self::Days {
                group,
                pens,
                starts,
            } => spread(told, &before.groups[*group], pens, starts),
            Self::Hours {
                technician,
                from,
                to,
                longest,
            } => hours(told, &before.crew[*technician], (*from, *to), *longest),
            Self::Start { group, start } => begin(told, &before.groups[*group], *start),
            Self::Shifts { date, new } => shifts(before, *date, new),
            Self::Helper { technician, cow } => {
                let (name, minutes) = (&before.crew[*technician].name, number(cow.minutes()));
                format!(
                    "Give {name} a helper who thaws and loads: then {minutes} min a cow with loaded guns at hand."
                )
            }
            Self::Boxes { site, boxes } => {
                let site = &before.sites[*site];
                let needs = site.for_boxes(*boxes).into_iter();
                let needs: Vec<String> = needs.map(|n| n.2).collect();
                format!("Set up {} at {}.", needs.join(" and "), site.name)
            }
            Self::Bull { group, bull } => format!(
                "Let `{}` have straws of {} too.",
                before.groups[*group].id, before.bulls[*bull].name
            ),
            Self::Straws { bull, more } => {
                format!("Order {more} more straws of {}.", before.bulls[*bull].name)
            }
            Self::Protocol {
                group,
                protocol,
                start,
            } => other_protocol(told, &before.groups[*group], protocol, *start),
            Self::Send { technician } => format!(
                "Send {} as well, in the shifts that the season file gives.",
                technician.name
            ),
            Self::Hire {
                technician,
                like,
                date,
            } => person(told, technician, like, *date),
        }
    }
}
