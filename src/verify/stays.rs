//! What technicians do at their sessions, cow by cow, and what is seen to be wrong with it.

use std::collections::BTreeMap;

use chrono::{DateTime, TimeDelta, Utc};

use super::Reading;
use crate::planning::plan::{Session, Slot};
use crate::trade::season::{Pace, Technician};

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
    /// From when she keeps the technician busy, were she the first: thawing and loading before her.
    pub(super) busy: DateTime<Utc>,
    /// When she enters the box: that long before, as a cow takes.
    pub(super) enters: DateTime<Utc>,
    /// Her place in the pen, for order kept.
    pub(super) animal: Option<u32>,
    pub(super) pass: String,
}

/// What a technician does at a session.
pub(super) struct Stay<'a> {
    pub(super) session: &'a Session,
    pub(super) site: usize,
    pub(super) technician: &'a Technician,
    /// The first straws in the bath and the last cow, as the session says.
    pub(super) begins: DateTime<Utc>,
    pub(super) last: DateTime<Utc>,
    pub(super) straws: u32,
    /// By time.
    pub(super) cows: Vec<Cow>,
}

impl Stay<'_> {
    pub(super) fn who(&self) -> String {
        format!("{} at {}", self.technician.id, self.session.id)
    }
}

/// Those of one technician, by time.
pub(super) fn of<'s, 'a>(stays: &'s [Stay<'a>], t: &Technician) -> Vec<&'s Stay<'a>> {
    let mine = stays.iter().filter(|s| std::ptr::eq(s.technician, t));
    let mut mine: Vec<_> = mine.collect();
    mine.sort_by_key(|s| (s.begins, s.last));
    mine
}

pub(super) fn stays<'a>(r: &Reading<'a>) -> Vec<Stay<'a>> {
    let mut stays = Vec::new();
    for session in &r.plan.sessions {
        let Some(site) = r.site(&session.site) else {
            continue;
        };
        let mut by_technician: BTreeMap<&str, Vec<&Slot>> = BTreeMap::new();
        for slot in &session.slots {
            let mine = by_technician.entry(slot.technician.as_str()).or_default();
            mine.push(slot);
        }
        for (id, slots) in by_technician {
            let technician = r.technician(id);
            let said = session.technicians.iter().find(|t| t.id == id);
            let Some(technician) = technician else {
                continue;
            };
            let straws = said.map_or(1, |s| s.straws_at_once).max(1);
            let (cow, _, _, lead) = rounds(r, technician, f64::from(straws));
            let in_box = seconds(cow);
            let from_bath = seconds(lead + cow);
            let mut cows: Vec<Cow> = Vec::new();
            for slot in slots {
                let animal = |n: usize| slot.animals.get(n).copied();
                cows.extend(slot.bred_at().enumerate().map(|(n, at)| Cow {
                    at,
                    busy: at - from_bath,
                    enters: at - in_box,
                    animal: animal(n),
                    pass: slot.pass.clone(),
                }));
            }
            cows.sort_by_key(|c| c.at);
            let at = |cow: Option<&Cow>| cow.map(|c| c.at).unwrap_or_default();
            let (first, last) = (at(cows.first()), at(cows.last()));
            stays.push(Stay {
                session,
                site,
                technician,
                begins: said.map_or(first, |s| s.begins.to_utc()),
                last: said.map_or(last, |s| s.last_cow.to_utc()),
                straws,
                cows,
            });
        }
    }
    stays
}

/// The technician's time a cow, age of the last straw, length of a round, and time to the first
/// gun, for `k` straws at once: the arithmetic of the season's rules, done again.
pub(super) fn rounds(r: &Reading<'_>, t: &Technician, k: f64) -> (f64, f64, f64, f64) {
    let rules = &r.season.rules;
    let (bath, load, reset) = (rules.thaw.0, rules.load.0, rules.reset.0);
    let cow = match (t.pace, t.helper) {
        (Pace::AtTheCow(m), _) => m.0,
        (Pace::Overall(p), true) => 3600.0 / p.get(),
        (Pace::Overall(p), false) => (k * 3600.0 / p.get() - bath - k * load - reset) / k,
    };
    if t.helper {
        let age = f64::max(bath + load + k * cow, bath + k * load + cow);
        (cow, age, f64::max(k * cow, bath + k * load), bath + load)
    } else {
        let age = bath + k * load + k * cow;
        (cow, age, age + reset, bath + k * load)
    }
}

pub(super) fn seconds(s: f64) -> TimeDelta {
    TimeDelta::milliseconds((s * 1000.0) as i64)
}
