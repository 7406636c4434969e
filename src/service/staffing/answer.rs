//! The answer, as it is written to JSON and read by the text report.
//!
//! Times carry their offset; pens, and animals within a pen, count from 1; quantities carry their
//! unit in the key.

use crate::trade::season::Order;
use serde::{Deserialize, Serialize};

use crate::base::units::Clock;
use crate::planning::plan::{Binding, Moment};

/// Form and version.
pub const FORMAT: &str = "thawline.cover/1";

/// Whether a crew can breed what was asked about, and what would make it so.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
#[serde(deny_unknown_fields)]
#[schemars(title = "Thawline cover")]
pub struct Staffing {
    /// `thawline.cover/1`.
    pub format: String,
    /// Version of the program that made it.
    pub program: String,
    /// Name of the season.
    pub season: String,
    /// IANA time zone of the local readings.
    pub zone: String,
    /// What was asked.
    pub asked: Asked,
    /// The answer, first.
    pub verdict: Verdict,
    /// The sessions asked about, by time.
    pub sessions: Vec<SessionFigures>,
    /// The largest groups that so many technicians cover, for the groups looked at closely.
    pub largest: Vec<Largest>,
    /// What would help, for the sessions looked at closely that fall short.
    pub remedies: Vec<Remedies>,
    /// What was not tried, or not all of it, as the search was stopped by hand. Absent if it was not.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub not_tried: Vec<String>,
    /// Clock of the times in sentences; absent for the 24-hour clock. Moments have that.
    #[serde(default, skip_serializing_if = "Clock::is_usual")]
    pub clock: Clock,
}

/// What was asked.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, schemars::JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Asked {
    /// Only this group, by id.
    pub group: Option<String>,
    /// Only this session, by id.
    pub session: Option<String>,
    /// Technicians counted on, by id.
    pub technicians: Vec<String>,
    /// How they were picked, in words.
    pub crew_words: String,
    /// Technicians of the season left out, by id.
    pub left_out: Vec<String>,
    /// Minutes by which the crew must be able to start later.
    pub least_margin_minutes: i64,
}

/// Covered or not.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, schemars::JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Verdict {
    /// True if every animal asked about that is due at set hours is bred in hers.
    pub covered: bool,
    /// True if each session leaves the margin asked for too.
    pub margin_kept: bool,
    /// Inseminations due at set hours, of those asked about.
    pub due_head: u32,
    /// Of these, not possible.
    pub uncovered_head: u32,
    /// Of all others in the season, not possible.
    pub elsewhere_uncovered_head: u32,
    /// Of those due, expected on half-days by detected heat.
    pub by_heat_head: u32,
    /// Animals bred by detected heat of whom nobody says when heat comes: this command says nothing
    /// of them.
    pub unplanned_head: u32,
    /// The verdict in sentences.
    pub words: Vec<String>,
}

/// A session's figures.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct SessionFigures {
    /// Its id in the plan.
    pub id: String,
    /// Site id.
    pub site: String,
    /// Name of the site.
    pub site_name: String,
    /// Groups bred in it, by id.
    pub groups: Vec<String>,
    /// True if everyone is bred.
    pub covered: bool,
    /// True if it is looked at closely: it falls short, or is the tightest.
    pub looked_at_closely: bool,
    /// First moment of the hours.
    pub open: Moment,
    /// Last moment of the hours.
    pub close: Moment,
    /// Animals due.
    pub due_head: u32,
    /// Of these, bred.
    pub bred_head: u32,
    /// More head possible in the tightest pen.
    pub margin_head: u32,
    /// Minutes by which the crew could start later.
    pub margin_minutes: i64,
    /// What binds.
    pub binding: Binding,
    /// That in words.
    pub binding_words: String,
    /// Hours from the first straws in the bath to the last cow, everyone's together.
    pub work_hours: f64,
    /// First cow bred.
    pub first_cow: Option<Moment>,
    /// Last cow bred.
    pub last_cow: Option<Moment>,
    /// Mean age of the oldest straw of a round, from bath to cow, of the technician with the oldest.
    pub oldest_straw_minutes: Option<f64>,
    /// The most it may be.
    pub most_straw_minutes: f64,
    /// Chance in percent that it is older than allowed.
    pub late_percent: Option<f64>,
    /// Pens due.
    pub pens: Vec<PenFigures>,
    /// Who breeds.
    pub technicians: Vec<AtWork>,
    /// What limits cost, found by lifting each and counting again; the dearest first.
    pub limits: Vec<Limit>,
}

/// A limit, and how many head more could be bred without it.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, schemars::JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Limit {
    /// straws-at-once, window, chute, shifts, boxes or free-hours.
    pub limit: String,
    /// What is lifted, in words.
    pub words: String,
    /// The largest group of the same pens that this crew covers now, with nothing else to do.
    pub largest_head: u32,
    /// The same with the limit lifted; absent if there is none up to the most looked at.
    pub lifted_head: Option<u32>,
}

/// A pen's figures.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct PenFigures {
    /// Group id.
    pub group: String,
    /// Pen, from 1; absent for a whole group bred by heat.
    pub pen: Option<u32>,
    /// What is done.
    pub what: String,
    /// mixed or kept.
    pub order: Order,
    /// Animals due.
    pub due_head: u32,
    /// Of these, bred.
    pub bred_head: u32,
    /// The protocol's window: `60 to 66 h, aim 63`.
    pub window: String,
    /// What the hours count from: `PG + insert out`.
    pub counted_from_what: String,
    /// When the first animal had it.
    pub counted_from: Moment,
    /// When the last animal had it.
    pub counted_to: Moment,
    /// Not sooner. Later than `latest` where no hour suits every animal.
    pub earliest: Moment,
    /// Not later.
    pub latest: Moment,
    /// The first cow.
    pub first_cow: Option<Cow>,
    /// The last cow.
    pub last_cow: Option<Cow>,
    /// Fewest hours of any animal from her own treatment; for mixed order, if she was treated last.
    pub fewest_hours: Option<f64>,
    /// Most hours of any animal; for mixed order, if she was treated first.
    pub most_hours: Option<f64>,
}

/// A cow bred.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Cow {
    /// When.
    pub bred: Moment,
    /// For order kept: which of the pen, from 1.
    pub animal: Option<u32>,
    /// Hours from her own treatment at the fewest: for mixed order, if she was treated last.
    pub fewest_hours: f64,
    /// At the most: for mixed order, if she was treated first.
    pub most_hours: f64,
}

/// A technician at work.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct AtWork {
    /// Id.
    pub id: String,
    /// Name.
    pub name: String,
    /// Head bred.
    pub head: u32,
    /// When the first straws go into the bath.
    pub begins: Moment,
    /// First cow.
    pub first_cow: Moment,
    /// Last cow.
    pub last_cow: Moment,
    /// Hours between the first straws and the last cow.
    pub work_hours: f64,
    /// Straws in the bath at once.
    pub straws_at_once: u32,
    /// Mean age in minutes of the last straw of a round.
    pub oldest_straw_minutes: f64,
}

/// The largest group that so many technicians cover.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Largest {
    /// Group id: its protocol, start, site and pens.
    pub group: String,
    /// Its head now.
    pub head: u32,
    /// Its order now.
    pub order: Order,
    /// Pens of about equal size.
    pub pens: u32,
    /// The most head that were looked at.
    pub most_looked_at_head: u32,
    /// One technician, two, and so on.
    pub rows: Vec<LargestRow>,
}

/// A row of it.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct LargestRow {
    /// How many technicians.
    pub technicians: u32,
    /// Who comes to those of the row before, by id.
    pub with: String,
    /// True if the season has nobody more: counted as another like the slowest.
    pub hired: bool,
    /// Head an hour of all together over whole rounds, thawing and loading counted.
    pub head_per_hour: f64,
    /// Largest group in any order; `null` if any number up to the most looked at is covered.
    pub mixed_head: Option<u32>,
    /// Largest group in the order of the earlier pass.
    pub kept_head: Option<u32>,
    /// True if there are fewer breeding boxes than technicians.
    pub boxes_short: bool,
}

/// What would help a session.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Remedies {
    /// Session id.
    pub session: String,
    /// Its groups, by id.
    pub groups: Vec<String>,
    /// Head of these left now.
    pub uncovered_head: u32,
    /// Head left now in all other sessions.
    pub elsewhere_uncovered_head: u32,
    /// What covers all, the least asked first.
    pub covering: Vec<Remedy>,
    /// What only lessens the shortfall, the most head first.
    pub lessening: Vec<Remedy>,
    /// Each kind of change that was tried, and how near it came.
    pub tried: Vec<Tried>,
    /// True if what was ruled out is ruled out for certain: no plan covers with it.
    pub proven: bool,
    /// True if every change was counted, and where none suffices every two of different kinds; false if
    /// there were too many.
    pub every_pair_counted: bool,
    /// Changes that do not cover as planned, though neither counting nor the plan's own bound rules out
    /// that another plan would.
    pub undecided: u32,
    /// True if nothing that was counted covers.
    pub nothing_covers: bool,
    /// What was not tried, or not all of it, as the search was stopped by hand. Absent if it was not.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub not_tried: Vec<String>,
}

/// A change, planned.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Remedy {
    /// Its kinds: one, or two that are needed together.
    pub kinds: Vec<String>,
    /// What it asks, in sentences.
    pub asks: Vec<String>,
    /// What to write in the season file.
    pub write: Vec<String>,
    /// How much it asks, in points of our own: common practice, no source.
    pub effort_points: u32,
    /// Head of the session's groups left.
    pub uncovered_head: u32,
    /// Head left in all other sessions.
    pub elsewhere_uncovered_head: u32,
    /// More head possible in the tightest pen.
    pub margin_head: u32,
    /// Minutes by which the crew could start later.
    pub margin_minutes: i64,
    /// What binds then; absent where nobody is bred.
    pub binding: Option<Binding>,
    /// First cow.
    pub first_cow: Option<Moment>,
    /// Last cow.
    pub last_cow: Option<Moment>,
    /// Warnings and night work that the plan has then and did not have before.
    pub brings: Vec<String>,
}

/// A kind of change that was tried.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, schemars::JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Tried {
    /// The kind, or two kinds.
    pub kind: String,
    /// In words.
    pub words: String,
    /// Changes of it that were counted.
    pub counted: u32,
    /// The fewest head that any of them leaves at the least; absent where there was none to try.
    pub fewest_left_head: Option<u32>,
}

impl Staffing {
    /// True if everyone asked about is bred, with the margin asked for, and the search was not stopped.
    #[must_use]
    pub fn is_well(&self) -> bool {
        self.verdict.covered && self.verdict.margin_kept && self.not_tried.is_empty()
    }
}
