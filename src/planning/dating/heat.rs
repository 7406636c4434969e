//! How many of a group bred by detected heat are bred on each half-day of the watch.
//!
//! Heat is checked at the season's clock times on each day of the watch. An animal is first seen
//! at the check after her heat begins, if it lasts that long ([`LASTS_HOURS`]), and bred by the
//! AM/PM rule: of checks before noon that evening, of later ones next morning. How many there
//! will be follows from the spread of hours to heat, each pen from its own treatment; whole head
//! add up to the group's expected sum.
//!
//! Half-days are planned for whole groups: pens come in heat together and are bred together, so numbers
//! stay large and sessions few. Rounding by the largest remainder keeps the sum, so that what is left
//! for the clean-up fits, pen by pen.

use chrono::{NaiveDate, NaiveTime, TimeDelta};

use super::due::{Due, Synchronizing, instant_pace};
use super::half::{Half, HalfOfDay};
use crate::base::time::Instant;
use crate::base::units::Head;
use crate::trade::figures::heat::{
    BAND, LASTS_HOURS, Spread, band, between, cycling, whole, whole_of,
};
use crate::trade::protocol::heat::{Heat, Heats as Known};
use crate::trade::protocol::{Action, Anchor, Step};
use crate::trade::season::{Group, Order, Season};

/// Percent that show heat where nothing is published of the protocol: the middle of 85 to 92
/// (TIMED-2010, heifers after MGA and after a 14-day insert).
const USUALLY_SHOW: f64 = 88.5;

/// Head planned for, and between which the number lies nine times in ten.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Band {
    /// Planned for.
    pub head: u32,
    /// Fewer in at most 5 of 100 seasons.
    pub low: u32,
    /// More in at most 5 of 100.
    pub high: u32,
}

impl Band {
    /// Whole head, of `all` animals of whom each is there with the same chance. The band holds
    /// the head planned for, which rounding may have put beside it.
    fn of(head: u32, all: u32, chance: f64) -> Self {
        let (low, high) = band(all, chance);
        Self {
            head,
            low: low.min(head),
            high: high.max(head),
        }
    }
}

/// What is bred of one half-day's heats.
#[derive(Clone, Debug, PartialEq)]
pub struct HalfDay {
    /// The heat watch, by its place in the protocol.
    pub step: usize,
    /// When heat is seen.
    pub half: Half,
    /// The check that hours to breeding count from.
    pub check: Instant,
    /// Expected head, not whole.
    pub expected: f64,
    /// Whole head planned for.
    pub head: u32,
}

/// A group bred by detected heat. Bands are worked out when they are asked for: many starts are
/// dated of which nobody asks.
#[derive(Clone, Debug, PartialEq)]
pub struct Heats {
    /// Group, by its place in the season.
    pub group: usize,
    /// Its animals.
    pub all: u32,
    /// Hours to heat in the last watch, if its animals are treated.
    pub spread: Option<Spread>,
    /// The last watch, by its place in the protocol.
    pub watch: usize,
    /// Half-days on which anybody is likely to be bred, by time.
    pub half_days: Vec<HalfDay>,
    /// Expected head of the whole watch, not whole.
    pub expected: f64,
    /// Head of each pen bred by heat.
    pub by_pen: Vec<u32>,
}

impl Heats {
    fn chance(&self, head: f64) -> f64 {
        head / f64::from(self.all.max(1))
    }

    /// Head first seen on a half-day.
    #[must_use]
    pub fn band(&self, half_day: &HalfDay) -> Band {
        Band::of(half_day.head, self.all, self.chance(half_day.expected))
    }

    /// All that are bred by heat.
    #[must_use]
    pub fn bred(&self) -> Band {
        let bred = self.half_days.iter().map(|h| h.head).sum();
        Band::of(bred, self.all, self.chance(self.expected))
    }

    /// All others.
    #[must_use]
    pub fn left(&self) -> Band {
        let bred = self.bred().head;
        Band::of(self.all - bred, self.all, 1.0 - self.chance(self.expected))
    }

    /// Where the hours come from: source tags, or that the season gives them; and of which other
    /// animals the figures are, where none are published.
    #[must_use]
    pub fn source(&self, group: &Group) -> (String, Option<String>) {
        source(group, &group.protocol.steps[self.watch])
    }

    /// A half-day's animals, due in their hours; `head` of them.
    #[must_use]
    pub fn due(&self, season: &Season, site: usize, half_day: &HalfDay, head: u32) -> Due {
        Due {
            group: self.group,
            pen: 0,
            step: half_day.step,
            half_day: Some(half_day.half),
            site,
            head: Head(head),
            order: Order::Mixed,
            from: Synchronizing {
                start: half_day.check,
                head: Head(head),
                pace: instant_pace(Head(head)),
            },
            window: season.rules.heat.breeding,
            turn: None,
        }
    }
}

struct Check {
    step: usize,
    half: Half,
    /// Heats that it is the first to see begin in `(from, at]`.
    from: Instant,
    at: Instant,
}

/// Checks of all watches, by time; a moment in two watches is of the first.
fn checks(season: &Season, watches: &[(usize, NaiveDate, NaiveDate)]) -> Vec<Check> {
    let mut all: Vec<(Instant, usize, Half)> = Vec::new();
    for &(step, first, last) in watches {
        for day in first.iter_days().take_while(|d| *d <= last) {
            for clock in &season.rules.heat.checks {
                let at = season.zone.resolve(day.and_time(*clock)).at;
                let half = Half {
                    seen: day,
                    part: HalfOfDay::of(*clock),
                };
                all.push((at, step, half));
            }
        }
    }
    all.sort_unstable();
    all.dedup_by_key(|c| c.0);
    let mut before = Instant::MIN_UTC;
    all.into_iter()
        .map(|(at, step, half)| {
            let from = before.max(at - TimeDelta::hours(LASTS_HOURS));
            before = at;
            Check {
                step,
                half,
                from,
                at,
            }
        })
        .collect()
}

/// The check that a half-day's hours to breeding count from: the first before noon, the last after.
fn counted_from(season: &Season, half: Half) -> Instant {
    let clocks = season.rules.heat.checks.iter();
    let mut mine = clocks.filter(|c| HalfOfDay::of(**c) == half.part);
    let clock = match half.part {
        HalfOfDay::Morning => mine.next(),
        HalfOfDay::Evening => mine.next_back(),
    };
    let clock = clock.copied().unwrap_or(NaiveTime::MIN);
    season.zone.resolve(half.seen.and_time(clock)).at
}

/// When a pen comes in heat in one watch.
enum Curve {
    Cycling {
        days: f64,
    },
    After {
        spread: Spread,
        shows: f64,
        /// The first animal's treatment, and the hours that all take.
        from: Instant,
        long: f64,
    },
}

impl Curve {
    fn share(&self, check: &Check) -> f64 {
        let hours = |a: Instant, b: Instant| (a - b).num_milliseconds() as f64 / 3_600_000.0;
        match self {
            Self::Cycling { days } => cycling(*days, hours(check.at, check.from)),
            Self::After {
                spread,
                shows,
                from,
                long,
            } => {
                let (a, b) = (hours(check.from, *from), hours(check.at, *from));
                shows / 100.0 * between(spread, a, b, *long)
            }
        }
    }
}

/// What a watch's heats count from: a step, or the start of the group.
fn counted_step(group: &Group, step: &Step) -> Option<usize> {
    let protocol = &group.protocol;
    if let Some(Known::After { step, .. }) = step.heat.as_ref().map(|h| &h.heats) {
        return protocol.step_at(step);
    }
    // Nothing is published: the last treatment that brings heat on.
    let brings = [Action::Pg, Action::PgDouble, Action::InsertOut];
    let last = protocol
        .steps
        .iter()
        .rposition(|s| s.is_chute_work() && s.actions.iter().any(|a| brings.contains(a)));
    last.or(match step.anchor {
        Anchor::Step(a) => Some(a),
        Anchor::Start => None,
    })
}

/// Spread and percent that show heat, by the season's word before what is published.
fn known(group: &Group, step: &Step) -> Option<(Spread, f64)> {
    let (published, shows) = match &step.heat {
        Some(heat) => match &heat.heats {
            Known::After { shows, .. } => (heat.spread(), shows.expected),
            Known::Cycling { .. } => return None,
        },
        None => (None, USUALLY_SHOW),
    };
    let own = group.heat_hours;
    Some((
        Spread {
            mean: own.mean.or(published.map(|s| s.mean))?,
            sd: own.spread.or(published.map(|s| s.sd))?,
        },
        shows,
    ))
}

fn source(group: &Group, step: &Step) -> (String, Option<String>) {
    let published = step.heat.as_ref();
    let own = group.heat_hours;
    let stated = match (own.mean.is_some(), own.spread.is_some()) {
        (false, false) => None,
        (true, true) => Some("hours as the season gives them"),
        (true, false) => Some("mean as the season gives it"),
        (false, true) => Some("spread as the season gives it"),
    };
    let heats = published.map(|h| &h.heats);
    let tags = match (stated, heats) {
        (_, None) => "share TIMED-2010".to_owned(),
        // Of the publications only the one of the share is left.
        (Some(_), Some(Known::After { shows, .. }))
            if own.mean.is_some() && own.spread.is_some() =>
        {
            format!("share {}", shows.tag)
        }
        (_, Some(_)) => published.map(Heat::sources).unwrap_or_default(),
    };
    let words = match stated {
        Some(stated) => format!("{stated}; {tags}"),
        None => tags,
    };
    (words, published.and_then(|h| h.borrowed.clone()))
}

/// A pen as far as it is dated.
pub(super) struct Pen<'a> {
    pub(super) head: Head,
    /// When it starts, and when each step so far does.
    pub(super) start: Instant,
    pub(super) steps: &'a [Instant],
    /// When the rest of it is bred, if it is.
    pub(super) clean_up: Option<Instant>,
}

/// How many of a group are bred on which half-day; nothing where nobody says when heat comes.
/// `watches` are those that breed, by their place in the protocol, with their days. `in_heat` is the
/// percent that somebody says will be seen.
pub(super) fn forecast(
    season: &Season,
    nth: usize,
    group: &Group,
    pens: &[Pen<'_>],
    watches: &[(usize, NaiveDate, NaiveDate)],
    in_heat: Option<f64>,
) -> Option<Heats> {
    let steps = &group.protocol.steps;
    let last = watches.last()?.0;
    let checks = checks(season, watches);
    let mut half_days: Vec<HalfDay> = Vec::new();
    for check in &checks {
        if half_days
            .iter()
            .all(|h| (h.step, h.half) != (check.step, check.half))
        {
            half_days.push(HalfDay {
                step: check.step,
                half: check.half,
                check: counted_from(season, check.half),
                expected: 0.0,
                head: 0,
            });
        }
    }
    let mut of_pen = Vec::new();
    for pen in pens {
        let chances = chances(season, group, pen, watches, &checks, &half_days)?;
        let seen: f64 = chances.iter().sum();
        let scale = match in_heat {
            Some(percent) if seen > 1e-9 => percent / 100.0 / seen,
            _ => 1.0,
        };
        let mut all = 0.0;
        for (half_day, chance) in half_days.iter_mut().zip(chances) {
            let head = f64::from(pen.head.0) * chance * scale;
            half_day.expected += head;
            all += head;
        }
        of_pen.push(all);
    }
    let head = group.head().0;
    let expected: Vec<f64> = half_days.iter().map(|h| h.expected).collect();
    for (half_day, whole) in half_days.iter_mut().zip(whole(&expected)) {
        half_day.head = whole;
    }
    let bred: u32 = half_days.iter().map(|h| h.head).sum();
    // The high end is above nothing where nobody comes less often than 95 times in 100.
    let all = f64::from(head.max(1));
    half_days.retain(|h| h.head > 0 || (1.0 - h.expected / all).powf(all) < BAND[1]);
    half_days.sort_by_key(|h| (h.check, h.step));
    Some(Heats {
        group: nth,
        all: head,
        spread: known(group, &steps[last]).map(|k| k.0),
        watch: last,
        expected: expected.iter().sum(),
        by_pen: whole_of(&of_pen, bred),
        half_days,
    })
}

/// The chance of an animal of a pen to be bred on each half-day.
fn chances(
    season: &Season,
    group: &Group,
    pen: &Pen<'_>,
    watches: &[(usize, NaiveDate, NaiveDate)],
    checks: &[Check],
    half_days: &[HalfDay],
) -> Option<Vec<f64>> {
    let aim = season.rules.heat.breeding.aim;
    let mut found = vec![0.0; half_days.len()];
    // Those bred in an earlier watch are in no later one.
    let mut open = 1.0;
    for (step, ..) in watches {
        let curve = curve(season, group, pen, *step)?;
        for (n, half_day) in half_days
            .iter()
            .enumerate()
            .filter(|(_, h)| h.step == *step)
        {
            // Who would be bred after the rest is bred with the rest.
            if pen.clean_up.is_some_and(|rest| half_day.check + aim > rest) {
                continue;
            }
            let mine = |c: &&Check| c.step == *step && c.half == half_day.half;
            let share: f64 = checks.iter().filter(mine).map(|c| curve.share(c)).sum();
            found[n] = open * share;
        }
        open = (1.0 - found.iter().sum::<f64>()).max(0.0);
    }
    Some(found)
}

fn curve(season: &Season, group: &Group, pen: &Pen<'_>, n: usize) -> Option<Curve> {
    let step = &group.protocol.steps[n];
    if let Some(Known::Cycling { days, .. }) = step.heat.as_ref().map(|h| &h.heats) {
        return Some(Curve::Cycling { days: *days });
    }
    let (spread, shows) = known(group, step)?;
    let (from, long) = match counted_step(group, step) {
        None => (pen.start, 0.0),
        Some(a) => {
            let counted = &group.protocol.steps[a];
            let pace = season.sites[group.site].pace(counted).get();
            let long = if counted.is_chute_work() {
                f64::from(pen.head.0) / pace
            } else {
                0.0
            };
            (*pen.steps.get(a)?, long)
        }
    };
    Some(Curve::After {
        spread,
        shows,
        from,
        long,
    })
}
