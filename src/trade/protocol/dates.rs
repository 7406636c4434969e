//! Protocols on the calendar, as they are written to JSON and read by the reports.

use chrono::{NaiveDate, NaiveDateTime};
use schemars::JsonSchema;
use serde::Serialize;

use super::backwards::Backwards;
use super::target::Target;
use super::timetable::{Timetable, timetable};
use super::{Action, Protocol};
use crate::base::error::{Error, Finding};
use crate::base::time::{Timestamp, Zone};
use crate::base::units::Id;

/// A protocol on the calendar.
#[derive(Clone, Debug, Serialize, JsonSchema)]
pub struct Dates<'a> {
    /// `thawline.dates/1`.
    pub format: &'static str,
    /// IANA time zone.
    pub zone: &'static str,
    /// What it was counted back from, if it was.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub target: Option<Target>,
    /// The dates.
    #[serde(flatten)]
    pub dated: Dated<'a>,
}

/// Starts of several protocols for one target, the earliest first.
#[derive(Clone, Debug, Serialize, JsonSchema)]
pub struct Starts<'a> {
    /// `thawline.starts/1`.
    pub format: &'static str,
    /// IANA time zone.
    pub zone: &'static str,
    /// What they are counted back from.
    pub target: Target,
    /// Findings of the question.
    pub findings: Vec<Finding>,
    /// Each protocol with its start.
    pub starts: Vec<Dated<'a>>,
    /// Protocols that cannot meet it.
    pub left_out: Vec<LeftOut<'a>>,
}

/// A protocol left out.
#[derive(Clone, Debug, Serialize, JsonSchema)]
pub struct LeftOut<'a> {
    /// The protocol's id.
    #[serde(serialize_with = "super::in_id")]
    #[schemars(with = "String")]
    pub protocol: &'a Protocol,
    /// Why.
    pub why: Finding,
}

/// A protocol with dates.
#[derive(Clone, Debug, Serialize, JsonSchema)]
pub struct Dated<'a> {
    /// The protocol's id.
    #[serde(serialize_with = "super::in_id")]
    #[schemars(with = "String")]
    pub protocol: &'a Protocol,
    /// Its name.
    pub name: &'a str,
    /// True if a part of it has no readable source.
    pub unverified: bool,
    /// The start, with the offset.
    pub start: Timestamp,
    /// The step that meets the target.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub counted_back_from: Option<CountedBack<'a>>,
    /// Its steps, dated.
    pub steps: Vec<DatedStep<'a>>,
    /// Findings of these dates.
    pub findings: Vec<Finding>,
    /// The same dates, to count with.
    #[serde(skip)]
    pub timetable: Timetable,
}

/// The step that meets a target.
#[derive(Clone, Debug, Serialize, JsonSchema)]
pub struct CountedBack<'a> {
    /// The step's id.
    pub step: &'a Id,
    /// True if it is met to the minute.
    pub exact: bool,
    /// Minutes off.
    pub off_minutes: f64,
    /// Elapsed hours of the breeding after the step before; null if it is not by the clock.
    pub hours: Option<f64>,
    /// How it was counted.
    #[serde(skip)]
    pub back: Backwards,
}

/// A step, dated.
#[derive(Clone, Debug, Serialize, JsonSchema)]
pub struct DatedStep<'a> {
    /// The step's id.
    pub id: &'a Id,
    /// What is done.
    #[serde(rename = "do")]
    #[schemars(with = "Vec<String>")]
    pub actions: &'a [Action],
    /// When, by the aim, with the offset.
    pub at: Timestamp,
    /// First moment of its window.
    pub earliest: Option<Timestamp>,
    /// Last moment of its window.
    pub latest: Option<Timestamp>,
    /// First day, where it lasts for days.
    #[schemars(with = "Option<String>")]
    pub first_day: Option<NaiveDate>,
    /// Last day, where it lasts for days.
    #[schemars(with = "Option<String>")]
    pub last_day: Option<NaiveDate>,
}

impl<'a> Dates<'a> {
    /// The dates from a local start on.
    #[must_use]
    pub fn from_start(protocol: &'a Protocol, zone: Zone, start: NaiveDateTime) -> Self {
        let dates = timetable(protocol, zone, start);
        let found = dates.findings(protocol);
        Self::of(None, zone, Dated::of(protocol, dates, None, found))
    }

    /// The dates that meet a target.
    ///
    /// # Errors
    /// As [`Target::start`].
    pub fn back(protocol: &'a Protocol, target: &Target) -> Result<Self, Finding> {
        let back = target.start(protocol)?;
        let mut found = target.findings();
        found.extend(back.findings(protocol));
        let dated = Dated::of(protocol, back.timetable.clone(), Some(back), found);
        Ok(Self::of(Some(*target), target.zone, dated))
    }

    fn of(target: Option<Target>, zone: Zone, dated: Dated<'a>) -> Self {
        Self {
            format: "thawline.dates/1",
            zone: zone.name(),
            target,
            dated,
        }
    }
}

impl<'a> Starts<'a> {
    /// The starts of these protocols for a target.
    ///
    /// # Errors
    /// Why each of them cannot meet it, where none can.
    pub fn of(
        protocols: impl IntoIterator<Item = &'a Protocol>,
        target: &Target,
    ) -> Result<Self, Error> {
        let mut all: Vec<Dated<'a>> = Vec::new();
        let mut left_out = Vec::new();
        for protocol in protocols {
            match target.start(protocol) {
                Ok(back) => {
                    let found = back.findings(protocol);
                    let dates = back.timetable.clone();
                    all.push(Dated::of(protocol, dates, Some(back), found));
                }
                Err(why) => left_out.push(LeftOut { protocol, why }),
            }
        }
        if all.is_empty() {
            return Err(Error::input(left_out.into_iter().map(|l| l.why).collect()));
        }
        all.sort_by_key(|dated| dated.timetable.start);
        Ok(Self {
            format: "thawline.starts/1",
            zone: target.zone.name(),
            target: *target,
            findings: target.findings(),
            starts: all,
            left_out,
        })
    }
}

impl<'a> Dated<'a> {
    fn of(
        protocol: &'a Protocol,
        dates: Timetable,
        back: Option<Backwards>,
        findings: Vec<Finding>,
    ) -> Self {
        let zone = dates.zone;
        let steps = protocol.steps.iter().zip(&dates.steps);
        let steps = steps.map(|(step, dated)| DatedStep {
            id: &step.id,
            actions: &step.actions,
            at: zone.timestamp(dated.at),
            earliest: dated.hours.map(|h| zone.timestamp(h.earliest)),
            latest: dated.hours.map(|h| zone.timestamp(h.latest)),
            first_day: dated.days.map(|d| d.0),
            last_day: dated.days.map(|d| d.1),
        });
        Self {
            protocol,
            name: &protocol.name,
            unverified: protocol.has_unverified(),
            start: zone.timestamp(dates.began.at),
            counted_back_from: back.map(|b| CountedBack::of(protocol, b)),
            steps: steps.collect(),
            findings,
            timetable: dates,
        }
    }
}

impl<'a> CountedBack<'a> {
    fn of(protocol: &'a Protocol, back: Backwards) -> Self {
        let step = &protocol.steps[back.step];
        let timed = step.is_timed_breeding();
        Self {
            step: &step.id,
            exact: back.is_exact(),
            off_minutes: back.off.num_seconds() as f64 / 60.0,
            hours: timed.then(|| back.after().num_seconds() as f64 / 3600.0),
            back,
        }
    }
}
