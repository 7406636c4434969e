//! The season by days: what begins on a day, what goes on, and stretches in which only a
//! feeding or a heat watch goes on.

use std::collections::{BTreeMap, BTreeSet};

use chrono::NaiveDate;

use super::book::Book;
use crate::planning::plan::{Moment, Pass, Session, Work};

/// A day with its work, or a stretch of days on which nothing but feeding or watching goes on.
pub(super) struct Day<'a> {
    /// The day, or the first of the stretch.
    pub(super) from: NaiveDate,
    /// The day, or the last of the stretch.
    pub(super) to: NaiveDate,
    /// What begins, by time.
    pub(super) items: Vec<Begun<'a>>,
    /// What goes on from earlier days.
    pub(super) going_on: Vec<Trip<'a>>,
}

impl Day<'_> {
    /// Its anchor.
    pub(super) fn anchor(&self) -> String {
        format!("day-{}", self.from)
    }
}

/// The pens of one group for one step on one day, a pass each: never empty. What all pens have in common
/// is told by the first.
pub(super) type Trip<'a> = Vec<&'a Pass>;

/// Work that begins on a day.
pub(super) enum Begun<'a> {
    /// Through the chute, or the first day of a feeding or watch.
    Trip(Trip<'a>),
    /// Breeding at set hours, with its place in the plan's list.
    Session(usize, &'a Session),
}

impl Begun<'_> {
    fn at(&self) -> Moment {
        match self {
            Self::Trip(t) => t[0].start,
            Self::Session(_, s) => begins(s),
        }
    }
}

/// When a session begins: its first cow, or its hours if no cow can be bred in them.
fn begins(session: &Session) -> Moment {
    session.first_cow.unwrap_or(session.open)
}

/// Days on which a pass goes on, for feeding and watching.
fn span(pass: &Pass) -> Option<(NaiveDate, NaiveDate)> {
    match pass.work {
        Work::Feeding | Work::HeatWatch => pass.first_day.zip(pass.last_day),
        Work::Chute | Work::Breeding => None,
    }
}

/// The season by days, in order.
pub(super) fn agenda<'a>(book: &Book<'a>) -> Vec<Day<'a>> {
    let mut items: BTreeMap<NaiveDate, Vec<Begun<'a>>> = BTreeMap::new();
    let mut going_on: BTreeMap<NaiveDate, Vec<&'a Pass>> = BTreeMap::new();
    let mut begun: BTreeMap<NaiveDate, Vec<&'a Pass>> = BTreeMap::new();
    let pens = book.plan.sessions.iter().flat_map(|s| &s.pens);
    let in_session: BTreeSet<&str> = pens.map(|p| p.pass.as_str()).collect();
    for pass in &book.plan.passes {
        if in_session.contains(pass.id.as_str()) {
            continue;
        }
        let first = pass.first_day.unwrap_or(pass.start.date_naive());
        begun.entry(first).or_default().push(pass);
        if let Some((_, last)) = span(pass) {
            for day in first.iter_days().skip(1).take_while(|d| *d <= last) {
                going_on.entry(day).or_default().push(pass);
            }
        }
    }
    for (day, passes) in begun {
        let begun = trips(&passes).into_iter().map(Begun::Trip);
        items.entry(day).or_default().extend(begun);
    }
    for (n, session) in book.plan.sessions.iter().enumerate() {
        let of_day = items.entry(begins(session).date_naive());
        of_day.or_default().push(Begun::Session(n, session));
    }
    weave(items, going_on)
}

/// Puts pens of one group and step together, in the order of the first.
fn trips<'a>(passes: &[&'a Pass]) -> Vec<Trip<'a>> {
    let mut found: Vec<Trip<'a>> = Vec::new();
    let mut places: BTreeMap<(&str, &str), usize> = BTreeMap::new();
    for pass in passes {
        let place = *places.entry((&pass.group, &pass.step)).or_insert_with(|| {
            found.push(Vec::new());
            found.len() - 1
        });
        found[place].push(pass);
    }
    found
}

/// Days with work of their own stand alone; days that only go on are put together.
fn weave<'a>(
    mut items: BTreeMap<NaiveDate, Vec<Begun<'a>>>,
    mut going_on: BTreeMap<NaiveDate, Vec<&'a Pass>>,
) -> Vec<Day<'a>> {
    let dates: BTreeSet<NaiveDate> = items.keys().chain(going_on.keys()).copied().collect();
    let mut days: Vec<Day<'a>> = Vec::new();
    let mut before: Vec<&str> = Vec::new();
    for date in dates {
        let mut own = items.remove(&date).unwrap_or_default();
        own.sort_by_key(Begun::at);
        let on = going_on.remove(&date).unwrap_or_default();
        let names: Vec<&str> = on.iter().map(|p| p.id.as_str()).collect();
        match days.last_mut() {
            Some(last)
                if own.is_empty()
                    && last.items.is_empty()
                    && last.to.succ_opt() == Some(date)
                    && before == names =>
            {
                last.to = date;
            }
            _ => days.push(Day {
                from: date,
                to: date,
                items: own,
                going_on: trips(&on),
            }),
        }
        before = names;
    }
    days
}
