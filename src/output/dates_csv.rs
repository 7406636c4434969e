//! Dates of protocols as tables for spreadsheets.

use chrono::NaiveDate;
use serde::Serialize;

use super::table;
use crate::base::error::Finding;
use crate::base::time::Zone;
use crate::trade::protocol::Protocol;
use crate::trade::protocol::backwards::Backwards;
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
    note: &'a str,
}

/// A row for each step of a protocol on the calendar. Work that lasts some days has its last date, too.
/// Cells that a spreadsheet would run as formulas begin with an apostrophe.
#[must_use]
pub fn dated(protocol: &Protocol, dates: &Timetable) -> String {
    let read = |at| table::read_in(dates.zone, at);
    let rows: Vec<StepRow<'_>> = protocol
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
        .collect();
    table::of(&rows)
}

/// A row for each protocol that has a start (`start`), the earliest first, and for each that has none
/// (`left-out`), with the reason.
#[must_use]
pub fn starts(
    zone: Zone,
    starts: &[(&Protocol, Backwards)],
    left_out: &[(&Protocol, Finding)],
) -> String {
    let mut rows: Vec<StartRow<'_>> = Vec::new();
    for (protocol, back) in starts {
        let start = table::read_in(zone, back.timetable.began.at);
        let step = &protocol.steps[back.step];
        let at = table::read_in(zone, back.timetable.steps[back.step].at);
        rows.push(StartRow {
            row: "start",
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
            note: "",
        });
    }
    let notes: Vec<String> = left_out
        .iter()
        .map(|(_, f)| match &f.expected {
            Some(expected) => format!("asks {expected}"),
            None => f.what.clone(),
        })
        .collect();
    rows.extend(left_out.iter().zip(&notes).map(|((p, _), note)| StartRow {
        row: "left-out",
        protocol: p.id.as_str(),
        name: &p.name,
        note,
        ..StartRow::default()
    }));
    table::of(&rows)
}
