//! Thaw rounds for the terminal: the verdict first, then each technician's rounds, then canisters,
//! waste, the bath and the paces.

use std::fmt::Write as _;

use super::{first_and_last, up_to_minute, wrapped};
use crate::analysis::thaw::bath::{BathFigures, Volume};
use crate::analysis::thaw::words::{canister, figure};
use crate::analysis::thaw::{PaceRow, Round, SessionThaw, Straw, TechnicianThaw, Thaw};
use crate::base::time::human_date;
use crate::base::units::{Temperature, Units, count};
use crate::planning::plan::Moment;

/// The rounds of the session that was asked about, or the sessions there are.
#[must_use]
pub fn text(thaw: &Thaw) -> String {
    let mut text = format!(
        "{}\nThaw rounds. Times are local, {}.\n\n",
        thaw.season, thaw.zone
    );
    match &thaw.session {
        Some(s) => session(s, &mut text),
        None => list(thaw, &mut text),
    }
    text
}

/// `thawline.thaw/1`.
#[must_use]
pub fn json(thaw: &Thaw) -> String {
    super::json::text(thaw)
}

fn para(said: &str, text: &mut String) {
    let _ = writeln!(text, "{}", wrapped(said, "  ", "    "));
}

fn clock(at: Moment) -> String {
    at.format("%H:%M").to_string()
}

fn seconds(at: Moment) -> String {
    at.format("%H:%M:%S").to_string()
}

fn list(thaw: &Thaw, text: &mut String) {
    if thaw.sessions.is_empty() {
        text.push_str("No session of this plan breeds any cow.\n");
        return;
    }
    text.push_str("Sessions; ask for one with --session ID\n");
    for s in &thaw.sessions {
        para(&s.session, text);
        let said = format!(
            "{}, {} to {}, {}: {} head; {}",
            human_date(s.first_cow.date_naive()),
            clock(up_to_minute(first_and_last(s.first_cow, s.last_cow).0)),
            clock(s.last_cow),
            s.site_name,
            s.head,
            s.technicians.join(", ")
        );
        let _ = writeln!(text, "{}", wrapped(&said, "      ", "        "));
    }
}

fn session(s: &SessionThaw, text: &mut String) {
    let first = s
        .technicians
        .iter()
        .flat_map(|t| &t.rounds)
        .map(|r| r.bath_at)
        .min();
    let day = first.map_or(String::new(), |at| human_date(at.date_naive()) + ", ");
    let head = format!(
        "{day}{}, {} head (session {})",
        s.site_name, s.head, s.session
    );
    let _ = writeln!(text, "{}", wrapped(&head, "", "  "));
    for words in &s.words {
        para(words, text);
    }
    if !s.findings.is_empty() {
        text.push_str("\nNotes\n");
        for f in &s.findings {
            let _ = writeln!(text, "{}", super::remark(f));
        }
    }
    for t in &s.technicians {
        text.push('\n');
        technician(t, text);
    }
    canisters(s, text);
    bath(&s.bath, s.units, text);
    for t in &s.technicians {
        pace(t, text);
    }
    text.push_str("\nHow to read it\n");
    for note in &s.notes {
        let _ = writeln!(text, "{}", wrapped(note, "  - ", "    "));
    }
}

/// What a round takes from where: count, bull and place, in order.
pub(super) fn sources(round: &Round) -> Vec<(u32, &Straw)> {
    let mut found: Vec<(u32, &Straw)> = Vec::new();
    for straw in &round.straws {
        let same = |s: &Straw| {
            (&s.bull, s.place, &s.where_words) == (&straw.bull, straw.place, &straw.where_words)
        };
        match found.iter_mut().find(|(_, s)| same(s)) {
            Some((n, _)) => *n += 1,
            None => found.push((1, straw)),
        }
    }
    found
}

/// An animal that is known; with her bull and his cane where the straws of a round differ.
fn tag(s: &Straw, mixed: bool) -> Option<String> {
    let tag = s.tag.as_ref()?;
    if !mixed {
        return Some(tag.clone());
    }
    let cane = s.cane.as_ref().map_or(String::new(), |c| format!(", {c}"));
    Some(format!("{tag} ({}{cane})", s.bull))
}

/// `mature pen 1 no. 1-3`, or the ids of animals that are known: which cows a round is for, in the order
/// of its straws.
pub(super) fn cows(round: &Round, several: bool) -> String {
    let mut parts: Vec<String> = Vec::new();
    let mixed = sources(round).len() > 1;
    for straws in round.straws.chunk_by(|a, b| a.pass == b.pass) {
        let first = &straws[0];
        let mut part = String::new();
        if several {
            part += &first.group;
            if let Some(pen) = first.pen {
                let _ = write!(part, " pen {pen}");
            }
        }
        let tags: Vec<String> = straws.iter().filter_map(|s| tag(s, mixed)).collect();
        let animals: Vec<u32> = straws.iter().filter_map(|s| s.animal).collect();
        if !tags.is_empty() {
            if !part.is_empty() {
                part.push(' ');
            }
            part += &tags.join(", ");
            parts.push(part);
            continue;
        }
        if let (Some(a), Some(b)) = (animals.first(), animals.last()) {
            if !part.is_empty() {
                part.push(' ');
            }
            let run = animals
                .windows(2)
                .all(|w| w[0].checked_add(1) == Some(w[1]));
            let numbers = match (a == b, run) {
                (true, _) => format!("no. {a}"),
                (false, true) => format!("no. {a}-{b}"),
                (false, false) => {
                    let all: Vec<String> = animals.iter().map(u32::to_string).collect();
                    format!("no. {}", all.join(","))
                }
            };
            part += &numbers;
        }
        if !part.is_empty() {
            parts.push(part);
        }
    }
    parts.join("; ")
}

/// True if the rounds are for more than one pen.
pub(super) fn several(t: &TechnicianThaw) -> bool {
    let mut all = t.rounds.iter().flat_map(|r| &r.straws);
    let first = all.next();
    all.any(|s| Some(&s.pass) != first.map(|f| &f.pass))
}

/// Where a round's straws come from, in words.
pub(super) fn sources_words(round: &Round) -> String {
    let from = sources(round);
    let parts: Vec<String> = from
        .iter()
        .map(|(n, s)| {
            let n = if from.len() > 1 {
                format!("{n} x ")
            } else {
                String::new()
            };
            format!("{n}{} ({} mL) from {}", s.bull, s.straw_ml, s.where_words)
        })
        .collect();
    let by_tag = if round.by_tag { "by tag, about " } else { "" };
    format!("{by_tag}{}", parts.join("; "))
}

fn technician(t: &TechnicianThaw, text: &mut String) {
    let head = format!(
        "{}: {} head, {} at once, {} min a cow, {}",
        t.name,
        t.head,
        count(t.straws_at_once, "straw", "straws"),
        figure(t.minutes_per_cow),
        if t.helper {
            "a helper thaws and loads"
        } else {
            "alone"
        }
    );
    para(&head, text);
    for head in [
        ["", "into", "out", "first", "last", "cow", ""],
        ["round", "bath", "from", "gun", "cow", "by", "straws"],
    ] {
        let [round, bath, out, gun, cow, by, straws] = head;
        let row =
            format!("  {round:>5}  {bath:>8}  {out:>8}  {gun:>8}  {cow:>5}  {by:>5}  {straws}");
        let _ = writeln!(text, "{}", row.trim_end());
    }
    let several = several(t);
    let mut before = String::new();
    for r in &t.rounds {
        let from = sources_words(r);
        if from != before {
            let _ = writeln!(text, "{}", wrapped(&from, "    ", "      "));
            before = from;
        }
        let last = r.straws.last().map_or(r.bath_at, |s| s.bred_at);
        let cows = cows(r, several);
        let cows = if cows.is_empty() {
            cows
        } else {
            format!("  {cows}")
        };
        let row = format!(
            "  {:>5}  {}  {}  {}  {}  {}  {:>2}{cows}",
            r.number,
            seconds(r.bath_at),
            seconds(r.earliest_out),
            seconds(r.first_gun),
            clock(last),
            clock(r.cow_by),
            r.straws.len(),
        );
        let _ = writeln!(text, "{}", wrapped(&row, "", &" ".repeat(55)));
    }
}

fn canisters(s: &SessionThaw, text: &mut String) {
    text.push_str("\nCanisters                       straws  lifts  s in the neck  most a lift\n");
    for c in &s.canisters {
        let name = canister(c.tank.as_deref(), c.canister);
        let figures = format!(
            "{:>6}  {:>5}  {:>13}  {:>9} s",
            c.straws,
            c.lifts,
            figure(c.seconds),
            figure(c.most_seconds_a_lift)
        );
        if name.chars().count() > 28 {
            let _ = writeln!(text, "{}\n{:32}{figures}", wrapped(&name, "  ", "    "), "");
        } else {
            let _ = writeln!(text, "  {name:<30}{figures}");
        }
    }
    if !s.waste.is_empty() {
        text.push_str("\nFor cows that never come\n");
        for w in &s.waste {
            let mut said = format!("{} of {}", count(w.straws, "straw", "straws"), w.bull);
            if !w.places.is_empty() {
                let _ = write!(said, ": {}", w.places.join("; "));
            }
            if w.lacking_straws > 0 {
                let _ = write!(said, "; {} not there", w.lacking_straws);
            }
            para(&said, text);
        }
    }
}

fn bath(b: &BathFigures, units: Units, text: &mut String) {
    text.push_str("\nBath\n");
    para(
        &format!(
            "A straw of {} mL takes {:.0} J. Start at {}, never below {}.",
            b.straw_ml,
            b.joules_a_straw,
            range(b, 0, units),
            range(b, 1, units)
        ),
        text,
    );
    para(
        &format!(
            "{} at once stay in that range in {:.2} L or more without heat; at the session's pace a heater of {:.0} W makes good what straws take.",
            count(b.straws_at_once, "straw", "straws"),
            b.least_liters,
            b.watts_for_pace.ceil()
        ),
        text,
    );
    if b.liters.is_none() {
        para(
            "How much water the bath has is not given (`bath_liters` of the site); usual volumes:",
            text,
        );
    }
    for v in &b.volumes {
        para(&volume(b, v, units), text);
    }
}

/// The upper or the lower end of the bath's temperatures.
fn range(b: &BathFigures, end: usize, units: Units) -> String {
    units.degrees(
        &b.range_f[end].to_string(),
        &format!("{:.1}", b.range_c[end]),
    )
}

fn volume(b: &BathFigures, v: &Volume, units: Units) -> String {
    let mut said = format!(
        "{} L: {} lost a straw, {} in range without heat",
        figure(v.liters),
        units.degrees_celsius(&format!("{:.3}", v.straw_c), &format!("{:.2}", v.straw_f)),
        count(v.straws, "straw", "straws")
    );
    if let Some(s) = v.heater_seconds_a_straw {
        let _ = write!(
            said,
            "; {} W win back {} a minute, a straw in {:.0} s",
            figure(b.heater_watts),
            units.degrees_celsius(
                &format!("{:.2}", v.heater_c_a_minute),
                &format!("{:.2}", v.heater_f_a_minute)
            ),
            s.ceil()
        );
    }
    if let (Some(add), Some(swap)) = (v.add_liters, v.swap_liters) {
        let _ = write!(
            said,
            "; from {} back to {}: add {add:.2} L at {}, or {swap:.2} L in place of as much",
            back(b, 1, units),
            back(b, 0, units),
            hot(b, units)
        );
    }
    said + "."
}

/// An end of the range where it was told before: in degrees Fahrenheit unless Celsius is chosen.
pub(super) fn back(b: &BathFigures, end: usize, units: Units) -> String {
    match units.temperature {
        Some(Temperature::C) => range(b, end, units),
        _ => format!("{} F", b.range_f[end]),
    }
}

/// The hot water at hand.
pub(super) fn hot(b: &BathFigures, units: Units) -> String {
    let (f, c) = (b.hot_water_f, b.hot_water_c);
    units.degrees(&format!("{f:.0}"), &format!("{c:.0}"))
}

fn pace(t: &TechnicianThaw, text: &mut String) {
    text.push('\n');
    let head = format!(
        "Pace of {}, {} min a cow; > the plan, ! over the limit or the risk",
        t.name,
        figure(t.minutes_per_cow)
    );
    let _ = writeln!(text, "{}", wrapped(&head, "", "  "));
    text.push_str(
        "  straws   alone: head  last straw  too old   helper: head  last straw  too old\n",
    );
    text.push_str(
        "  at once      an hour         min        %        an hour         min        %\n",
    );
    for k in 1..=crate::analysis::thaw::MOST_SHOWN {
        let row = |rows: &[PaceRow], wide: usize| {
            rows.iter().find(|r| r.straws_at_once == k).map_or_else(
                || format!("{:>w$}", "too fast", w = wide + 23),
                |r| {
                    let mark = match (r.planned, r.safe) {
                        (true, _) => ">",
                        (false, true) => " ",
                        (false, false) => "!",
                    };
                    let per_hour = format!("{mark}{:.1}", r.head_per_hour);
                    format!(
                        "{per_hour:>wide$}  {:>10.1}  {:>7}",
                        r.last_straw_minutes,
                        percent(r.late_percent)
                    )
                },
            )
        };
        let _ = writeln!(
            text,
            "  {k:>7}  {}  {}",
            row(&t.alone, 11),
            row(&t.helped, 13)
        );
    }
}

fn percent(p: f64) -> String {
    if p > 0.0 && p < 0.1 {
        "<0.1".to_owned()
    } else {
        format!("{p:.1}")
    }
}
