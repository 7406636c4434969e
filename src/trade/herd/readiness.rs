//! Whether one animal is ready for a protocol on its first day, by published thresholds.
//!
//! Each reason leads to one answer, and the gravest reason decides. Nothing is guessed: where the
//! cells that decide are blank, the answer is that it is not known.
//!
//! The gravest reason decides because a cow that calved late and is thin has to wait for the one and
//! needs a progestin for the other. The day from which she need not wait comes from the reasons to wait
//! alone.

use chrono::{Days, Months, NaiveDate, NaiveDateTime};

use super::Animal;
use super::reasons::{INSERT_DAYS, LEAST_MATURE_PERCENT, PUBERTY_MONTHS, TRIAL_DAYS, YOUNG_MONTHS};
pub use super::reasons::{Readiness, Reason};
use crate::trade::protocol::{Action, Class, Protocol};
use crate::trade::season::ReadyRules;

/// What readiness needs to know of a protocol and its start.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Course {
    /// The first treatment.
    pub first_day: NaiveDate,
    /// The first breeding, by the protocol's aim.
    pub breeding_day: NaiveDate,
    /// When inserts go in, if they do.
    pub insert_day: Option<NaiveDate>,
    /// True if a progestin is given: an insert, or MGA.
    pub progestin: bool,
}

impl Course {
    /// Of a protocol that begins at this local time. Hours are counted without changes of the
    /// clocks, which move no breeding by more than an hour.
    #[must_use]
    pub fn from_start(protocol: &Protocol, start: NaiveDateTime) -> Self {
        let first = |which: &dyn Fn(&crate::trade::protocol::Step) -> bool| {
            let steps = protocol.steps.iter().zip(protocol.nominal_offsets());
            steps
                .filter(|(s, _)| which(s))
                .map(|(_, offset)| (start + offset).date())
                .min()
        };
        Self {
            first_day: start.date(),
            breeding_day: first(&|s| s.is_timed_breeding() || s.is_heat_breeding())
                .unwrap_or(start.date()),
            insert_day: first(&|s| s.actions.contains(&Action::InsertIn)),
            progestin: first(&|s| {
                s.actions
                    .iter()
                    .any(|a| matches!(a, Action::InsertIn | Action::FeedMga))
            })
            .is_some(),
        }
    }

    fn lead(&self) -> Days {
        Days::new((self.breeding_day - self.first_day).num_days().max(0) as u64)
    }

    /// The same protocol begun on another day.
    fn begun(&self, first_day: NaiveDate) -> Option<Self> {
        let later = first_day - self.first_day;
        let insert_day = match self.insert_day {
            Some(day) => Some(day.checked_add_signed(later)?),
            None => None,
        };
        Some(Self {
            first_day,
            breeding_day: self.breeding_day.checked_add_signed(later)?,
            insert_day,
            progestin: self.progestin,
        })
    }

    /// The first day of a protocol that breeds on this day.
    fn start_for(&self, breeding: NaiveDate) -> Option<NaiveDate> {
        breeding.checked_sub_days(self.lead())
    }
}

/// What is said of one animal.
#[derive(Clone, Debug, PartialEq)]
pub struct Judged {
    /// The answer.
    pub answer: Readiness,
    /// Why, the gravest first.
    pub reasons: Vec<Reason>,
    /// Days from calving to the first day and to breeding.
    pub days_since_calving: Option<[i64; 2]>,
    /// Full months of age at breeding.
    pub months: Option<u32>,
    /// Weight in percent of mature weight: as weighed, or at breeding if a gain is counted on.
    pub mature_percent: Option<f64>,
    /// Pounds a day from weighing to breeding that bring a heifer to the season's percentage.
    pub gain_needed_lb_per_day: Option<f64>,
    /// The first day of the same protocol on which the answer is not to wait any more; only where
    /// every reason to wait has a date.
    pub ready_from: Option<NaiveDate>,
    /// The answer on that day.
    pub answer_then: Option<Readiness>,
    /// The columns that would decide and are blank.
    pub blank: Vec<&'static str>,
}

/// Judges an animal of a group of this class.
#[must_use]
pub fn judge(animal: &Animal, class: Class, course: &Course, rules: &ReadyRules) -> Judged {
    let bench = Bench::new(animal, class, course, rules);
    let answer = bench.answer();
    let then = later(&bench, class).filter(|_| answer >= Readiness::Wait);
    let mut reasons = bench.reasons;
    reasons.sort_unstable();
    Judged {
        answer,
        ready_from: then.map(|(day, _)| day),
        answer_then: then.map(|(_, answer)| answer),
        reasons,
        days_since_calving: animal
            .calved
            .map(|c| [course.first_day, course.breeding_day].map(|d| (d - c).num_days())),
        months: animal
            .born
            .and_then(|b| months_between(b, course.breeding_day)),
        mature_percent: bench.weight.percent,
        gain_needed_lb_per_day: bench.weight.gain_needed,
        blank: bench.blank,
    }
}

/// The first later start on which she need not wait, with the answer then: each reason says from
/// when on it is none, and another may show in its place. Nothing where a reason has no day.
fn later(bench: &Bench<'_>, class: Class) -> Option<(NaiveDate, Readiness)> {
    let mut day = bench.until?;
    // No reason comes back, so each is met once at the most.
    for &_ in Reason::ALL {
        let course = bench.course.begun(day)?;
        let then = Bench::new(bench.animal, class, &course, bench.rules);
        if then.answer() < Readiness::Wait {
            return Some((day, then.answer()));
        }
        day = then.until.filter(|d| *d > day)?;
    }
    None
}

/// Pounds a day that bring an animal from one weight to another in so many days.
#[must_use]
pub fn gain_needed(weight_lb: f64, target_lb: f64, days: i64) -> Option<f64> {
    (days > 0 && target_lb > weight_lb).then(|| (target_lb - weight_lb) / days as f64)
}

fn months_between(from: NaiveDate, to: NaiveDate) -> Option<u32> {
    let years = to.years_since(from)?;
    (12 * years..12 * (years + 1))
        .take_while(|m| {
            from.checked_add_months(Months::new(*m))
                .is_some_and(|d| d <= to)
        })
        .last()
}

#[derive(Default)]
struct Weight {
    percent: Option<f64>,
    gain_needed: Option<f64>,
    /// When she is not too light any more, if a gain is counted on.
    reached: Option<NaiveDate>,
}

struct Bench<'a> {
    animal: &'a Animal,
    course: &'a Course,
    rules: &'a ReadyRules,
    weight: Weight,
    reasons: Vec<Reason>,
    /// The first day on which none of the reasons to wait holds any more.
    until: Option<NaiveDate>,
    blank: Vec<&'static str>,
}

impl<'a> Bench<'a> {
    fn new(animal: &'a Animal, class: Class, course: &'a Course, rules: &'a ReadyRules) -> Self {
        let mut bench = Self {
            animal,
            course,
            rules,
            weight: Weight::default(),
            reasons: Vec::new(),
            until: Some(course.first_day),
            blank: Vec::new(),
        };
        if class == Class::Heifer {
            bench.weight = bench.weighed();
            bench.heifer();
        } else {
            bench.cow();
        }
        if !bench.blank.is_empty() {
            bench.because(Reason::CellsBlank, None);
        }
        bench
    }

    fn answer(&self) -> Readiness {
        let answers = self.reasons.iter().map(|r| r.answer());
        answers.max().unwrap_or(Readiness::Ready)
    }

    /// A reason, and the first day on which it is none any more.
    fn because(&mut self, reason: Reason, until: Option<NaiveDate>) {
        self.reasons.push(reason);
        if reason.answer() < Readiness::Wait {
            return;
        }
        self.until = match (self.until, until) {
            (Some(a), Some(b)) => Some(a.max(b)),
            _ => None,
        };
    }

    fn cow(&mut self) {
        let (course, rules, animal) = (self.course, self.rules, self.animal);
        let after = |from: NaiveDate, days: i64| {
            from.checked_add_days(Days::new(days.max(0) as u64))
                .and_then(|d| course.start_for(d))
        };
        match animal.calved {
            None => self.blank.push("last_calving_date"),
            Some(calved) => {
                let least = TRIAL_DAYS.min(rules.days_since_calving);
                let days = (course.breeding_day - calved).num_days();
                // From when the label of the insert is kept, if there is one.
                let label = course.insert_day.and_then(|insert| {
                    calved
                        .checked_add_days(Days::new(INSERT_DAYS as u64))?
                        .checked_sub_signed(insert - course.first_day)
                });
                if calved > course.first_day {
                    self.because(Reason::CalvesAfterStart, Some(calved));
                } else if days < least {
                    self.because(Reason::CalvedTooLate, after(calved, least));
                } else if days < rules.days_since_calving {
                    self.because(Reason::CalvedLate, None);
                }
                if calved <= course.first_day && label.is_some_and(|day| course.first_day < day) {
                    self.because(Reason::InsertTooSoon, label);
                }
            }
        }
        match animal.body_condition {
            None => self.blank.push("body_condition"),
            Some(score) if score < rules.body_condition => self.because(Reason::Thin, None),
            Some(_) => {}
        }
        self.age(Reason::FirstCalf, YOUNG_MONTHS);
    }

    /// A reason while she is younger than that at breeding.
    fn age(&mut self, reason: Reason, months: u32) {
        let old_enough = self
            .animal
            .born
            .and_then(|b| b.checked_add_months(Months::new(months)));
        if let Some(day) = old_enough
            && self.course.breeding_day < day
        {
            self.because(reason, self.course.start_for(day));
        }
    }

    fn heifer(&mut self) {
        self.age(Reason::TooYoung, PUBERTY_MONTHS);
        let tract = self.animal.tract_score;
        match tract {
            Some(1) => self.because(Reason::InfantileTract, None),
            Some(2) => self.because(Reason::PrepubertalTract, None),
            Some(3) => self.because(Reason::PeripubertalTract, None),
            _ => {}
        }
        match self.weight.percent {
            Some(p) if p < self.rules.least_percent() => {
                let until = self.weight.reached.and_then(|d| self.course.start_for(d));
                self.because(Reason::TooLight, until);
            }
            // A heifer that scores 4 or 5 cycles, light or not.
            Some(p) if p < self.rules.mature_percent && tract.is_none_or(|t| t < 4) => {
                self.because(Reason::Light, None);
            }
            None if tract.is_none() => {
                self.blank.push("tract_score");
                if self.animal.weight_lb.is_none() {
                    self.blank.push("weight_lb");
                }
                if self.animal.mature_lb.is_none() {
                    self.blank.push("mature_weight_lb or frame_score");
                }
            }
            _ => {}
        }
    }

    fn weighed(&self) -> Weight {
        let (Some(weight), Some(mature)) = (self.animal.weight_lb, self.animal.mature_lb) else {
            return Weight::default();
        };
        // An animal without the day of weighing is taken as weighed on the first day, whichever
        // that is: no later start makes her heavier.
        let weighed = self.animal.weighed.unwrap_or(self.course.first_day);
        let days = (self.course.breeding_day - weighed).num_days();
        let gain = self.rules.gain_lb_per_day.unwrap_or(0.0);
        let target = mature * self.rules.mature_percent / 100.0;
        let percent = |days: i64| (weight + gain * days.max(0) as f64) / mature * 100.0;
        let least = self.rules.least_percent();
        let reached = || {
            let about = (mature * least / 100.0 - weight) / gain;
            // Rounding may put the day one off.
            let near = about.ceil() as i64;
            let day = (near.saturating_sub(2)..=near.saturating_add(1))
                .find(|days| percent(*days) >= least)?;
            weighed.checked_add_days(Days::new(day.max(0) as u64))
        };
        let grows = gain > 0.0 && percent(days) < least && self.animal.weighed.is_some();
        Weight {
            percent: Some(percent(days)),
            gain_needed: gain_needed(weight, target, days),
            reached: grows.then(reached).flatten(),
        }
    }
}

impl ReadyRules {
    /// Below this percentage of mature weight a heifer waits.
    fn least_percent(&self) -> f64 {
        LEAST_MATURE_PERCENT.min(self.mature_percent)
    }
}

#[cfg(test)]
mod tests;
