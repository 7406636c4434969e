//! Groups, and the straws and animals of each.

use serde::{Deserialize, Serialize};

use super::GroupHeat;
use crate::base::time::Moment;
use crate::trade::protocol::{Class, Kind};
use crate::trade::season::{Allowed, Order};

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
    /// What is planned though it is not permitted in the country: each stands on every sheet.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub allowed: Vec<Allowed>,
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
    /// What stands with the group on every sheet: what is not permitted in the country, then its remark.
    pub fn said(&self) -> impl Iterator<Item = String> {
        let marks = self.allowed.iter().map(Allowed::words);
        marks.chain(self.note.clone())
    }

    /// An animal by her pen and her place in it, both from 1, where the order is known.
    pub(crate) fn in_order(&self, pen: Option<u32>, animal: Option<u32>) -> Option<&InOrder> {
        let pens = self.animals_in_order.as_ref()?;
        let pen = pens.get((pen? as usize).checked_sub(1)?)?;
        pen.get((animal? as usize).checked_sub(1)?)
    }
}
