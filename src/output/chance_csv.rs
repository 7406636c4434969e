//! Chances of sessions as tables for spreadsheets.

use crate::output::document::Document;
use chrono::NaiveDate;
use serde::Serialize;

use super::answer::{Answer, Kind};
use super::{chance, table};
use crate::analysis::chance::{ByStraws, Finish, SeasonChance, SessionChance, TechnicianChance};

/// The sessions, their pens, and what each technician would do with each number of straws at once. Clock
/// times of ends go up to the second, as in the JSON.
const TABLES: &[Kind] = &[
    Kind {
        name: "sessions",
        columns: &[
            "session site site_name head not_planned_head date weekday planned_last_cow",
            "last_cow_by_5_percent last_cow_by_50_percent last_cow_by_95_percent utc_offset_minutes",
            "any_cow_outside_percent any_cow_outside_low_percent any_cow_outside_high_percent",
            "mean_outside_head any_straw_late_percent",
        ],
    },
    Kind {
        name: "pens",
        columns: &[
            "session site site_name group pen head any_cow_outside_percent",
            "any_cow_outside_low_percent any_cow_outside_high_percent mean_outside_head",
        ],
    },
    Kind {
        name: "straws-at-once",
        columns: &[
            "session site site_name technician technician_name helper head straws_at_once planned",
            "head_per_hour minutes_per_cow minutes_spread date weekday last_cow_by_5_percent",
            "last_cow_by_50_percent last_cow_by_95_percent utc_offset_minutes any_cow_outside_percent",
            "any_cow_outside_low_percent any_cow_outside_high_percent any_straw_late_percent",
            "late_round_percent late_round_formula_percent mean_late_straws",
        ],
    },
];

impl Answer for SeasonChance {
    fn document(&self) -> Document {
        chance::document(self)
    }

    fn json(&self) -> String {
        chance::json(self)
    }

    fn tables(&self) -> &'static [Kind] {
        TABLES
    }

    fn table(&self, kind: &Kind) -> String {
        kind.of(&rows(self))
    }
}

#[derive(Default, Serialize)]
struct Row<'a> {
    row: &'static str,
    session: &'a str,
    site: &'a str,
    site_name: &'a str,
    group: &'a str,
    pen: Option<u32>,
    technician: &'a str,
    technician_name: &'a str,
    helper: Option<bool>,
    head: u32,
    not_planned_head: Option<u32>,
    straws_at_once: Option<u32>,
    planned: Option<bool>,
    head_per_hour: Option<f64>,
    minutes_per_cow: Option<f64>,
    minutes_spread: Option<f64>,
    date: Option<NaiveDate>,
    weekday: String,
    planned_last_cow: String,
    last_cow_by_5_percent: String,
    last_cow_by_50_percent: String,
    last_cow_by_95_percent: String,
    utc_offset_minutes: Option<i32>,
    any_cow_outside_percent: Option<f64>,
    any_cow_outside_low_percent: Option<f64>,
    any_cow_outside_high_percent: Option<f64>,
    mean_outside_head: Option<f64>,
    any_straw_late_percent: Option<f64>,
    late_round_percent: Option<f64>,
    late_round_formula_percent: Option<f64>,
    mean_late_straws: Option<f64>,
}

fn rows(chance: &SeasonChance) -> Vec<Row<'_>> {
    let mut rows = Vec::new();
    for s in &chance.sessions {
        rows.push(ends(
            s.last_cow,
            Row {
                row: "sessions",
                head: s.head,
                not_planned_head: Some(s.not_planned_head),
                planned_last_cow: table::to_the_second(s.planned_last_cow),
                any_cow_outside_percent: Some(s.any_cow_outside.percent),
                any_cow_outside_low_percent: Some(s.any_cow_outside.low_percent),
                any_cow_outside_high_percent: Some(s.any_cow_outside.high_percent),
                mean_outside_head: Some(s.outside.mean_head),
                any_straw_late_percent: Some(s.any_straw_late.percent),
                ..here(s)
            },
        ));
        rows.extend(s.pens.iter().map(|p| Row {
            row: "pens",
            group: &p.group,
            pen: p.pen,
            head: p.head,
            any_cow_outside_percent: Some(p.any_cow_outside.percent),
            any_cow_outside_low_percent: Some(p.any_cow_outside.low_percent),
            any_cow_outside_high_percent: Some(p.any_cow_outside.high_percent),
            mean_outside_head: Some(p.outside.mean_head),
            ..here(s)
        }));
        for t in &s.technicians {
            rows.extend(t.by_straws.iter().map(|b| straws(s, t, b)));
        }
    }
    rows
}

fn here(s: &SessionChance) -> Row<'_> {
    Row {
        session: &s.session,
        site: &s.site,
        site_name: &s.site_name,
        ..Row::default()
    }
}

fn ends(f: Finish, row: Row<'_>) -> Row<'_> {
    let day = f.by_50_percent.date_naive();
    Row {
        date: Some(day),
        weekday: table::weekday(day),
        last_cow_by_5_percent: table::to_the_second(f.by_5_percent),
        last_cow_by_50_percent: table::to_the_second(f.by_50_percent),
        last_cow_by_95_percent: table::to_the_second(f.by_95_percent),
        utc_offset_minutes: table::offset(f.by_50_percent),
        ..row
    }
}

fn straws<'a>(s: &'a SessionChance, t: &'a TechnicianChance, b: &ByStraws) -> Row<'a> {
    ends(
        b.last_cow,
        Row {
            row: "straws-at-once",
            technician: &t.id,
            technician_name: &t.name,
            helper: Some(t.helper),
            head: t.head,
            straws_at_once: Some(b.straws_at_once),
            planned: Some(b.planned),
            head_per_hour: Some(b.head_per_hour),
            minutes_per_cow: Some(t.minutes_per_cow),
            minutes_spread: Some(t.minutes_spread),
            any_cow_outside_percent: Some(b.any_cow_outside.percent),
            any_cow_outside_low_percent: Some(b.any_cow_outside.low_percent),
            any_cow_outside_high_percent: Some(b.any_cow_outside.high_percent),
            any_straw_late_percent: Some(b.late_session.percent),
            late_round_percent: b.late_round.map(|c| c.percent),
            late_round_formula_percent: Some(b.late_round_formula_percent),
            mean_late_straws: Some(b.late_straws.mean_head),
            ..here(s)
        },
    )
}
