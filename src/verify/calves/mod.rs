//! A forecast, read again by plain sums from the season and its plan: `row` follows animals day by
//! day in rows of numbers, `law` has the laws of chance by series, `rates` the percentages, `curve` the
//! calves by day; `group` and `all` hold what is told of animals, `bill` and `money` the costs, `natural`
//! bulls alone and the budget. Of the forecast's maker only the types are known here, and of `tank` which straws a group's sessions take.

mod all;
mod bill;
mod curve;
mod found;
mod group;
mod law;
mod money;
mod natural;
mod rates;
mod row;

use crate::analysis::calves::Answer;
use crate::base::error::Finding;
use crate::base::time::Zone;
use crate::planning::plan::Plan;
use crate::trade::season::{Group, Season};
use curve::{Born, Carried, first_parts};
use found::{Found, HEAD, PERCENT};
use rates::Known;
use row::{Herd, Rows};

/// Everything in which a forecast disagrees with the season and its plan; empty for a sound one.
#[must_use]
pub fn calves(season: &Season, plan: &Plan, answer: &Answer) -> Vec<Finding> {
    let mut found = Found(Vec::new());
    found.head(season, answer);
    let sexed = rates::sexed_shares(season, plan);
    let mut read = Vec::new();
    let ids: Vec<&str> = plan.groups.iter().map(|g| g.id.as_str()).collect();
    let told: Vec<&str> = answer.groups.iter().map(|g| g.group.as_str()).collect();
    found.exactly("groups", &ids, &told);
    for (told, sexed) in answer.groups.iter().zip(sexed) {
        let id = told.group.as_str();
        let Some(group) = season.groups.iter().find(|g| g.id.as_str() == id) else {
            continue;
        };
        let group = Again::of(group, plan, season.zone, sexed);
        found.group(&group, plan, season.zone, told);
        read.extend(group.herd.is_some().then_some(group));
    }
    found.all(&read, answer);
    let mut born = Born::default();
    for group in &read {
        born.add(&group.born(1));
    }
    found.calving("all groups", &born, answer.calving.as_ref());
    let each: Vec<Born> = read.iter().map(|g| g.born(1)).collect();
    found.parts("all groups", first_parts(each.iter()), answer.first_21_days);
    found.money(season, plan, &read, answer);
    found.findings(season, plan, answer);
    found.0
}

/// A group counted again.
struct Again<'a> {
    group: &'a Group,
    /// None where nobody knows on which days it is bred.
    herd: Option<Herd>,
    sexed: f64,
    ai: Known,
    settled: Known,
    carried: [Carried; 2],
    /// Share of pregnancies that end in a calf.
    kept: f64,
}

impl<'a> Again<'a> {
    fn of(group: &'a Group, plan: &Plan, zone: Zone, sexed: f64) -> Self {
        let c = &group.calves;
        let bulls = c.clean_up.as_ref();
        let of_bulls = bulls.map_or(&c.gestation, |b| &b.gestation);
        Self {
            group,
            herd: Herd::of(group, plan, zone),
            sexed,
            ai: rates::to_ai(group, sexed),
            settled: rates::settled(bulls.and_then(|b| b.settled.as_ref())),
            carried: [rates::carried(&c.gestation), rates::carried(of_bulls)],
            kept: 1.0 - c.lost.map_or(0.0, |p| p.get() / 100.0),
        }
    }

    /// At low, expected or high (0, 1, 2) of the percentages to AI and to bulls.
    fn rows(&self, ai: usize, settled: usize) -> Rows {
        let at = (self.ai.of_one()[ai], self.settled.of_one()[settled]);
        let herd = self.herd.as_ref();
        herd.map_or_else(Rows::default, |h| h.rows(at.0, at.1))
    }

    /// Calves at low, expected or high percent pregnant to AI.
    fn born(&self, ai: usize) -> Born {
        let rows = self.rows(ai, 1);
        let herd = self.herd.as_ref();
        herd.map_or_else(Born::default, |h| {
            Born::of(h, &rows, self.carried, self.kept)
        })
    }
}
