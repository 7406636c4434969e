//! What technicians do at their sessions, cow by cow, and what is seen to be wrong with it.

use std::collections::BTreeMap;

use chrono::{DateTime, TimeDelta, Utc};

use super::{Reading, crew, sessions};
use crate::planning::plan::{Session, Slot};
use crate::trade::protocol::Delay;
use crate::trade::season::{Order, Technician};

/// What was seen to be wrong: who and what was expected, the first time, and how many times.
#[derive(Default)]
pub(super) struct Seen {
    pub(super) found: BTreeMap<(String, String), (DateTime<Utc>, u32)>,
}

impl Seen {
    pub(super) fn wrong(
        &mut self,
        who: impl Into<String>,
        expected: impl Into<String>,
        at: DateTime<Utc>,
    ) {
        let times = self
            .found
            .entry((who.into(), expected.into()))
            .or_insert((at, 0));
        times.0 = times.0.min(at);
        times.1 += 1;
    }
}

pub(super) struct Cow {
    pub(super) at: DateTime<Utc>,
    /// When she enters the box: that long before, as a cow takes.
    pub(super) enters: DateTime<Utc>,
    /// Her place in the pen, for order kept.
    pub(super) animal: Option<u32>,
    pub(super) hours: Option<(DateTime<Utc>, DateTime<Utc>)>,
    pub(super) pass: String,
}

/// What a technician does at a session.
pub(super) struct Stay<'a> {
    pub(super) session: &'a Session,
    pub(super) site: usize,
    pub(super) technician: &'a Technician,
    pub(super) begins: DateTime<Utc>,
    pub(super) straws: u32,
    /// By time.
    pub(super) cows: Vec<Cow>,
}

impl Stay<'_> {
    pub(super) fn who(&self) -> String {
        format!("{} at {}", self.technician.id, self.session.id)
    }

    pub(super) fn ends(&self) -> DateTime<Utc> {
        self.cows.last().map_or(self.begins, |c| c.at)
    }
}

pub(super) fn stays<'a>(r: &Reading<'a>) -> Vec<Stay<'a>> {
    let mut stays = Vec::new();
    for session in &r.plan.sessions {
        let mut sites = r.season.sites.iter();
        let Some(site) = sites.position(|s| s.id.as_str() == session.site) else {
            continue;
        };
        let mut by_technician: BTreeMap<&str, Vec<&Slot>> = BTreeMap::new();
        for slot in &session.slots {
            let mine = by_technician.entry(slot.technician.as_str()).or_default();
            mine.push(slot);
        }
        for (id, slots) in by_technician {
            let technician = r.season.crew.iter().find(|t| t.id.as_str() == id);
            let said = session.technicians.iter().find(|t| t.id == id);
            let Some(technician) = technician else {
                continue;
            };
            let straws = said.map_or(1, |s| s.straws_at_once).max(1);
            let in_box = seconds(crew::rounds(r, technician, f64::from(straws)).0);
            let mut cows: Vec<Cow> = Vec::new();
            for slot in slots {
                let hours = hours(r, slot);
                let animal = |n: usize| slot.animals.get(n).copied();
                cows.extend(sessions::moments(slot).enumerate().map(|(n, at)| Cow {
                    at,
                    enters: at - in_box,
                    animal: animal(n),
                    hours: hours.as_ref().map(|h| h.of(animal(n))),
                    pass: slot.pass.clone(),
                }));
            }
            cows.sort_by_key(|c| c.at);
            let first = cows.first().map(|c| c.at).unwrap_or_default();
            stays.push(Stay {
                session,
                site,
                technician,
                begins: said.map_or(first, |s| s.begins.with_timezone(&Utc)),
                straws,
                cows,
            });
        }
    }
    stays
}

pub(super) fn seconds(s: f64) -> TimeDelta {
    TimeDelta::milliseconds((s * 1000.0) as i64)
}

/// The hours of animals of a pen, from the treatment pass as it stands in the plan.
struct PenHours {
    treated: DateTime<Utc>,
    seconds_each: f64,
    head: u32,
    earliest: TimeDelta,
    latest: TimeDelta,
}

impl PenHours {
    /// Of the animal in this place from 1, or of any.
    fn of(&self, animal: Option<u32>) -> (DateTime<Utc>, DateTime<Utc>) {
        let after = |animals: f64| {
            self.treated + TimeDelta::milliseconds((animals * self.seconds_each * 1000.0) as i64)
        };
        // Treated between the animal before her and the one after.
        let (from, to) = match animal {
            Some(n) => (after(f64::from(n.max(1) - 1)), after(f64::from(n))),
            None => (self.treated, after(f64::from(self.head))),
        };
        (to + self.earliest, from + self.latest)
    }
}

fn hours(r: &Reading<'_>, slot: &Slot) -> Option<PenHours> {
    let pass = r.passes.get(slot.pass.as_str())?;
    let group = r.group(&pass.group)?;
    let mut steps = group.protocol.steps.iter();
    let step = steps.find(|s| s.id.as_str() == pass.step)?;
    let Delay::Elapsed(window) = step.delay else {
        return None;
    };
    let pen = (pass.pen? as usize).checked_sub(1)?;
    let treated = r.treated(group, pen, step)?;
    let all = treated.seconds_each * f64::from(group.pens.get(pen)?.0);
    let head = match sessions::order_of(group, pass) {
        // Nobody knows which of them it is: all must suit.
        Order::Mixed => 1,
        Order::Kept => pass.head.max(1),
    };
    Some(PenHours {
        treated: treated.start,
        seconds_each: all / f64::from(head),
        head,
        earliest: window.earliest,
        latest: window.latest,
    })
}
