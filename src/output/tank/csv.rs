//! The tanks as tables for spreadsheets.

use chrono::NaiveDate;
use serde::Serialize;

use super::super::answer::Kind;
use super::super::table;
use crate::analysis::tank::TankReport;

/// What is where, what each session leaves in a tank, what it takes from each place, and the tanks, with
/// their liquid nitrogen where that is known.
pub(super) const TABLES: &[Kind] = &[
    Kind {
        name: "straws",
        columns: &[
            "tank tank_name canister cane goblet bull bull_name sort straw_ml straws_before",
            "straws_taken straws_left",
        ],
    },
    Kind {
        name: "sessions",
        columns: &["tank tank_name session date weekday straws_taken straws_left"],
    },
    Kind {
        name: "taken",
        columns: &["tank tank_name session date weekday canister cane goblet bull straws_taken"],
    },
    Kind {
        name: "tanks",
        columns: &[
            "tank tank_name straws_before straws_taken straws_left level_unit last_level loss_a_day",
            "least_level refill_by",
        ],
    },
];

#[derive(Default, Serialize)]
pub(super) struct Row<'a> {
    row: &'static str,
    tank: &'a str,
    tank_name: &'a str,
    canister: Option<u32>,
    cane: &'a str,
    goblet: &'a str,
    bull: &'a str,
    bull_name: &'a str,
    sort: &'a str,
    straw_ml: Option<f64>,
    straws_before: Option<u32>,
    straws_taken: Option<u32>,
    straws_left: Option<u32>,
    session: &'a str,
    date: Option<NaiveDate>,
    weekday: String,
    level_unit: &'a str,
    last_level: Option<f64>,
    loss_a_day: Option<f64>,
    least_level: Option<f64>,
    refill_by: Option<NaiveDate>,
}

pub(super) fn rows(answer: &TankReport) -> Vec<Row<'_>> {
    let mut rows = Vec::new();
    for t in &answer.tanks {
        let tank = || Row {
            tank: &t.id,
            tank_name: &t.name,
            ..Row::default()
        };
        let n = t.nitrogen.as_ref();
        rows.push(Row {
            row: "tanks",
            straws_before: Some(t.straws),
            straws_taken: Some(t.straws - t.left_straws.min(t.straws)),
            straws_left: Some(t.left_straws),
            level_unit: n.map_or("", |n| n.unit.as_str()),
            last_level: n.map(|n| n.last_level),
            loss_a_day: n.and_then(|n| n.loss.as_ref()).map(|l| l.a_day),
            least_level: n.and_then(|n| n.limit),
            refill_by: n.and_then(|n| n.refill_by),
            ..tank()
        });
        for c in &t.canisters {
            for h in &c.holdings {
                rows.push(Row {
                    row: "straws",
                    canister: c.number,
                    cane: h.cane.as_deref().unwrap_or(""),
                    goblet: h.goblet.as_deref().unwrap_or(""),
                    bull: &h.bull,
                    bull_name: &h.bull_name,
                    sort: &h.sort,
                    straw_ml: Some(h.straw_ml),
                    straws_before: Some(h.straws),
                    straws_taken: Some(h.straws - h.left_straws.min(h.straws)),
                    straws_left: Some(h.left_straws),
                    ..tank()
                });
            }
        }
        for s in &t.sessions {
            let day = s.begins.date_naive();
            let session = || Row {
                session: &s.session,
                date: Some(day),
                weekday: table::weekday(day),
                ..tank()
            };
            for x in &s.taken {
                rows.push(Row {
                    row: "taken",
                    canister: x.canister,
                    cane: x.cane.as_deref().unwrap_or(""),
                    goblet: x.goblet.as_deref().unwrap_or(""),
                    bull: &x.bull,
                    straws_taken: Some(x.straws),
                    ..session()
                });
            }
            rows.push(Row {
                row: "sessions",
                straws_taken: Some(s.taken.iter().map(|x| x.straws).sum()),
                straws_left: Some(s.left_straws),
                ..session()
            });
        }
    }
    rows
}
