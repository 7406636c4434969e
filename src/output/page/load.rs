//! A session drawn along its hours: when each pen may be bred, who breeds how many when, and how
//! much later the crew could start. The same figures stand in the table below it.

use std::collections::{BTreeMap, BTreeSet};

use chrono::{DurationRound, NaiveDate, TimeDelta, Timelike};
use maud::{Markup, html};

use super::book::Book;
use super::drawing::{WIDE, across, tenth};
use crate::base::units::human_minutes;
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
pub(super) fn load(book: &Book, session: &Session, day: NaiveDate, number: usize) -> Markup {
    let Some(scale) = scale(session) else {
        return html! {};
    };
    let pens = session.pens.len() as f64;
    let high = TOP + PEN * pens + WORK * session.technicians.len() as f64 + 4.0;
    let most = most_a_slot(session);
    html! {
        section class="scroll" aria-label={ "Session " (number) ": hours and work, drawn" } tabindex="0" {
            svg class="chart" viewBox={ "0 0 " (WIDE) " " (high) } role="img"
                aria-label="Hours of each pen, work of each technician and the margin; the figures stand in the tables" {
                (hours(&scale, day, high))
                @for (n, pen) in session.pens.iter().enumerate() {
                    (window(book, pen, TOP + PEN * n as f64, &scale))
                }
                @for (n, t) in session.technicians.iter().enumerate() {
                    (work(book, session, t, TOP + PEN * pens + WORK * n as f64, &scale, most))
                }
            }
        }
        p class="small soft" {
            "Open boxes: hours that are safe for the pen, with the aim as a line across. Full columns: head bred in each slot of the plan. Thin line before: straws in the bath. Dashed: how much later the last cow could be."
        }
    }
}

/// From the first to the last moment shown, on whole hours.
fn scale(session: &Session) -> Option<Scale> {
    session.first_cow?;
    let safe = || {
        session
            .pens
            .iter()
            .filter(|p| p.hours.earliest <= p.hours.latest)
    };
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

fn hours(scale: &Scale, day: NaiveDate, high: f64) -> Markup {
    let count = (scale.to - scale.from).num_hours();
    let each = if count > MANY_HOURS { 3 } else { 1 };
    html! {
        @for n in 0..=count {
            @let at = scale.from + TimeDelta::hours(n);
            @let x = scale.x(at);
            line class="faint" x1=(x) y1=(TOP - 6.0) x2=(x) y2=(high) {}
            @if n % each == 0 {
                text class="middle" x=(x.clamp(20.0, WIDE - 20.0)) y="13" {
                    @if at.date_naive() != day && at.hour() == 0 { (at.format("%-d %b")) }
                    @else { (at.format("%H:%M")) }
                }
            }
        }
    }
}

fn window(book: &Book, pen: &DuePen, top: f64, scale: &Scale) -> Markup {
    let h = &pen.hours;
    let name = format!("{}, {} head", book.pen_of(&pen.group, pen.pen), pen.head);
    html! {
        text class="name" x=(EDGE) y=(top + 13.0) { (name) }
        @if h.earliest <= h.latest {
            @let (a, b) = (scale.x(h.earliest), scale.x(h.latest));
            rect class="open" x=(a) y=(top + 18.0) width=(tenth((b - a).max(2.0))) height="12" {
                title { (h.window) }
            }
            @if h.earliest <= h.aim && h.aim <= h.latest {
                @let x = scale.x(h.aim);
                line class="strong" x1=(x) y1=(top + 15.0) x2=(x) y2=(top + 33.0) {}
            }
        } @else {
            text x=(EDGE) y=(top + 29.0) { "no hours that are safe for every animal" }
        }
    }
}

fn work(
    book: &Book,
    session: &Session,
    t: &AtSession,
    top: f64,
    scale: &Scale,
    most: u32,
) -> Markup {
    let mut slots: BTreeMap<Moment, u32> = BTreeMap::new();
    for s in session.slots.iter().filter(|s| s.technician == t.id) {
        *slots.entry(s.start).or_default() += s.head;
    }
    let long = slot_length(session);
    let foot = top + 50.0;
    let margin = TimeDelta::minutes(session.margin_minutes.max(0));
    let (a, b) = (scale.x(t.begins), scale.x(t.last_cow));
    let late = scale.x(t.last_cow + margin);
    html! {
        text class="name" x=(EDGE) y=(top + 13.0) { (book.technician_name(&t.id)) ", " (t.head) " head" }
        line x1=(a) y1=(foot) x2=(b) y2=(foot) {}
        @for (start, head) in &slots {
            @let (from, to) = (scale.x(*start), scale.x(*start + long));
            @let high = tenth(30.0 * f64::from(*head) / f64::from(most));
            rect class="full" x=(tenth(from + 1.0)) y=(tenth(foot - high)) width=(tenth((to - from - 2.0).max(1.0))) height=(high) {
                title { (start.format("%H:%M")) ": " (head) " head" }
            }
        }
        @if late > b + 1.0 {
            line class="dashed" x1=(b) y1=(foot - 6.0) x2=(late) y2=(foot - 6.0) {
                title { "could be " (human_minutes(session.margin_minutes)) " later" }
            }
        }
    }
}
