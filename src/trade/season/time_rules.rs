//! The rules for dates, clock times and hours.

use super::raw;
use super::rules::Rulebook;
use crate::base::error::{Code, Finding};
use crate::base::time::{parse_local, read};
use crate::trade::protocol::Protocol;

/// Pens further apart than this are groups of their own.
const MOST_DAYS_APART: i64 = 7;

impl Rulebook<'_> {
    /// A clock time can be read; hours may end at 24:00 but not begin then.
    pub(super) fn clock(&mut self, field: &str, text: &str, ends: bool, like: &str) {
        self.read(field, read::clock_like(text, ends, like));
    }

    /// What could be read; else it is said why not.
    pub(super) fn read<T>(&mut self, field: &str, read: Result<T, Finding>) -> Option<T> {
        read.map_err(|finding| self.add(field, finding)).ok()
    }

    pub(super) fn group_start(&mut self, n: usize) {
        if let Some(text) = &self.raw.groups[n].start {
            self.read(&format!("groups[{n}].start"), read::local(text));
        }
    }

    /// True if a group's animals are fed, or watched for heat, all together.
    fn as_one(&self, g: &raw::Group) -> bool {
        let protocol = g.protocol.as_ref().and_then(|id| self.library.get(id));
        protocol.is_some_and(Protocol::begins_as_one)
    }

    /// Pens that begin at times of their own: one for each pen, none before the group's start; on
    /// its day, where the group is fed or watched as one.
    pub(super) fn pen_starts(&mut self, n: usize) {
        let g = &self.raw.groups[n];
        let mut given: Vec<(String, &String)> = Vec::new();
        for (k, text) in g.pen_starts.iter().flatten().enumerate() {
            given.push((format!("groups[{n}].pen_starts[{k}]"), text));
        }
        if let Some(text) = &g.latest_start {
            given.push((format!("groups[{n}].latest_start"), text));
        }
        let Some((first, _)) = given.first().cloned() else {
            return;
        };
        let pens = g.pen_head.as_ref().map(|p| p.len() as u32);
        let pens = pens.unwrap_or(g.pens.unwrap_or(1));
        let starts = g.pen_starts.as_ref().map(|p| p.len() as u32);
        let start = g.start.as_deref().and_then(parse_local);
        let fault = if g.start.is_none() {
            Some("the pens' starts are given, but not the group's")
        } else if starts.is_some() && g.latest_start.is_some() {
            Some("both `pen_starts` and `latest_start` are given")
        } else if starts.is_some_and(|n| n != pens) {
            Some("there are not as many pen starts as pens")
        } else {
            None
        };
        if let Some(what) = fault {
            let expected =
                "`start`, and either a time for each pen under `pen_starts` or one `latest_start`";
            let hint = "leave both out for pens that begin one after the other";
            self.fault(Code::PenStartForm, &first, what, expected, hint);
            return;
        }
        let one_day = self.as_one(g);
        for (field, text) in given {
            let at = self.read(&field, read::local(text));
            let Some((at, start)) = at.zip(start) else {
                continue;
            };
            let what = if at < start {
                "this is before the group's start"
            } else if one_day && at.date() != start.date() {
                "the group is fed or watched as one, and a pen would begin on another day"
            } else if at - start > chrono::TimeDelta::days(MOST_DAYS_APART) {
                "this is weeks after the group's start"
            } else {
                continue;
            };
            let expected = if one_day {
                "a later hour of the day on which the group starts"
            } else {
                "a time at or after the group's `start`, within a week of it"
            };
            let hint = "pens that begin far apart are better planned as groups of their own";
            self.fault(Code::PenStartForm, &field, what, expected, hint);
        }
    }

    /// A group may be spread over days where nothing else says when its pens begin, and where it is
    /// neither fed nor watched as one.
    pub(super) fn days(&mut self, n: usize) {
        let g = &self.raw.groups[n];
        let Some(days) = &g.days else { return };
        let (what, hint) = match days.most() {
            None => (
                "this does not say over how many days the group may be spread",
                "write `days: up to 3`, or leave it out for a group that begins on one day",
            ),
            Some(1) => return,
            Some(_) if g.pen_starts.is_some() || g.latest_start.is_some() => (
                "the plan cannot pick the days of pens whose starts are given",
                "give one of `days`, `pen_starts` and `latest_start`",
            ),
            Some(_) if self.as_one(g) => (
                "the group is fed or watched for heat as one, and cannot be spread over days",
                "leave `days` out, or make groups of their own of those that begin later",
            ),
            Some(_) => return,
        };
        let field = format!("groups[{n}].days");
        let expected = "`up to` and a whole number from 2 to 7, or 1";
        self.fault(Code::DaysForm, &field, what, expected, hint);
    }

    pub(super) fn shifts(&mut self, n: usize) {
        for (k, shift) in self.raw.crew[n].shifts.iter().enumerate() {
            let field = format!("crew[{n}].shifts[{k}]");
            for (key, text) in [("from", &shift.from), ("to", &shift.to)] {
                self.clock(&format!("{field}.{key}"), text, key == "to", "05:00");
            }
            if shift.from == shift.to {
                let what = "this shift ends when it begins";
                let expected = "an end other than the start";
                let hint = "for a whole day write `from: \"00:00\"` and `to: \"24:00\"`";
                self.fault(Code::ShiftForm, &field, what, expected, hint);
            }
        }
    }

    pub(super) fn days_off(&mut self, n: usize) {
        for (k, day) in self.raw.crew[n].days_off.iter().enumerate() {
            self.date(&format!("crew[{n}].days_off[{k}]"), day);
        }
    }

    /// A local date.
    pub(super) fn date(&mut self, field: &str, text: &str) {
        self.read(field, read::date(text));
    }

    pub(super) fn free_hours(&mut self) {
        for (field, rule) in self.raw.free_rules() {
            for (below, finding) in rule.wrong() {
                self.add(&format!("{field}{below}"), finding);
            }
        }
    }
}
