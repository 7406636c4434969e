//! A group's animals day by day in rows of numbers: bred, in heat again, settled, open.

use chrono::{NaiveDate, TimeDelta};

use super::law::Days;
use crate::oracle::moments;
use thawline::plan::Plan;
use thawline::season::Group;
use thawline::time::Zone;

/// Days on which a group is bred, or should be, and with which bulls.
pub(super) struct Herd {
    pub(super) head: f64,
    /// The first day of all rows.
    pub(super) from: NaiveDate,
    pub(super) last: NaiveDate,
    pub(super) bred: Vec<(NaiveDate, f64)>,
    missed: Vec<(NaiveDate, f64)>,
    unseen: f64,
    /// Pregnant to the service before.
    pub(super) before: f64,
    /// First and last day of clean-up bulls.
    pub(super) bulls: Option<(NaiveDate, NaiveDate)>,
}

/// What bulls meet: heat after heat.
#[derive(Clone, Copy, Default)]
pub(super) struct Met {
    /// Head in heat, their sum of days after the bulls' first, and head settled.
    pub(super) in_heat: f64,
    pub(super) days: f64,
    pub(super) settled: f64,
}

/// Conceptions by day from the first day of the rows.
#[derive(Clone, Default)]
pub(super) struct Rows {
    pub(super) ai: Vec<f64>,
    pub(super) bulls: Vec<f64>,
    pub(super) met: Vec<Met>,
}

impl Rows {
    pub(super) fn to_ai(&self) -> f64 {
        self.ai.iter().sum()
    }

    pub(super) fn to_bulls(&self) -> f64 {
        self.bulls.iter().sum()
    }
}

impl Herd {
    /// None where nobody knows on which days the group is bred.
    pub(super) fn of(group: &Group, plan: &Plan, zone: Zone) -> Option<Self> {
        let id = group.id.as_str();
        let mut bred: Vec<(NaiveDate, f64)> = Vec::new();
        for slot in plan.sessions.iter().flat_map(|s| &s.slots) {
            if slot.group == id {
                let cows = moments(slot);
                bred.extend(cows.map(|at| (zone.date(at), 1.0)));
            }
        }
        let uncovered = plan.uncovered.iter().filter(|u| u.group == id);
        let mut missed: Vec<(NaiveDate, f64)> = uncovered
            .map(|u| (u.hours.aim.date_naive(), f64::from(u.head)))
            .collect();
        let days = || bred.iter().chain(&missed).map(|d| d.0);
        let (from, last) = (days().min()?, days().max()?);
        let head: f64 = group.pens.iter().map(|p| f64::from(p.0)).sum();
        let planned: f64 = bred.iter().chain(&missed).map(|d| d.1).sum();
        // Planned whole for two days where the share in heat is not known: each animal once.
        if planned > head {
            for day in bred.iter_mut().chain(&mut missed) {
                day.1 *= head / planned;
            }
        }
        let bulls = group.calves.clean_up.as_ref();
        let left = (head - planned).max(0.0);
        let again = f64::from(u8::from(group.protocol.second_service));
        Some(Self {
            head,
            from,
            last,
            bred,
            missed,
            unseen: left * (1.0 - again),
            before: left * again,
            bulls: bulls.map(|b| (b.first, b.last)),
        })
    }

    pub(super) fn bred_head(&self) -> f64 {
        self.bred.iter().map(|d| d.1).sum()
    }

    /// Days after the first on which the bred are, on average.
    pub(super) fn mean_bred(&self) -> f64 {
        let days = |d: &(NaiveDate, f64)| (d.0 - self.from).num_days() as f64 * d.1;
        self.bred.iter().map(days).sum::<f64>() / self.bred_head()
    }

    /// Animals that cycle or do not, as far as they may be open: those of the not cycling that are among the
    /// bred or missed, of each of these.
    fn idle(&self, not_cycling: f64) -> f64 {
        let planned = self.head - self.before - self.unseen;
        let all = not_cycling * (self.head - self.before);
        if all <= self.unseen || planned <= 0.0 {
            0.0
        } else {
            (all - self.unseen) / planned
        }
    }

    /// Head bred that are open and cycle.
    pub(super) fn back(&self, pregnant: f64, not_cycling: f64) -> f64 {
        let idle = self.idle(not_cycling);
        // STEV18: 33 % pregnant without heat, 62 % in heat.
        let of_idle = pregnant * 33.0 / 62.0;
        let cycling_open = (1.0 - idle) - (pregnant - idle * of_idle);
        self.bred_head() * cycling_open.max(0.0)
    }

    /// At a share pregnant to AI, a share of heats that bulls settle and a share that does not cycle.
    pub(super) fn rows(&self, [pregnant, settled, not_cycling]: [f64; 3]) -> Rows {
        let at = |d: NaiveDate| (d - self.from).num_days() as usize;
        let out = self.bulls.map_or(self.last, |b| b.1).max(self.last);
        let long = at(out) + 60;
        let mut heats = vec![0.0; long];
        let mut rows = Rows {
            ai: vec![0.0; long],
            ..Rows::default()
        };
        let cycle = Days::cycle();
        for (day, head) in &self.bred {
            rows.ai[at(*day)] += head * pregnant;
            let back = self.back(pregnant, not_cycling) / self.bred_head();
            again(&mut heats, &cycle, at(*day), head * back);
        }
        for (day, head) in &self.missed {
            let cycle_on = 1.0 - self.idle(not_cycling);
            again(&mut heats, &cycle, at(*day), head * cycle_on);
        }
        for n in 1..=21 {
            let idle = not_cycling * (self.head - self.before);
            heats[at(self.last) + n] += (self.unseen - idle).max(0.0) / 21.0;
        }
        let (bulls, met) = with_bulls(self.from, heats, self.bulls, settled);
        rows.bulls = bulls;
        rows.met = met;
        rows
    }

    /// The same with rows from the first day on which any is bred to AI.
    pub(super) fn ai_alone(&self) -> Self {
        let first = self.bred.iter().map(|d| d.0).min();
        Self {
            from: first.unwrap_or(self.from),
            bred: Vec::new(),
            missed: Vec::new(),
            ..*self
        }
    }

    /// With bulls alone from the first day on until `last`: one in 21 in heat each day.
    pub(super) fn natural(&self, last: NaiveDate, settled: f64, not_cycling: f64) -> Rows {
        let stay = (last - self.from).num_days().max(0) as usize;
        let mut heats = vec![0.0; stay + 60];
        for heat in heats.iter_mut().take(21) {
            *heat += (self.head - self.before) * (1.0 - not_cycling) / 21.0;
        }
        let (bulls, met) = with_bulls(self.from, heats, Some((self.from, last)), settled);
        Rows {
            bulls,
            met,
            ..Rows::default()
        }
    }
}

/// Those in heat on a day and open are in heat again.
fn again(heats: &mut [f64], cycle: &Days, day: usize, head: f64) {
    for (days, share) in cycle.each() {
        if let Some(there) = heats.get_mut(day + days) {
            *there += head * share;
        }
    }
}

/// Settled by day, and heat by heat. A row for each heat with bulls: the nth of each animal.
fn with_bulls(
    from: NaiveDate,
    heats: Vec<f64>,
    bulls: Option<(NaiveDate, NaiveDate)>,
    settled: f64,
) -> (Vec<f64>, Vec<Met>) {
    let mut by_day = vec![0.0; heats.len()];
    let Some((first, last)) = bulls else {
        return (by_day, Vec::new());
    };
    let cycle = Days::cycle();
    let (mut met, mut row) = (Vec::new(), heats);
    loop {
        let (mut this, mut next) = (Met::default(), vec![0.0; row.len()]);
        // Within a row only heats before the bulls come again in it.
        for n in 0..row.len() {
            let day = from + TimeDelta::days(n as i64);
            if day > last {
                break;
            }
            if day < first {
                let head = row[n];
                again(&mut row, &cycle, n, head);
            } else {
                by_day[n] += row[n] * settled;
                this.in_heat += row[n];
                this.settled += row[n] * settled;
                this.days += row[n] * (day - first).num_days() as f64;
                again(&mut next, &cycle, n, row[n] * (1.0 - settled));
            }
        }
        if this.in_heat <= 0.0 {
            return (by_day, met);
        }
        met.push(this);
        row = next;
    }
}
