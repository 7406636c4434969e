//! The plan as tables for spreadsheets.

use crate::output::document::Document;
use std::collections::BTreeMap;

use chrono::{NaiveDate, TimeDelta};
use serde::Serialize;

use super::answer::{Answer, Kind};
use super::{json, table, text, up_to_minute};
use crate::planning::plan::{Moment, Pass, Plan, Session, Work};

/// By time: each pen's passes through the chute, feedings and heat watches; the sessions; what each
/// technician breeds of a pen in them; their straws by bull; what cannot be bred; what follows AI. Days
/// of work that lasts some days have no clock time.
const TABLES: &[Kind] = &[
    Kind {
        name: "passes",
        columns: &["work pass=id", WHEN, PEN, "note"],
    },
    Kind {
        name: "sessions",
        columns: &[
            "session",
            WHEN,
            "head technicians=technician technician_names=technician_name straws margin_head",
            "margin_minutes note",
        ],
    },
    Kind {
        name: "breeding",
        columns: &[
            "session pass=id",
            WHEN,
            PEN,
            "technician technician_name straws_at_once note",
        ],
    },
    Kind {
        name: "straws",
        columns: &["session date weekday site site_name bull straws sexed_straws spare_straws"],
    },
    Kind {
        name: "not-bred",
        columns: &["session pass=id", WHEN, PEN, "note"],
    },
    Kind {
        name: "follow-up",
        columns: &["work event=id date weekday end_date site site_name group head what note"],
    },
];

const WHEN: &str = "date weekday start end_date end utc_offset_minutes site site_name";
const PEN: &str = "group pen head what window not_before not_after";

/// A plan as it is printed.
pub struct Printed<'a> {
    /// The plan.
    pub plan: &'a Plan,
    /// Whether its text is not shortened.
    pub full: bool,
}

impl Answer for Printed<'_> {
    fn document(&self) -> Document {
        text::document(self.plan, self.full)
    }

    fn json(&self) -> String {
        json::plan(self.plan)
    }

    fn tables(&self) -> &'static [Kind] {
        TABLES
    }

    fn table(&self, kind: &Kind) -> String {
        kind.of(&rows(self.plan))
    }
}

/// One piece of dated work.
#[derive(Clone, Default, Serialize)]
struct Row {
    row: &'static str,
    work: String,
    date: Option<NaiveDate>,
    weekday: String,
    start: String,
    end_date: Option<NaiveDate>,
    end: String,
    utc_offset_minutes: Option<i32>,
    id: String,
    session: String,
    site: String,
    site_name: String,
    group: String,
    pen: Option<u32>,
    head: Option<u32>,
    what: String,
    window: String,
    not_before: String,
    not_after: String,
    technician: String,
    technician_name: String,
    straws_at_once: Option<u32>,
    bull: String,
    straws: Option<u32>,
    sexed_straws: Option<u32>,
    spare_straws: Option<u32>,
    margin_head: Option<u32>,
    margin_minutes: Option<i64>,
    note: String,
    #[serde(skip)]
    order: Option<Moment>,
}

fn rows(plan: &Plan) -> Vec<Row> {
    let mut rows: Vec<Row> = Vec::new();
    let chute = plan.passes.iter().filter(|p| p.work != Work::Breeding);
    rows.extend(chute.map(|p| pass(plan, p)));
    for s in &plan.sessions {
        session(plan, s, &mut rows);
    }
    for u in &plan.uncovered {
        let mut row = timed(
            "not-bred",
            u.hours.earliest,
            u.hours.latest.max(u.hours.earliest),
        );
        u.pass.clone_into(&mut row.id);
        u.session.clone_into(&mut row.session);
        u.group.clone_into(&mut row.group);
        row.pen = u.pen;
        row.head = Some(u.head);
        row.note = u.why.join(" ");
        if let Some(p) = plan.passes.iter().find(|p| p.id == u.pass) {
            p.what.clone_into(&mut row.what);
            at_site(plan, &p.site, &mut row);
        }
        hours(&u.hours, &mut row);
        rows.push(row);
    }
    for f in &plan.follow_up {
        for e in &f.events {
            let mut row = days("follow-up", e.first_day, e.last_day);
            e.kind.as_str().clone_into(&mut row.work);
            e.id.clone_into(&mut row.id);
            f.group.clone_into(&mut row.group);
            if let Some(g) = plan.group(&f.group) {
                at_site(plan, &g.site, &mut row);
            }
            row.head = Some(e.head);
            e.what.clone_into(&mut row.what);
            row.note = e.words.join(" ");
            rows.push(row);
        }
    }
    rows.sort_by_key(|r| (r.date, r.order));
    rows
}

fn days(kind: &'static str, first: NaiveDate, last: Option<NaiveDate>) -> Row {
    Row {
        row: kind,
        date: Some(first),
        weekday: table::weekday(first),
        end_date: last,
        ..Row::default()
    }
}

fn timed(kind: &'static str, first: Moment, last: Moment) -> Row {
    let (start, end) = table::span(first, last);
    let day = start.date_naive();
    Row {
        start: table::clock(start),
        end: table::clock(end),
        utc_offset_minutes: table::offset(start),
        order: Some(start),
        ..days(kind, day, Some(end.date_naive()))
    }
}

fn at_site(plan: &Plan, site: &str, row: &mut Row) {
    site.clone_into(&mut row.site);
    plan.site_name(site).clone_into(&mut row.site_name);
}

fn hours(h: &crate::planning::plan::Hours, row: &mut Row) {
    h.window.clone_into(&mut row.window);
    row.not_before = table::day_and_clock(up_to_minute(h.earliest));
    row.not_after = table::day_and_clock(h.latest);
}

fn pass(plan: &Plan, p: &Pass) -> Row {
    let mut row = match p.first_day {
        Some(first) => days("passes", first, p.last_day),
        None => timed("passes", p.start, p.end),
    };
    row.work = table::word(&p.work);
    p.id.clone_into(&mut row.id);
    at_site(plan, &p.site, &mut row);
    p.group.clone_into(&mut row.group);
    row.pen = p.pen;
    row.head = Some(p.head);
    p.what.clone_into(&mut row.what);
    if let Some(h) = &p.hours {
        hours(h, &mut row);
    }
    let said = [
        p.note.clone(),
        p.clock.clone(),
        plan.heats(p).map(crate::planning::plan::GroupHeat::words),
    ];
    row.note = said.into_iter().flatten().collect::<Vec<_>>().join("; ");
    row
}

fn session(plan: &Plan, s: &Session, rows: &mut Vec<Row>) {
    let (first, last) = (s.first_cow.unwrap_or(s.open), s.last_cow.unwrap_or(s.close));
    let mut row = timed("sessions", first, last);
    s.id.clone_into(&mut row.session);
    at_site(plan, &s.site, &mut row);
    row.head = Some(s.head);
    let ids: Vec<&str> = s.technicians.iter().map(|t| t.id.as_str()).collect();
    row.technician = table::joined(&ids);
    let names = s.technicians.iter().map(|t| plan.technician_name(&t.id));
    row.technician_name = table::joined(&names.collect::<Vec<_>>());
    row.straws = Some(s.straws.iter().map(|b| b.straws).sum());
    row.margin_head = Some(s.margin_head);
    row.margin_minutes = Some(s.margin_minutes);
    s.binding_words.clone_into(&mut row.note);
    let day = row.date;
    rows.push(row);
    breeding(plan, s, rows);
    for b in &s.straws {
        let mut row = days("straws", day.unwrap_or_default(), day);
        s.id.clone_into(&mut row.session);
        at_site(plan, &s.site, &mut row);
        b.bull.clone_into(&mut row.bull);
        row.straws = Some(b.straws);
        row.sexed_straws = b.sexed_straws;
        row.spare_straws = Some(s.spare_for(b).map_or(0, |b| b.straws));
        rows.push(row);
    }
    // Straws to spare of a bull of whom no cow is due here.
    let of_others = s
        .spare_straws
        .iter()
        .filter(|b| s.straws.iter().all(|x| x.bull != b.bull));
    for b in of_others {
        let mut row = days("straws", day.unwrap_or_default(), day);
        s.id.clone_into(&mut row.session);
        at_site(plan, &s.site, &mut row);
        b.bull.clone_into(&mut row.bull);
        row.straws = Some(0);
        row.spare_straws = Some(b.straws);
        rows.push(row);
    }
}

/// What each technician breeds of each pen.
fn breeding(plan: &Plan, s: &Session, rows: &mut Vec<Row>) {
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
    for pen in &s.pens {
        for t in &s.technicians {
            let Some((head, first, last)) = of.get(&(pen.pass.as_str(), t.id.as_str())) else {
                continue;
            };
            let mut row = timed("breeding", *first, *last);
            pen.pass.clone_into(&mut row.id);
            s.id.clone_into(&mut row.session);
            at_site(plan, &s.site, &mut row);
            pen.group.clone_into(&mut row.group);
            row.pen = pen.pen;
            row.head = Some(*head);
            pen.what.clone_into(&mut row.what);
            hours(&pen.hours, &mut row);
            t.id.clone_into(&mut row.technician);
            plan.technician_name(&t.id)
                .clone_into(&mut row.technician_name);
            row.straws_at_once = Some(t.straws_at_once);
            row.note = pen.seen_words().unwrap_or_default();
            rows.push(row);
        }
    }
}
