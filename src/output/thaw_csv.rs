//! Thaw rounds as a table for spreadsheets.

use chrono::NaiveDate;
use serde::Serialize;

use super::table;
use crate::analysis::thaw::{SessionThaw, Thaw};

#[derive(Default, Serialize)]
struct Listed<'a> {
    session: &'a str,
    site_name: &'a str,
    date: Option<NaiveDate>,
    weekday: String,
    first_cow: String,
    last_cow: String,
    utc_offset_minutes: Option<i32>,
    head: u32,
    technicians: String,
}

#[derive(Default, Serialize)]
struct Row<'a> {
    row: &'static str,
    session: &'a str,
    site_name: &'a str,
    date: Option<NaiveDate>,
    weekday: String,
    utc_offset_minutes: Option<i32>,
    technician: &'a str,
    technician_name: &'a str,
    round: Option<u32>,
    straw: Option<usize>,
    straws: u32,
    bull: &'a str,
    straw_ml: Option<f64>,
    tank: &'a str,
    canister: Option<u32>,
    cane: &'a str,
    goblet: &'a str,
    in_bath: String,
    out_of_bath: String,
    first_gun: String,
    bred: String,
    in_cow_by: String,
    group: &'a str,
    pen: Option<u32>,
    animal_number: Option<u32>,
    animal: &'a str,
    note: String,
}

/// With a session: a row for each straw (`straw`), in the order of the rounds, and for straws set aside
/// for cows that never come (`waste`). Without: a row for each session. Cells that a spreadsheet would
/// run as formulas begin with an apostrophe.
#[must_use]
pub fn csv(thaw: &Thaw) -> String {
    if let Some(s) = &thaw.session {
        return straws(s);
    }
    let rows: Vec<Listed<'_>> = thaw
        .sessions
        .iter()
        .map(|s| {
            let (first, last) = table::span(s.first_cow, s.last_cow);
            Listed {
                session: &s.session,
                site_name: &s.site_name,
                date: Some(first.date_naive()),
                weekday: table::weekday(first.date_naive()),
                first_cow: table::clock(first),
                last_cow: table::clock(last),
                utc_offset_minutes: table::offset(first),
                head: s.head,
                technicians: table::joined(&s.technicians),
            }
        })
        .collect();
    table::of(&rows)
}

fn straws(s: &SessionThaw) -> String {
    let mut rows = Vec::new();
    for t in &s.technicians {
        for r in &t.rounds {
            for (n, x) in r.straws.iter().enumerate() {
                let day = x.in_at.date_naive();
                rows.push(Row {
                    row: "straw",
                    session: &s.session,
                    site_name: &s.site_name,
                    date: Some(day),
                    weekday: table::weekday(day),
                    utc_offset_minutes: table::offset(x.in_at),
                    technician: &t.id,
                    technician_name: &t.name,
                    round: Some(r.number),
                    straw: Some(n + 1),
                    straws: 1,
                    bull: &x.bull,
                    straw_ml: Some(x.straw_ml),
                    tank: x.tank.as_deref().unwrap_or(""),
                    canister: x.canister,
                    cane: x.cane.as_deref().unwrap_or(""),
                    goblet: x.goblet.as_deref().unwrap_or(""),
                    in_bath: table::to_the_second(x.in_at),
                    out_of_bath: table::to_the_second(x.out_at),
                    first_gun: table::to_the_second(r.first_gun),
                    bred: table::to_the_second(x.bred_at),
                    in_cow_by: table::to_the_second(r.cow_by),
                    group: &x.group,
                    pen: x.pen,
                    animal_number: x.animal,
                    animal: x.tag.as_deref().unwrap_or(""),
                    note: String::new(),
                });
            }
        }
    }
    rows.extend(s.waste.iter().map(|w| Row {
        row: "waste",
        session: &s.session,
        site_name: &s.site_name,
        straws: w.straws,
        bull: &w.bull,
        note: w.places.join("; "),
        ..Row::default()
    }));
    table::of(&rows)
}
