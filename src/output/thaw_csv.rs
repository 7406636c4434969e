//! Thaw rounds as tables for spreadsheets.

use crate::output::document::Document;
use chrono::NaiveDate;
use serde::Serialize;

use super::answer::{Answer, Kind};
use super::{table, thaw};
use crate::analysis::thaw::{SessionThaw, Thaw};

/// Without a session.
const LIST: &[Kind] = &[Kind::whole("sessions")];

/// Of one session: its straws in the order of the rounds, and those set aside for cows that never come.
const ROUNDS: &[Kind] = &[
    Kind {
        name: "straws",
        columns: &[
            "session site_name date weekday utc_offset_minutes technician technician_name round straw",
            "bull straw_ml tank canister cane goblet in_bath out_of_bath first_gun bred in_cow_by group pen",
            "animal_number animal",
        ],
    },
    Kind {
        name: "waste",
        columns: &["session site_name bull straws places=note"],
    },
];

impl Answer for Thaw {
    fn document(&self) -> Document {
        thaw::document(self)
    }

    fn json(&self) -> String {
        thaw::json(self)
    }

    fn tables(&self) -> &'static [Kind] {
        if self.session.is_some() { ROUNDS } else { LIST }
    }

    fn table(&self, kind: &Kind) -> String {
        match &self.session {
            Some(session) => kind.of(&straws(session)),
            None => kind.of(&sessions(self)),
        }
    }
}

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

fn sessions(thaw: &Thaw) -> Vec<Listed<'_>> {
    thaw.sessions
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
        .collect()
}

fn straws(s: &SessionThaw) -> Vec<Row<'_>> {
    let mut rows = Vec::new();
    for t in &s.technicians {
        for r in &t.rounds {
            for (n, x) in r.straws.iter().enumerate() {
                let day = x.in_at.date_naive();
                rows.push(Row {
                    row: "straws",
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
    rows
}
