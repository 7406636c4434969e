//! The answer as tables for spreadsheets.

use super::super::answer::Kind;
use super::super::table::{Table, day_and_clock};
use super::super::times::up_to_minute;
use crate::planning::plan::Moment;
use crate::service::staffing::{Remedies, SessionFigures, Staffing};

/// The sessions, the pens due in them and the technicians at work there; what a limit costs; the largest
/// group that one technician, two, three cover; changes that cover or only lessen what is left; each kind
/// of change that was tried.
pub(super) fn tables() -> Vec<Kind<Staffing>> {
    vec![
        Kind::new("sessions", sessions),
        Kind::new("pens", pens),
        Kind::new("technicians", technicians),
        Kind::new("limits", limits),
        Kind::new("largest", largest),
        Kind::new("remedies", remedies),
        Kind::new("tried", tried),
    ]
}

fn session<'a, R: Copy>(t: &mut Table<R>, of: impl Fn(R) -> &'a SessionFigures) {
    t.column("session", |r| &of(r).id);
    t.column("site", |r| &of(r).site);
    t.column("site_name", |r| &of(r).site_name);
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
    t.column("margin_head", |s| s.margin_head);
    t.column("margin_minutes", |s| s.margin_minutes);
    t.column("binding", |s| &s.binding);
    t.column("what", |s| &s.binding_words);
    t.csv()
}

fn pens(answer: &Staffing) -> String {
    let sessions = answer.sessions.iter();
    let mut t = Table::of(sessions.flat_map(|s| s.pens.iter().map(move |p| (s, p))));
    session(&mut t, |(s, _)| s);
    t.column("group", |(_, p)| &p.group);
    t.column("pen", |(_, p)| p.pen);
    cows(&mut t, |(_, p)| {
        Some((p.first_cow.as_ref()?.bred, p.last_cow.as_ref()?.bred))
    });
    hours(&mut t, |(_, p)| (p.earliest, p.latest));
    heads(&mut t, |(_, p)| (p.due_head, p.bred_head));
    t.column("what", |(_, p)| &p.what);
    t.csv()
}

fn technicians(answer: &Staffing) -> String {
    let sessions = answer.sessions.iter();
    let at_work = sessions.flat_map(|s| s.technicians.iter().map(move |t| (s, t)));
    let mut t = Table::of(at_work);
    session(&mut t, |(s, _)| s);
    t.column("technician", |(_, t)| &t.id);
    t.column("technician_name", |(_, t)| &t.name);
    t.column("straws_at_once", |(_, t)| t.straws_at_once);
    t.column("bred_head", |(_, t)| t.head);
    cows(&mut t, |(_, t)| Some((t.first_cow, t.last_cow)));
    t.csv()
}

fn limits(answer: &Staffing) -> String {
    let sessions = answer.sessions.iter();
    let mut t = Table::of(sessions.flat_map(|s| s.limits.iter().map(move |l| (s, l))));
    session(&mut t, |(s, _)| s);
    t.column("limit", |(_, l)| &l.limit);
    t.column("largest_head", |(_, l)| l.lifted_head);
    t.column("what", |(_, l)| &l.words);
    t.csv()
}

fn largest(answer: &Staffing) -> String {
    let largest = answer.largest.iter();
    let mut t = Table::of(largest.flat_map(|l| l.rows.iter().map(move |r| (l, r))));
    t.column("group", |(l, _)| &l.group);
    t.column("technicians", |(_, r)| r.technicians);
    t.column("with", |(_, r)| &r.with);
    t.column("head_per_hour", |(_, r)| r.head_per_hour);
    t.column("largest_head", |(_, r)| r.mixed_head);
    t.column("largest_kept_head", |(_, r)| r.kept_head);
    t.csv()
}

fn asked_of<'a, R: Copy>(t: &mut Table<R>, of: impl Fn(R) -> &'a Remedies) {
    t.column("session", |r| &of(r).session);
    t.column("groups", |r| &of(r).groups);
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
    t.column("write", |(.., x)| &x.write);
    t.column("effort_points", |(.., x)| x.effort_points);
    t.column("not_bred_head", |(.., x)| x.uncovered_head);
    t.column("elsewhere_not_bred_head", |(.., x)| {
        x.elsewhere_uncovered_head
    });
    t.column("margin_head", |(.., x)| x.margin_head);
    t.column("margin_minutes", |(.., x)| x.margin_minutes);
    t.column("binding", |(.., x)| &x.binding);
    cows(&mut t, |(.., x)| x.first_cow.zip(x.last_cow));
    t.csv()
}

fn tried(answer: &Staffing) -> String {
    let remedies = answer.remedies.iter();
    let mut t = Table::of(remedies.flat_map(|r| r.tried.iter().map(move |x| (r, x))));
    asked_of(&mut t, |(r, _)| r);
    t.column("kind", |(_, x)| &x.kind);
    t.column("fewest_not_bred_head", |(_, x)| x.fewest_left_head);
    t.column("what", |(_, x)| &x.words);
    t.csv()
}
