//! The plan as a whole: its answer, who works, what is used, and how it was searched for.

use serde::{Deserialize, Serialize};

use super::{Group, OwnRoad, Pass, Road, Session, Uncovered};
use crate::base::error::Remark;
use crate::base::units::Units;
use crate::planning::aftercare::GroupFollowUp;
use crate::planning::crew::Binding;
use crate::trade::protocol::law::Country;

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
    /// The country whose law holds.
    #[serde(default)]
    pub country: Country,
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
    pub(crate) fn sessions_in_time(&self) -> Vec<usize> {
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
    pub(crate) fn group_pen(&self, group: &str, pen: Option<u32>) -> String {
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
