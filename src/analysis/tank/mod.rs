//! What is where in the tanks, what is left after each session, and when to refill the nitrogen.
//!
//! [`look`] takes a season with its finished plan. Straws are taken from canes in one order
//! ([`allocation`]), so that everybody who asks finds the same straw; the nitrogen's loss a day is fitted
//! from the readings ([`nitrogen`]) and carried on through the season, with its openings. A tank is at
//! one place at a time (`stays`), and goes from site to site in turn (`turns`).

pub mod allocation;
mod answer;
pub mod nitrogen;
mod spans;
pub(crate) mod stays;
pub(crate) mod turns;
mod words;

pub use answer::{
    Canister, Day, FORMAT, Holding, LackingStraws, Loss, Minimum, NitrogenAnswer, SessionLeft,
    Taken, TankReport, TankView,
};

use std::collections::BTreeMap;

use chrono::NaiveDate;

use crate::base::error::{Code, Finding, Severity};
use crate::planning::plan::{Plan, Remark};
use crate::trade::season::{Season, Tank};
use allocation::{Allocation, Drawn};
use nitrogen::Outlook;

/// The tanks of a season, by its plan.
#[must_use]
pub fn look(season: &Season, plan: &Plan) -> TankReport {
    look_at(season, plan, None)
}

/// The same of one tank, by id: it alone, with what is found in it.
#[must_use]
pub fn look_at(season: &Season, plan: &Plan, only: Option<&str>) -> TankReport {
    let allocation = allocation::allocate(season, plan);
    let mut names = names(season, &allocation);
    names.retain(|name| only.is_none() || name.as_deref() == only);
    let (tanks, findings) = views(season, plan, &allocation, &names);
    TankReport {
        format: FORMAT.to_owned(),
        program: env!("CARGO_PKG_VERSION").to_owned(),
        season: season.name.clone(),
        zone: season.zone.name().to_owned(),
        tanks,
        short_straws: allocation.short,
        lacking_straws: plan
            .groups
            .iter()
            .filter(|g| g.straws_short > 0)
            .map(|g| LackingStraws {
                group: g.id.clone(),
                straws: g.straws_short,
            })
            .collect(),
        findings: findings.iter().map(Remark::from).collect(),
        clock: season.units.clock,
    }
}

/// Tanks whose nitrogen runs low before their last session is over: warnings for the plan.
#[must_use]
pub fn low(season: &Season, plan: &Plan) -> Vec<Finding> {
    let tanks = season.tanks.iter();
    let listed: Vec<_> = tanks.map(|t| Some(t.id.as_str().to_owned())).collect();
    if listed.is_empty() {
        return Vec::new();
    }
    let allocation = allocation::allocate(season, plan);
    let (_, mut findings) = views(season, plan, &allocation, &listed);
    findings.retain(|f| f.code == Code::TankLow && f.severity == Severity::Warning);
    findings
}

/// Tanks by name, with what is found in the nitrogen of those listed.
fn views(
    season: &Season,
    plan: &Plan,
    allocation: &Allocation,
    names: &[Option<String>],
) -> (Vec<TankView>, Vec<Finding>) {
    let mut findings = Vec::new();
    let of = |name: &Option<String>| {
        let name = name.as_deref();
        let listed = season.tanks.iter().find(|t| Some(t.id.as_str()) == name);
        let mut view = view(name, listed, season, plan, allocation);
        if let Some(tank) = listed {
            view.nitrogen = nitrogen_of(tank, plan, &mut view.sessions, &mut findings);
        }
        view
    };
    let views = names.iter().map(of).collect();
    (views, findings)
}

/// The tanks listed, those only named, and straws of no tank, in this order.
fn names(season: &Season, allocation: &Allocation) -> Vec<Option<String>> {
    let tanks = season.tanks.iter();
    let mut names: Vec<Option<String>> = tanks.map(|t| Some(t.id.as_str().to_owned())).collect();
    for stock in &allocation.stocks {
        if !names.contains(&stock.place.tank) {
            names.push(stock.place.tank.clone());
        }
    }
    names.sort_by_key(Option::is_none);
    names
}

fn view(
    name: Option<&str>,
    listed: Option<&Tank>,
    season: &Season,
    plan: &Plan,
    allocation: &Allocation,
) -> TankView {
    let inside = |n: &usize| allocation.stocks[*n].place.tank.as_deref() == name;
    let mut canisters: BTreeMap<Option<u32>, Vec<usize>> = BTreeMap::new();
    for n in (0..allocation.stocks.len()).filter(inside) {
        let number = allocation.stocks[n].place.canister;
        canisters.entry(number).or_default().push(n);
    }
    let count = listed.map_or_else(
        || canisters.keys().flatten().max().copied().unwrap_or(0),
        |t| t.canisters,
    );
    for n in 1..=count {
        canisters.entry(Some(n)).or_default();
    }
    let canisters = canisters.into_iter().map(|(number, stocks)| Canister {
        number,
        straws: stocks.iter().map(|n| allocation.stocks[*n].had).sum(),
        left_straws: stocks.iter().map(|n| allocation.stocks[*n].left).sum(),
        holdings: stocks
            .iter()
            .map(|n| holding(season, allocation, *n))
            .collect(),
    });
    let mut canisters: Vec<Canister> = canisters.collect();
    // Straws of no canister come last.
    canisters.sort_by_key(|c| c.number.unwrap_or(u32::MAX));
    let straws = canisters.iter().map(|c| c.straws).sum();
    let mut left = straws;
    let mut sessions = Vec::new();
    for (k, session) in plan.sessions.iter().enumerate() {
        let drawn = allocation.drawn[k].iter();
        let drawn: Vec<&Drawn> = drawn.filter(|d| inside(&d.stock)).collect();
        if drawn.is_empty() {
            continue;
        }
        let new = drawn.iter().filter(|d| !d.again);
        left -= new.map(|d| d.straws).sum::<u32>();
        let taken: Vec<Taken> = drawn.iter().map(|d| taken(season, allocation, d)).collect();
        let mut lifted: Vec<u32> = taken.iter().filter_map(|t| t.canister).collect();
        lifted.sort_unstable();
        lifted.dedup();
        sessions.push(SessionLeft {
            session: session.id.clone(),
            begins: session.begins(),
            lifted_canisters: lifted,
            taken,
            left_straws: left,
            level: None,
        });
    }
    TankView {
        id: name.unwrap_or_default().to_owned(),
        name: match (listed, name) {
            (Some(tank), _) => tank.name.clone(),
            (None, Some(name)) => name.to_owned(),
            (None, None) => "Straws of no tank".to_owned(),
        },
        listed: listed.is_some(),
        straws,
        left_straws: left,
        canisters,
        sessions,
        nitrogen: None,
    }
}

fn holding(season: &Season, allocation: &Allocation, n: usize) -> Holding {
    let stock = &allocation.stocks[n];
    Holding {
        cane: stock.place.cane.clone(),
        goblet: stock.place.goblet.map(|g| g.as_str().to_owned()),
        bull: season.bulls[stock.bull].id.as_str().to_owned(),
        bull_name: season.bulls[stock.bull].name.clone(),
        straw_ml: stock.place.size.millilitres(),
        sort: stock.place.sort.as_str().to_owned(),
        straws: stock.had,
        left_straws: stock.left,
    }
}

fn taken(season: &Season, allocation: &Allocation, drawn: &Drawn) -> Taken {
    let stock = &allocation.stocks[drawn.stock];
    Taken {
        bull: season.bulls[stock.bull].id.as_str().to_owned(),
        canister: stock.place.canister,
        cane: stock.place.cane.clone(),
        goblet: stock.place.goblet.map(|g| g.as_str().to_owned()),
        straws: drawn.straws,
    }
}

fn nitrogen_of(
    tank: &Tank,
    plan: &Plan,
    sessions: &mut [SessionLeft],
    findings: &mut Vec<Finding>,
) -> Option<NitrogenAnswer> {
    let day = |s: &SessionLeft| s.begins.date_naive();
    let openings: Vec<NaiveDate> = sessions.iter().map(day).collect();
    // A tank from which nothing is taken keeps its semen all the same.
    let last = openings.last().copied().or_else(|| {
        let all = plan.sessions.iter();
        all.map(|s| s.begins().date_naive()).max()
    });
    let outlook = Outlook::of(&tank.nitrogen, &openings, last);
    findings.extend(words::findings(tank, &outlook));
    let answer = words::answer(tank, &outlook, last)?;
    for session in sessions {
        let on = session.begins.date_naive();
        session.level = answer.days.iter().find(|d| d.date == on).map(|d| d.level);
    }
    Some(answer)
}
