//! What the plan gives a technician to do at a session: cows in order, their hours, and the
//! plan's breaks.
//!
//! A gap in the plan counts as a break: a technician ahead of the plan does not thaw straws for cows
//! that are not there yet. One who is late works on through the gap, but for a rest that the rules ask
//! for.

use super::day::{Cow, Pace};
use crate::base::units::Seconds;
use crate::planning::plan::{AtSession, DuePen, Moment, Session, Slot};
use crate::trade::season::pace::rounds_of;
use crate::trade::season::{self, Season, Technician};

/// A plan's moments are whole seconds, rounded up, in hundredths of a minute: closer than this,
/// in seconds, two are the same.
pub(super) const CLOSE: f64 = 3.0;

/// A technician's day at a session.
#[derive(Clone, Debug)]
pub(super) struct Work<'a> {
    /// By place in the season's crew.
    pub(super) nth: usize,
    pub(super) of: &'a Technician,
    pub(super) at: &'a AtSession,
    pub(super) pace: Pace,
    /// Seconds from the session's base to the first straws in the bath.
    pub(super) begins: f64,
    /// In the order in which they are bred.
    pub(super) cows: Vec<Cow>,
}

/// Seconds from `base`: of a session, from its first open hour.
fn since(base: Moment, at: Moment) -> f64 {
    (at - base).num_milliseconds() as f64 / 1000.0
}

impl<'a> Work<'a> {
    /// `None` if the plan names somebody whom the season does not have.
    pub(super) fn new(season: &'a Season, session: &'a Session, at: &'a AtSession) -> Option<Self> {
        let nth = season.crew.iter().position(|t| t.id.as_str() == at.id)?;
        let of = &season.crew[nth];
        let rules = &season.rules;
        let pace = Pace {
            thaw: rules.thaw.0,
            load: rules.load.0,
            reset: rules.reset.0,
            cow: rounds_of(of, rules, at.straws_at_once.max(1))?.cow.0,
            helper: of.helper,
        };
        let base = session.open;
        let slots = session.slots.iter().filter(|s| s.technician == at.id);
        let mut planned: Vec<(f64, Cow)> = slots.flat_map(|s| cows(session, s, base)).collect();
        planned.sort_by(|a, b| a.0.total_cmp(&b.0));
        let begins = since(base, at.begins);
        let rest = rules.rest.map(|r| r.long.num_seconds() as f64);
        let cows = breaks(&pace, at.straws_at_once.max(1), begins, planned, rest);
        Some(Self {
            nth,
            of,
            at,
            pace,
            begins,
            cows,
        })
    }

    /// The technician with the minutes at the cow that the plan counts on, whatever number of
    /// straws: an overall pace holds the thawing and loading of the rounds it was counted in.
    pub(super) fn by_cow(&self) -> Technician {
        Technician {
            pace: season::Pace::AtTheCow(Seconds(self.pace.cow)),
            ..self.of.clone()
        }
    }
}

/// How many cows each of a technician's rounds has, in order, as the plan's moments show.
pub(crate) fn rounds_of_plan(season: &Season, session: &Session, at: &AtSession) -> Vec<usize> {
    let mut sizes = Vec::new();
    let cows = Work::new(season, session, at).map(|w| w.cows);
    for cow in cows.unwrap_or_default() {
        match sizes.last_mut() {
            Some(n) if !cow.new_round => *n += 1,
            _ => sizes.push(1),
        }
    }
    sizes
}

/// The cows of a slot with their planned moments.
fn cows<'a>(
    session: &'a Session,
    slot: &'a Slot,
    base: Moment,
) -> impl Iterator<Item = (f64, Cow)> + 'a {
    let pen = session.pens.iter().position(|p| p.pass == slot.pass);
    let start = since(base, slot.start);
    let all = slot.bred_minutes.iter().enumerate();
    all.filter_map(move |(n, minutes)| {
        let nth = pen?;
        let (opens, closes) = hours(&session.pens[nth], slot.animals.get(n).copied(), base);
        Some((
            start + minutes * 60.0,
            Cow {
                opens,
                closes,
                pen: nth,
                new_round: false,
                bath_from: f64::NEG_INFINITY,
                rest: 0.0,
                start_from: f64::NEG_INFINITY,
            },
        ))
    })
}

/// The hours of an animal of a pen, by her place (from 1) where the order is kept.
fn hours(pen: &DuePen, animal: Option<u32>, base: Moment) -> (f64, f64) {
    let (opens, closes) = (
        since(base, pen.hours.earliest),
        since(base, pen.hours.latest),
    );
    let Some(animal) = animal else {
        return (opens, closes);
    };
    // Each animal's own treatment was so much after that of the one before her.
    let each = since(pen.counted_from, pen.counted_to) / f64::from(pen.head.max(1));
    let (before, after) = (animal.saturating_sub(1), pen.head.saturating_sub(animal));
    (
        opens + f64::from(before) * each,
        closes - f64::from(after) * each,
    )
}

/// Finds where the plan rests: cow by cow, what the work would take at the mean is held against
/// what is planned. Where the plan is later, it has a break: the next round goes into the bath at
/// the plan's moment. Where there is no time for a new round, the gun waits inside the round. A
/// break as long as the rest that the rules ask for is one.
fn breaks(
    pace: &Pace,
    k: u32,
    begins: f64,
    planned: Vec<(f64, Cow)>,
    rest: Option<f64>,
) -> Vec<Cow> {
    let mut cows: Vec<Cow> = Vec::with_capacity(planned.len());
    let (lead, first) = (pace.lead(k), pace.bred_after(1));
    // Of the round in work: into the bath at, cows so far, last of them bred at, a gun waited.
    let (mut bath, mut n, mut bred, mut waited) = (begins, 0, begins, false);
    for (at, mut cow) in planned {
        // When the next round could go into the bath.
        let ready = if n == 0 {
            begins
        } else if pace.helper {
            pace.hands_free(bath, n).max(bred - pace.thaw - pace.load)
        } else {
            bred + pace.reset
        };
        let loaded = if pace.helper {
            pace.hands_free(bath, n + 1)
        } else {
            bred
        };
        let next = bred.max(loaded) + pace.cow;
        let room = n > 0 && n < k;
        let new_bath = at - lead - first;
        if room && (at <= next + CLOSE || new_bath < ready - CLOSE) {
            if at > next + CLOSE {
                cow.start_from = at - pace.cow;
                waited = true;
            }
            bred = next.max(cow.start_from + pace.cow);
            n += 1;
        } else {
            cow.new_round = true;
            bath = ready;
            if new_bath > ready + CLOSE || (waited && new_bath > ready - CLOSE) {
                cow.bath_from = new_bath;
                cow.rest = rest
                    .filter(|long| n > 0 && new_bath - bred >= long - CLOSE)
                    .unwrap_or(0.0);
                bath = new_bath;
            }
            bred = bath + lead + first;
            (n, waited) = (1, false);
        }
        cows.push(cow);
    }
    cows
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::planning::dating;
    use crate::service::pipeline;
    use crate::trade::protocol::Library;
    use crate::trade::season;

    #[test]
    fn every_animal_has_the_hours_of_her_own_treatment() {
        let demo = include_bytes!("../../../demo/season.yaml");
        let (season, found) = season::read("demo", demo, &Library::built_in()).unwrap();
        let plan = pipeline::plan(&season, &found).unwrap();
        let dues = dating::date(&season).dues;
        let mut kept = 0;
        for pen in plan.sessions.iter().flat_map(|s| &s.pens) {
            let due = dues.iter().find(|d| {
                season.groups[d.group].id.as_str() == pen.group
                    && Some(d.pen as u32 + 1) == pen.pen
                    && d.head.0 == pen.head
            });
            let due = due.unwrap();
            let is_kept = pen.order == crate::trade::season::Order::Kept;
            for n in 0..pen.head {
                let base = pen.counted_from;
                let (opens, closes) = hours(pen, is_kept.then_some(n + 1), base);
                let own = due.hours(n);
                let after =
                    |at: crate::base::time::Instant| (at - base.to_utc()).num_seconds() as f64;
                assert!((opens - after(own.earliest)).abs() <= 2.0, "{n}");
                assert!((closes - after(own.latest)).abs() <= 2.0, "{n}");
                kept += u32::from(is_kept);
            }
        }
        assert!(kept > 100);
    }
}
