//! Dates of protocols as JSON: `thawline.dates/1` for one, `thawline.starts/1` for several.

use schemars::JsonSchema;
use serde::Serialize;

use super::dates::{self, hours_after, off_minutes};
use super::json::{schema_of, text};
use super::protocol_facts::actions;
use crate::base::error::Finding;
use crate::base::time::Zone;
use crate::planning::plan::Remark;
use crate::trade::protocol::Protocol;
use crate::trade::protocol::backwards::Backwards;
use crate::trade::protocol::target::Target;
use crate::trade::protocol::timetable::Timetable;

/// A protocol on the calendar.
#[derive(Serialize, JsonSchema)]
struct Dates<'a> {
    /// `thawline.dates/1`.
    format: &'static str,
    /// IANA time zone.
    zone: &'static str,
    /// What it was counted back from, if it was.
    #[serde(skip_serializing_if = "Option::is_none")]
    target: Option<TargetView>,
    #[serde(flatten)]
    dated: DatedView<'a>,
}

/// Starts of several protocols for one target, the earliest first.
#[derive(Serialize, JsonSchema)]
struct Starts<'a> {
    /// `thawline.starts/1`.
    format: &'static str,
    /// IANA time zone.
    zone: &'static str,
    /// What they are counted back from.
    target: TargetView,
    /// Findings of the question.
    findings: Vec<Remark>,
    /// Each protocol with its start.
    #[serde(rename = "starts")]
    all: Vec<DatedView<'a>>,
    /// Protocols that cannot meet it.
    left_out: Vec<LeftOut<'a>>,
}

/// A protocol left out.
#[derive(Serialize, JsonSchema)]
struct LeftOut<'a> {
    /// The protocol's id.
    protocol: &'a str,
    /// Why.
    why: Remark,
}

/// What dates are counted back from: breeding, or the first calf.
#[derive(Serialize, JsonSchema)]
struct TargetView {
    /// Breeding, with the offset.
    breeding: Option<String>,
    /// Elapsed hours after the last drug, where these are asked for.
    hours: Option<f64>,
    /// Day of the first calf.
    calf: Option<String>,
    /// Days of gestation counted.
    gestation_days: Option<u32>,
    /// First day of calves expected.
    calves_from: Option<String>,
    /// Last day of calves expected.
    calves_to: Option<String>,
}

/// A protocol with dates.
#[derive(Serialize, JsonSchema)]
struct DatedView<'a> {
    /// The protocol's id.
    protocol: &'a str,
    /// Its name.
    name: &'a str,
    /// True if a part of it has no readable source.
    unverified: bool,
    /// The start, with the offset.
    start: String,
    /// The step that meets the target.
    #[serde(skip_serializing_if = "Option::is_none")]
    counted_back_from: Option<BackView<'a>>,
    /// Its steps, dated.
    steps: Vec<StepView<'a>>,
    /// Findings of these dates.
    findings: Vec<Remark>,
}

/// The step that meets a target.
#[derive(Serialize, JsonSchema)]
struct BackView<'a> {
    /// The step's id.
    step: &'a str,
    /// True if it is met to the minute.
    exact: bool,
    /// Minutes off.
    off_minutes: f64,
    /// Elapsed hours of the breeding after the step before; null if it is not by the clock.
    hours: Option<f64>,
}

/// A step, dated.
#[derive(Serialize, JsonSchema)]
struct StepView<'a> {
    /// The step's id.
    id: &'a str,
    /// What is done.
    #[serde(rename = "do")]
    actions: Vec<&'static str>,
    /// When, by the aim, with the offset.
    at: String,
    /// First moment of its window.
    earliest: Option<String>,
    /// Last moment of its window.
    latest: Option<String>,
    /// First day, where it lasts for days.
    first_day: Option<String>,
    /// Last day, where it lasts for days.
    last_day: Option<String>,
}

fn target_view(target: &Target, zone: Zone) -> TargetView {
    let breeding = target.breeding().ok();
    let calves = target.calves();
    let (hours, calf, gestation_days) = match *target {
        Target::Breeding { hours, .. } => (hours, None, None),
        Target::FirstCalf {
            date,
            gestation_days,
            ..
        } => (None, Some(date.to_string()), Some(gestation_days)),
    };
    TargetView {
        breeding: breeding.map(|b| zone.rfc3339(zone.resolve(b).at)),
        hours,
        calf,
        gestation_days,
        calves_from: calves.map(|c| c.0.to_string()),
        calves_to: calves.map(|c| c.1.to_string()),
    }
}

fn dated_view<'a>(
    protocol: &'a Protocol,
    dates: &Timetable,
    back: Option<&Backwards>,
    found: &[Finding],
) -> DatedView<'a> {
    let zone = dates.zone;
    DatedView {
        protocol: protocol.id.as_str(),
        name: &protocol.name,
        unverified: protocol.has_unverified(),
        start: zone.rfc3339(dates.began.at),
        counted_back_from: back.map(|b| BackView {
            step: protocol.steps[b.step].id.as_str(),
            exact: b.is_exact(),
            off_minutes: off_minutes(b),
            hours: hours_after(protocol, b),
        }),
        steps: protocol
            .steps
            .iter()
            .zip(&dates.steps)
            .map(|(step, dated)| StepView {
                id: step.id.as_str(),
                actions: actions(step),
                at: zone.rfc3339(dated.at),
                earliest: dated.hours.map(|h| zone.rfc3339(h.earliest)),
                latest: dated.hours.map(|h| zone.rfc3339(h.latest)),
                first_day: dated.days.map(|d| d.0.to_string()),
                last_day: dated.days.map(|d| d.1.to_string()),
            })
            .collect(),
        findings: found.iter().map(Remark::from).collect(),
    }
}

/// The schema of dates of one protocol.
#[must_use]
pub fn dated_schema() -> serde_json::Value {
    schema_of::<Dates<'_>>()
}

/// The schema of the starts that fit.
#[must_use]
pub fn starts_schema() -> serde_json::Value {
    schema_of::<Starts<'_>>()
}

/// One protocol on the calendar: `thawline.dates/1`.
pub(super) fn dated(dated: &dates::Dated<'_>) -> String {
    let &dates::Dated {
        protocol,
        dates,
        back,
        found,
    } = dated;
    text(&Dates {
        format: "thawline.dates/1",
        zone: dates.zone.name(),
        target: back.map(|(t, _)| target_view(t, dates.zone)),
        dated: dated_view(protocol, dates, back.map(|(_, b)| b), found),
    })
}

/// The starts of several protocols, the earliest first: `thawline.starts/1`.
pub(super) fn starts(asked: &dates::Starts<'_>) -> String {
    let starts = asked.starts.iter();
    let left_out = asked.left_out.iter().map(|(p, f)| LeftOut {
        protocol: p.id.as_str(),
        why: f.into(),
    });
    text(&Starts {
        format: "thawline.starts/1",
        zone: asked.zone.name(),
        target: target_view(asked.target, asked.zone),
        findings: asked.found.iter().map(Remark::from).collect(),
        all: starts
            .map(|(p, b)| dated_view(p, &b.timetable, Some(b), &b.findings(p)))
            .collect(),
        left_out: left_out.collect(),
    })
}
