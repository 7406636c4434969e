//! Breeding: who breeds which animals when.

use chrono::{TimeDelta, Utc};
use serde::{Deserialize, Serialize};

use super::{BullStraws, ByHeat, Hours, Leave};
use crate::base::time::{Instant, Moment};
use crate::planning::crew::Binding;
use crate::trade::protocol::Caution;
use crate::trade::season::Order;

/// The breeding of one site over one stretch of hours.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Session {
    /// Stable from run to run.
    pub id: String,
    /// Site id.
    pub site: String,
    /// First moment of the hours.
    pub open: Moment,
    /// Last moment of the hours.
    pub close: Moment,
    /// First cow bred; absent if none.
    pub first_cow: Option<Moment>,
    /// Last cow bred; absent if none.
    pub last_cow: Option<Moment>,
    /// Head bred.
    pub head: u32,
    /// Pens due here.
    pub pens: Vec<DuePen>,
    /// Technicians here.
    pub technicians: Vec<AtSession>,
    /// What is bred when, by whom.
    pub slots: Vec<Slot>,
    /// Straws to bring, by bull: one for each cow.
    pub straws: Vec<BullStraws>,
    /// Straws to bring beside these for cows that never come, by `straws_wasted_percent`.
    pub spare_straws: Vec<BullStraws>,
    /// More head possible in the tightest pen.
    pub margin_head: u32,
    /// Minutes by which the crew could start later.
    pub margin_minutes: i64,
    /// What binds.
    pub binding: Binding,
    /// That in words: behind `limit: ` where all are bred, else why they are not.
    pub binding_words: String,
    /// Which cautions apply.
    #[schemars(with = "Vec<String>")]
    pub cautions: Vec<Caution>,
}

impl Session {
    /// Its first cow, or where there is none its first open hour.
    #[must_use]
    pub fn begins(&self) -> Moment {
        self.first_cow.unwrap_or(self.open)
    }

    /// What is brought to spare of the bull of some straws.
    pub(crate) fn spare_for(&self, straws: &BullStraws) -> Option<&BullStraws> {
        self.spare_straws.iter().find(|b| b.bull == straws.bull)
    }
}

/// A pen due at a session.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct DuePen {
    /// Id of its breeding pass.
    pub pass: String,
    /// Group id.
    pub group: String,
    /// Pen, from 1; absent for a whole group bred by heat.
    pub pen: Option<u32>,
    /// For those seen in heat on a half-day: when, and between which head the number lies.
    pub by_heat: Option<ByHeat>,
    /// What is done: `inseminate + GnRH`.
    pub what: String,
    /// Head due.
    pub head: u32,
    /// Head bred.
    pub bred_head: u32,
    /// mixed or kept.
    pub order: Order,
    /// When the first animal had the treatment that the hours count from.
    pub counted_from: Moment,
    /// When the last animal had it.
    pub counted_to: Moment,
    /// The pen's hours.
    pub hours: Hours,
}

/// A technician at a session.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct AtSession {
    /// Technician id.
    pub id: String,
    /// Head bred.
    pub head: u32,
    /// When to leave for the session, where it is at another site than the one before.
    pub leaves: Option<Leave>,
    /// When the first straws go into the bath.
    pub begins: Moment,
    /// First cow.
    pub first_cow: Moment,
    /// Last cow.
    pub last_cow: Moment,
    /// Straws in the bath at once.
    pub straws_at_once: u32,
    /// Minutes a cow with loaded guns at hand.
    pub minutes_per_cow: f64,
    /// Mean age in minutes of the last straw of a round, from bath to cow.
    pub last_straw_minutes: f64,
    /// Chance in percent that it is older than the season allows.
    pub late_percent: f64,
}

/// Animals of one pen that one technician breeds in one slot.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Slot {
    /// First moment of the slot.
    pub start: Moment,
    /// Technician id.
    pub technician: String,
    /// Group id.
    pub group: String,
    /// Pen, from 1; absent for a whole group bred by heat.
    pub pen: Option<u32>,
    /// Id of the breeding pass.
    pub pass: String,
    /// Head.
    pub head: u32,
    /// For order kept: which animals of the pen, from 1.
    pub animals: Vec<u32>,
    /// When each is bred, minutes after the slot's start.
    pub bred_minutes: Vec<f64>,
}

impl Slot {
    /// The moments at which its cows are bred.
    pub fn bred_at(&self) -> impl Iterator<Item = Instant> {
        let start = self.start.with_timezone(&Utc);
        let after = |minutes: &f64| TimeDelta::milliseconds((minutes * 60_000.0).round() as i64);
        self.bred_minutes.iter().map(move |m| start + after(m))
    }

    /// When each of its cows is bred, in the whole seconds that the hundredths of a minute stand for, and
    /// which of the pen she is.
    pub(crate) fn cows(&self) -> impl Iterator<Item = (Moment, Option<u32>)> + Clone {
        let cows = self.bred_minutes.iter().enumerate();
        cows.map(|(n, minutes)| {
            let after = TimeDelta::seconds((minutes * 60.0).round() as i64);
            (self.start + after, self.animals.get(n).copied())
        })
    }
}
