//! A change in words: what it asks of people, and what to write in the season file for it.

use chrono::{NaiveDate, NaiveDateTime, NaiveTime, TimeDelta};
use serde_json::Value;

use super::change::{self, Change, NewShift, OfGroup, even_pens};
use crate::base::time::human_date;
use crate::base::units::{Clock, Head, Straws, count, human_minutes, hundredths};
use crate::trade::protocol::{Anchor, Delay, Protocol, Window};
use crate::trade::season::{Bull, Group, Pace, PenStarts, Season, Shift, Technician, weekday};

fn moved(from: NaiveDateTime, to: NaiveDateTime) -> String {
    let by = (to - from).num_minutes();
    let way = if by < 0 { "earlier" } else { "later" };
    let by = by.abs();
    let (days, rest) = (by / (24 * 60), by % (24 * 60));
    let told = count(days as u32, "day", "days");
    match (days, rest) {
        (0, rest) => format!("{} {way}", human_minutes(rest)),
        (_, 0) => format!("{told} {way}"),
        (_, rest) => format!("{told} and {} {way}", human_minutes(rest)),
    }
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

fn number(x: f64) -> String {
    hundredths(x).to_string()
}

fn pace(before: &Season, site: usize, inserts: bool, head_per_hour: f64) -> (String, String) {
    let sharing = before.groups.iter().filter(|g| g.site == site).count();
    let site = &before.sites[site];
    let now = change::pace(site, inserts);
    let kind = if inserts { "inserts" } else { "injections" };
    let way = if head_per_hour < now {
        "Slow down"
    } else {
        "Speed up"
    };
    let all = if sharing > 1 {
        " It counts for every group there."
    } else {
        ""
    };
    let (id, name, then) = (&site.id, &site.name, number(head_per_hour));
    let now = number(now);
    (
        format!(
            "{way} chute work with {kind} at {name}: {then} head an hour in place of {now}.{all}"
        ),
        format!("sites, {id}: {kind}_head_per_hour: {then}"),
    )
}

fn shifts(before: &Season, date: NaiveDate, new: &[NewShift]) -> (String, String) {
    let told = before.zone.told();
    let (mut asks, mut keys) = (Vec::new(), Vec::new());
    for (t, nth, from, to) in new {
        let technician = &before.crew[*t];
        let (shift, name, id) = (&technician.shifts[*nth], &technician.name, &technician.id);
        let hours = |on: Clock, from, to| format!("{} to {}", on.time(from), on.time(to));
        let (now, then) = (hours(told, shift.from, shift.to), hours(told, *from, *to));
        asks.push(format!("{name} {then} in place of {now}"));
        let (day, new) = (day(date), span(*from, *to));
        let now = hours(Clock::H24, shift.from, shift.to);
        keys.push(format!(
            "crew, {id}: shifts: {{{day}, {new}}}, on that day in place of {now}"
        ));
    }
    let date = human_date(date);
    let asks = format!("Other hours of work on {date}: {}.", asks.join("; "));
    (asks, keys.join("; "))
}

fn other_protocol(told: Clock, group: &Group, protocol: &Protocol, start: NaiveDateTime) -> String {
    let now = window(group).map_or_else(String::new, |w| w.0.words());
    let mut changed = group.clone();
    changed.protocol = protocol.clone();
    let then = window(&changed).map_or_else(String::new, |w| w.0.words());
    let passes = protocol.chute_passes() as i64 - group.protocol.chute_passes() as i64;
    let trips = match passes {
        0 => "as many trips".to_owned(),
        n if n < 0 => count(-n as u32, "fewer trip", "fewer trips"),
        n => count(n as u32, "more trip", "more trips"),
    };
    let memory = if protocol.has_unverified() {
        " Some of its times were not checked against the published sheet: check them."
    } else {
        ""
    };
    format!(
        "Put `{}` on {} ({}): breeding {then} in place of {now}, start {}, {trips} through the chute.{memory}",
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

fn hours(told: Clock, who: &Technician, shift: &Shift, longest: TimeDelta) -> (String, String) {
    let (from, to) = (shift.from, shift.to);
    let day = number(longest.num_minutes() as f64 / 60.0);
    (
        format!(
            "Have {} work {} to {}, at most {day} h from leaving home to being back, as is assumed for anyone without shifts in the file.",
            who.name,
            told.time(from),
            told.time(to),
        ),
        format!(
            "crew, {}: {}, shifts: [{{{}}}]",
            who.id,
            longest_key(longest),
            span(from, to)
        ),
    )
}

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

fn stamp(t: NaiveDateTime) -> String {
    t.format("%Y-%m-%dT%H:%M").to_string()
}

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
    format!(
        "from: \"{}\", to: \"{}\"",
        Clock::H24.time(from),
        Clock::H24.time(to)
    )
}

fn day(date: NaiveDate) -> String {
    format!("days: [{:?}]", weekday(date)).to_lowercase()
}

fn longest_key(day: TimeDelta) -> String {
    let hours = day.num_minutes() as f64 / 60.0;
    format!("longest_day_hours: {}", number(hours))
}

fn person_to_write(before: &Season, technician: &Technician, date: NaiveDate) -> String {
    let mut keys = vec![format!("id: {}", technician.id), pace_keys(technician)];
    let spread = technician.spread.map(|s| number(s.minutes()));
    keys.extend(spread.map(|minutes| format!("minutes_spread: {minutes}")));
    keys.push(format!("helper: {}", technician.helper));
    let straws = technician.straws_at_once;
    keys.extend(straws.map(|n| format!("straws_at_once: {}", n.0)));
    keys.extend(technician.longest_day.map(longest_key));
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
    /// What it asks, in a sentence, and what to write in the season file. `before` is the season that it
    /// changes.
    pub(super) fn words(&self, before: &Season) -> (String, String) {
        let told = before.zone.told();
        match self {
            Self::Group(g, change) => {
                let group = &before.groups[*g];
                let (asks, keys) = change.words(before, group, told);
                (asks, format!("groups, {}: {keys}", group.id))
            }
            Self::Pace(site, inserts, head_per_hour) => {
                pace(before, *site, *inserts, *head_per_hour)
            }
            Self::Boxes(site, boxes) => {
                let site = &before.sites[*site];
                let (mut keys, mut needs) = (Vec::new(), Vec::new());
                for (key, to, need) in site.for_boxes(*boxes) {
                    keys.push(format!("{key}: {to}"));
                    needs.push(need);
                }
                let asks = format!("Set up {} at {}.", needs.join(" and "), site.name);
                (asks, format!("sites, {}: {}", site.id, keys.join(", ")))
            }
            Self::Straws(bull, more) => {
                let bull = &before.bulls[*bull];
                let asks = format!("Order {more} more straws of {}.", bull.name);
                (asks, straws_to_write(bull, *more))
            }
            Self::Shifts(date, new) => shifts(before, *date, new),
            Self::Hours(technician, shift, longest) => {
                hours(told, &before.crew[*technician], shift, *longest)
            }
            Self::Helper(technician, cow) => {
                let (who, minutes) = (&before.crew[*technician], number(cow.minutes()));
                (
                    format!(
                        "Give {} a helper who thaws and loads: then {minutes} min a cow with loaded guns at hand.",
                        who.name
                    ),
                    format!("crew, {}: helper: true, minutes_per_cow: {minutes}", who.id),
                )
            }
            Self::Send(technician) => (
                format!(
                    "Send {} as well, in the shifts that the season file gives.",
                    technician.name
                ),
                format!("crew: {} as in the file", technician.id),
            ),
            Self::Hire {
                technician,
                like,
                date,
            } => (
                person(told, technician, like, *date),
                person_to_write(before, technician, *date),
            ),
        }
    }
}

impl OfGroup {
    /// What it asks, and the keys of the group to write.
    fn words(&self, before: &Season, group: &Group, told: Clock) -> (String, String) {
        let id = &group.id;
        match self {
            Self::Keep => {
                let pass = window(group).map_or_else(|| "last".to_owned(), |w| w.1);
                let asks = format!(
                    "Bring `{id}` to breeding in the order of the {pass} treatment, or by tag and time."
                );
                (asks, "order: kept".to_owned())
            }
            Self::Pens(pens) => {
                let now = group.pens.len();
                let asks = format!(
                    "Split `{id}` into {pens} pens, each kept apart with its own hours, in place of {now}."
                );
                (asks, format!("pens: {pens}"))
            }
            Self::PenStarts(starts) => {
                let pens = starts.iter().zip(1..);
                let pens = pens.map(|(s, n): (_, u32)| format!("pen {n} {}", told.day(*s)));
                let pens = pens.collect::<Vec<_>>().join(", ");
                let keys = format!("{}{}", stamps(starts), in_place(group));
                (
                    format!("Start the pens of `{id}` at their own times: {pens}."),
                    keys,
                )
            }
            Self::Days(pens, starts) => (
                spread(told, group, pens, starts),
                days_to_write(group, pens, starts),
            ),
            Self::Start(start) => {
                let by = moved(group.start, *start);
                let (now, then) = (told.day(group.start), told.day(*start));
                let asks = format!(
                    "Start `{id}` {by}, {then} in place of {now}; every treatment moves with it."
                );
                (asks, format!("start: {}{}", stamp(*start), along(group)))
            }
            Self::Bull(bull) => {
                let bull = &before.bulls[*bull];
                let asks = format!("Let `{id}` have straws of {} too.", bull.name);
                (asks, format!("bulls: add {}", bull.id))
            }
            Self::Protocol(protocol, start) => (
                other_protocol(told, group, protocol, *start),
                format!(
                    "protocol: {}, start: {}{}",
                    protocol.id,
                    stamp(*start),
                    along(group)
                ),
            ),
        }
    }
}
