//! The answer as tables for spreadsheets.

use super::super::answer::Tables;
use super::super::table::{Table, day_and_clock, fields, kinds, nested};
use super::super::times::up_to_minute;
use crate::planning::plan::Moment;
use crate::service::staffing::{Remedies, SessionFigures, Staffing};

/// The sessions, the pens due in them and the technicians at work there; what a limit costs; the largest
/// group that one technician, two, three cover; changes that cover or only lessen what is left; each kind
/// of change that was tried.
pub(super) fn tables() -> Tables<Staffing> {
    kinds![
        sessions,
        pens,
        technicians,
        limits,
        largest,
        remedies,
        tried
    ]
}

fn session<'a, R: Copy>(t: &mut Table<R>, of: impl Fn(R) -> &'a SessionFigures) {
    fields!(t, |r| of(r) => session = id, site, site_name);
}

/// Day and clock times of the first and the last cow.
fn cows<R: Copy>(t: &mut Table<R>, of: impl Fn(R) -> Option<(Moment, Moment)>) {
    t.span(["first_cow", "last_cow_date", "last_cow"], of);
}

fn hours<R: Copy>(t: &mut Table<R>, of: impl Fn(R) -> (Moment, Moment)) {
    t.column("not_before", |r| day_and_clock(up_to_minute(of(r).0)));
    t.column("not_after", |r| day_and_clock(of(r).1));
}

fn heads<R: Copy>(t: &mut Table<R>, of: impl Fn(R) -> (u32, u32)) {
    t.column("due_head", |r| of(r).0);
    t.column("bred_head", |r| of(r).1);
    t.column("not_bred_head", |r| of(r).0.saturating_sub(of(r).1));
}

fn sessions(answer: &Staffing) -> String {
    let mut t = Table::of(&answer.sessions);
    session(&mut t, |s| s);
    t.column("groups", |s| &s.groups);
    cows(&mut t, |s| s.first_cow.zip(s.last_cow));
    hours(&mut t, |s| (s.open, s.close));
    heads(&mut t, |s| (s.due_head, s.bred_head));
    fields!(t, |s| s => margin_head, margin_minutes, binding, what = binding_words);
    t.csv()
}

fn pens(answer: &Staffing) -> String {
    let mut t = Table::of(nested(&answer.sessions, |s| &s.pens));
    session(&mut t, |(s, _)| s);
    fields!(t, |(_, p)| p => group, pen);
    cows(&mut t, |(_, p)| {
        Some((p.first_cow.as_ref()?.bred, p.last_cow.as_ref()?.bred))
    });
    hours(&mut t, |(_, p)| (p.earliest, p.latest));
    heads(&mut t, |(_, p)| (p.due_head, p.bred_head));
    t.column("what", |(_, p)| &p.what);
    t.csv()
}

fn technicians(answer: &Staffing) -> String {
    let mut t = Table::of(nested(&answer.sessions, |s| &s.technicians));
    session(&mut t, |(s, _)| s);
    fields!(t, |(_, t)| t =>
        technician = id, technician_name = name, straws_at_once, bred_head = head);
    cows(&mut t, |(_, t)| Some((t.first_cow, t.last_cow)));
    t.csv()
}

fn limits(answer: &Staffing) -> String {
    let mut t = Table::of(nested(&answer.sessions, |s| &s.limits));
    session(&mut t, |(s, _)| s);
    fields!(t, |(_, l)| l => limit, largest_head = lifted_head, what = words);
    t.csv()
}

fn largest(answer: &Staffing) -> String {
    let mut t = Table::of(nested(&answer.largest, |l| &l.rows));
    t.column("group", |(l, _)| &l.group);
    fields!(t, |(_, r)| r =>
        technicians, with, head_per_hour, largest_head = mixed_head, largest_kept_head = kept_head);
    t.csv()
}

fn asked_of<'a, R: Copy>(t: &mut Table<R>, of: impl Fn(R) -> &'a Remedies) {
    fields!(t, |r| of(r) => session, groups);
}

fn remedies(answer: &Staffing) -> String {
    let remedies = answer.remedies.iter().flat_map(|r| {
        let covering = r.covering.iter().map(move |x| (r, "covers", x));
        covering.chain(r.lessening.iter().map(move |x| (r, "lessens", x)))
    });
    let mut t = Table::of(remedies);
    asked_of(&mut t, |(r, ..)| r);
    t.column("outcome", |(_, outcome, _)| outcome);
    t.column("kind", |(.., x)| &x.kinds);
    t.column("what", |(.., x)| x.asks.join(" "));
    fields!(t, |(.., x)| x =>
        write, effort_points, not_bred_head = uncovered_head,
        elsewhere_not_bred_head = elsewhere_uncovered_head, margin_head, margin_minutes, binding);
    cows(&mut t, |(.., x)| x.first_cow.zip(x.last_cow));
    t.csv()
}

fn tried(answer: &Staffing) -> String {
    let mut t = Table::of(nested(&answer.remedies, |r| &r.tried));
    asked_of(&mut t, |(r, _)| r);
    fields!(t, |(_, x)| x => kind, fewest_not_bred_head = fewest_left_head, what = words);
    t.csv()
}
