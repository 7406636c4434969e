//! What a season is, how it is read and checked.
//!
//! A [`Season`] is valid by construction: every id names something, every protocol is there and
//! serves the group's class, pens add up, and every technician can get a straw into a cow in time.

mod after;
mod assume;
mod built_rules;
mod calf_rules;
mod calves;
pub mod first;
mod free_hours;
mod heat_rules;
mod law_rules;
pub mod pace;
pub mod raw;
mod read;
mod roads;
mod rules;
mod semen;
mod shifts;
mod straw_rules;
mod straw_table;
pub mod supplies;
mod supply_rules;
mod tank_rules;
mod thawing;
mod time_rules;
mod wish_rules;
mod wishes;

use std::collections::BTreeMap;
use std::ops::{Deref, DerefMut};

use chrono::{NaiveDate, NaiveDateTime, NaiveTime, TimeDelta};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

pub use after::{After, CleanupBulls};
pub use calves::{Calves, CleanUp, MoneyFacts, Natural, OwnGestation, Share};
pub use free_hours::{FreeHours, Stops, When};
pub use law_rules::Allowed;
pub use raw::{Allow, HeatWatch, Overrule, Weekday, WishName};
pub use read::{read, read_with, schema};
pub use roads::{EARTH_KM, Stretch, straight_line_km};
pub use semen::{
    Bull, BullFacts, CM_PER_INCH, Goblet, LevelUnit, Nitrogen, Reading, StrawFile, StrawPlace, Tank,
};
pub use shifts::{Shift, weekday};
pub use straw_table::Load;
pub use supplies::{Kind, PackUnit, Supplies, Supply};
pub use supply_rules::published_ml;
pub use thawing::{Bath, StrawRules};
pub use wishes::{BULLS_GAP_DAYS, GroupFacts, Weights, Wishes};

use crate::base::error::Place;
use crate::base::file_words;
use crate::base::sheet::Asked;
use crate::base::time::{Instant, Zone};
use crate::base::units::{Head, HeadPerHour, Id, Seconds, Straws, Units};
use crate::trade::figures::Prices;
use crate::trade::protocol::law::Country;
use crate::trade::protocol::{Action, Protocol, Step, Window};

/// Form and version of season files.
pub const FORMAT: &str = "thawline.season/1";

/// A breeding season.
#[derive(Clone, Debug, PartialEq)]
pub struct Season {
    /// What it is called.
    pub name: String,
    /// Zone of all local times, on the clock of `units`.
    pub zone: Zone,
    /// Whose law holds.
    pub country: Country,
    /// What is planned though it is not permitted there.
    pub allow: Vec<Allow>,
    /// Sites, in the file's order.
    pub sites: Vec<Site>,
    /// Groups with a protocol and a start, in the file's order.
    pub groups: Vec<Group>,
    /// Groups that have wishes only, in the file's order.
    pub open: Vec<GroupFacts>,
    /// Technicians, in the file's order.
    pub crew: Vec<Technician>,
    /// Bulls, in the order they are first named, with all their straws.
    pub bulls: Vec<Bull>,
    /// Tanks, in the file's order.
    pub tanks: Vec<Tank>,
    /// Its scores file, if it names one.
    pub scores: Option<HerdFile>,
    /// Limits.
    pub rules: Rules,
    /// How choices are weighed.
    pub weights: Weights,
    /// What things cost.
    pub prices: Option<Prices>,
    /// What is bought.
    pub supplies: Supplies,
    /// What calves bring and bulls cost.
    pub money: Option<MoneyFacts>,
    /// Units that people read; [`Season::tell_in`] sets them.
    pub units: Units,
}

impl Season {
    /// Tells it in these units from now on.
    pub fn tell_in(&mut self, units: Units) {
        self.units = units;
        self.zone = self.zone.on(units.clock);
    }
}

/// A place where cattle are worked and bred.
#[derive(Clone, Debug, PartialEq)]
pub struct Site {
    /// Short name.
    pub id: Id,
    /// Full name.
    pub name: String,
    /// Chute pace for injections.
    pub injections: HeadPerHour,
    /// Chute pace when inserts go in or out.
    pub inserts: HeadPerHour,
    /// Animals bred at one moment at the most: boxes, each with a straw in the bath.
    pub breeding_boxes: u32,
    /// Breeding boxes that stand there.
    pub stated_boxes: u32,
    /// Straws in the bath at once.
    pub thaw_bath: Straws,
    /// Its water and heat.
    pub bath: Bath,
    /// Degrees north and east, if given.
    pub position: Option<(f64, f64)>,
    /// Time on the road to each site, in the order of [`Season::sites`]: no stated road, and no way
    /// over stated roads, is shorter.
    pub road: Vec<TimeDelta>,
    /// The same as the season file states it, where it does.
    pub stated: Vec<Option<TimeDelta>>,
    /// Sites passed on the way to each, where that is shorter than the road between the two.
    pub over: Vec<Vec<usize>>,
    /// How far it is to each that way, where it is known.
    pub far: Vec<Option<Stretch>>,
}

impl Site {
    /// Lets so many animals be bred at one moment: with boxes, and a bath, for all.
    pub fn set_boxes(&mut self, boxes: u32) {
        self.breeding_boxes = boxes;
        self.stated_boxes = self.stated_boxes.max(boxes);
        self.thaw_bath = self.thaw_bath.max(Straws(boxes));
    }

    /// What must be set up so that so many are bred at one moment: keys of the season file, values,
    /// and words.
    #[must_use]
    pub fn for_boxes(&self, boxes: u32) -> Vec<(&'static str, u32, String)> {
        let (stand, straws) = (self.stated_boxes, self.thaw_bath.0);
        let mut needs = Vec::new();
        if stand < boxes {
            let words = format!("{boxes} breeding boxes in place of {stand}");
            needs.push(("breeding_boxes", boxes, words));
        }
        if straws < boxes {
            let words = format!("a thaw bath for {boxes} straws in place of {straws}");
            needs.push(("thaw_bath_straws", boxes, words));
        }
        needs
    }

    /// The chute's pace for a step: inserts take longer than injections.
    #[must_use]
    pub fn pace(&self, step: &Step) -> HeadPerHour {
        let inserts = [Action::InsertIn, Action::InsertOut];
        if step.actions.iter().any(|a| inserts.contains(a)) {
            self.inserts
        } else {
            self.injections
        }
    }
}

/// In which order animals come to be bred.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
#[derive(strum::Display, strum::IntoStaticStr)]
#[strum(serialize_all = "kebab-case")]
pub enum Order {
    /// Any order: the window must hold for each against every other's PG time.
    Mixed,
    /// The order in which they got PG: the window holds for each against her own PG time.
    Kept,
}

file_words!(Order);

/// When the pens of a group begin.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub enum PenStarts {
    /// One after the other, as the pen before is through the chute.
    #[default]
    InTurn,
    /// Each at a local time of its own.
    Given(Vec<NaiveDateTime>),
    /// Each between the group's start and this local time, as the plan finds best.
    Until(NaiveDateTime),
}

/// Animals on one protocol and one start. What holds of them on any is read as if it were its own.
#[derive(Clone, Debug, PartialEq)]
pub struct Group {
    /// What is known of them, whatever the protocol and start.
    pub facts: GroupFacts,
    /// The protocol.
    pub protocol: Protocol,
    /// Local start.
    pub start: NaiveDateTime,
    /// When each pen begins.
    pub pen_starts: PenStarts,
    /// True if the plan has chosen these times, and the file does not state them.
    pub starts_planned: bool,
}

impl Deref for Group {
    type Target = GroupFacts;

    fn deref(&self) -> &GroupFacts {
        &self.facts
    }
}

impl DerefMut for Group {
    fn deref_mut(&mut self) -> &mut GroupFacts {
        &mut self.facts
    }
}

/// Hours from treatment to heat, as far as the user says.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct HeatHours {
    /// Mean.
    pub mean: Option<f64>,
    /// One standard deviation.
    pub spread: Option<f64>,
}

/// A herd file or a scores file as the season names it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct HerdFile {
    /// The name, from the folder of the season file.
    pub name: String,
    /// Where it is named.
    pub place: Place,
    /// How it is to be read.
    pub asked: Asked,
    /// Animals that go ahead or wait by the user's word.
    pub overrule: BTreeMap<String, Overrule>,
}

/// An animal of a herd file that the plan leaves out.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Waiting {
    /// Her place in the herd.
    pub nth: usize,
    /// Her pen, by its place in the group's: of which the plan counts one head less.
    pub pen: usize,
}

impl Group {
    /// The published share in heat, in percent: lowest, expected and highest; where its protocol
    /// breeds a part of the group by heat and says so.
    #[must_use]
    pub fn published_in_heat(&self) -> Option<[f64; 3]> {
        self.protocol.steps.iter().find_map(|s| {
            let share = s.share.as_ref()?;
            let in_heat = s.actions.contains(&Action::InseminateInHeat);
            Some(if in_heat {
                [share.low, share.expected, share.high]
            } else {
                [share.high, share.expected, share.low].map(|rest| 100.0 - rest)
            })
        })
    }
}

/// How a technician's pace was stated.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Pace {
    /// Time from one cow to the next with loaded guns at hand.
    AtTheCow(Seconds),
    /// Cows an hour over a whole session, thawing and loading included.
    Overall(HeadPerHour),
}

/// A person who inseminates.
#[derive(Clone, Debug, PartialEq)]
pub struct Technician {
    /// Short name.
    pub id: Id,
    /// Full name.
    pub name: String,
    /// Pace.
    pub pace: Pace,
    /// Standard deviation of the minutes a cow, if the season file gives one: see
    /// [`Technician::spread_at`].
    pub spread: Option<Seconds>,
    /// True if a helper thaws and loads.
    pub helper: bool,
    /// Where the technician starts from, by its place in [`Season::sites`].
    pub home: Option<usize>,
    /// Fewer straws at once than the pace allows, if wanted.
    pub straws_at_once: Option<Straws>,
    /// From leaving home to being back at the most, in place of the season's.
    pub longest_day: Option<TimeDelta>,
    /// Hours of work; any time if empty.
    pub shifts: Vec<Shift>,
    /// Days on which no shift begins.
    pub days_off: Vec<NaiveDate>,
}

impl Technician {
    /// Standard deviation of a cow that takes so long on average with loaded guns at hand: a third
    /// of that where none is given (common practice, no source).
    #[must_use]
    pub fn spread_at(&self, cow: Seconds) -> Seconds {
        self.spread.unwrap_or(Seconds(cow.0 / 3.0))
    }

    /// Hours of work that begin on a local date, as the clocks show them: all day without shifts, none
    /// on a day off.
    #[must_use]
    pub fn hours_of(&self, date: NaiveDate) -> Vec<(NaiveDateTime, NaiveDateTime)> {
        if self.days_off.contains(&date) {
            return Vec::new();
        }
        if self.shifts.is_empty() {
            let midnight = |day: NaiveDate| day.and_time(NaiveTime::MIN);
            return vec![(midnight(date), midnight(date.succ_opt().unwrap_or(date)))];
        }
        let shifts = self.shifts.iter().filter(|s| s.begins_on(date));
        shifts.map(|s| s.of(date)).collect()
    }
}

/// Limits of the season.
#[derive(Clone, Debug, PartialEq)]
pub struct Rules {
    /// Length of the rows of a plan.
    pub slot: TimeDelta,
    /// Steps in which breeding is counted. Where the season states none, by rows, or finer where that breeds
    /// more.
    pub grain: Option<TimeDelta>,
    /// From bath to cow at the most, counted from the bath.
    pub bath_to_cow: Seconds,
    /// Accepted chance that the last straw of a round is later, 0 to 1.
    pub late_straw_risk: f64,
    /// In the bath.
    pub thaw: Seconds,
    /// Drying a straw and loading a gun.
    pub load: Seconds,
    /// Between two rounds of a technician alone.
    pub reset: Seconds,
    /// How straws are taken from the tank.
    pub straws: StrawRules,
    /// On the road between sites for which no time is given.
    pub road: TimeDelta,
    /// When technicians rest, if they must.
    pub rest: Option<Rest>,
    /// From leaving home to being back at the most, between two nights, if there is a limit.
    pub longest_day: Option<TimeDelta>,
    /// Most time on the road, there and back, for each head that a technician breeds there, unless
    /// fewer would be bred without.
    pub road_a_head: TimeDelta,
    /// Hours kept free.
    pub free: Vec<FreeHours>,
    /// How heat is watched for.
    pub heat: HeatRules,
    /// When an animal is ready for breeding.
    pub ready: ReadyRules,
}

impl Rules {
    /// Steps in which breeding is counted.
    #[must_use]
    pub fn grain(&self) -> TimeDelta {
        self.grain.unwrap_or(self.slot)
    }
}

/// How heat is watched for, and when those seen are bred.
#[derive(Clone, Debug, PartialEq)]
pub struct HeatRules {
    /// Clock times of the checks, in order, each once.
    pub checks: Vec<NaiveTime>,
    /// From a half-day's check to breeding.
    pub breeding: Window,
}

impl Default for HeatRules {
    fn default() -> Self {
        let clock = |h| NaiveTime::from_hms_opt(h, 0, 0).expect("hours of a day");
        Self {
            // Morning and evening (common practice, no source).
            checks: vec![clock(6), clock(18)],
            // About 12 h after heat is first seen (COWS-IN-SYNCH, HEIFER-GUIDE); 3 h to either
            // side are common practice, no source.
            breeding: Window {
                earliest: TimeDelta::hours(9),
                aim: TimeDelta::hours(12),
                latest: TimeDelta::hours(15),
            },
        }
    }
}

/// A rest of a technician. A drive is work, not rest.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Rest {
    /// After so much work without one.
    pub after: TimeDelta,
    /// How long it takes at the least.
    pub long: TimeDelta,
}

/// When an animal is ready for breeding.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ReadyRules {
    /// Fewest days from calving to breeding.
    pub days_since_calving: i64,
    /// Least body condition, 1 to 9.
    pub body_condition: f64,
    /// Least percent of mature weight of a heifer.
    pub mature_percent: f64,
    /// What heifers gain a day, in pounds, if it may be counted on.
    pub gain_lb_per_day: Option<f64>,
}

impl Default for ReadyRules {
    fn default() -> Self {
        Self {
            // At least 50 days, body condition 5 or better (COWS-2015).
            days_since_calving: 50,
            body_condition: 5.0,
            // About 65 % (HEIFER-GUIDE, NDSU-APR01); 60 to 65 % (PATT12).
            mature_percent: 65.0,
            gain_lb_per_day: None,
        }
    }
}

impl Season {
    /// The stretches without chute work that touch `[from, to]`, in order, with the reason.
    #[must_use]
    pub fn free_between(
        &self,
        from: Instant,
        to: Instant,
    ) -> Vec<(Instant, Instant, Option<&str>)> {
        self.stretches(from, to, |_| true)
    }

    /// Those without any work.
    #[must_use]
    pub fn idle_between(&self, from: Instant, to: Instant) -> Vec<(Instant, Instant)> {
        let all = self.stretches(from, to, |f| f.stops == Stops::AllWork);
        all.into_iter().map(|(a, b, _)| (a, b)).collect()
    }

    fn stretches(
        &self,
        from: Instant,
        to: Instant,
        which: impl Fn(&FreeHours) -> bool,
    ) -> Vec<(Instant, Instant, Option<&str>)> {
        let mut found = Vec::new();
        let those: Vec<&FreeHours> = self.rules.free.iter().filter(|f| which(f)).collect();
        let mut date = self.zone.date(from);
        let last = self.zone.date(to);
        while date <= last && !those.is_empty() {
            for free in &those {
                if let Some((a, b)) = free.on(self.zone, date)
                    && a < to
                    && from < b
                {
                    found.push((a, b, free.why.as_deref()));
                }
            }
            match date.succ_opt() {
                Some(next) => date = next,
                None => break,
            }
        }
        found.sort_by_key(|(a, b, _)| (*a, *b));
        found
    }

    /// A technician's time on the road from home to a site; none for one without a home site.
    #[must_use]
    pub fn road_home(&self, technician: &Technician, site: usize) -> TimeDelta {
        let road = |home: usize| self.sites[home].road[site];
        technician.home.map_or(TimeDelta::zero(), road)
    }

    /// True if the plan is to pick when the pens of some group begin, or on which days.
    #[must_use]
    pub fn has_open_pens(&self) -> bool {
        let open = |g: &Group| g.days > 1 || matches!(g.pen_starts, PenStarts::Until(_));
        self.groups.iter().any(open)
    }

    /// Every group, those with a protocol and a start first.
    pub(crate) fn every_group(&self) -> impl Iterator<Item = &GroupFacts> {
        self.groups.iter().map(|g| &g.facts).chain(&self.open)
    }

    /// All animals of all groups.
    #[must_use]
    pub fn head(&self) -> Head {
        Head(self.groups.iter().map(|g| g.head().0).sum())
    }
}
