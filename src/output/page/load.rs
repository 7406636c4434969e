//! A session drawn along its hours: when each pen may be bred, who breeds how many when, and how
//! much later the crew could start. The same figures stand in the table below it.

use std::collections::{BTreeMap, BTreeSet};

use chrono::{DurationRound, TimeDelta, Timelike};

use super::book::Book;
use super::drawing::{WIDE, across, chart};
use crate::base::units::{human_minutes, tenths};
use crate::output::document::{Block, Look, Mark, Role, Shape};
use crate::output::times::OnDay;
use crate::planning::plan::{AtSession, DuePen, Moment, Session};

/// Height of a pen's row, and of a technician's.
const PEN: f64 = 38.0;
const WORK: f64 = 58.0;
const TOP: f64 = 24.0;
const EDGE: f64 = 16.0;
/// More hours than this are marked every third hour only.
const MANY_HOURS: i64 = 12;

struct Scale {
    from: Moment,
    to: Moment,
}

impl Scale {
    fn x(&self, at: Moment) -> f64 {
        let all = (self.to - self.from).num_seconds().max(1) as f64;
        let part = (at - self.from).num_seconds() as f64 / all;
        across(part.clamp(0.0, 1.0), EDGE)
    }
}

/// The drawing; nothing for a session that breeds nobody.
pub(super) fn load(book: &Book, session: &Session, day: OnDay, number: usize) -> Vec<Block> {
    let Some(scale) = scale(session) else {
        return Vec::new();
    };
    let pens = session.pens.len() as f64;
    let high = TOP + PEN * pens + WORK * session.technicians.len() as f64 + 4.0;
    let most = most_a_slot(session);
    let mut marks = hours(&scale, day, high);
    for (n, pen) in session.pens.iter().enumerate() {
        marks.extend(window(book, pen, TOP + PEN * n as f64, &scale));
    }
    for (n, t) in session.technicians.iter().enumerate() {
        let top = TOP + PEN * pens + WORK * n as f64;
        marks.extend(work(book, session, t, top, &scale, most));
    }
    vec![
        chart(
            format!("Session {number}: AI windows and work, drawn"),
            "The AI window of each pen, the work of each technician and what is to spare; the figures are in the tables",
            high,
            marks,
        ),
        Block::of_role(
            Role::SmallSoft,
            "Outlined bars: each pen's AI window; the line across is the aim. Solid bars: head bred in each slot of the plan. Thin line before them: straws in the bath. Dashed line: how late the last cow could still be bred.",
        ),
    ]
}

/// From the first to the last moment shown, on whole hours.
fn scale(session: &Session) -> Option<Scale> {
    session.first_cow?;
    let has_time = |p: &&DuePen| p.hours.earliest <= p.hours.latest;
    let safe = || session.pens.iter().filter(has_time);
    let margin = TimeDelta::minutes(session.margin_minutes.max(0));
    let first = session.technicians.iter().map(|t| t.begins);
    let first = first.chain(safe().map(|p| p.hours.earliest)).min()?;
    let last = session.technicians.iter().map(|t| t.last_cow + margin);
    let last = last.chain(safe().map(|p| p.hours.latest)).max()?;
    let hour = TimeDelta::hours(1);
    let from = first.duration_trunc(hour).ok()?;
    let to = last.duration_trunc(hour).ok()? + hour;
    Some(Scale { from, to })
}

/// Most head that a technician breeds in a slot.
fn most_a_slot(session: &Session) -> u32 {
    let mut all: BTreeMap<(&str, Moment), u32> = BTreeMap::new();
    for s in &session.slots {
        *all.entry((&s.technician, s.start)).or_default() += s.head;
    }
    all.into_values().max().unwrap_or(1).max(1)
}

/// The plan's slots are as long as the shortest step from one to the next; a quarter of an hour
/// unless that is less.
fn slot_length(session: &Session) -> TimeDelta {
    let starts: BTreeSet<Moment> = session.slots.iter().map(|s| s.start).collect();
    let starts: Vec<Moment> = starts.into_iter().collect();
    let steps = starts.windows(2).map(|w| w[1] - w[0]);
    let usual = TimeDelta::minutes(15);
    steps.min().map_or(usual, |step| step.min(usual))
}

fn hours(scale: &Scale, day: OnDay, high: f64) -> Vec<Mark> {
    let count = (scale.to - scale.from).num_hours();
    let each = if count > MANY_HOURS { 3 } else { 1 };
    let mut marks = Vec::new();
    for n in 0..=count {
        let at = scale.from + TimeDelta::hours(n);
        let x = scale.x(at);
        marks.push(Mark::new(Look::Faint, Shape::Line([x, TOP - 6.0, x, high])));
        if n % each == 0 {
            let midnight = at.date_naive() != day.date && at.hour() == 0;
            let words = if midnight {
                at.format("%-d %b").to_string()
            } else {
                day.clock.time(at)
            };
            // So that no word stands over the edge.
            let half = 4.0 * day.clock.hour(10).len() as f64;
            let at = [x.clamp(half, WIDE - half), 13.0];
            marks.push(Mark::words(Look::Middle, at, words));
        }
    }
    marks
}

fn window(book: &Book, pen: &DuePen, top: f64, scale: &Scale) -> Vec<Mark> {
    let h = &pen.hours;
    let name = format!("{}, {} head", book.pen_of(&pen.group, pen.pen), pen.head);
    let mut marks = vec![Mark::words(Look::Name, [EDGE, top + 13.0], name)];
    if h.earliest <= h.latest {
        let (a, b) = (scale.x(h.earliest), scale.x(h.latest));
        let safe = Shape::Box([a, top + 18.0, tenths((b - a).max(2.0)), 12.0]);
        marks.push(Mark::titled(Look::Open, safe, &h.window));
        if h.earliest <= h.aim && h.aim <= h.latest {
            let x = scale.x(h.aim);
            let across = Shape::Line([x, top + 15.0, x, top + 33.0]);
            marks.push(Mark::new(Look::Strong, across));
        }
    } else {
        let words = "no time suits every animal";
        marks.push(Mark::words(Look::Plain, [EDGE, top + 29.0], words));
    }
    marks
}

fn work(
    book: &Book,
    session: &Session,
    t: &AtSession,
    top: f64,
    scale: &Scale,
    most: u32,
) -> Vec<Mark> {
    let mut slots: BTreeMap<Moment, u32> = BTreeMap::new();
    for s in session.slots.iter().filter(|s| s.technician == t.id) {
        *slots.entry(s.start).or_default() += s.head;
    }
    let long = slot_length(session);
    let foot = top + 50.0;
    let margin = TimeDelta::minutes(session.margin_minutes.max(0));
    let (a, b) = (scale.x(t.begins), scale.x(t.last_cow));
    let late = scale.x(t.last_cow + margin);
    let name = format!("{}, {} head", book.technician_name(&t.id), t.head);
    let mut marks = vec![
        Mark::words(Look::Name, [EDGE, top + 13.0], name),
        Mark::new(Look::Plain, Shape::Line([a, foot, b, foot])),
    ];
    for (start, head) in slots {
        let (from, to) = (scale.x(start), scale.x(start + long));
        let high = tenths(30.0 * f64::from(head) / f64::from(most));
        let wide = tenths((to - from - 2.0).max(1.0));
        let column = Shape::Box([tenths(from + 1.0), tenths(foot - high), wide, high]);
        let words = format!("{}: {head} head", book.plan.units.clock.time(start));
        marks.push(Mark::titled(Look::Full, column, words));
    }
    if late > b + 1.0 {
        let margin = Shape::Line([b, foot - 6.0, late, foot - 6.0]);
        let words = format!("could be {} later", human_minutes(session.margin_minutes));
        marks.push(Mark::titled(Look::Dashed, margin, words));
    }
    marks
}
