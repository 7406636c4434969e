//! What comes of a planned season: pregnancies, calves by day, and money.
//!
//! [`forecast`] takes a season with its finished plan. Each group's animals are followed in expected
//! head: bred to AI on the plan's days, back in heat 21 days later, settled by clean-up bulls heat
//! after heat ([`crate::trade::figures::cycle`]); every conception is spread by the gestation of its breed
//! ([`crate::trade::figures::curve`]). Costs and budgets are in `money`.

mod amounts;
mod answer;
mod births;
mod group;
mod model;
mod money;
mod natural;
mod rates;
mod words;

pub use crate::trade::figures::GestationLaw as Gestation;
pub use answer::{
    AiDay, Budget, Calving, CleanUp, Day, Entry, Expected, FORMAT, First21Days, Forecast, From,
    GroupCalves, GroupCost, Heat, MoneyAnswer, Natural, Outcome, Rate, Returns, Spent,
};

use crate::analysis::tank::allocation::allocate;
use crate::base::error::{Code, sort_findings};
use crate::planning::plan::{Plan, Remark};
use crate::trade::season::Season;
use births::Births;
use group::GroupForecast;
use model::{rounded, spread};

/// What comes of a season, by its plan.
#[must_use]
pub fn forecast(season: &Season, plan: &Plan) -> Forecast {
    let mut findings = Vec::new();
    let allocation = allocate(season, plan);
    let groups = season.groups.iter().filter_map(|g| {
        let planned = plan.group(g.id.as_str())?;
        let group = GroupForecast::of(season, g, planned, plan, &allocation, &mut findings);
        words::of_group(g, &group.herd, plan, &mut findings);
        Some(group)
    });
    let groups: Vec<GroupForecast> = groups.collect();
    let mut births = Births::default();
    for group in &groups {
        births.add(&group.births);
    }
    let money = money::look(season, plan, &groups, &mut findings);
    sort_findings(&mut findings);
    Forecast {
        format: FORMAT.to_owned(),
        program: env!("CARGO_PKG_VERSION").to_owned(),
        season: season.name.clone(),
        zone: season.zone.name().to_owned(),
        all: all(&groups),
        calving: births.calving(),
        first_21_days: births::first_21_days(groups.iter().map(|t| &t.births)),
        notes: words::notes(&groups, money.as_ref()),
        groups: groups.into_iter().map(|t| t.calves).collect(),
        money,
        findings: bulls_early(plan)
            .chain(findings.iter().map(Remark::from))
            .collect(),
        units: season.units,
    }
}

/// Of the plan's findings the one that changes what calves are whose.
fn bulls_early(plan: &Plan) -> impl Iterator<Item = Remark> + '_ {
    let found = plan.findings.iter();
    found.filter(|f| f.code == Code::BullsEarly).cloned()
}

/// All groups that are counted: lows and highs of all at once.
fn all(groups: &[GroupForecast]) -> Outcome {
    let counted = groups.iter().filter(|t| t.calves.counted);
    let counted: Vec<&Outcome> = counted.map(|t| &t.calves.outcome).collect();
    let head: u32 = counted.iter().map(|o| o.head).sum();
    let bred_head: u32 = counted.iter().map(|o| o.bred_head).sum();
    let before: f64 = counted.iter().map(|o| o.pregnant_before_head).sum();
    let due = f64::from(head) - before;
    let sum = |of: f64, pick: fn(&Outcome) -> Expected| {
        let all = |x: fn(&Expected) -> f64| counted.iter().map(|o| x(&pick(o))).sum::<f64>();
        spread(
            of,
            all(|e| e.head),
            all(|e| e.low_head),
            all(|e| e.high_head),
        )
    };
    Outcome {
        head,
        bred_head,
        ai: sum(f64::from(bred_head), |o| o.ai),
        bulls: sum(due, |o| o.bulls),
        pregnant: sum(due, |o| o.pregnant),
        open: sum(due, |o| o.open),
        pregnant_before_head: rounded(before),
        ai_calves_head: rounded(counted.iter().map(|o| o.ai_calves_head).sum()),
        bull_calves_head: rounded(counted.iter().map(|o| o.bull_calves_head).sum()),
    }
}
