//! The plan as tables for spreadsheets.

use std::collections::BTreeMap;

use chrono::{NaiveDate, TimeDelta};
use serde::Serialize;

use super::answer::{Answer, Tables};
use super::document::Document;
use super::table::{Table, clock, day_and_clock, fields, kinds, nested};
use super::text;
use super::times::{span, up_to_minute};
use crate::planning::plan::{
    AtSession, BullStraws, DuePen, Hours, Moment, Pass, Plan, Session, Uncovered, Work,
};

/// A plan as it is printed.
#[derive(Serialize)]
#[serde(transparent)]
pub struct Printed<'a> {
    /// The plan.
    pub plan: &'a Plan,
    /// Whether its text is not shortened.
    #[serde(skip)]
    pub full: bool,
}

impl Answer for Printed<'_> {
    fn document(&self) -> Document {
        text::document(self.plan, self.full)
    }

    /// By time: each pen's passes through the chute, feedings and heat watches; the sessions; what each
    /// technician breeds of a pen in them; their straws by bull; what cannot be bred; what follows AI.
    /// Days of work that lasts some days have no clock time.
    fn tables(&self) -> Tables<Self> {
        kinds![
            passes, sessions, breeding, straws, not_bred as "not-bred", follow_up as "follow-up"
        ]
    }
}

/// When work is done: over days, or from one moment to another.
#[derive(Clone, Copy)]
struct When {
    first: NaiveDate,
    last: Option<NaiveDate>,
    times: Option<(Moment, Moment)>,
}

impl When {
    const fn days(first: NaiveDate, last: Option<NaiveDate>) -> Self {
        Self {
            first,
            last,
            times: None,
        }
    }

    fn timed(first: Moment, last: Moment) -> Self {
        let (start, end) = span(first, last);
        Self {
            first: start.date_naive(),
            last: Some(end.date_naive()),
            times: Some((start, end)),
        }
    }

    fn of_pass(p: &Pass) -> Self {
        match p.first_day {
            Some(first) => Self::days(first, p.last_day),
            None => Self::timed(p.start, p.end),
        }
    }

    fn of_session(s: &Session) -> Self {
        Self::timed(s.first_cow.unwrap_or(s.open), s.last_cow.unwrap_or(s.close))
    }
}

/// A table of rows by time.
fn by_time<R: Copy>(rows: impl Iterator<Item = R>, when: impl Fn(R) -> When) -> Table<R> {
    let mut rows: Vec<R> = rows.collect();
    rows.sort_by_cached_key(|row| {
        let when = when(*row);
        (when.first, when.times.map(|t| t.0))
    });
    Table::of(rows)
}

fn date<R: Copy>(t: &mut Table<R>, when: impl Fn(R) -> When) {
    t.day(["date", "weekday"], |r| Some(when(r).first));
}

fn times<R: Copy>(t: &mut Table<R>, when: impl Fn(R) -> When) {
    date(t, &when);
    t.column("start", |r| when(r).times.map(|t| clock(t.0)));
    t.column("end_date", |r| when(r).last);
    t.column("end", |r| when(r).times.map(|t| clock(t.1)));
    t.offset("utc_offset_minutes", |r| Some(when(r).times?.0));
}

fn site<'a, R: Copy>(t: &mut Table<R>, plan: &'a Plan, of: impl Fn(R) -> Option<&'a str>) {
    t.column("site", &of);
    t.column("site_name", |r| of(r).map(|id| plan.site_name(id)));
}

fn hours<'a, R: Copy>(t: &mut Table<R>, of: impl Fn(R) -> Option<&'a Hours>) {
    fields!(t, |r| some of(r)? => window);
    let from = |h: &Hours| day_and_clock(up_to_minute(h.earliest));
    t.column("not_before", |r| of(r).map(from));
    t.column("not_after", |r| of(r).map(|h| day_and_clock(h.latest)));
}

fn passes(printed: &Printed<'_>) -> String {
    let plan = printed.plan;
    let chute = plan.passes.iter().filter(|p| p.work != Work::Breeding);
    let mut t = by_time(chute, When::of_pass);
    fields!(t, |p| p => work, pass = id);
    times(&mut t, When::of_pass);
    site(&mut t, plan, |p| Some(&p.site));
    fields!(t, |p| p => group, pen, head, what);
    hours(&mut t, |p| p.hours.as_ref());
    t.column("note", |p| {
        let heats = plan.heats(p).map(crate::planning::plan::GroupHeat::words);
        let said = [p.note.clone(), p.clock.clone(), heats];
        said.into_iter().flatten().collect::<Vec<_>>()
    });
    t.csv()
}

fn sessions(printed: &Printed<'_>) -> String {
    let plan = printed.plan;
    let mut t = by_time(plan.sessions.iter(), When::of_session);
    t.column("session", |s| &s.id);
    times(&mut t, When::of_session);
    site(&mut t, plan, |s| Some(&s.site));
    t.column("head", |s| s.head);
    t.column("technicians", |s| {
        let ids = s.technicians.iter().map(|t| &t.id);
        ids.collect::<Vec<_>>()
    });
    t.column("technician_names", |s| {
        let names = s.technicians.iter().map(|t| plan.technician_name(&t.id));
        names.collect::<Vec<_>>()
    });
    t.column("straws", |s| s.straws.iter().map(|b| b.straws).sum::<u32>());
    fields!(t, |s| s => margin_head, margin_minutes, note = binding_words);
    t.csv()
}

/// What a technician breeds of a pen in a session.
struct Bred<'a> {
    session: &'a Session,
    pen: &'a DuePen,
    technician: &'a AtSession,
    head: u32,
    first: Moment,
    last: Moment,
}

fn bred(s: &Session) -> Vec<Bred<'_>> {
    let mut of: BTreeMap<(&str, &str), (u32, Moment, Moment)> = BTreeMap::new();
    for slot in &s.slots {
        let at = |minutes: &f64| slot.start + TimeDelta::seconds((minutes * 60.0).round() as i64);
        for bred in slot.bred_minutes.iter().map(at) {
            let key = (slot.pass.as_str(), slot.technician.as_str());
            let (head, first, last) = of.entry(key).or_insert((0, bred, bred));
            *head += 1;
            (*first, *last) = (bred.min(*first), bred.max(*last));
        }
    }
    let pairs = nested(&s.pens, |_| &s.technicians);
    let bred = pairs.filter_map(|(pen, technician)| {
        let (head, first, last) = *of.get(&(pen.pass.as_str(), technician.id.as_str()))?;
        Some(Bred {
            session: s,
            pen,
            technician,
            head,
            first,
            last,
        })
    });
    bred.collect()
}

fn breeding(printed: &Printed<'_>) -> String {
    let plan = printed.plan;
    let all: Vec<Bred<'_>> = plan.sessions.iter().flat_map(bred).collect();
    let when = |b: &Bred<'_>| When::timed(b.first, b.last);
    let mut t = by_time(all.iter(), when);
    fields!(t, |b| b => session = session.id, pass = pen.pass);
    times(&mut t, when);
    site(&mut t, plan, |b| Some(&b.session.site));
    fields!(t, |b| b => group = pen.group, pen = pen.pen, head, what = pen.what);
    hours(&mut t, |b| Some(&b.pen.hours));
    t.column("technician", |b| &b.technician.id);
    t.column("technician_name", |b| {
        plan.technician_name(&b.technician.id)
    });
    t.column("straws_at_once", |b| b.technician.straws_at_once);
    t.column("note", |b| b.pen.seen_words());
    t.csv()
}

fn straws(printed: &Printed<'_>) -> String {
    type InSession<'a> = (&'a Session, &'a str, Option<&'a BullStraws>, u32);
    let rows = printed.plan.sessions.iter().flat_map(|s| {
        let taken = s.straws.iter().map(move |b| {
            let spare = s.spare_for(b).map_or(0, |b| b.straws);
            (s, b.bull.as_str(), Some(b), spare)
        });
        // Straws to spare of a bull of whom no cow is due here.
        let of_others = s.spare_straws.iter();
        let of_others = of_others.filter(|b| s.straws.iter().all(|x| x.bull != b.bull));
        taken.chain(of_others.map(move |b| (s, b.bull.as_str(), None, b.straws)))
    });
    let day = |(s, ..): InSession<'_>| {
        let first = When::of_session(s).first;
        When::days(first, Some(first))
    };
    let mut t = by_time(rows, day);
    t.column("session", |(s, ..)| &s.id);
    date(&mut t, day);
    site(&mut t, printed.plan, |(s, ..)| Some(&s.site));
    t.column("bull", |(_, bull, ..)| bull);
    t.column("straws", |(_, _, taken, _)| taken.map_or(0, |b| b.straws));
    t.column("sexed_straws", |(_, _, taken, _)| taken?.sexed_straws);
    t.column("spare_straws", |(.., spare)| spare);
    t.csv()
}

fn not_bred(printed: &Printed<'_>) -> String {
    let plan = printed.plan;
    let pass = |u: &Uncovered| plan.passes.iter().find(|p| p.id == u.pass);
    let when = |u: &Uncovered| {
        let last = u.hours.latest.max(u.hours.earliest);
        When::timed(u.hours.earliest, last)
    };
    let mut t = by_time(plan.uncovered.iter(), when);
    fields!(t, |u| u => session, pass);
    times(&mut t, when);
    site(&mut t, plan, |u| pass(u).map(|p| p.site.as_str()));
    fields!(t, |u| u => group, pen, head);
    t.column("what", |u| pass(u).map(|p| &p.what));
    hours(&mut t, |u| Some(&u.hours));
    t.column("note", |u| u.why.join(" "));
    t.csv()
}

fn follow_up(printed: &Printed<'_>) -> String {
    let plan = printed.plan;
    let events = nested(&plan.follow_up, |f| &f.events);
    let mut t = by_time(events, |(_, e)| When::days(e.first_day, e.last_day));
    fields!(t, |(_, e)| e => work = kind, event = id);
    t.day(["date", "weekday"], |(_, e)| Some(e.first_day));
    t.column("end_date", |(_, e)| e.last_day);
    site(&mut t, plan, |(f, _)| {
        plan.group(&f.group).map(|g| g.site.as_str())
    });
    t.column("group", |(f, _)| &f.group);
    fields!(t, |(_, e)| e => head, what);
    t.column("note", |(_, e)| e.words.join(" "));
    t.csv()
}
