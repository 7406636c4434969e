//! Readiness of animals as a table for spreadsheets.

use crate::output::document::Document;
use chrono::NaiveDate;
use serde::Serialize;

use super::answer::{Answer, Kind};
use super::{herd, json, table};
use crate::base::error::Finding;
use crate::trade::herd::summary::GroupReport;

#[derive(Default, Serialize)]
struct Row<'a> {
    group: &'a str,
    group_name: &'a str,
    class: &'a str,
    protocol: &'a str,
    first_day: Option<NaiveDate>,
    first_day_weekday: String,
    breeding_day: Option<NaiveDate>,
    breeding_day_weekday: String,
    animal: &'a str,
    electronic_id: bool,
    herd_file_line: u32,
    answer: String,
    answer_words: &'static str,
    reasons: String,
    reason_words: String,
    ready_from: Option<NaiveDate>,
    ready_from_weekday: String,
    days_since_calving_at_first_day: Option<i64>,
    days_since_calving_at_breeding: Option<i64>,
    months_at_breeding: Option<u32>,
    body_condition: Option<f64>,
    mature_weight_percent: Option<f64>,
    tract_score: Option<u8>,
    gain_needed_lb_per_day: Option<f64>,
    blank_columns: String,
}

/// Herds as they are printed.
pub struct Printed<'a> {
    /// The name of the season.
    pub season: &'a str,
    /// The groups.
    pub groups: &'a [GroupReport<'a>],
    /// What was found in their files.
    pub found: &'a [Finding],
    /// Whether the text lists animals that are ready too.
    pub all: bool,
}

impl Answer for Printed<'_> {
    fn document(&self) -> Document {
        herd::document(self.season, self.groups, self.found, self.all)
    }

    fn json(&self) -> String {
        json::herds(self.season, self.groups, self.found)
    }

    fn tables(&self) -> &'static [Kind] {
        const { &[Kind::whole("animals")] }
    }

    fn table(&self, kind: &Kind) -> String {
        kind.of(&rows(self.groups))
    }
}

/// A row for each animal, in the order of groups and files.
fn rows<'a>(groups: &'a [GroupReport<'a>]) -> Vec<Row<'a>> {
    let mut rows = Vec::new();
    for g in groups {
        for a in &g.animals {
            // Reasons that lead to another answer are counted under none: their words stay with the code.
            let known = g.answers.iter().flat_map(|x| &x.reasons);
            let said = a.reasons.iter().filter_map(|r| {
                let of = known.clone().find(|x| x.reason == *r);
                of.map(|x| x.words.as_str())
            });
            rows.push(Row {
                group: g.group,
                group_name: g.name,
                class: g.class,
                protocol: g.protocol,
                first_day: Some(g.first_day),
                first_day_weekday: table::weekday(g.first_day),
                breeding_day: Some(g.breeding_day),
                breeding_day_weekday: table::weekday(g.breeding_day),
                animal: a.animal,
                electronic_id: a.electronic,
                herd_file_line: a.line,
                answer: table::word(&a.answer),
                answer_words: a.answer.words(),
                reason_words: table::joined(&said.collect::<Vec<_>>()),
                reasons: table::joined(&a.reasons.iter().map(table::word).collect::<Vec<_>>()),
                ready_from: a.ready_from,
                ready_from_weekday: a.ready_from.map_or_else(String::new, table::weekday),
                days_since_calving_at_first_day: a.days_since_calving_at_first_day,
                days_since_calving_at_breeding: a.days_since_calving_at_breeding,
                months_at_breeding: a.months_at_breeding,
                body_condition: a.body_condition,
                mature_weight_percent: a.mature_weight_percent,
                tract_score: a.tract_score,
                gain_needed_lb_per_day: a.gain_needed_lb_per_day,
                blank_columns: table::joined(&a.blank),
            });
        }
    }
    rows
}
