//! Dates of protocols as JSON: `thawline.dates/1` for one, `thawline.starts/1` for several.

use serde::Serialize;

use super::json::text;
use crate::base::error::Finding;
use crate::base::time::Zone;
use crate::planning::plan::Remark;
use crate::trade::protocol::Protocol;
use crate::trade::protocol::backwards::Backwards;
use crate::trade::protocol::target::Target;
use crate::trade::protocol::timetable::Timetable;

#[derive(Serialize)]
struct Dates<'a> {
    format: &'static str,
    zone: &'static str,
    #[serde(skip_serializing_if = "Option::is_none")]
    target: Option<TargetView>,
    #[serde(flatten)]
    dated: DatedView<'a>,
}

#[derive(Serialize)]
struct Starts<'a> {
    format: &'static str,
    zone: &'static str,
    target: TargetView,
    findings: Vec<Remark>,
    #[serde(rename = "starts")]
    all: Vec<DatedView<'a>>,
    left_out: Vec<LeftOut<'a>>,
}

#[derive(Serialize)]
struct LeftOut<'a> {
    protocol: &'a str,
    why: Remark,
}

#[derive(Serialize)]
struct TargetView {
    breeding: Option<String>,
    hours: Option<f64>,
    calf: Option<String>,
    gestation_days: Option<u32>,
    calves_from: Option<String>,
    calves_to: Option<String>,
}

#[derive(Serialize)]
struct DatedView<'a> {
    protocol: &'a str,
    name: &'a str,
    unverified: bool,
    start: String,
    #[serde(skip_serializing_if = "Option::is_none")]
    counted_back_from: Option<BackView<'a>>,
    steps: Vec<StepView<'a>>,
    findings: Vec<Remark>,
}

#[derive(Serialize)]
struct BackView<'a> {
    step: &'a str,
    exact: bool,
    off_minutes: f64,
    hours: Option<f64>,
}

#[derive(Serialize)]
struct StepView<'a> {
    id: &'a str,
    #[serde(rename = "do")]
    actions: Vec<&'static str>,
    at: String,
    earliest: Option<String>,
    latest: Option<String>,
    first_day: Option<String>,
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
            off_minutes: b.off.num_seconds() as f64 / 60.0,
            hours: protocol.steps[b.step]
                .is_timed_breeding()
                .then(|| b.after().num_seconds() as f64 / 3600.0),
        }),
        steps: protocol
            .steps
            .iter()
            .zip(&dates.steps)
            .map(|(step, dated)| StepView {
                id: step.id.as_str(),
                actions: step.actions.iter().map(|a| a.as_str()).collect(),
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

/// One protocol on the calendar: `thawline.dates/1`.
#[must_use]
pub fn dated(
    protocol: &Protocol,
    dates: &Timetable,
    back: Option<(&Target, &Backwards)>,
    found: &[Finding],
) -> String {
    text(&Dates {
        format: "thawline.dates/1",
        zone: dates.zone.name(),
        target: back.map(|(t, _)| target_view(t, dates.zone)),
        dated: dated_view(protocol, dates, back.map(|(_, b)| b), found),
    })
}

/// The starts of several protocols, the earliest first: `thawline.starts/1`.
#[must_use]
pub fn starts(
    target: &Target,
    zone: Zone,
    starts: &[(&Protocol, Backwards)],
    left_out: &[(&Protocol, Finding)],
    found: &[Finding],
) -> String {
    text(&Starts {
        format: "thawline.starts/1",
        zone: zone.name(),
        target: target_view(target, zone),
        findings: found.iter().map(Remark::from).collect(),
        all: starts
            .iter()
            .map(|(p, b)| dated_view(p, &b.timetable, Some(b), &b.findings(p)))
            .collect(),
        left_out: left_out
            .iter()
            .map(|(p, f)| LeftOut {
                protocol: p.id.as_str(),
                why: f.into(),
            })
            .collect(),
    })
}
