//! Dates of protocols as tables for spreadsheets.

use crate::output::document::Document;
use chrono::NaiveDate;
use serde::Serialize;

use super::answer::{Answer, Kind};
use super::{dates, dates_json, table};
use crate::base::error::Finding;
use crate::base::time::Zone;
use crate::trade::protocol::Protocol;
use crate::trade::protocol::backwards::Backwards;
use crate::trade::protocol::target::Target;
use crate::trade::protocol::timetable::Timetable;

#[derive(Default, Serialize)]
struct StepRow<'a> {
    protocol: &'a str,
    name: &'a str,
    step: &'a str,
    actions: String,
    what: String,
    date: Option<NaiveDate>,
    weekday: String,
    time: String,
    utc_offset_minutes: Option<i32>,
    last_date: Option<NaiveDate>,
    last_weekday: String,
    not_before: String,
    not_after: String,
}

#[derive(Default, Serialize)]
struct StartRow<'a> {
    row: &'static str,
    protocol: &'a str,
    name: &'a str,
    start_date: Option<NaiveDate>,
    start_weekday: String,
    start: String,
    start_utc_offset_minutes: Option<i32>,
    step: &'a str,
    step_date: Option<NaiveDate>,
    step_weekday: String,
    step_time: String,
    step_utc_offset_minutes: Option<i32>,
    hours: Option<f64>,
    exact: Option<bool>,
    off_minutes: Option<f64>,
    night_work: Option<bool>,
    from_memory: Option<bool>,
    note: String,
}

/// Protocols that have a start, the earliest first, and those that have none, with the reason.
const STARTS: &[Kind] = &[
    Kind {
        name: "starts",
        columns: &[
            "protocol name start_date start_weekday start start_utc_offset_minutes step step_date",
            "step_weekday step_time step_utc_offset_minutes hours exact off_minutes night_work from_memory",
        ],
    },
    Kind {
        name: "left-out",
        columns: &["protocol name why=note"],
    },
];

/// One protocol on the calendar, as it is printed.
pub struct Dated<'a> {
    /// The protocol.
    pub protocol: &'a Protocol,
    /// Its dates.
    pub dates: &'a Timetable,
    /// What it was dated back from.
    pub back: Option<(&'a Target, &'a Backwards)>,
    /// What is to be said of it.
    pub found: &'a [Finding],
}

impl Answer for Dated<'_> {
    fn document(&self) -> Document {
        dates::document(self.protocol, self.dates, self.back, self.found)
    }

    fn json(&self) -> String {
        dates_json::dated(self.protocol, self.dates, self.back, self.found)
    }

    fn tables(&self) -> &'static [Kind] {
        const { &[Kind::whole("steps")] }
    }

    fn table(&self, kind: &Kind) -> String {
        kind.of(&dated(self.protocol, self.dates))
    }
}

/// Starts of several protocols, as they are printed.
pub struct Starts<'a> {
    /// What they are for.
    pub target: &'a Target,
    /// The zone of local times.
    pub zone: Zone,
    /// Those that have one.
    pub starts: &'a [(&'a Protocol, Backwards)],
    /// Those that have none.
    pub left_out: &'a [(&'a Protocol, Finding)],
    /// What is to be said of them.
    pub found: &'a [Finding],
}

impl Answer for Starts<'_> {
    fn document(&self) -> Document {
        let s = self;
        dates::starts_document(s.target, s.zone, s.starts, s.left_out, s.found)
    }

    fn json(&self) -> String {
        let s = self;
        dates_json::starts(s.target, s.zone, s.starts, s.left_out, s.found)
    }

    fn tables(&self) -> &'static [Kind] {
        STARTS
    }

    fn table(&self, kind: &Kind) -> String {
        kind.of(&starts(self))
    }
}

/// Work that lasts some days has its last date, too.
fn dated<'a>(protocol: &'a Protocol, dates: &Timetable) -> Vec<StepRow<'a>> {
    let read = |at| table::read_in(dates.zone, at);
    protocol
        .steps
        .iter()
        .zip(&dates.steps)
        .map(|(step, d)| {
            let at = read(d.at);
            let day = d.days.map_or(at.date_naive(), |days| days.0);
            let daily = d.days.is_some();
            StepRow {
                protocol: protocol.id.as_str(),
                name: &protocol.name,
                step: step.id.as_str(),
                actions: table::joined(
                    &step.actions.iter().map(|a| a.as_str()).collect::<Vec<_>>(),
                ),
                what: step.words(),
                date: Some(day),
                weekday: table::weekday(day),
                time: if daily {
                    String::new()
                } else {
                    table::clock(at)
                },
                utc_offset_minutes: table::offset(at).filter(|_| !daily),
                last_date: d.days.map(|days| days.1),
                last_weekday: d
                    .days
                    .map_or_else(String::new, |days| table::weekday(days.1)),
                not_before: d
                    .hours
                    .map_or_else(String::new, |h| table::day_and_clock(read(h.earliest))),
                not_after: d
                    .hours
                    .map_or_else(String::new, |h| table::day_and_clock(read(h.latest))),
            }
        })
        .collect()
}

fn starts<'a>(told: &Starts<'a>) -> Vec<StartRow<'a>> {
    let mut rows: Vec<StartRow<'_>> = Vec::new();
    for (protocol, back) in told.starts {
        let start = table::read_in(told.zone, back.timetable.began.at);
        let step = &protocol.steps[back.step];
        let at = table::read_in(told.zone, back.timetable.steps[back.step].at);
        rows.push(StartRow {
            row: "starts",
            protocol: protocol.id.as_str(),
            name: &protocol.name,
            start_date: Some(start.date_naive()),
            start_weekday: table::weekday(start.date_naive()),
            start: table::clock(start),
            start_utc_offset_minutes: table::offset(start),
            step: step.id.as_str(),
            step_date: Some(at.date_naive()),
            step_weekday: table::weekday(at.date_naive()),
            step_time: table::clock(at),
            step_utc_offset_minutes: table::offset(at),
            hours: step
                .is_timed_breeding()
                .then(|| back.after().num_seconds() as f64 / 3600.0),
            exact: Some(back.is_exact()),
            off_minutes: Some(back.off.num_seconds() as f64 / 60.0),
            night_work: Some(!back.timetable.night_work(protocol).is_empty()),
            from_memory: Some(protocol.has_unverified()),
            note: String::new(),
        });
    }
    rows.extend(told.left_out.iter().map(|(p, f)| StartRow {
        row: "left-out",
        protocol: p.id.as_str(),
        name: &p.name,
        note: match &f.expected {
            Some(expected) => format!("asks {expected}"),
            None => f.what.clone(),
        },
        ..StartRow::default()
    }));
    rows
}
