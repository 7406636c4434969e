//! Every group on one scale of days: what is done when, drawn as lines and shapes.
//!
//! Shapes differ without colour, and each has its words; all dates stand in the text too.

use std::collections::{BTreeMap, BTreeSet};

use chrono::{Datelike, NaiveDate, TimeDelta};

use super::book::Book;
use super::drawing::{WIDE, across, chart};
use crate::base::time::human_date;
use crate::base::units::tenths;
use crate::output::document::{Block, Look, Mark, Role, Shape};
use crate::output::times::short_date;
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
enum Form {
    /// Breeding first: its date is written even where others have no room.
    Bred,
    Chute,
    Days,
}

/// A step's days, and its words.
#[derive(PartialEq, Eq, PartialOrd, Ord)]
struct Step<'a> {
    form: Form,
    from: NaiveDate,
    to: NaiveDate,
    what: &'a str,
}

fn step(p: &Pass) -> Step<'_> {
    let day = p.start.date_naive();
    let form = match p.work {
        Work::Breeding => Form::Bred,
        Work::Chute => Form::Chute,
        Work::Feeding | Work::HeatWatch => Form::Days,
    };
    Step {
        form,
        from: p.first_day.unwrap_or(day),
        to: p.last_day.unwrap_or(day),
        what: &p.what,
    }
}

/// The section; nothing for a plan without work.
pub(super) fn timeline(book: &Book) -> Option<Block> {
    let plan = book.plan;
    let steps = || plan.passes.iter().map(step);
    let first = steps().map(|s| s.from).min()?;
    let last = steps().map(|s| s.to).max()?;
    let scale = Scale { first, last };
    let steps = by_group(book);
    let high = TOP + ROW * plan.groups.len() as f64;
    let mut marks = days(&scale, high);
    for (n, g) in plan.groups.iter().enumerate() {
        if let Some(steps) = steps.get(g.id.as_str()) {
            marks.extend(group(g, steps, TOP + ROW * n as f64, &scale));
        }
    }
    let drawn = chart(
        "Timeline of the groups",
        "Each group's work on a scale of days; all of it stands in the work day by day",
        high,
        marks,
    );
    let [first, last] = [first, last].map(human_date);
    let words = format!(
        "Ring: through the chute. Long box: feeding or heat watch. Full square: breeding. \
         From {first} to {last}."
    );
    let words = Block::of_role(Role::SmallSoft, words);
    Some(Block::part("timeline", "Timeline", vec![drawn, words]))
}

/// Mondays as ticks, months as lines with their names.
fn days(scale: &Scale, high: f64) -> Vec<Mark> {
    let all = scale.first.iter_days().take_while(|d| *d <= scale.last);
    let shown = |d: &NaiveDate| d.day() == 1 || d.weekday() == chrono::Weekday::Mon;
    let wide = (scale.last - scale.first) > TimeDelta::days(500);
    let faint = |x: f64, from: f64, to: f64| Mark::new(Look::Faint, Shape::Line([x, from, x, to]));
    let mut marks = Vec::new();
    for d in all.filter(shown) {
        let x = scale.x(d);
        if d.day() == 1 {
            marks.push(faint(x, 4.0, high));
            if !wide || d.month() % 3 == 1 {
                let words = d.format("%b %Y").to_string();
                marks.push(Mark::words(Look::Plain, [x + 4.0, 14.0], words));
            }
        } else if !wide {
            marks.push(faint(x, TOP - 8.0, TOP - 2.0));
        }
    }
    marks
}

/// Each group's steps: pens of one step on one day are one.
fn by_group<'a>(book: &Book<'a>) -> BTreeMap<&'a str, BTreeSet<Step<'a>>> {
    let mut all: BTreeMap<&str, BTreeSet<Step>> = BTreeMap::new();
    for p in &book.plan.passes {
        all.entry(&p.group).or_default().insert(step(p));
    }
    all
}

fn group(g: &Group, steps: &BTreeSet<Step>, top: f64, scale: &Scale) -> Vec<Mark> {
    let from = steps.iter().map(|s| s.from).min();
    let ends = from.zip(steps.iter().map(|s| s.to).max());
    let Some((from, to)) = ends.map(|(from, to)| (scale.x(from), scale.x(to))) else {
        return Vec::new();
    };
    let mut written: Vec<(f64, f64)> = Vec::new();
    let y = top + 26.0;
    // The name begins where the group does, or as far left as it must to be whole.
    let long = g.name.chars().count() as f64 * 7.2;
    let at = [tenths(from.min(WIDE - long).max(2.0)), top + 13.0];
    let mut marks = vec![
        Mark::words(Look::Name, at, &g.name),
        Mark::new(Look::Plain, Shape::Line([from, y, to, y])),
    ];
    for s in steps {
        marks.push(mark(s, y, scale));
        let words = s.from.format("%-d %b").to_string();
        let half = words.chars().count() as f64 * 3.4 + 3.0;
        let middle = tenths(scale.x(s.from).clamp(half, WIDE - half));
        let (begins, ends) = (middle - half, middle + half);
        if written.iter().all(|(a, b)| ends < *a || begins > *b) {
            marks.push(Mark::words(Look::Middle, [middle, top + 47.0], words));
            written.push((begins, ends));
        }
    }
    marks
}

fn mark(s: &Step, y: f64, scale: &Scale) -> Mark {
    let (a, b) = (scale.x(s.from), scale.x(s.to));
    let when = if s.from == s.to {
        short_date(s.from)
    } else {
        format!("{} to {}", short_date(s.from), short_date(s.to))
    };
    let words = format!("{when}: {}", s.what);
    let (look, shape) = match s.form {
        Form::Bred => {
            let (left, wide) = (tenths(a - 5.0), tenths(b - a + 10.0));
            (Look::Full, Shape::Box([left, y - 7.0, wide, 14.0]))
        }
        Form::Chute => (Look::Open, Shape::Ring([a, y, 5.5])),
        Form::Days => {
            let wide = tenths((b - a).max(4.0));
            (Look::Open, Shape::Box([a, y - 4.0, wide, 8.0]))
        }
    };
    Mark::titled(look, shape, words)
}
