//! An ordinary day of work, where nobody says more: no remedy asks for a longer one.
//!
//! A plan counts on people as stated, and any time is open to those without `shifts`: published
//! examples are of that kind. A remedy asks something new of somebody, so it is judged with an ordinary
//! day. Where the plan as it stands asks for more, that day is written with the remedy.

use std::borrow::Cow;
use std::collections::BTreeMap;

use chrono::{NaiveDate, NaiveTime, TimeDelta, Timelike};

use super::change::Change;
use crate::base::time::Instant;
use crate::planning::plan::Plan;
use crate::trade::season::{Season, Shift, Technician};

/// Hours of the clock in which people are asked to work, and the longest day, road and all (common
/// practice, no source): cows from about 03:00, with half an hour to get ready. Shifts and a longest day
/// that the season file states go before.
const FROM: NaiveTime = NaiveTime::from_hms_opt(2, 30, 0).unwrap();
const TO: NaiveTime = NaiveTime::from_hms_opt(22, 0, 0).unwrap();
pub(super) const LONGEST: TimeDelta = TimeDelta::hours(14);
/// Work apart by at least this is of two days, with a night between (common practice, no source).
const NIGHT: TimeDelta = TimeDelta::hours(8);

/// Hours of the clock, and the longest day.
#[derive(Clone, Copy, PartialEq)]
struct Bounds {
    from: NaiveTime,
    to: NaiveTime,
    longest: TimeDelta,
}

const ORDINARY: Bounds = Bounds {
    from: FROM,
    to: TO,
    longest: LONGEST,
};

/// What may be asked of those who state no shifts: an ordinary day, or as much as the plan does as it is.
pub(super) struct Workday {
    wider: BTreeMap<String, Bounds>,
    /// True if somebody works at other hours than these, as stated or as planned.
    night: bool,
}

fn longest(season: &Season, who: &Technician) -> Option<TimeDelta> {
    who.longest_day.or(season.rules.longest_day)
}

fn stretches(season: &Season, plan: &Plan, who: &Technician) -> Vec<(Instant, Instant)> {
    let mut found: Vec<(Instant, Instant)> = Vec::new();
    for session in &plan.sessions {
        let site = season
            .sites
            .iter()
            .position(|s| s.id.as_str() == session.site);
        let road = site.map_or(TimeDelta::zero(), |s| season.road_home(who, s));
        let mine = session
            .technicians
            .iter()
            .filter(|t| t.id == who.id.as_str());
        found.extend(mine.map(|t| {
            let (a, b) = (t.begins.to_utc(), t.last_cow.to_utc());
            (a - road, b + road)
        }));
    }
    found.sort();
    found
}

/// Days of work: from leaving home to being back.
fn days(season: &Season, plan: &Plan, who: &Technician) -> Vec<(Instant, Instant)> {
    let mut days: Vec<(Instant, Instant)> = Vec::new();
    for (a, b) in stretches(season, plan, who) {
        match days.last_mut() {
            Some(day) if a - day.1 < NIGHT => day.1 = day.1.max(b),
            _ => days.push((a, b)),
        }
    }
    days
}

fn on_minute(t: NaiveTime, more: u32) -> NaiveTime {
    let minutes = (t.num_seconds_from_midnight() + more) / 60 % (24 * 60);
    NaiveTime::from_hms_opt(minutes / 60, minutes % 60, 0).unwrap_or(NaiveTime::MIN)
}

impl Bounds {
    fn hold(self, season: &Season, (a, b): (Instant, Instant)) -> bool {
        if b - a > self.longest {
            return false;
        }
        if self.from == self.to {
            return true;
        }
        let shift = self.shift();
        let date = season.zone.date(a);
        [date, date.pred_opt().unwrap_or(date)].iter().any(|d| {
            let (from, to) = shift.span(season.zone, *d);
            from <= a && b <= to
        })
    }

    fn shift(self) -> Shift {
        Shift {
            days: Vec::new(),
            from: self.from,
            to: self.to,
        }
    }

    fn widened(mut self, season: &Season, (a, b): (Instant, Instant)) -> Self {
        // To the hundredth of an hour, as it is written.
        let written = ((b - a).num_seconds() + 35) / 36 * 36;
        self.longest = self.longest.max(TimeDelta::seconds(written));
        let (from, to) = (season.zone.local(a), season.zone.local(b));
        if from.date() == to.date() {
            self.from = self.from.min(on_minute(from.time(), 0));
            let to = on_minute(to.time(), 59);
            // Midnight ends the day.
            self.to = if to == NaiveTime::MIN {
                to
            } else {
                self.to.max(to)
            };
        } else {
            // Over midnight: at any hour.
            (self.from, self.to) = (NaiveTime::MIN, NaiveTime::MIN);
        }
        self
    }
}

impl Workday {
    /// Widened to what the plan as it is asks of people.
    pub(super) fn new(season: &Season, plan: &Plan) -> Self {
        let of = |t: &Technician| {
            let mut wide = ORDINARY;
            for day in days(season, plan, t) {
                if !wide.hold(season, day) {
                    wide = wide.widened(season, day);
                }
            }
            (t.id.to_string(), wide)
        };
        let open = season.crew.iter().filter(|t| t.shifts.is_empty());
        let wider: BTreeMap<String, Bounds> =
            open.map(of).filter(|(_, wide)| *wide != ORDINARY).collect();
        let stated = season.crew.iter().flat_map(|t| &t.shifts);
        let other = |from: NaiveTime, to: NaiveTime| from < FROM || to > TO || to <= from;
        Self {
            night: stated.clone().any(|s| other(s.from, s.to))
                || wider.values().any(|b| other(b.from, b.to)),
            wider,
        }
    }

    fn bounds(&self, season: &Season, who: &Technician) -> Bounds {
        let bounds = self.wider.get(who.id.as_str()).copied().unwrap_or(ORDINARY);
        Bounds {
            longest: longest(season, who).unwrap_or(bounds.longest),
            ..bounds
        }
    }

    /// True if a shift may be changed so on a date: it stays within an ordinary day, or grows no longer
    /// and lies no farther out than it is.
    pub(super) fn may_change(
        season: &Season,
        who: &Technician,
        (was, new): (&Shift, &Shift),
        date: NaiveDate,
    ) -> bool {
        let longest = longest(season, who).unwrap_or(LONGEST);
        let (before, after) = (was.span(season.zone, date), new.span(season.zone, date));
        let usual = ORDINARY.shift().span(season.zone, date);
        let long = after.1 - after.0;
        (long <= longest || long <= before.1 - before.0)
            && (after.0 >= usual.0 || after.0 >= before.0)
            && (after.1 <= usual.1 || after.1 <= before.1)
    }

    /// The season with such a day for everybody who states no shifts.
    pub(super) fn assumed<'a>(&self, season: &'a Season) -> Cow<'a, Season> {
        let mut season = Cow::Borrowed(season);
        for n in 0..season.crew.len() {
            let who = &season.crew[n];
            if who.shifts.is_empty() {
                let bounds = self.bounds(&season, who);
                let who = &mut season.to_mut().crew[n];
                who.shifts = vec![bounds.shift()];
                who.longest_day = Some(bounds.longest);
            }
        }
        season
    }

    /// What must be stated of whom, so that a plan asks for no more; nothing if it does not.
    pub(super) fn to_state(&self, season: &Season, plan: &Plan) -> Vec<Change> {
        let mut found = Vec::new();
        for (technician, who) in season.crew.iter().enumerate() {
            let bounds = self.bounds(season, who);
            let kept = |day: &(Instant, Instant)| bounds.hold(season, *day);
            if who.shifts.is_empty() && !days(season, plan, who).iter().all(kept) {
                found.push(Change::Hours(technician, bounds.shift(), bounds.longest));
            }
        }
        found
    }

    /// True if somebody may be asked to work from one moment to another on a date. Night work is asked
    /// for where those there are do it as well.
    pub(super) fn may_hire(
        &self,
        season: &Season,
        like: &Technician,
        date: NaiveDate,
        span: (Instant, Instant),
    ) -> bool {
        let longest = longest(season, like).unwrap_or(LONGEST);
        let usual = ORDINARY.shift().span(season.zone, date);
        span.1 - span.0 <= longest && (self.night || (usual.0 <= span.0 && span.1 <= usual.1))
    }
}
