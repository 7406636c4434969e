//! Matings, as they are written to JSON.

use serde::{Deserialize, Serialize};

use crate::planning::plan::Remark;

/// Form and version of the matings as JSON.
pub const FORMAT: &str = "thawline.matings/1";

/// The matings of a season, as in JSON.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
#[serde(deny_unknown_fields)]
#[schemars(title = "Thawline matings")]
pub struct Matings {
    /// Form and version.
    pub format: String,
    /// What the season is called.
    pub season: String,
    /// The answer in short.
    pub verdict: Verdict,
    /// Groups, in the file's order.
    pub groups: Vec<GroupMatings>,
    /// Bulls, in the file's order.
    pub bulls: Vec<BullTotals>,
    /// The worth of the matings that were not given by the user, and what no matings can pass.
    pub proof: Proof,
    /// The same for the backup bulls.
    pub backup_proof: Proof,
    /// What was found, the worst first.
    pub findings: Vec<Remark>,
}

/// The answer in short.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize, schemars::JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Verdict {
    /// Animals of all groups.
    pub head: u32,
    /// With a straw.
    pub with_bull: u32,
    /// With the first choice, or a bull of the same score.
    pub first_choice: u32,
    /// With a straw of a backup bull.
    pub with_backup: u32,
    /// In words.
    pub words: Vec<String>,
}

/// A group's matings.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct GroupMatings {
    /// The group's id.
    pub group: String,
    /// Its full name.
    pub name: String,
    /// Its head: as the herd file has them, if there is one.
    pub head: u32,
    /// Its herd file; without one, only [`Self::by_bull`] is filled.
    pub herd_file: Option<String>,
    /// With the first choice, or a bull of the same score.
    pub first_choice: u32,
    /// Each animal, in the file's order.
    pub animals: Vec<Mating>,
    /// Head by bull.
    pub by_bull: Vec<Count>,
}

/// How many of a group get a bull.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, schemars::JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Count {
    /// The bull's id.
    pub bull: String,
    /// With sexed straws.
    pub sexed: bool,
    /// Who get him.
    pub head: u32,
    /// Who get him as backup.
    pub backup_head: u32,
}

/// One animal's bulls.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Mating {
    /// Her id.
    pub animal: String,
    /// Her pen, from 1, if the herd file has it.
    pub pen: Option<u32>,
    /// Her place in the order of her pen, from 1, if the herd file has it.
    pub chute_order: Option<u32>,
    /// Her first choice by score.
    pub first_choice: Option<String>,
    /// True if she has it, or a bull of the same score.
    pub has_first_choice: bool,
    /// The bull that the user gave her, if any.
    pub given: Option<String>,
    /// Her straw; none if there is none for her.
    pub straw: Option<Straw>,
    /// The score of its bull for her, 0 to 100.
    pub score: Option<f64>,
    /// The backup bull that the user gave her, if any.
    pub backup_given: Option<String>,
    /// Her backup straw.
    pub backup: Option<Straw>,
    /// Why she has not her first choice, or whatever else there is to say.
    pub why: String,
}

/// A straw, and where it sits.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, schemars::JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Straw {
    /// The bull's id.
    pub bull: String,
    /// Sexed semen.
    pub sexed: bool,
    /// Tank.
    pub tank: Option<String>,
    /// Canister.
    pub canister: Option<u32>,
    /// Cane.
    pub cane: Option<String>,
    /// Goblet of the cane.
    pub goblet: Option<String>,
}

/// What becomes of a bull's straws of one sort.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, schemars::JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct BullTotals {
    /// The bull's id.
    pub bull: String,
    /// Sexed straws.
    pub sexed: bool,
    /// On hand.
    pub straws: u32,
    /// Animals whose first choice he is, and who may have him. Of a bull with straws of both sorts
    /// marked animals count at his sexed ones as far as these go, and then at the others.
    pub wanted_first: u32,
    /// Animals that get him.
    pub given: u32,
    /// Animals that get him as backup.
    pub backup: u32,
    /// Left then.
    pub left: u32,
    /// What one straw more would be worth: see [`Proof`].
    pub price: [i64; 4],
    /// The same for backups.
    pub backup_price: [i64; 4],
}

/// What the matings are worth: animals with a bull, heifers with one for calving ease, the sum of
/// scores in hundredths, and marked animals with sexed straws; the first counts before all others,
/// and so on. At the bulls' prices no matings are worth more than `bound`: each animal the most that
/// a straw is worth to her less its price, and all straws their prices.
#[derive(
    Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize, schemars::JsonSchema,
)]
#[serde(deny_unknown_fields)]
pub struct Proof {
    /// Of these matings.
    pub worth: [i64; 4],
    /// Of any.
    pub bound: [i64; 4],
}
