//! A forecast, read again by plain sums from the season and its plan: `row` follows animals day by
//! day in rows of numbers, `law` has the laws of chance by series, `rates` the percentages, `curve` the
//! calves by day; `group` and `all` hold what is told of animals, `bill` and `money` the costs, `natural`
//! bulls alone and the budget. Of the forecast's maker only the types are known here, and of `tank` which straws a group's sessions take.

mod all;
mod bill;
mod curve;
mod group;
mod law;
mod money;
mod natural;
mod rates;
mod row;

use std::fmt::{Debug, Display};

use curve::{Born, Carried, first_parts};
use rates::Known;
use row::{Herd, Rows};
use thawline::error::{Code, Finding};
use thawline::forecast::{FORMAT, Forecast};
use thawline::plan::Plan;
use thawline::season::{Group, Season};
use thawline::time::Zone;

/// Head are told to the ten-thousandth.
const HEAD: f64 = 1e-4;

/// So are percentages.
const PERCENT: f64 = 1e-4;

/// Everything in which a forecast disagrees with the season and its plan; empty for a sound one.
#[must_use]
pub(crate) fn calves(season: &Season, plan: &Plan, answer: &Forecast) -> Vec<Finding> {
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

struct Found(Vec<Finding>);

/// A group counted again.
struct Again<'a> {
    group: &'a Group,
    /// None where nobody knows on which days it is bred.
    herd: Option<Herd>,
    sexed: f64,
    ai: Known,
    settled: Known,
    not_cycling: Known,
    lost: Known,
    carried: [Carried; 2],
    /// Share of pregnancies that end in a calf.
    kept: f64,
}

impl<'a> Again<'a> {
    fn of(group: &'a Group, plan: &Plan, zone: Zone, sexed: f64) -> Self {
        let c = &group.calves;
        let bulls = c.clean_up.as_ref();
        let lost = rates::lost(c.lost);
        let of_bulls = bulls.map_or(&c.gestation, |b| &b.gestation);
        Self {
            group,
            herd: Herd::of(group, plan, zone),
            sexed,
            ai: rates::to_ai(group, sexed),
            settled: rates::settled(bulls.and_then(|b| b.settled.as_ref())),
            carried: [rates::carried(&c.gestation), rates::carried(of_bulls)],
            not_cycling: rates::not_cycling(c.not_cycling.as_ref()),
            kept: 1.0 - lost.of_one()[1],
            lost,
        }
    }

    /// At low, expected or high (0, 1, 2) of the percentages to AI, to bulls and not cycling.
    fn rows(&self, ai: usize, settled: usize, idle: usize) -> Rows {
        let at = [
            self.ai.of_one()[ai],
            self.settled.of_one()[settled],
            self.not_cycling.of_one()[idle],
        ];
        let herd = self.herd.as_ref();
        herd.map_or_else(Rows::default, |h| h.rows(at))
    }

    /// Calves at low, expected or high percent pregnant to AI.
    fn born(&self, ai: usize) -> Born {
        let rows = self.rows(ai, 1, 1);
        let herd = self.herd.as_ref();
        herd.map_or_else(Born::default, |h| {
            Born::of(h, &rows, self.carried, self.kept)
        })
    }
}

impl Found {
    fn wrong(&mut self, who: &str, expected: impl Display, got: impl Display) {
        self.0.push(
            Finding::error(Code::Verify, format!("{who}: the forecast has {got}"))
                .expected(expected.to_string())
                .hint("please report this with the season file"),
        );
    }

    fn same(&mut self, who: &str, expected: f64, got: f64, within: f64) {
        // A value that is no number is wrong, too; large sums carry their own rounding.
        let near = (expected - got).abs() <= within + 1e-9 * expected.abs().max(1.0);
        if !near {
            self.wrong(who, expected, got);
        }
    }

    fn exactly<T: PartialEq + Debug>(&mut self, who: &str, expected: &T, got: &T) {
        if expected != got {
            self.wrong(who, format!("{expected:?}"), format!("{got:?}"));
        }
    }

    fn head(&mut self, season: &Season, answer: &Forecast) {
        let right = [
            FORMAT,
            env!("CARGO_PKG_VERSION"),
            &season.name,
            season.zone.name(),
        ];
        let told = [
            &*answer.format,
            &*answer.program,
            &*answer.season,
            &*answer.zone,
        ];
        self.exactly("the forecast's head", &right, &told);
    }
}
