//! What a group wants of its protocol and start, and how one choice is weighed against another.

use chrono::{NaiveDate, NaiveDateTime, NaiveTime, TimeDelta};

use super::raw::{self, HeatWatch, WishName};
use super::{After, Calves, Group, HeatHours, HerdFile, Order, PenStarts, Waiting};
use crate::base::error::Place;
use crate::base::time::{parse_clock, parse_date};
use crate::base::units::{Head, Id};
use crate::trade::figures::{self, Breed, Gestation};
use crate::trade::protocol::{Cattle, Class, Protocol, Semen};

/// Days from the last AI to the bulls' turn-out (ANDERSON).
pub const BULLS_GAP_DAYS: u32 = 10;

/// What a group wants of its protocol and start.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Wishes {
    /// No breeding before.
    pub breed_from: Option<NaiveDate>,
    /// No breeding after.
    pub breed_to: Option<NaiveDate>,
    /// No calves before.
    pub first_calves_from: Option<NaiveDate>,
    /// Mean gestation length, and on which days before it the first calves are expected.
    pub gestation: Gestation,
    /// Ids of the only protocols to consider; all if empty.
    pub protocols: Vec<String>,
    /// Ids of protocols to leave out.
    pub leave_out: Vec<String>,
    /// For which cattle a protocol must be published.
    pub cattle: Cattle,
    /// For which semen.
    pub semen: Semen,
    /// With protocols that were tried in research only.
    pub research: bool,
    /// Most trips through the chute.
    pub most_passes: Option<u32>,
    /// Most days to the first breeding.
    pub most_days: Option<u32>,
    /// With or without heat watch.
    pub heat_watch: Option<HeatWatch>,
    /// Bulls' turn-out.
    pub bulls_in: Option<NaiveDate>,
    /// Days from the last AI to it.
    pub bulls_gap_days: u32,
    /// Clock times of chute work.
    pub work_hours: Option<(NaiveTime, NaiveTime)>,
    /// From one start that is looked at to the next.
    pub start_every: TimeDelta,
    /// Wishes that may be broken.
    pub may_break: Vec<WishName>,
}

impl Wishes {
    /// True if a protocol is published for these cattle and semen, for a first service, and on a
    /// list of recommended ones unless research is wanted too.
    #[must_use]
    pub fn suit(&self, protocol: &Protocol) -> bool {
        protocol.cattle.contains(&self.cattle)
            && protocol.semen.contains(&self.semen)
            && (self.research || !protocol.research)
            && !protocol.second_service
    }

    /// The last date of breeding that leaves the gap before the bulls' turn-out.
    #[must_use]
    pub fn last_before_bulls(&self) -> Option<NaiveDate> {
        self.bulls_in
            .map(|d| d - TimeDelta::days(i64::from(self.bulls_gap_days)))
    }

    /// The first date of breeding whose first calves are not too early.
    #[must_use]
    pub fn first_for_calves(&self) -> Option<NaiveDate> {
        self.first_calves_from
            .map(|d| figures::bred_for_first(d, &self.gestation))
    }
}

/// Dates and times were checked.
pub(super) fn build(raw: &raw::Wishes) -> Wishes {
    let date = |text: &Option<String>| text.as_deref().and_then(parse_date);
    Wishes {
        breed_from: date(&raw.breed_from),
        breed_to: date(&raw.breed_to),
        first_calves_from: date(&raw.first_calves_from),
        gestation: gestation(raw),
        protocols: raw.protocols.clone(),
        leave_out: raw.leave_out.clone(),
        cattle: raw.cattle.unwrap_or(Cattle::Beef),
        semen: raw.semen.unwrap_or_default(),
        research: raw.research,
        most_passes: raw.most_passes,
        most_days: raw.most_days,
        heat_watch: raw.heat_watch,
        bulls_in: date(&raw.bulls_in),
        bulls_gap_days: raw.bulls_gap_days.unwrap_or(BULLS_GAP_DAYS),
        work_hours: raw
            .work_hours
            .as_ref()
            .and_then(|h| Some((parse_clock(&h.from)?, parse_clock(&h.to)?))),
        start_every: TimeDelta::minutes(i64::from(raw.start_every_minutes.unwrap_or(60))),
        may_break: raw.may_break.clone(),
    }
}

/// Days were checked.
pub(super) fn gestation(raw: &raw::Wishes) -> Gestation {
    let breed = Gestation::for_breed(raw.breed.unwrap_or(Breed::Other));
    let mut gestation = raw
        .gestation_days
        .and_then(Gestation::of_days)
        .unwrap_or(breed);
    if let Some(early) = raw.early_days {
        gestation.early_days = early;
    }
    gestation
}

/// What is known of a group, whatever its protocol and start: all there is where they are still to be
/// chosen.
#[derive(Clone, Debug, PartialEq)]
pub struct GroupFacts {
    /// Its place among all groups of the file.
    pub nth: usize,
    /// Short name.
    pub id: Id,
    /// Full name.
    pub name: String,
    /// Site, by its place in [`super::Season::sites`].
    pub site: usize,
    /// Cow or heifer.
    pub class: Class,
    /// Head in each pen, in the order they are worked.
    pub pens: Vec<Head>,
    /// Days over which the plan may spread the group; 1 for a group whose pens begin as stated.
    pub days: u32,
    /// True if the pens are stated, and not the plan's to make.
    pub pens_stated: bool,
    /// Order at the breeding chute.
    pub order: Order,
    /// Bulls that may be used, by their place in [`super::Season::bulls`], the first choice first.
    pub bulls: Vec<usize>,
    /// Percent planned to be seen in heat, if the user says.
    pub in_heat_percent: Option<f64>,
    /// Hours to heat, as far as the user says.
    pub heat_hours: HeatHours,
    /// A remark.
    pub note: Option<String>,
    /// Where its start, or else the group, stands in the file.
    pub start_place: Place,
    /// Where its bulls stand in the file.
    pub bulls_place: Place,
    /// What it wants.
    pub wishes: Option<Wishes>,
    /// What it meets after AI.
    pub after: After,
    /// Its herd file, if it names one.
    pub herd: Option<HerdFile>,
    /// Animals of it that are not ready at the start: no pen counts them.
    pub waiting: Vec<Waiting>,
    /// Its own scores file, if it names one.
    pub scores: Option<HerdFile>,
    /// Its calves and clean-up bulls.
    pub calves: Calves,
}

impl GroupFacts {
    /// The group, with a protocol and a start.
    #[must_use]
    pub fn decided(self, protocol: Protocol, start: NaiveDateTime) -> Group {
        Group {
            facts: self,
            protocol,
            start,
            pen_starts: PenStarts::InTurn,
            starts_planned: false,
        }
    }

    /// The pens as stated, with those that wait.
    #[must_use]
    pub fn stated_pens(&self) -> Vec<Head> {
        let mut pens = self.pens.clone();
        for w in &self.waiting {
            pens[w.pen].0 += 1;
        }
        pens
    }

    /// All its animals that are planned.
    #[must_use]
    pub fn head(&self) -> Head {
        Head(self.pens.iter().map(|p| p.0).sum())
    }
}

/// Points against a choice. The defaults are common practice, no source: a way to begin.
#[derive(Clone, Copy, Debug, PartialEq)]
#[allow(missing_docs)]
pub struct Weights {
    pub day: f64,
    pub pass: f64,
    pub work_hour: f64,
    pub night_hour: f64,
    pub cost_a_head: f64,
    pub cost_a_pregnancy: f64,
    pub percent_open: f64,
    pub calving_day: f64,
    pub head_not_bred: f64,
    pub short_minute: f64,
    pub other_head: f64,
    pub chute_quarter: f64,
    pub wish: f64,
}

impl Weights {
    pub(super) fn build(raw: Option<&raw::Weights>) -> Self {
        let empty = raw::Weights::default();
        let w = raw.unwrap_or(&empty);
        Self {
            day: w.day.unwrap_or(0.1),
            pass: w.pass.unwrap_or(3.0),
            work_hour: w.work_hour.unwrap_or(0.2),
            night_hour: w.night_hour.unwrap_or(2.0),
            cost_a_head: w.cost_a_head.unwrap_or(0.0),
            cost_a_pregnancy: w.cost_a_pregnancy.unwrap_or(0.2),
            percent_open: w.percent_open.unwrap_or(1.0),
            calving_day: w.calving_day.unwrap_or(0.2),
            head_not_bred: w.head_not_bred.unwrap_or(5.0),
            short_minute: w.short_minute.unwrap_or(0.05),
            other_head: w.other_head.unwrap_or(5.0),
            chute_quarter: w.chute_quarter.unwrap_or(2.0),
            wish: w.wish.unwrap_or(20.0),
        }
    }
}
