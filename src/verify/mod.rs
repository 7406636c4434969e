//! Re-reads a finished plan against the season by plain arithmetic.
//!
//! It shares no code with what made the plan: dates are worked out again from the protocol's
//! steps on the zone's own calendar, each animal's hours from her own treatment time, each
//! technician's day from shifts and roads; and once more minute by minute. What disagrees comes back as a finding `V101` that
//! says what was expected and what stands in the plan.

mod alley;
mod answers;
mod crew;
mod dates;
mod days;
mod follow;
mod heat;
mod mated;
mod matings;
mod minute;
mod road;
mod sessions;
mod stays;
mod tank;
pub mod thaw;
mod totals;

pub use answers::{calves, supplies};
pub use days::as_spread;
pub use mated::{mated, placed};
pub use matings::matings;

use std::collections::BTreeMap;
use std::fmt::Display;

use chrono::{DateTime, NaiveDateTime, Offset, TimeDelta, TimeZone, Utc};

use crate::base::error::{Code, Finding};
use crate::base::time::Zone;
use crate::base::units::Head;
use crate::planning::plan::{Moment, Pass, Plan};
use crate::trade::protocol::{Action, Step};
use crate::trade::season::{Group, PenStarts, Season, Site};

/// Everything in which the plan disagrees with the season; empty for a sound plan.
#[must_use]
pub fn verify(season: &Season, plan: &Plan) -> Vec<Finding> {
    let spread = match days::as_spread(season, plan) {
        Ok(spread) => spread,
        Err(faults) => return faults,
    };
    let mut reading = Reading::new(&spread, plan);
    let half_days = heat::check(&mut reading);
    dates::check(&mut reading, half_days);
    sessions::check(&mut reading);
    crew::check(&mut reading);
    road::check(&mut reading);
    follow::check(&mut reading);
    totals::check(&mut reading);
    minute::check(&mut reading);
    tank::check(&mut reading);
    reading.found
}

struct Reading<'a> {
    season: &'a Season,
    plan: &'a Plan,
    zone: Zone,
    passes: BTreeMap<&'a str, &'a Pass>,
    groups: BTreeMap<&'a str, &'a Group>,
    found: Vec<Finding>,
}

/// A treatment pass as the plan has it, from which animals' own times follow.
#[derive(Clone, Copy)]
struct Treated {
    start: DateTime<Utc>,
    seconds_each: f64,
}

impl<'a> Reading<'a> {
    fn new(season: &'a Season, plan: &'a Plan) -> Self {
        Self {
            season,
            plan,
            zone: season.zone,
            passes: plan.passes.iter().map(|p| (p.id.as_str(), p)).collect(),
            groups: season.groups.iter().map(|g| (g.id.as_str(), g)).collect(),
            found: Vec::new(),
        }
    }

    fn wrong(&mut self, who: &str, expected: impl Display, got: impl Display) {
        self.found.push(
            Finding::error(Code::Verify, format!("{who}: the plan has {got}"))
                .expected(expected.to_string())
                .hint("please report this with the season file"),
        );
    }

    /// Complains unless the two are equal.
    fn same<T: PartialEq + std::fmt::Debug>(&mut self, who: &str, expected: &T, got: &T) {
        if expected != got {
            self.wrong(who, format!("{expected:?}"), format!("{got:?}"));
        }
    }

    /// A moment must carry the offset its zone has then.
    fn offset(&mut self, who: &str, at: Moment) {
        let right = self.zone.offset_from_utc_datetime(&at.naive_utc()).fix();
        if right != at.offset().fix() {
            self.wrong(who, format!("offset {right}"), at.to_rfc3339());
        }
    }

    /// The instants that a local reading may mean: two where it comes twice, and for one that is
    /// skipped the reading moved on by the gap.
    fn meanings(&self, local: NaiveDateTime) -> Vec<DateTime<Utc>> {
        let offsets = |at: NaiveDateTime| {
            self.zone
                .offset_from_utc_datetime(&at)
                .fix()
                .local_minus_utc()
        };
        let mut found: Vec<DateTime<Utc>> = [-1i64, 1]
            .iter()
            .map(|side| offsets(local + TimeDelta::days(*side)))
            .map(|offset| Utc.from_utc_datetime(&(local - TimeDelta::seconds(i64::from(offset)))))
            .filter(|at| {
                let back = at.naive_utc() + TimeDelta::seconds(i64::from(offsets(at.naive_utc())));
                back == local
            })
            .collect();
        if found.is_empty() {
            let before = offsets(local - TimeDelta::days(1));
            found.push(Utc.from_utc_datetime(&(local - TimeDelta::seconds(i64::from(before)))));
        }
        found.sort();
        found.dedup();
        found
    }

    /// The one instant that this program takes a local reading for: the earlier.
    fn instant(&self, local: NaiveDateTime) -> DateTime<Utc> {
        self.meanings(local)[0]
    }

    fn local(&self, at: DateTime<Utc>) -> NaiveDateTime {
        at.with_timezone(&self.zone).naive_local()
    }

    fn group(&self, id: &str) -> Option<&'a Group> {
        self.groups.get(id).copied()
    }

    fn site_of(&self, group: &Group) -> &'a Site {
        &self.season.sites[group.site]
    }

    /// Seconds an animal takes in the chute for a step; feeding and the like take none.
    fn seconds_each(&self, group: &Group, step: &Step) -> f64 {
        if step.lasts_days.is_some() {
            return 0.0;
        }
        let site = self.site_of(group);
        let insert = step
            .actions
            .iter()
            .any(|a| matches!(a, Action::InsertIn | Action::InsertOut));
        3600.0
            / if insert {
                site.inserts
            } else {
                site.injections
            }
            .get()
    }

    /// How long a pen is in the chute, in whole seconds, rounded up.
    fn seconds_in_chute(&self, group: &Group, step: &Step, head: Head) -> TimeDelta {
        let exact = self.seconds_each(group, step) * f64::from(head.0);
        TimeDelta::seconds((exact - 1e-6).ceil() as i64)
    }

    fn pass_of(&self, group: &Group, pen: usize, step: &Step) -> Option<&'a Pass> {
        let id = pass_id(group, pen, step);
        self.passes.get(id.as_str()).copied()
    }

    /// The treatment that a step's hours count from, as the plan has it.
    fn treated(&self, group: &Group, pen: usize, step: &Step) -> Option<Treated> {
        match step.anchor {
            crate::trade::protocol::Anchor::Step(a) => {
                let anchor = &group.protocol.steps[a];
                let pass = self.pass_of(group, pen, anchor)?;
                let start = pass.start.with_timezone(&Utc);
                let as_one = anchor.lasts_days.is_some();
                let later = if as_one && group.pen_starts != PenStarts::InTurn {
                    self.pen_start(group, pen) - self.instant(group.start)
                } else {
                    TimeDelta::zero()
                };
                Some(Treated {
                    start: start + later,
                    seconds_each: self.seconds_each(group, anchor),
                })
            }
            crate::trade::protocol::Anchor::Start => Some(Treated {
                start: self.pen_start(group, pen),
                seconds_each: 0.0,
            }),
        }
    }

    /// When a pen starts: as the pens before it are through the first pass that counts from the
    /// start.
    fn pen_start(&self, group: &Group, pen: usize) -> DateTime<Utc> {
        match &group.pen_starts {
            PenStarts::InTurn => {}
            PenStarts::Given(starts) => return self.instant(starts[pen]),
            PenStarts::Until(_) => {
                let plan = self.plan.group(group.id.as_str());
                let starts = plan.and_then(|g| g.pen_starts.as_ref());
                if let Some(start) = starts.and_then(|s| s.get(pen)) {
                    return start.with_timezone(&Utc);
                }
            }
        }
        let first =
            group.protocol.steps.iter().find(|s| {
                s.lasts_days.is_none() && s.anchor == crate::trade::protocol::Anchor::Start
            });
        let before: TimeDelta = group.pens[..pen]
            .iter()
            .filter_map(|head| Some(self.seconds_in_chute(group, first?, *head)))
            .sum();
        self.instant(group.start) + before
    }
}

/// Feeding and heat watch are of the whole group; everything else is of a pen.
fn pass_id(group: &Group, pen: usize, step: &Step) -> String {
    if step.lasts_days.is_some() {
        format!("{}/all/{}", group.id, step.id)
    } else {
        format!("{}/{}/{}", group.id, pen + 1, step.id)
    }
}

/// Moments are compared to the second and a half: the plan rounds to hundredths of a minute.
const CLOSE: TimeDelta = TimeDelta::milliseconds(1500);

fn close(a: DateTime<Utc>, b: DateTime<Utc>) -> bool {
    (a - b).abs() <= CLOSE
}
