//! Matings as numbers, for the plan: straws by group, bull and sort; and whose straw each is, where the
//! order of the animals is known.

use std::collections::BTreeMap;

use super::{GroupMatings, Matings, Straw};
use crate::planning::crew::{Ordered, Sort, StrawDemand};
use crate::trade::season::Season;

impl Matings {
    /// By group, in the season's order. Groups of which nothing is known have no number.
    pub(crate) fn straw_demand(&self, season: &Season) -> Vec<StrawDemand> {
        let bulls = season.bulls_by_id();
        let of = |group: &crate::trade::season::Group| {
            let own = self.groups.iter().find(|g| g.group == group.id.as_str());
            own.map_or_else(StrawDemand::default, |g| {
                g.straw_demand(&bulls, group.pens.len())
            })
        };
        season.groups.iter().map(of).collect()
    }
}

impl GroupMatings {
    fn straw_demand(&self, bulls: &BTreeMap<&str, usize>, pens: usize) -> StrawDemand {
        let sort = |bull: &str, sexed: bool| Some((*bulls.get(bull)?, sexed));
        let counts = self.by_bull.iter();
        let counts = counts.filter_map(|c| Some((sort(&c.bull, c.sexed)?, c.head)));
        let straw = |s: &Straw| -> Option<Sort> { sort(&s.bull, s.sexed) };
        let in_order = self.in_order(pens).map(|pens| {
            let ordered = |n: usize| Ordered {
                animal: self.animals[n].animal.clone(),
                straw: self.animals[n].straw.as_ref().and_then(straw),
            };
            let pens = pens.into_iter();
            pens.map(|p| p.into_iter().map(ordered).collect()).collect()
        });
        StrawDemand {
            by_bull: counts.collect(),
            in_order,
        }
    }

    /// The animals of each pen in their order, if all have one.
    fn in_order(&self, pens: usize) -> Option<Vec<Vec<usize>>> {
        let places = self.animals.iter().map(|a| (a.pen, a.chute_order));
        crate::trade::herd::of_pens(places, pens)
    }
}
