//! Readiness of animals as a table for spreadsheets.

use schemars::JsonSchema;
use serde::Serialize;

use super::answer::{Answer, Kind};
use super::document::Document;
use super::herd;
use super::table::Table;
use crate::base::error::Finding;
use crate::trade::herd::summary::{AnimalReport, GroupReport};

/// Who is ready on the first day of the protocol.
#[derive(Serialize, JsonSchema)]
pub struct Herds<'a> {
    /// `thawline.herd/1`.
    pub format: &'static str,
    /// The season's name.
    pub season: &'a str,
    /// Groups with a herd file.
    pub groups: &'a [GroupReport<'a>],
    /// Findings of the season and of the herd files.
    pub findings: &'a [Finding],
    /// Whether the text lists animals that are ready too.
    #[serde(skip)]
    pub all: bool,
}

impl Answer for Herds<'_> {
    fn document(&self) -> Document {
        herd::document(self.season, self.groups, self.findings, self.all)
    }

    fn tables(&self) -> Vec<Kind<Self>> {
        vec![Kind::new("animals", animals)]
    }
}

/// The words of an animal's reasons. Reasons that lead to another answer are counted under none: their
/// words stay with the code.
fn reason_words<'a>(g: &'a GroupReport<'_>, a: &AnimalReport<'_>) -> Vec<&'a str> {
    let counted = g.answers.iter().flat_map(|x| &x.reasons);
    let words = a.reasons.iter().filter_map(|reason| {
        let of = counted.clone().find(|x| x.reason == *reason);
        of.map(|x| x.words.as_str())
    });
    words.collect()
}

/// A row for each animal, in the order of groups and files.
fn animals(herds: &Herds<'_>) -> String {
    let groups = herds.groups.iter();
    let mut t = Table::of(groups.flat_map(|g| g.animals.iter().map(move |a| (g, a))));
    t.column("group", |(g, _)| g.group);
    t.column("group_name", |(g, _)| g.name);
    t.column("class", |(g, _)| g.class);
    t.column("protocol", |(g, _)| g.protocol);
    t.day(["first_day", "first_day_weekday"], |(g, _)| {
        Some(g.first_day)
    });
    t.day(["breeding_day", "breeding_day_weekday"], |(g, _)| {
        Some(g.breeding_day)
    });
    t.column("animal", |(_, a)| a.animal);
    t.column("electronic_id", |(_, a)| a.electronic);
    t.column("herd_file_line", |(_, a)| a.line);
    t.column("answer", |(_, a)| a.answer);
    t.column("answer_words", |(_, a)| a.answer.words());
    t.column("reasons", |(_, a)| &a.reasons);
    t.column("reason_words", |(g, a)| reason_words(g, a));
    t.day(["ready_from", "ready_from_weekday"], |(_, a)| a.ready_from);
    t.column("days_since_calving_at_first_day", |(_, a)| {
        a.days_since_calving_at_first_day
    });
    t.column("days_since_calving_at_breeding", |(_, a)| {
        a.days_since_calving_at_breeding
    });
    t.column("months_at_breeding", |(_, a)| a.months_at_breeding);
    t.column("body_condition", |(_, a)| a.body_condition);
    t.column("mature_weight_percent", |(_, a)| a.mature_weight_percent);
    t.column("tract_score", |(_, a)| a.tract_score);
    t.column("gain_needed_lb_per_day", |(_, a)| a.gain_needed_lb_per_day);
    t.column("blank_columns", |(_, a)| &a.blank);
    t.csv()
}
