//! A protocol dated backwards: from the moment of breeding, or the date of the first calf, to the
//! local start that leads there.
//!
//! The inverse is exact. Where a change of the clocks leaves no start that leads to the very
//! moment, the nearest one comes back with how far off it is.
//!
//! A start is undone leg by leg, each in all the ways there are: an instant may be what two readings
//! mean, and a reading that of two instants. What is left is every start that leads there, so "none" is
//! proven. Only then is the nearest looked for, minute by minute. `Step::due` is the one place where a
//! step is counted forward, for a season and for a single animal.

use chrono::{NaiveDate, NaiveDateTime, NaiveTime, TimeDelta};

use super::timetable::{Chosen, Timetable, timetable_with};
use super::{Anchor, Delay, Protocol, Step, Window};
use crate::base::error::{Code, Finding, quoted};
use crate::base::time::{Instant, Zone, hours, in_range};
use crate::base::units::human_minutes;

/// Mean days from breeding to calving over all breeds (TORELL, BIF-GL).
pub const MEAN_GESTATION_DAYS: u32 = 283;

/// Days by which a gestation is shorter or longer than its breed's mean (TORELL).
pub const GESTATION_SPREAD_DAYS: u32 = 12;

/// Published breed means reach from 279 to 292 days, and single gestations 12 days either way
/// (TORELL): what lies outside is a slip of the hand.
const GESTATION_DAYS: std::ops::RangeInclusive<u32> =
    279 - GESTATION_SPREAD_DAYS..=292 + GESTATION_SPREAD_DAYS;

/// Clock time of breeding where only the day is known (common practice, no source).
pub const BREEDING_CLOCK: NaiveTime = match NaiveTime::from_hms_opt(8, 0, 0) {
    Some(clock) => clock,
    None => NaiveTime::MIN,
};

/// The start that leads to a moment of breeding.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Backwards {
    /// The step that was to fall at that moment, by its place in the protocol.
    pub step: usize,
    /// The moment asked for.
    pub wanted: Instant,
    /// By how much later the step falls than was asked for; zero where the start is exact.
    pub off: TimeDelta,
    /// The start, and all the steps from there.
    pub timetable: Timetable,
}

impl Backwards {
    /// The local start.
    #[must_use]
    pub fn start(&self) -> NaiveDateTime {
        self.timetable.start
    }

    /// Elapsed time from the step that it counts from to the step asked for.
    #[must_use]
    pub fn after(&self) -> TimeDelta {
        let dated = &self.timetable.steps[self.step];
        dated.at - dated.from
    }

    /// True if the step falls at the very moment asked for.
    #[must_use]
    pub fn is_exact(&self) -> bool {
        self.off == TimeDelta::zero()
    }

    /// The dates' findings, and first, where the start is not exact, by how much.
    #[must_use]
    pub fn findings(&self, protocol: &Protocol) -> Vec<Finding> {
        let mut found = self.timetable.findings(protocol);
        if !self.is_exact() {
            let zone = self.timetable.zone;
            let word = if self.off > TimeDelta::zero() {
                "later"
            } else {
                "sooner"
            };
            let what = format!(
                "no start leads to {} exactly, as the clocks change in between: the nearest leads to {}, {} {word}",
                zone.human(self.wanted),
                zone.human_short(self.timetable.steps[self.step].at),
                human_minutes(self.off.abs().num_minutes())
            );
            found.insert(
                0,
                Finding::warning(Code::NoExactStart, what)
                    .expected("a time of breeding that some start leads to")
                    .hint("breed at that time, or ask for another one"),
            );
        }
        found
    }
}

impl Protocol {
    /// The step that decides when the group is bred: the first timed breeding; where there is
    /// none, the watch in which animals are bred as they come in heat.
    #[must_use]
    pub fn breeding_step(&self) -> Option<usize> {
        let timed = self.steps.iter().position(Step::is_timed_breeding);
        timed.or_else(|| self.steps.iter().position(Step::is_heat_breeding))
    }

    /// The first step that breeds anybody, timed or by heat.
    #[must_use]
    pub fn first_breeding_step(&self) -> Option<usize> {
        self.steps
            .iter()
            .position(|s| s.is_timed_breeding() || s.is_heat_breeding())
    }
}

/// The start from which the first timed breeding falls at `breeding`: at its aim, or at the given
/// elapsed hours after the step it counts from. With heat alone, the start from which the watch
/// begins then.
///
/// # Errors
/// Hours outside the protocol's window, or for a protocol without timed breeding; a moment or a
/// start outside 2000 to 2100.
pub fn start_for_breeding(
    protocol: &Protocol,
    zone: Zone,
    breeding: Instant,
    hours: Option<f64>,
) -> Result<Backwards, Finding> {
    let step = protocol.breeding_step().ok_or_else(|| nobody(protocol))?;
    let chosen = match hours {
        Some(hours) => Some(chosen(protocol, step, hours)?),
        None => None,
    };
    start_for(protocol, zone, step, breeding, chosen)
}

/// The start for a mean due date, at a mean length of gestation: the first breeding, timed
/// or by heat, falls that many days before it, at the clock time given.
///
/// # Errors
/// A length of gestation that no cattle have; dates outside 2000 to 2100.
pub fn start_for_calving(
    protocol: &Protocol,
    zone: Zone,
    date: NaiveDate,
    gestation_days: u32,
    clock: NaiveTime,
) -> Result<Backwards, Finding> {
    let step = protocol
        .first_breeding_step()
        .ok_or_else(|| nobody(protocol))?;
    let day = breeding_day(date, gestation_days)?;
    let breeding = zone.resolve(day.and_time(clock)).at;
    start_for(protocol, zone, step, breeding, None)
}

/// The day of breeding for a mean due date.
///
/// # Errors
/// A length of gestation that no cattle have; dates outside 2000 to 2100.
pub fn breeding_day(calf: NaiveDate, gestation_days: u32) -> Result<NaiveDate, Finding> {
    if !GESTATION_DAYS.contains(&gestation_days) {
        let what = format!("a gestation of {gestation_days} days is no cow's");
        return Err(Finding::error(Code::OutOfRange, what)
            .expected(format!(
                "{} to {} days (TORELL)",
                GESTATION_DAYS.start(),
                GESTATION_DAYS.end()
            ))
            .hint(format!(
                "{MEAN_GESTATION_DAYS} is the mean of all breeds (TORELL)"
            )));
    }
    let day = calf - TimeDelta::days(i64::from(gestation_days));
    in_years(day)?;
    Ok(day)
}

fn nobody(protocol: &Protocol) -> Finding {
    let what = format!("{} breeds no animal", quoted(protocol.id.as_str()));
    Finding::error(Code::NoBreeding, what)
        .expected("a step that breeds")
        .hint("check the steps of the protocol")
}

pub(super) fn in_years(date: NaiveDate) -> Result<(), Finding> {
    if in_range(date) {
        return Ok(());
    }
    let what = format!("{date} lies outside the years planned for");
    Err(Finding::error(Code::BadTime, what)
        .expected("dates between 2000 and 2100")
        .hint("check the year"))
}

fn chosen(protocol: &Protocol, n: usize, h: f64) -> Result<Chosen, Finding> {
    let step = &protocol.steps[n];
    let refused = |what: String| Finding::error(Code::HoursOutside, what);
    let Some(window) = timed_window(step) else {
        return Err(refused(format!(
            "{} breeds by heat: it has no hours to choose from",
            quoted(protocol.id.as_str())
        ))
        .expected("no hours, as it breeds by heat")
        .hint("leave the hours out: the moment is the beginning of the heat watch"));
    };
    let from = protocol.counted_from(step);
    let seconds = h * 3600.0;
    if !(window.earliest.num_seconds() as f64 <= seconds
        && seconds <= window.latest.num_seconds() as f64)
    {
        let id = quoted(protocol.id.as_str());
        return Err(refused(format!("{id} is not bred at {h} h after `{from}`"))
            .expected(window.words())
            .hint("give hours inside this window, or leave them out to breed at the aim"));
    }
    Ok(Chosen {
        step: n,
        after: hours(h),
    })
}

fn timed_window(step: &Step) -> Option<Window> {
    match step.delay {
        Delay::Elapsed(window) if step.is_timed_breeding() => Some(window),
        _ => None,
    }
}

fn start_for(
    protocol: &Protocol,
    zone: Zone,
    step: usize,
    wanted: Instant,
    chosen: Option<Chosen>,
) -> Result<Backwards, Finding> {
    in_years(zone.date(wanted))?;
    let back = |start: NaiveDateTime| {
        let timetable = timetable_with(protocol, zone, start, chosen);
        Backwards {
            step,
            wanted,
            off: timetable.steps[step].at - wanted,
            timetable,
        }
    };
    let path = path_to(protocol, step, chosen);
    let exact = starts(&path, zone, wanted)
        .into_iter()
        .map(back)
        .filter(Backwards::is_exact)
        .min_by_key(|b| (b.timetable.doubts().len(), b.start()));
    let found = exact.unwrap_or_else(|| nearest(&path, zone, wanted, back));
    in_years(found.start().date())?;
    Ok(found)
}

/// How long after one another the steps come that lead to a step, the first of them first.
fn path_to(protocol: &Protocol, step: usize, chosen: Option<Chosen>) -> Vec<Leg> {
    let mut path = Vec::new();
    let mut next = Anchor::Step(step);
    while let Anchor::Step(n) = next {
        let s = &protocol.steps[n];
        path.push(match (s.delay, chosen.filter(|c| c.step == n)) {
            (_, Some(c)) => Leg::Elapsed(c.after),
            (Delay::Days(days), None) => Leg::Days(days),
            (Delay::Elapsed(w), None) if s.lasts_days.is_some() => Leg::Elapsed(w.earliest),
            (Delay::Elapsed(w), None) => Leg::Elapsed(w.aim),
        });
        next = s.anchor;
    }
    path.reverse();
    path
}

#[derive(Clone, Copy)]
enum Leg {
    Days(u32),
    Elapsed(TimeDelta),
}

/// Every local start that leads to a moment. Each leg is undone in all the ways there are: a
/// reading may be that of two instants, and an instant may be what two readings mean.
fn starts(path: &[Leg], zone: Zone, wanted: Instant) -> Vec<NaiveDateTime> {
    let mut moments = vec![wanted];
    for leg in path.iter().rev() {
        moments = match *leg {
            Leg::Elapsed(time) => moments.into_iter().map(|at| at - time).collect(),
            Leg::Days(days) => moments
                .into_iter()
                .flat_map(|at| zone.readings(at))
                .flat_map(|reading| zone.showing(reading - TimeDelta::days(i64::from(days))))
                .collect(),
        };
    }
    moments
        .into_iter()
        .flat_map(|at| zone.readings(at))
        .collect()
}

/// The start that leads nearest, to the minute. No change of the clocks is longer than a day.
fn nearest(
    path: &[Leg],
    zone: Zone,
    wanted: Instant,
    back: impl Fn(NaiveDateTime) -> Backwards,
) -> Backwards {
    let long = path.iter().fold(TimeDelta::zero(), |sum, leg| match leg {
        Leg::Days(days) => sum + TimeDelta::days(i64::from(*days)),
        Leg::Elapsed(time) => sum + *time,
    });
    let middle = zone.local(wanted) - long;
    let day = 25 * 60;
    (-day..=day)
        .map(|m| back(middle + TimeDelta::minutes(m)))
        .min_by_key(|b| (b.off.abs(), b.timetable.doubts().len(), b.start()))
        .unwrap_or_else(|| back(middle))
}
