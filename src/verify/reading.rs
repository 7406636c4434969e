//! The plan beside the season, and what is found wrong with it.

use std::collections::{BTreeMap, BTreeSet};
use std::fmt::Display;

use chrono::{DateTime, NaiveDateTime, Offset, TimeDelta, TimeZone, Utc};

use crate::base::error::{Code, Finding, Place, Severity};
use crate::base::time::Zone;
use crate::base::units::Head;
use crate::planning::plan::{Moment, Pass, Plan};
use crate::trade::protocol::{Action, Anchor, Caution, Step};
use crate::trade::season::{Group, PenStarts, Season, Site, Technician};

pub(super) struct Reading<'a> {
    pub(super) season: &'a Season,
    pub(super) plan: &'a Plan,
    pub(super) zone: Zone,
    pub(super) passes: BTreeMap<&'a str, &'a Pass>,
    pub(super) groups: BTreeMap<&'a str, &'a Group>,
    pub(super) found: Vec<Finding>,
    /// What the plan says, by code, weight and place.
    told: BTreeSet<(Code, Severity, &'a str)>,
}

/// A treatment pass as the plan has it, from which animals' own times follow.
#[derive(Clone, Copy)]
pub(super) struct Treated {
    pub(super) start: DateTime<Utc>,
    pub(super) seconds_each: f64,
}

impl<'a> Reading<'a> {
    pub(super) fn new(season: &'a Season, plan: &'a Plan) -> Self {
        Self {
            season,
            plan,
            zone: season.zone,
            passes: plan.passes.iter().map(|p| (p.id.as_str(), p)).collect(),
            groups: season.groups.iter().map(|g| (g.id.as_str(), g)).collect(),
            found: Vec::new(),
            told: plan
                .findings
                .iter()
                .filter_map(|f| Some((f.code, f.severity, f.place.as_deref()?)))
                .collect(),
        }
    }

    pub(super) fn wrong(&mut self, who: &str, expected: impl Display, got: impl Display) {
        let finding = Finding::error(Code::Verify, format!("{who}: the plan has {got}"))
            .expected(expected.to_string())
            .hint("please report this with the season file");
        self.found.push(finding);
    }

    /// True if the plan says this of a group, as a note or a warning: it stands at the group's start.
    pub(super) fn told(&self, code: Code, group: &Group) -> bool {
        let said = |severity| self.told_at(code, severity, &group.start_place);
        said(Severity::Note) || said(Severity::Warning)
    }

    /// True if it says this, with this weight, of a place in a file.
    pub(super) fn told_at(&self, code: Code, severity: Severity, place: &Place) -> bool {
        let place = place.to_string();
        self.told.contains(&(code, severity, place.as_str()))
    }

    pub(super) fn same<T: PartialEq + std::fmt::Debug>(
        &mut self,
        who: &str,
        expected: &T,
        got: &T,
    ) {
        if expected != got {
            self.wrong(who, format!("{expected:?}"), format!("{got:?}"));
        }
    }

    /// Complains of cautions that are not given.
    pub(super) fn cautions(&mut self, who: &str, wanted: &[Caution], given: &[Caution]) {
        for caution in wanted.iter().filter(|c| !given.contains(c)) {
            self.wrong(who, format!("the caution {}", caution.as_str()), "none");
        }
    }

    /// A moment must carry the offset its zone has then.
    pub(super) fn offset(&mut self, who: &str, at: Moment) {
        let right = self.zone.offset_from_utc_datetime(&at.naive_utc()).fix();
        if right != at.offset().fix() {
            self.wrong(who, format!("offset {right}"), at.to_rfc3339());
        }
    }

    /// The instants that a local reading may mean: two where it comes twice, and for one that is
    /// skipped the reading moved on by the gap.
    pub(super) fn meanings(&self, local: NaiveDateTime) -> Vec<DateTime<Utc>> {
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
    pub(super) fn instant(&self, local: NaiveDateTime) -> DateTime<Utc> {
        self.meanings(local)[0]
    }

    pub(super) fn local(&self, at: DateTime<Utc>) -> NaiveDateTime {
        at.with_timezone(&self.zone).naive_local()
    }

    pub(super) fn group(&self, id: &str) -> Option<&'a Group> {
        self.groups.get(id).copied()
    }

    /// A site's place in the season.
    pub(super) fn site(&self, id: &str) -> Option<usize> {
        self.season.sites.iter().position(|s| s.id.as_str() == id)
    }

    pub(super) fn technician(&self, id: &str) -> Option<&'a Technician> {
        self.season.crew.iter().find(|t| t.id.as_str() == id)
    }

    pub(super) fn site_of(&self, group: &Group) -> &'a Site {
        &self.season.sites[group.site]
    }

    /// Seconds an animal takes in the chute for a step; feeding and the like take none.
    pub(super) fn seconds_each(&self, group: &Group, step: &Step) -> f64 {
        if step.lasts_days.is_some() {
            return 0.0;
        }
        let site = self.site_of(group);
        let mut actions = step.actions.iter();
        let insert = actions.any(|a| matches!(a, Action::InsertIn | Action::InsertOut));
        3600.0
            / if insert {
                site.inserts
            } else {
                site.injections
            }
            .get()
    }

    /// How long a pen is in the chute, in whole seconds, rounded up.
    pub(super) fn seconds_in_chute(&self, group: &Group, step: &Step, head: Head) -> TimeDelta {
        let exact = self.seconds_each(group, step) * f64::from(head.0);
        TimeDelta::seconds((exact - 1e-6).ceil() as i64)
    }

    pub(super) fn pass_of(&self, group: &Group, pen: usize, step: &Step) -> Option<&'a Pass> {
        let id = pass_id(group, pen, step);
        self.passes.get(id.as_str()).copied()
    }

    /// The treatment that a step's hours count from, as the plan has it.
    pub(super) fn treated(&self, group: &Group, pen: usize, step: &Step) -> Option<Treated> {
        match step.anchor {
            Anchor::Step(a) => {
                let anchor = &group.protocol.steps[a];
                let pass = self.pass_of(group, pen, anchor)?;
                let start = pass.start.to_utc();
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
            Anchor::Start => Some(Treated {
                start: self.pen_start(group, pen),
                seconds_each: 0.0,
            }),
        }
    }

    /// When a pen starts: as the pens before it are through the first pass that counts from the
    /// start.
    pub(super) fn pen_start(&self, group: &Group, pen: usize) -> DateTime<Utc> {
        match &group.pen_starts {
            PenStarts::InTurn => {}
            PenStarts::Given(starts) => return self.instant(starts[pen]),
            PenStarts::Until(_) => {
                let plan = self.plan.group(group.id.as_str());
                let starts = plan.and_then(|g| g.pen_starts.as_ref());
                if let Some(start) = starts.and_then(|s| s.get(pen)) {
                    return start.to_utc();
                }
            }
        }
        let mut steps = group.protocol.steps.iter();
        let first = steps.find(|s| s.lasts_days.is_none() && s.anchor == Anchor::Start);
        let before: TimeDelta = group.pens[..pen]
            .iter()
            .filter_map(|head| Some(self.seconds_in_chute(group, first?, *head)))
            .sum();
        self.instant(group.start) + before
    }
}

/// Feeding and heat watch are of the whole group; everything else is of a pen.
pub(super) fn pass_id(group: &Group, pen: usize, step: &Step) -> String {
    if step.lasts_days.is_some() {
        format!("{}/all/{}", group.id, step.id)
    } else {
        format!("{}/{}/{}", group.id, pen + 1, step.id)
    }
}

/// Moments are compared to the second and a half: the plan rounds to hundredths of a minute.
pub(super) const CLOSE: TimeDelta = TimeDelta::milliseconds(1500);

pub(super) fn close(a: DateTime<Utc>, b: DateTime<Utc>) -> bool {
    (a - b).abs() <= CLOSE
}
