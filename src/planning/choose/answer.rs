//! What was found for the groups' wishes, as it is written to JSON and read by the reports.
//!
//! Numbers are kept as they were counted; JSON has them to two decimals.

use std::collections::BTreeMap;

use chrono::NaiveDate;
use schemars::JsonSchema;
use serde::Serialize;

use super::cover::Cover;
use super::judge::{Criterion, Standing, Values};
use super::reasons::{GiveUp, KeptOut, Refused, Wish};
use super::together::Picked;
use crate::base::error::Place;
use crate::base::time::{Reading, Timestamp};
use crate::base::units::{Clock, Head, Id, in_hundredths};
use crate::planning::crew::starts::days::Spread;
use crate::trade::protocol::{Class, Protocol, in_id};
use crate::trade::season::Allowed;

/// Form and version.
pub const FORMAT: &str = "thawline.choice/1";

/// The answer of `thawline choose`.
#[derive(Clone, Debug, Serialize, JsonSchema)]
#[schemars(title = "Choice")]
pub struct Chosen {
    /// `thawline.choice/1`.
    pub format: &'static str,
    /// The season's name.
    pub season: String,
    /// IANA time zone.
    pub zone: &'static str,
    /// The clock that its times are told on.
    #[serde(skip)]
    pub told: Clock,
    /// Currency of all costs, as the season has it.
    pub currency: Option<String>,
    /// Points that one unit of each criterion costs. Fewer points are better.
    pub points_for_each: BTreeMap<Criterion, f64>,
    /// What has no price and is left out of the costs.
    pub without_price: Vec<&'static str>,
    /// Straws that are short in all.
    pub straws_lacking: u32,
    /// The choice for all groups at once; null for a single group.
    pub together: Option<Together>,
    /// Each group by itself.
    pub groups: Vec<GroupChoice>,
}

impl Chosen {
    /// True if every group has a choice, the ones chosen leave nobody, and the search was not stopped
    /// by hand.
    #[must_use]
    pub fn is_well(&self) -> bool {
        let leaves = |row: &Row| row.cover.not_bred + row.cover.other_head > 0;
        let fits = self.groups.iter().all(|g| g.fitting > 0);
        fits && match &self.together {
            Some(t) => !t.picked.stopped && t.picked.head_not_bred == 0 && !t.rows().any(leaves),
            None => !self
                .groups
                .iter()
                .filter_map(|g| g.rows.first())
                .any(leaves),
        }
    }
}

/// A start for each group, chosen together.
#[derive(Clone, Debug, Serialize, JsonSchema)]
pub struct Together {
    /// The candidates of each group that it was made from.
    #[serde(skip)]
    pub candidates: Vec<Vec<Row>>,
    /// How good the choice is.
    #[serde(flatten)]
    pub picked: Picked,
    /// The row chosen for each group.
    pub groups: Vec<PickedRow>,
}

impl Together {
    /// `picks` are each a group and its candidate, by their places.
    pub(super) fn of(
        groups: &[GroupChoice],
        candidates: Vec<Vec<Row>>,
        picks: &[(usize, usize)],
        picked: Picked,
    ) -> Self {
        let rows = picks.iter().map(|(g, c)| &candidates[*g][*c]);
        let chosen = groups.iter().zip(rows).map(|(g, row)| PickedRow {
            group: g.id.clone(),
            row: row.clone(),
        });
        Self {
            groups: chosen.collect(),
            candidates,
            picked,
        }
    }

    /// The chosen row of each group.
    pub fn rows(&self) -> impl Iterator<Item = &Row> {
        self.groups.iter().map(|g| &g.row)
    }
}

/// The row chosen for a group.
#[derive(Clone, Debug, Serialize, JsonSchema)]
pub struct PickedRow {
    /// The group's id.
    pub group: Id,
    /// The row.
    #[serde(flatten)]
    pub row: Row,
}

/// What suits a group.
#[derive(Clone, Debug, Serialize, JsonSchema)]
pub struct GroupChoice {
    /// Its place among all groups of the file.
    #[serde(skip)]
    pub nth: usize,
    /// Where it stands in the file.
    #[serde(skip)]
    pub place: Place,
    /// The group's id.
    pub id: Id,
    /// Its name.
    pub name: String,
    /// `cow` or `heifer`.
    #[schemars(with = "String")]
    pub class: Class,
    /// Head.
    pub head: Head,
    /// Protocols looked at.
    pub protocols: usize,
    /// Starts looked at, over all protocols.
    #[serde(rename = "starts_looked_at")]
    pub looked_at: usize,
    /// Of these, those that keep every wish that must hold.
    #[serde(rename = "starts_fitting")]
    pub fitting: usize,
    /// Each wish, and what it costs.
    pub wishes: Vec<Wish>,
    /// Protocols that a wish rules out, whatever the start.
    pub kept_out: Vec<KeptOut>,
    /// Protocols that are not permitted in the season's country.
    pub not_permitted: Vec<Refused>,
    /// Where nothing fits: which wishes to give up, and what would then fit.
    pub give_up: Vec<GiveUp>,
    /// The best protocols and starts, the best first.
    pub rows: Vec<Row>,
}

/// A protocol with a start.
#[derive(Clone, Debug, Serialize, JsonSchema)]
pub struct Row {
    /// The protocol's id.
    #[serde(serialize_with = "in_id")]
    #[schemars(with = "String")]
    pub protocol: Protocol,
    /// What of it is not permitted in the country, and allowed by the season file.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub allowed: Vec<Allowed>,
    /// The start, with the offset.
    pub start: Reading,
    /// Over which days the group is spread, where one start leaves somebody: what all else is told for.
    #[serde(skip)]
    pub spread: Option<Spread>,
    /// What begins on each day, where the group is spread over days as the plan would spread it; null where
    /// all begin on one.
    pub lots: Option<Vec<Lot>>,
    /// Other starts that are just as good, with the offset.
    #[schemars(with = "Vec<String>")]
    pub equal_starts: Vec<Reading>,
    /// The first breeding, with the offset.
    pub first_breeding: Timestamp,
    /// Day of the first calves by AI.
    #[schemars(with = "String")]
    pub first_calves: NaiveDate,
    /// Day on which half of the AI calves are expected.
    #[schemars(with = "String")]
    pub mean_calving: NaiveDate,
    /// What holds for the protocol at any start.
    #[serde(flatten)]
    pub standing: Standing,
    /// What the crew can do.
    #[serde(flatten)]
    pub cover: Cover,
    /// Wishes that it breaks, in words.
    pub broken_wishes: Vec<String>,
    /// How much it has of each criterion.
    #[serde(rename = "units")]
    #[schemars(with = "BTreeMap<Criterion, f64>")]
    pub values: Values,
    /// Points in all; fewer are better.
    #[serde(serialize_with = "in_hundredths")]
    pub points: f64,
}

/// What begins on one day.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, JsonSchema)]
pub struct Lot {
    /// When it begins, with the offset.
    pub start: Reading,
    /// Head.
    pub head: u32,
}
