//! A change in words: what it asks of people, what to write in the season file, and how much it
//! asks beside others.

use chrono::{NaiveDateTime, NaiveTime, TimeDelta};

use super::change::{Change, weekday};
use crate::protocol::{Anchor, Delay, Window};
use crate::season::{Group, Pace, PenStarts, Season, Technician};
use crate::time::human_date;
use crate::units::human_minutes;

fn clock(t: NaiveTime) -> String {
    t.format("%H:%M").to_string()
}

fn when(t: NaiveDateTime) -> String {
    t.format("%a %-d %b %H:%M").to_string()
}

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
    format!("{}", (x * 100.0).round() / 100.0)
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

pub(super) fn stamp(t: NaiveDateTime) -> String {
    t.format("%Y-%m-%dT%H:%M").to_string()
}

impl Change {
    /// What it asks, in a sentence. `before` is the season that it changes.
    #[must_use]
    pub fn asks(&self, before: &Season) -> String {
        match self {
            Self::Keep { group } => {
                let group = &before.groups[*group];
                let pass = window(group).map_or_else(|| "earlier".to_owned(), |w| w.1);
                format!(
                    "Bring `{}` to breeding in the order of the {pass} pass, or by tag and time.",
                    group.id
                )
            }
            Self::Pace {
                site,
                inserts,
                head_per_hour,
            } => {
                let site = &before.sites[*site];
                let now = if *inserts {
                    site.inserts
                } else {
                    site.injections
                }
                .get();
                let kind = if *inserts {
                    "passes with inserts"
                } else {
                    "injections"
                };
                let way = if *head_per_hour < now {
                    "Slow"
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
                    "{way} {kind} at {} from {} to {} head an hour.{all}",
                    site.name,
                    number(now),
                    number(*head_per_hour)
                )
            }
            Self::Pens { group, pens } => {
                let group = &before.groups[*group];
                let now = group.pens.len();
                format!(
                    "Split `{}` into {pens} pens, each kept apart with its own hours, in place of {now}.",
                    group.id
                )
            }
            Self::PenStarts { group, starts } => {
                let group = &before.groups[*group];
                let list: Vec<String> = starts
                    .iter()
                    .enumerate()
                    .map(|(n, s)| format!("pen {} {}", n + 1, when(*s)))
                    .collect();
                format!(
                    "Begin the pens of `{}` at times of their own: {}.",
                    group.id,
                    list.join(", ")
                )
            }
            Self::Start { group, start } => {
                let group = &before.groups[*group];
                format!(
                    "Start `{}` {}, {} in place of {}; every pass moves along.",
                    group.id,
                    moved(group.start, *start),
                    when(*start),
                    when(group.start)
                )
            }
            Self::Shifts { date, new } => {
                let each: Vec<String> = new
                    .iter()
                    .filter_map(|(t, nth, from, to)| {
                        let technician = before.crew.get(*t)?;
                        let shift = technician.shifts.get(*nth)?;
                        Some(format!(
                            "{} {} to {} in place of {} to {}",
                            technician.name,
                            clock(*from),
                            clock(*to),
                            clock(shift.from),
                            clock(shift.to)
                        ))
                    })
                    .collect();
                format!(
                    "Other hours of work on {}: {}.",
                    human_date(*date),
                    each.join("; ")
                )
            }
            Self::Helper { technician, cow } => {
                let name = before
                    .crew
                    .get(*technician)
                    .map_or("the technician", |t| t.name.as_str());
                format!(
                    "Give {name} a helper who thaws and loads: then {} min a cow with loaded guns at hand.",
                    number(cow.minutes())
                )
            }
            Self::Boxes { site, boxes } => {
                let site = &before.sites[*site];
                format!(
                    "Set up {boxes} breeding boxes at {} in place of {}.",
                    site.name, site.breeding_boxes
                )
            }
            Self::Bull { group, bull } => format!(
                "Let `{}` have straws of {} too.",
                before.groups[*group].id, before.bulls[*bull].name
            ),
            Self::Straws { bull, more } => {
                format!("Order {more} straws more of {}.", before.bulls[*bull].name)
            }
            Self::Protocol {
                group,
                protocol,
                start,
            } => {
                let group = &before.groups[*group];
                let now = window(group).map_or_else(String::new, |w| w.0.words());
                let mut changed = group.clone();
                changed.protocol = (**protocol).clone();
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
                    " Some of its times are from memory: check the current sheet."
                } else {
                    ""
                };
                format!(
                    "Put `{}` on {} ({}): breeding {then} in place of {now}, start {}, {trips}.{memory}",
                    group.id,
                    protocol.name,
                    protocol.id,
                    when(*start)
                )
            }
            Self::Send { technician } => format!(
                "Send {} as well, in the shifts that the season file gives.",
                technician.name
            ),
            Self::Hire {
                technician,
                like,
                date,
            } => {
                let hours = technician.shifts.first().map_or_else(
                    || "all day".to_owned(),
                    |s| format!("from {} to {}", clock(s.from), clock(s.to)),
                );
                format!(
                    "Find one technician more for {} {hours}, at the pace of {like}{}.",
                    human_date(*date),
                    if technician.helper {
                        ", with a helper"
                    } else {
                        ""
                    }
                )
            }
        }
    }

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
                format!("{} pen_starts: [{}]", group(g), list.join(", "))
            }
            Self::Start { group: g, start } => {
                format!(
                    "{} start: {}{}",
                    group(g),
                    stamp(*start),
                    along(&before.groups[*g])
                )
            }
            Self::Shifts { date, new } => {
                let day = format!("{:?}", weekday(*date)).to_lowercase();
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
            Self::Helper { technician, cow } => {
                let id = before.crew.get(*technician).map_or("", |t| t.id.as_str());
                format!(
                    "crew, {id}: helper: true, minutes_per_cow: {}",
                    number(cow.minutes())
                )
            }
            Self::Boxes { site, boxes } => {
                format!("sites, {}: breeding_boxes: {boxes}", before.sites[*site].id)
            }
            Self::Bull { group: g, bull } => {
                format!("{} bulls: add {}", group(g), before.bulls[*bull].id)
            }
            Self::Straws { bull, more } => format!(
                "semen: - {{bull: {}, straws: {more}}}",
                before.bulls[*bull].id
            ),
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
            } => {
                let shift = technician.shifts.first();
                let hours = shift.map_or_else(String::new, |s| {
                    let day = format!("{:?}", weekday(*date)).to_lowercase();
                    format!(
                        ", shifts: [{{days: [{day}], from: \"{}\", to: \"{}\"}}]",
                        clock(s.from),
                        clock(s.to)
                    )
                });
                let fewer = technician
                    .straws_at_once
                    .map_or_else(String::new, |n| format!(", straws_at_once: {}", n.0));
                let home = technician.home.map_or_else(String::new, |h| {
                    format!(", home_site: {}", before.sites[h].id)
                });
                format!(
                    "crew: - {{id: {}, {}, minutes_spread: {}, helper: {}{fewer}{home}{hours}}}",
                    technician.id,
                    pace_keys(technician),
                    number(technician.spread.minutes()),
                    technician.helper
                )
            }
        }
    }

    /// How much it asks, in points of our own (common practice, no source): what is a matter of
    /// habit first, then of clock times, then of things and people.
    #[must_use]
    pub fn effort(&self, before: &Season) -> u32 {
        let hours = |t: TimeDelta| (t.num_minutes().unsigned_abs() as u32).div_ceil(30);
        match self {
            Self::Keep { .. } => 10,
            Self::Pace {
                site,
                inserts,
                head_per_hour,
            } => {
                let site = &before.sites[*site];
                let now = if *inserts {
                    site.inserts
                } else {
                    site.injections
                }
                .get();
                let percent = (100.0 * (head_per_hour - now) / now).round();
                // To work faster asks for more hands; to work slower for time only.
                20 + if percent > 0.0 {
                    20 + percent as u32 / 2
                } else {
                    (-percent) as u32 / 4
                }
            }
            Self::Pens { group, pens } => {
                let now = before.groups[*group].pens.len() as u32;
                20 + 5 * pens.abs_diff(now)
            }
            Self::PenStarts { group, starts } => {
                let start = before.groups[*group].start;
                let last = starts.iter().max().copied().unwrap_or(start);
                let days = (last.date() - start.date()).num_days().unsigned_abs() as u32;
                25 + 10 * days + (hours(last - start) % 48)
            }
            Self::Start { group, start } => {
                let now = before.groups[*group].start;
                let days = (start.date() - now.date()).num_days().unsigned_abs() as u32;
                30 + if days > 0 { 15 + 10 * days } else { 0 } + hours(start.time() - now.time())
            }
            Self::Shifts { new, .. } => {
                let each = new.iter().filter_map(|(t, nth, from, to)| {
                    let shift = before.crew.get(*t)?.shifts.get(*nth)?;
                    Some(10 + 2 * (hours(*from - shift.from) + hours(*to - shift.to)))
                });
                20 + each.sum::<u32>()
            }
            Self::Bull { .. } => 15,
            Self::Straws { more, .. } => 25 + more / 5,
            Self::Boxes { .. } => 45,
            Self::Send { .. } => 45,
            Self::Helper { .. } => 50,
            Self::Protocol {
                group, protocol, ..
            } => {
                let passes = &before.groups[*group].protocol;
                70 + 5 * (protocol.chute_passes().abs_diff(passes.chute_passes()) as u32)
            }
            Self::Hire { technician, .. } => {
                let span = technician.shifts.first().map_or(48, |s| {
                    let long = s.to - s.from;
                    let long = if long <= TimeDelta::zero() {
                        long + TimeDelta::days(1)
                    } else {
                        long
                    };
                    hours(long)
                });
                80 + 2 * span + if technician.helper { 20 } else { 0 }
            }
        }
    }
}
