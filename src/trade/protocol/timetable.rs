//! A protocol dated forwards for one animal: from a local start to the moment of every step.
//!
//! The arithmetic of a single step ([`Step::due`]) is the one that a whole season is dated with.

use chrono::{NaiveDate, NaiveDateTime, TimeDelta, Timelike as _};

use super::{Anchor, Delay, Protocol, Step};
use crate::base::error::{Code, Finding};
use crate::base::time::{Doubt, Instant, Resolved, Transition, Zone};
use crate::base::units::human_minutes;

impl Step {
    /// When the step is due for an animal that had the step it counts from at `base`: by days at
    /// the same clock time, by hours at the aim. Feeding and heat watch by hours begin at the
    /// earliest of them.
    pub fn due(&self, zone: Zone, base: Instant) -> Resolved {
        match (self.delay, self.lasts_days) {
            (Delay::Days(days), _) => zone.same_clock(base, days),
            (Delay::Elapsed(window), Some(_)) => Resolved {
                at: base + window.earliest,
                doubt: None,
            },
            (Delay::Elapsed(window), None) => Resolved {
                at: base + window.aim,
                doubt: None,
            },
        }
    }

    /// First and last day of a feeding or heat watch that begins at `start`.
    #[must_use]
    pub fn days_of(&self, zone: Zone, start: Instant) -> Option<(NaiveDate, NaiveDate)> {
        let lasts = self.lasts_days?;
        let first = zone.date(start);
        Some((first, first + TimeDelta::days(i64::from(lasts) - 1)))
    }
}

/// Hours between which a step must lie.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Between {
    /// Not sooner.
    pub earliest: Instant,
    /// Not later.
    pub latest: Instant,
}

/// One step on the calendar.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Dated {
    /// The aim; the beginning, for feeding and heat watch.
    pub at: Instant,
    /// The moment it counts from.
    pub from: Instant,
    /// Earliest and latest, for a step in elapsed hours.
    pub hours: Option<Between>,
    /// First and last day, for feeding and heat watch.
    pub days: Option<(NaiveDate, NaiveDate)>,
    /// A local reading that the clocks skip or repeat.
    pub doubt: Option<Doubt>,
}

/// A step's own elapsed time in place of its aim.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Chosen {
    /// The step, by its place in the protocol.
    pub step: usize,
    /// Elapsed time from the step it counts from.
    pub after: TimeDelta,
}

/// A protocol on the calendar, for one animal.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Timetable {
    /// The zone of its local times.
    pub zone: Zone,
    /// The start that was asked for.
    pub start: NaiveDateTime,
    /// The start as it was taken.
    pub began: Resolved,
    /// The steps, as they stand in the protocol.
    pub steps: Vec<Dated>,
}

/// Dates a protocol from a local start, each step in hours at its aim.
#[must_use]
pub fn timetable(protocol: &Protocol, zone: Zone, start: NaiveDateTime) -> Timetable {
    timetable_with(protocol, zone, start, None)
}

/// Dates a protocol, one step at other hours than its aim.
#[must_use]
pub fn timetable_with(
    protocol: &Protocol,
    zone: Zone,
    start: NaiveDateTime,
    chosen: Option<Chosen>,
) -> Timetable {
    let began = zone.resolve(start);
    let mut steps: Vec<Dated> = Vec::with_capacity(protocol.steps.len());
    for (n, step) in protocol.steps.iter().enumerate() {
        let from = match step.anchor {
            Anchor::Start => began.at,
            Anchor::Step(a) => steps[a].at,
        };
        let due = match chosen.filter(|c| c.step == n) {
            Some(c) => Resolved {
                at: from + c.after,
                doubt: None,
            },
            None => step.due(zone, from),
        };
        steps.push(Dated {
            at: due.at,
            from,
            hours: match step.delay {
                Delay::Days(_) => None,
                Delay::Elapsed(window) => Some(Between {
                    earliest: from + window.earliest,
                    latest: from + window.latest,
                }),
            },
            days: step.days_of(zone, due.at),
            doubt: due.doubt,
        });
    }
    Timetable {
        zone,
        start,
        began,
        steps,
    }
}

/// A line of a diary: what happens at one moment.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Entry {
    /// The step, by its place in the protocol.
    pub step: usize,
    /// The local day.
    pub day: NaiveDate,
    /// Which part of the step.
    pub part: Part,
}

/// Which part of a step happens on a day.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Part {
    /// Feeding or heat watch begins.
    FirstDay,
    /// All of it, at this moment.
    Whole(Instant),
    /// Feeding or heat watch ends.
    LastDay,
}

impl Timetable {
    /// Every doubt about a local time, each once.
    #[must_use]
    pub fn doubts(&self) -> Vec<Doubt> {
        let mut found: Vec<Doubt> = Vec::new();
        for doubt in std::iter::once(self.began.doubt)
            .chain(self.steps.iter().map(|s| s.doubt))
            .flatten()
        {
            if !found.contains(&doubt) {
                found.push(doubt);
            }
        }
        found
    }

    /// What happens, in the order of days; feeding and heat watch with their first and last day.
    #[must_use]
    pub fn diary(&self) -> Vec<Entry> {
        let mut entries = Vec::new();
        for (step, dated) in self.steps.iter().enumerate() {
            let mut add = |day, part| entries.push(Entry { step, day, part });
            match dated.days {
                Some((first, last)) => {
                    add(first, Part::FirstDay);
                    add(last, Part::LastDay);
                }
                None => add(self.zone.date(dated.at), Part::Whole(dated.at)),
            }
        }
        // A watch is announced after the chute work of its first day, which often begins it.
        entries.sort_by_key(|e| {
            let first = e.part == Part::FirstDay && e.day != self.zone.date(self.began.at);
            (e.day, first, e.part)
        });
        entries
    }

    /// What is worth knowing of these dates: skipped and repeated local times, changes of the
    /// clocks among elapsed hours, chute work at night. The findings have no place.
    #[must_use]
    pub fn findings(&self, protocol: &Protocol) -> Vec<Finding> {
        let zone = self.zone;
        let found = self.doubts().into_iter().map(|d| {
            d.finding(zone)
                .hint("if this matters, start at another hour")
        });
        let mut found: Vec<Finding> = found.collect();
        for (step, dated) in protocol.steps.iter().zip(&self.steps) {
            let (Delay::Elapsed(window), Anchor::Step(a)) = (step.delay, step.anchor) else {
                continue;
            };
            // A watch begins at its earliest; the hours that people count are those of the aim.
            let at = match dated.days {
                Some(_) => dated.from + window.aim,
                None => dated.at,
            };
            for change in zone.transitions(dated.from, at) {
                let what =
                    change_words(zone, &change, (&protocol.steps[a], dated.from), (step, at));
                found.push(Finding::note(Code::ClockChange, what).hint(CLOCKS_COUNTED));
            }
        }
        let nights = self.night_work(protocol).into_iter().map(|n| {
            format!(
                "{} on {}",
                protocol.steps[n].words(),
                zone.human_short(self.steps[n].at)
            )
        });
        let nights: Vec<String> = nights.collect();
        if !nights.is_empty() {
            let what = format!("chute work falls in the night: {}", nights.join("; "));
            let finding = Finding::note(Code::NightTreatment, what)
                .hint("start or breed at another hour of the day: all of it moves along");
            found.push(finding);
        }
        found
    }

    /// Steps in the chute that fall in the night.
    #[must_use]
    pub fn night_work(&self, protocol: &Protocol) -> Vec<usize> {
        (0..self.steps.len())
            .filter(|n| protocol.steps[*n].is_chute_work())
            .filter(|n| is_night(self.zone, self.steps[*n].at))
            .collect()
    }
}

/// What to do about a change of the clocks among elapsed hours.
pub const CLOCKS_COUNTED: &str = "nothing to do: the dates already count it";

/// True from 22:00 to 04:00 local time (common practice, no source).
#[must_use]
pub fn is_night(zone: Zone, at: Instant) -> bool {
    !(4..22).contains(&zone.local(at).hour())
}

/// That the clocks change between a step and the one its hours count from, in words.
#[must_use]
pub fn change_words(
    zone: Zone,
    change: &Transition,
    (anchor, from): (&Step, Instant),
    (step, at): (&Step, Instant),
) -> String {
    let shift = change.after - change.before;
    let what = if step.is_timed_breeding() || step.is_heat_breeding() {
        "AI".to_owned()
    } else {
        step.words()
    };
    let anchor = anchor.words();
    format!(
        "the clocks go {} {} on {}, between {anchor} ({}) and {what}: {} elapsed hours later the clock shows {}",
        if shift > 0 { "forward" } else { "back" },
        human_minutes(i64::from(shift.abs()) / 60),
        zone.human_short(change.at),
        zone.human_short(from),
        ((at - from).num_minutes() as f64) / 60.0,
        zone.human_short(at)
    )
}
