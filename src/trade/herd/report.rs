//! The form of a group's report, as in JSON.

use chrono::NaiveDate;
use schemars::JsonSchema;
use serde::Serialize;

use super::reasons::{Readiness, Reason};
use crate::base::units::Units;

/// The readiness of a group on the first day of a protocol.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct GroupReport<'a> {
    /// Its id.
    pub group: &'a str,
    /// Its name.
    pub name: &'a str,
    /// cow or heifer.
    pub class: &'static str,
    /// Its herd file.
    pub herd_file: &'a str,
    /// The protocol's id.
    pub protocol: &'a str,
    /// The protocol's first day.
    pub first_day: NaiveDate,
    /// The first breeding, by the protocol's aim.
    pub breeding_day: NaiveDate,
    /// True if the protocol gives a progestin.
    pub progestin: bool,
    /// Thresholds used.
    pub thresholds: Thresholds,
    /// Animals in the file.
    pub head: usize,
    /// The verdict in sentences.
    pub words: Vec<String>,
    /// Head by answer.
    pub answers: Vec<AnswerCount>,
    /// The group rule, for heifers with tract scores.
    pub cycling: Option<Cycling>,
    /// Daily gain for heifers below the percentage of mature weight.
    pub gain: Option<Gain>,
    /// Spreads.
    pub histograms: Vec<Histogram>,
    /// Each animal, in the file's order.
    pub animals: Vec<AnimalReport<'a>>,
    /// Units that people read.
    #[serde(skip)]
    pub units: Units,
}

/// Thresholds, as in the season's rules.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, JsonSchema)]
pub struct Thresholds {
    /// Days from calving to breeding.
    pub calving_to_breeding_days: i64,
    /// Body condition of cows.
    pub least_body_condition: f64,
    /// Percent of mature weight of heifers.
    pub heifer_mature_weight_percent: f64,
    /// Gain counted on, pounds a day.
    pub heifer_gain_lb_per_day: Option<f64>,
}

/// Head of one answer.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, JsonSchema)]
pub struct AnswerCount {
    /// The answer.
    pub answer: Readiness,
    /// In words.
    pub words: &'static str,
    /// Head.
    pub head: usize,
    /// Reasons that lead to this answer, by head; an animal may have several.
    pub reasons: Vec<ReasonCount>,
}

/// Head with one reason.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, JsonSchema)]
pub struct ReasonCount {
    /// The reason.
    pub reason: Reason,
    /// In words, with the threshold.
    pub words: String,
    /// Source tags of the threshold.
    pub source: &'static str,
    /// Head.
    pub head: usize,
}

/// The group rule for heifers: at least half at tract score 4 or 5 (PATT12).
#[derive(Clone, Copy, Debug, PartialEq, Serialize, JsonSchema)]
pub struct Cycling {
    /// Heifers with a score.
    pub scored_head: usize,
    /// Of these, at 4 or 5.
    pub cycling_head: usize,
    /// In percent.
    pub percent: f64,
    /// True if it is enough.
    pub enough: bool,
}

/// Daily gain from weighing to breeding for heifers below the percentage of mature weight.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, JsonSchema)]
pub struct Gain {
    /// Heifers below it.
    pub head: usize,
    /// Mean, pounds a day.
    pub mean_lb_per_day: f64,
    /// Of the one that needs most.
    pub most_lb_per_day: f64,
}

/// A spread over bins of one width, without gaps.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct Histogram {
    /// Of what: days-since-calving, percent-of-mature-weight or body-condition.
    pub of: &'static str,
    /// In words.
    pub words: String,
    /// Width of a bin.
    pub width: f64,
    /// Bins, the lowest first.
    pub bins: Vec<Bin>,
    /// Head for whom it is not known.
    pub unknown_head: usize,
}

/// One bin: from its lower end up to the next bin's.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, JsonSchema)]
pub struct Bin {
    /// Lower end.
    pub from: f64,
    /// Head.
    pub head: usize,
}

/// What is said of one animal.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct AnimalReport<'a> {
    /// Its id.
    pub animal: &'a str,
    /// True for an electronic id.
    pub electronic: bool,
    /// The tag beside an electronic id, or the electronic id beside a tag.
    pub other_id: Option<&'a str>,
    /// Its line in the herd file.
    pub line: u32,
    /// The answer.
    pub answer: Readiness,
    /// Why, the gravest first.
    pub reasons: Vec<Reason>,
    /// From calving to the protocol's first day.
    pub days_since_calving_at_first_day: Option<i64>,
    /// From calving to breeding.
    pub days_since_calving_at_breeding: Option<i64>,
    /// Full months of age at breeding.
    pub months_at_breeding: Option<u32>,
    /// Body condition, 1 to 9.
    pub body_condition: Option<f64>,
    /// Percent of mature weight.
    pub mature_weight_percent: Option<f64>,
    /// Tract score, 1 to 5.
    pub tract_score: Option<u8>,
    /// Daily gain that brings her to the season's percentage by breeding.
    pub gain_needed_lb_per_day: Option<f64>,
    /// First day of the same protocol on which she need not wait any more.
    pub ready_from: Option<NaiveDate>,
    /// The answer on that day.
    pub answer_then: Option<Readiness>,
    /// Columns that would decide and are blank.
    pub blank: Vec<&'static str>,
}

impl GroupReport<'_> {
    /// Head of an answer.
    #[must_use]
    pub fn head_of(&self, answer: Readiness) -> usize {
        let mut answers = self.answers.iter();
        answers.find(|a| a.answer == answer).map_or(0, |a| a.head)
    }
}
