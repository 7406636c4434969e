//! Every group on one scale of days: what is done when, drawn as lines and shapes.
//!
//! Shapes differ without colour, and each has its words; all dates stand in the text too.

use std::collections::{BTreeMap, BTreeSet};

use chrono::{Datelike, NaiveDate, TimeDelta};
use maud::{Markup, html};

use super::book::Book;
use super::drawing::{WIDE, across, tenth};
use super::words::{date, short_date};
use crate::planning::plan::{Group, Pass, Work};

/// Height of a group's row.
const ROW: f64 = 52.0;
/// Height of the scale of days above the rows.
const TOP: f64 = 30.0;
/// Room at both ends.
const EDGE: f64 = 14.0;

/// Days laid on the drawing's width.
struct Scale {
    first: NaiveDate,
    last: NaiveDate,
}

impl Scale {
    fn x(&self, day: NaiveDate) -> f64 {
        let days = (self.last - self.first).num_days().max(1) as f64;
        let at = (day - self.first).num_days() as f64;
        across(at / days, EDGE)
    }
}

/// What one step of a group looks like.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
enum Shape {
    /// Breeding first: its date is written even where others have no room.
    Bred,
    Chute,
    Days,
}

/// A step's days, and its words.
#[derive(PartialEq, Eq, PartialOrd, Ord)]
struct Mark<'a> {
    shape: Shape,
    from: NaiveDate,
    to: NaiveDate,
    what: &'a str,
}

fn mark(p: &Pass) -> Mark<'_> {
    let day = p.start.date_naive();
    let shape = match p.work {
        Work::Breeding => Shape::Bred,
        Work::Chute => Shape::Chute,
        Work::Feeding | Work::HeatWatch => Shape::Days,
    };
    Mark {
        shape,
        from: p.first_day.unwrap_or(day),
        to: p.last_day.unwrap_or(day),
        what: &p.what,
    }
}

/// The section; nothing for a plan without work.
pub(super) fn timeline(book: &Book) -> Markup {
    let plan = book.plan;
    let marks = || plan.passes.iter().map(mark);
    let scale = marks()
        .map(|m| m.from)
        .min()
        .zip(marks().map(|m| m.to).max());
    html! {
        @if let Some((first, last)) = scale {
            @let scale = Scale { first, last };
            @let marks = by_group(book);
            @let high = TOP + ROW * plan.groups.len() as f64;
            section aria-labelledby="timeline" {
                h2 id="timeline" { "Timeline" }
                section class="scroll" aria-label="Timeline of the groups" tabindex="0" {
                    svg class="chart" viewBox={ "0 0 " (WIDE) " " (high) } role="img"
                        aria-label="Each group's work on a scale of days; all of it stands in the work day by day" {
                        (days(&scale, high))
                        @for (n, g) in plan.groups.iter().enumerate() {
                            (group(g, marks.get(g.id.as_str()), TOP + ROW * n as f64, &scale))
                        }
                    }
                }
                p class="small soft" {
                    "Ring: through the chute. Long box: feeding or heat watch. Full square: breeding. "
                    "From " (date(first)) " to " (date(last)) "."
                }
            }
        }
    }
}

/// Mondays as ticks, months as lines with their names.
fn days(scale: &Scale, high: f64) -> Markup {
    let all = scale.first.iter_days().take_while(|d| *d <= scale.last);
    let shown = |d: &NaiveDate| d.day() == 1 || d.weekday() == chrono::Weekday::Mon;
    let wide = (scale.last - scale.first) > TimeDelta::days(500);
    html! {
        @for d in all.filter(shown) {
            @let x = scale.x(d);
            @if d.day() == 1 {
                line class="faint" x1=(x) y1="4" x2=(x) y2=(high) {}
                @if !wide || d.month() % 3 == 1 {
                    text x=(x + 4.0) y="14" { (d.format("%b %Y")) }
                }
            } @else if !wide {
                line class="faint" x1=(x) y1=(TOP - 8.0) x2=(x) y2=(TOP - 2.0) {}
            }
        }
    }
}

/// Each group's marks: pens of one step on one day are one.
fn by_group<'a>(book: &Book<'a>) -> BTreeMap<&'a str, BTreeSet<Mark<'a>>> {
    let mut all: BTreeMap<&str, BTreeSet<Mark>> = BTreeMap::new();
    for p in &book.plan.passes {
        all.entry(&p.group).or_default().insert(mark(p));
    }
    all
}

fn group(g: &Group, marks: Option<&BTreeSet<Mark>>, top: f64, scale: &Scale) -> Markup {
    let Some(marks) = marks else {
        return html! {};
    };
    let ends = marks
        .iter()
        .map(|m| m.from)
        .min()
        .zip(marks.iter().map(|m| m.to).max());
    let mut written: Vec<(f64, f64)> = Vec::new();
    let y = top + 26.0;
    html! {
        @if let Some((from, to)) = ends {
            // The name begins where the group does, or as far left as it must to be whole.
            @let long = g.name.chars().count() as f64 * 7.2;
            text class="name" x=(tenth(scale.x(from).min(WIDE - long).max(2.0))) y=(top + 13.0) { (g.name) }
            line x1=(scale.x(from)) y1=(y) x2=(scale.x(to)) y2=(y) {}
            @for m in marks {
                (shape(m, y, scale))
                @let middle = scale.x(m.from);
                @let words = m.from.format("%-d %b").to_string();
                @let half = words.chars().count() as f64 * 3.4 + 3.0;
                @let middle = tenth(middle.clamp(half, WIDE - half));
                @if written.iter().all(|(a, b)| middle + half < *a || middle - half > *b) {
                    text class="middle" x=(middle) y=(top + 47.0) { (words) }
                    ({ written.push((middle - half, middle + half)); html! {} })
                }
            }
        }
    }
}

fn shape(m: &Mark, y: f64, scale: &Scale) -> Markup {
    let (a, b) = (scale.x(m.from), scale.x(m.to));
    let when = if m.from == m.to {
        short_date(m.from)
    } else {
        format!("{} to {}", short_date(m.from), short_date(m.to))
    };
    let words = format!("{when}: {}", m.what);
    html! {
        @match m.shape {
            Shape::Bred => rect class="full" x=(tenth(a - 5.0)) y=(y - 7.0) width=(tenth(b - a + 10.0)) height="14" { title { (words) } },
            Shape::Chute => circle class="open" cx=(a) cy=(y) r="5.5" { title { (words) } },
            Shape::Days => rect class="open" x=(a) y=(y - 4.0) width=(tenth((b - a).max(4.0))) height="8" { title { (words) } },
        }
    }
}
