//! The finished plan, as it is written to JSON and read by every report.
//!
//! Times carry their offset; the local reading is the zone's at that moment. Pens, and animals
//! within a pen, count from 1. Quantities carry their unit in the key.
//!
//! Each file of a plan carries the plan's id, because no system replaces several files at one moment.
//! Two ids in one folder show that a run was ended between two renames. Findings are no part of the id:
//! they name files as they were called for.

mod assemble;
mod by_heat;
mod followed;
mod heats;
mod remark;
mod road;
mod spare;
pub mod straws;
mod verdict;

use crate::trade::season::Order;
use chrono::{NaiveDate, TimeDelta, Utc};
use serde::{Deserialize, Serialize};

pub use assemble::{assemble, site_of_session};
pub use heats::{ByHeat, GroupHeat, HalfDay};
pub use remark::{Limit, Uncovered};
pub use road::{Leave, Outing, OwnRoad, Road};
pub use spare::{Spare, lacking, spares, wasted_straws};
pub use verdict::PENS_NAMED;

pub use crate::base::error::Remark;
pub use crate::base::time::Moment;
pub use crate::planning::aftercare::{FollowUp, GroupFollowUp, Kind as FollowKind};
pub use crate::planning::crew::{Binding, Hint, LIMIT, Set};
pub use crate::planning::dating::HalfOfDay;

use crate::base::time::Instant;
use crate::base::units::Units;
use crate::trade::protocol::{Action, Caution, Class, Kind};

/// Form and version of plan files.
pub const FORMAT: &str = "thawline.plan/1";

/// A whole season, dated and staffed.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
#[serde(deny_unknown_fields)]
#[schemars(title = "Thawline plan")]
pub struct Plan {
    /// `thawline.plan/1`.
    pub format: String,
    /// Version of the program that made it.
    pub program: String,
    /// Made of all that it plans: files that name one id are of one plan.
    #[serde(default)]
    pub id: String,
    /// Name of the season.
    pub season: String,
    /// IANA time zone of the local readings.
    pub zone: String,
    /// Release of the IANA zone data, such as `2026f`.
    #[serde(default)]
    pub zone_data: String,
    /// The answer, first.
    pub verdict: Verdict,
    /// Sites.
    pub sites: Vec<Site>,
    /// Groups.
    pub groups: Vec<Group>,
    /// Chute work, feeding, heat watch and breeding steps, by time.
    pub passes: Vec<Pass>,
    /// Breeding, by time.
    pub sessions: Vec<Session>,
    /// Head that cannot be bred in their hours.
    pub uncovered: Vec<Uncovered>,
    /// What comes after AI, by group: return heats, bulls, pregnancy checks, calving, withdrawal.
    pub follow_up: Vec<GroupFollowUp>,
    /// Technicians and their share of the season.
    pub technicians: Vec<Technician>,
    /// Time on the road for breeding, and its cost; absent where nobody has a home site.
    pub road: Option<Road>,
    /// Bulls and their straws.
    pub bulls: Vec<Bull>,
    /// What was noticed.
    pub findings: Vec<Remark>,
    /// How the search for the plan went.
    pub search: Search,
    /// Units that people read; absent where none are chosen. This file keeps those of its keys.
    #[serde(default, skip_serializing_if = "Units::is_open")]
    pub units: Units,
}

/// Covered or not, by what margin, and what binds.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Verdict {
    /// True if every animal due is bred in her hours; of those bred by detected heat, as many as
    /// are expected on each half-day.
    pub covered: bool,
    /// True if a rule of the season is broken (see `findings`).
    pub rules_broken: bool,
    /// Animals of the season.
    pub season_head: u32,
    /// Inseminations due at set hours or expected on half-days.
    pub due_head: u32,
    /// Of these, planned.
    pub covered_head: u32,
    /// Of these, not possible.
    pub uncovered_head: u32,
    /// Of those due, expected on half-days by detected heat.
    pub by_heat_head: u32,
    /// Animals to be bred by detected heat, of whom nobody says when heat comes: their daily
    /// number is not planned.
    pub unplanned_head: u32,
    /// Animals that are not expected to be seen in heat, for whom no breeding is planned.
    pub not_seen_head: u32,
    /// The tightest session, if any.
    pub tightest: Option<Tightest>,
    /// The verdict in sentences.
    pub words: Vec<String>,
}

/// The session with the least margin.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Tightest {
    /// Its id.
    pub session: String,
    /// More head possible in its tightest pen.
    pub margin_head: u32,
    /// Minutes by which the crew could start later.
    pub margin_minutes: i64,
    /// What binds.
    pub binding: Binding,
}

/// A site.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
#[serde(deny_unknown_fields)]
#[allow(missing_docs)]
pub struct Site {
    pub id: String,
    pub name: String,
    /// Degrees north, below zero to the south.
    pub latitude: Option<f64>,
    /// Degrees east, below zero to the west.
    pub longitude: Option<f64>,
}

/// A group.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Group {
    /// Its id.
    pub id: String,
    /// Its name.
    pub name: String,
    /// Site id.
    pub site: String,
    /// Cows or heifers.
    pub class: Class,
    /// Protocol id.
    pub protocol: String,
    /// The protocol's published name.
    pub protocol_name: String,
    /// How its protocol breeds.
    pub kind: Kind,
    /// Head in each pen.
    pub pen_head: Vec<u32>,
    /// mixed or kept.
    pub order: Order,
    /// Straws set aside, by bull.
    pub straws: Vec<BullStraws>,
    /// Straws short: for animals that people could breed, or that are bred as they come in heat.
    #[serde(default)]
    pub straws_short: u32,
    /// The first treatment.
    pub start: Moment,
    /// For a group bred by detected heat: how many on each half-day, where somebody says when
    /// heat comes.
    pub heat: Option<GroupHeat>,
    /// When each pen begins, where pens have starts of their own.
    pub pen_starts: Option<Vec<Moment>>,
    /// Animals of each pen in the order of their earlier pass, which they keep, with the bulls of
    /// their matings; absent unless the herd file has that order.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub animals_in_order: Option<Vec<Vec<InOrder>>>,
    /// A remark of the season file.
    pub note: Option<String>,
    /// True if facts of the protocol could not be checked against their publication.
    pub unverified: bool,
}

/// Straws of one bull.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, schemars::JsonSchema)]
#[serde(deny_unknown_fields)]
#[allow(missing_docs)]
pub struct BullStraws {
    pub bull: String,
    pub straws: u32,
    /// How many of these are sexed, where matings say so of a bull who has straws of both sorts.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub sexed_straws: Option<u32>,
}

/// An animal in the order of her pen.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, schemars::JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct InOrder {
    /// Her id.
    pub animal: String,
    /// The bull of her mating; absent without one.
    pub bull: Option<String>,
    /// True if her straw is a sexed one.
    pub sexed: bool,
}

impl Group {
    /// An animal by her pen and her place in it, both from 1, where the order is known.
    #[must_use]
    pub fn in_order(&self, pen: Option<u32>, animal: Option<u32>) -> Option<&InOrder> {
        let pens = self.animals_in_order.as_ref()?;
        let pen = pens.get((pen? as usize).checked_sub(1)?)?;
        pen.get((animal? as usize).checked_sub(1)?)
    }
}

/// What kind of work a pass is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize, schemars::JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Work {
    /// Injections, inserts, patches.
    Chute,
    /// Feeding each day.
    Feeding,
    /// Watching for heat.
    HeatWatch,
    /// Breeding at set hours, or of those seen in heat on a half-day; the session has the details.
    Breeding,
}

/// One step of one pen, dated.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Pass {
    /// `group/pen/step`, or `group/all/step`, with a half-day such as `2027-05-20-am` behind it for
    /// those first seen in heat then; stable from run to run.
    pub id: String,
    /// Group id.
    pub group: String,
    /// Pen, from 1; absent where the whole group is fed, watched, or bred by heat.
    pub pen: Option<u32>,
    /// Step id of the protocol.
    pub step: String,
    /// Site id.
    pub site: String,
    /// Kind of work.
    pub work: Work,
    /// What is done, in words.
    pub what: String,
    /// What is done.
    pub actions: Vec<Action>,
    /// First animal in. For breeding: the aim.
    pub start: Moment,
    /// Last animal out. For breeding: the aim.
    pub end: Moment,
    /// First day of feeding or watching.
    pub first_day: Option<NaiveDate>,
    /// Last day of feeding or watching.
    pub last_day: Option<NaiveDate>,
    /// Animals.
    pub head: u32,
    /// The hours that hold for the pen, where the step counts in elapsed hours.
    pub hours: Option<Hours>,
    /// Which cautions apply.
    #[schemars(with = "Vec<String>")]
    pub cautions: Vec<Caution>,
    /// A sentence of the protocol.
    pub note: Option<String>,
    /// Moments in it that the clocks skip or repeat, in words.
    pub clock: Option<String>,
}

/// Hours in which breeding must lie, or in which chute work must begin, so that the window holds
/// for every animal.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Hours {
    /// Not sooner. Later than `latest` where no animal could be safe.
    pub earliest: Moment,
    /// Best.
    pub aim: Moment,
    /// Not later.
    pub latest: Moment,
    /// The protocol's window: `60 to 66 h, aim 63`.
    pub window: String,
}

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
    #[must_use]
    pub fn spare_for(&self, straws: &BullStraws) -> Option<&BullStraws> {
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
}

/// A technician's share of the season.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Technician {
    /// Id.
    pub id: String,
    /// Name.
    pub name: String,
    /// True if a helper thaws and loads.
    pub helper: bool,
    /// Sessions.
    pub sessions: u32,
    /// Head bred.
    pub head: u32,
    /// Hours from the first straws in the bath to the last cow, all sessions together.
    pub hours: f64,
    /// Time on the road, where the home site is known.
    pub road: Option<OwnRoad>,
}

/// A bull's straws.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, schemars::JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Bull {
    /// Id.
    pub id: String,
    /// Name.
    pub name: String,
    /// Straws on hand.
    pub straws: u32,
    /// Set aside.
    pub planned_straws: u32,
    /// Left.
    pub left_straws: u32,
    /// Of those left, set aside for cows that never come.
    pub spare_straws: u32,
}

/// How the search for the plan went.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Search {
    /// Parts of the season that share nobody and nothing.
    pub parts: u32,
    /// Parts whose plan is proven best of those that the search looks at: the guide's crew rules say which.
    pub proven: u32,
    /// Parts in which somebody had to be sent to one of two places.
    pub with_choices: u32,
    /// How much more a better plan of the whole season could breed at the most, of those that the search looks at:
    /// percent of the bound.
    pub gap_percent: f64,
    /// The parts that are not proven best, by time.
    pub open: Vec<OpenPart>,
}

/// A part of the season whose plan may not be the best.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct OpenPart {
    /// Session ids.
    pub sessions: Vec<String>,
    /// Head bred.
    pub covered_head: u32,
    /// No plan that the search looks at breeds more of these sessions.
    pub bound_head: u32,
    /// How far apart the two are: percent of the bound.
    pub gap_percent: f64,
}

impl Plan {
    /// The places of its sessions, the earliest first.
    #[must_use]
    pub fn sessions_in_time(&self) -> Vec<usize> {
        let mut order: Vec<usize> = (0..self.sessions.len()).collect();
        order.sort_by_key(|n| self.sessions[*n].begins());
        order
    }

    /// True if nothing falls short and no rule is broken.
    #[must_use]
    pub fn is_well(&self) -> bool {
        self.verdict.covered && !self.verdict.rules_broken
    }

    /// The group of an id.
    #[must_use]
    pub fn group(&self, id: &str) -> Option<&Group> {
        self.groups.iter().find(|g| g.id == id)
    }

    /// `cows pen 2`, or just the group where it has one pen or the whole of it is meant.
    #[must_use]
    pub fn group_pen(&self, group: &str, pen: Option<u32>) -> String {
        let pens = self.group(group).map_or(1, |g| g.pen_head.len());
        match pen {
            Some(pen) if pens > 1 => format!("{group} pen {pen}"),
            _ => group.to_owned(),
        }
    }

    /// The name of a site.
    #[must_use]
    pub fn site_name<'a>(&'a self, id: &'a str) -> &'a str {
        self.sites
            .iter()
            .find(|s| s.id == id)
            .map_or(id, |s| s.name.as_str())
    }

    /// The name of a technician.
    #[must_use]
    pub fn technician_name<'a>(&'a self, id: &'a str) -> &'a str {
        self.technicians
            .iter()
            .find(|t| t.id == id)
            .map_or(id, |t| t.name.as_str())
    }
}
