//! Sessions of the finished plan: pens, people and slots, and what is not bred.

use super::maker::{Maker, actions_words};
use super::{AtSession, Binding, DuePen, Leave, Limit, Session, Slot, Uncovered, road};
use crate::base::units::hundredths;
use crate::planning::crew::{self, Workload};
use crate::planning::dating::Due;
use crate::trade::protocol::{Action, Caution};

impl Maker<'_> {
    /// Without its straws: which these are follows from all sessions.
    pub(super) fn session(&self, s: &crew::Session, workload: &Workload) -> Session {
        let head: u32 = s.crew.iter().map(|c| c.head.0).sum();
        let firsts = s.crew.iter().filter_map(|c| c.cows);
        Session {
            id: self.session_id(&self.dated.dues[s.dues[0]]),
            site: self.season.sites[s.site].id.to_string(),
            open: self.at(s.open),
            close: self.at(s.close),
            first_cow: firsts.clone().map(|c| c.0).min().map(|t| self.at(t)),
            last_cow: firsts.map(|c| c.1).max().map(|t| self.at(t)),
            head,
            pens: s.dues.iter().map(|d| self.due_pen(*d, s)).collect(),
            technicians: s
                .crew
                .iter()
                .filter_map(|c| {
                    let (first, last) = c.cows?;
                    Some(AtSession {
                        id: self.season.crew[c.technician].id.to_string(),
                        head: c.head.0,
                        leaves: self.leaves(workload, s, c),
                        begins: self.at(c.begins?),
                        first_cow: self.at(first),
                        last_cow: self.at(last),
                        straws_at_once: c.rounds.straws.0,
                        minutes_per_cow: hundredths(c.rounds.cow.minutes()),
                        last_straw_minutes: hundredths(c.rounds.last_age.minutes()),
                        late_percent: hundredths(c.rounds.late * 100.0),
                    })
                })
                .collect(),
            slots: s.bred.iter().map(|b| self.slot(b)).collect(),
            straws: Vec::new(),
            spare_straws: Vec::new(),
            margin_head: s.margin.head,
            margin_minutes: s.margin.minutes,
            binding: s.margin.binding.unwrap_or(Binding::Pace),
            binding_words: s.margin.words.clone(),
            cautions: Caution::ALL
                .into_iter()
                .filter(|c| {
                    Action::Inseminate.cautions().contains(c) || self.gives_injection(s, *c)
                })
                .collect(),
        }
    }

    /// When to leave for a session at the latest, and from where: the session before it on the
    /// same outing, or the home site.
    fn leaves(&self, workload: &Workload, s: &crew::Session, c: &crew::Present) -> Option<Leave> {
        let begins = c.begins?;
        let before = workload
            .sessions
            .iter()
            .flat_map(|o| o.crew.iter().map(move |p| (o.site, p)))
            .filter(|(_, p)| p.technician == c.technician)
            .filter_map(|(site, p)| Some((p.cows?.1, site)))
            .filter(|(last, _)| {
                *last <= begins && road::on_one_outing(self.at(*last), self.at(begins))
            })
            .max();
        let from = before
            .map(|(_, site)| site)
            .or(self.season.crew[c.technician].home)?;
        (from != s.site).then(|| {
            let by = self.at(begins - self.season.sites[from].road[s.site]);
            road::leave(self.season, from, s.site, by)
        })
    }

    fn gives_injection(&self, s: &crew::Session, caution: Caution) -> bool {
        s.dues.iter().any(|d| {
            let due = &self.dated.dues[*d];
            let step = &self.season.groups[due.group].protocol.steps[due.step];
            step.actions.iter().any(|a| a.cautions().contains(&caution))
        })
    }

    fn due_pen(&self, index: usize, s: &crew::Session) -> DuePen {
        let due = &self.dated.dues[index];
        let bred: usize = s
            .bred
            .iter()
            .filter(|b| b.due == index)
            .map(|b| b.at.len())
            .sum();
        DuePen {
            pass: self.due_id(due),
            group: self.season.groups[due.group].id.to_string(),
            pen: due.half_day.is_none().then_some(due.pen as u32 + 1),
            by_heat: self.by_heat(due),
            what: self.due_words(due),
            head: due.head.0,
            bred_head: bred as u32,
            order: due.order,
            counted_from: self.at(due.from.start),
            counted_to: self.at(due.from.end()),
            hours: self.hours(&due.safe_hours(), due.window.words()),
        }
    }

    fn due_words(&self, due: &Due) -> String {
        if due.half_day.is_some() {
            return actions_words(&[Action::InseminateInHeat]);
        }
        self.season.groups[due.group].protocol.steps[due.step].words()
    }

    fn slot(&self, b: &crew::Bred) -> Slot {
        let due = &self.dated.dues[b.due];
        Slot {
            start: self.at(b.slot),
            technician: self.season.crew[b.technician].id.to_string(),
            group: self.season.groups[due.group].id.to_string(),
            pen: due.half_day.is_none().then_some(due.pen as u32 + 1),
            pass: self.due_id(due),
            head: b.at.len() as u32,
            animals: b.cows.iter().map(|c| c + 1).collect(),
            bred_minutes: b
                .at
                .iter()
                .map(|t| hundredths((*t - b.slot).num_seconds() as f64 / 60.0))
                .collect(),
        }
    }

    /// Head that are not bred, session by session, with why.
    pub(super) fn uncovered(&self, workload: &Workload, sessions: &[Session]) -> Vec<Uncovered> {
        let mut found = Vec::new();
        for (s, session) in workload.sessions.iter().zip(sessions) {
            for u in &s.uncovered {
                let due = &self.dated.dues[u.due];
                found.push(Uncovered {
                    session: session.id.clone(),
                    pass: self.due_id(due),
                    group: self.season.groups[due.group].id.to_string(),
                    pen: due.half_day.is_none().then_some(due.pen as u32 + 1),
                    head: u.head.0,
                    animals: u.cows.iter().map(|c| c + 1).collect(),
                    hours: self.hours(&due.safe_hours(), due.window.words()),
                    why: u.why.clone(),
                    binding: Some(u.binding),
                    limits: u.lifted.iter().map(Limit::from).collect(),
                    at_most_head: u.at_most,
                    hints: u.hints.clone(),
                });
            }
        }
        found
    }
}
