//! A planned session from tank to cow: which straws go into the bath when, out of which canister,
//! and by when they must be in their cows.
//!
//! Rounds and moments are the plan's own; straws at once are never more than the plan's. Straws are
//! those that [`crate::analysis::tank::allocation`] takes for the session, one canister before the next (`stock`); one
//! canister of a tank is lifted at a time (`rounds`). What a bath of water can do stands in `bath`.

mod answer;
mod bath;
mod limits;
mod rounds;
mod stock;
pub(crate) mod words;

pub use answer::{
    BathFigures, CanisterUse, FORMAT, Lift, Listed, PaceRow, Round, SessionThaw, Straw,
    TechnicianThaw, Thaw, Volume, Waste,
};
use stock::place_words;

use crate::base::units::{Seconds, hundredths};
use crate::planning::plan::{AtSession, Plan, Session};
use crate::trade::season::pace::rounds_of;
use crate::trade::season::{self, Season};

/// The largest round of the table of paces.
pub const MOST_SHOWN: u32 = 8;

/// The sessions of a plan of this season and, if asked for, the rounds of one of them. A session
/// that is not there, or breeds no cow, gives none.
#[must_use]
pub fn of_plan(season: &Season, plan: &Plan, session: Option<&str>) -> Thaw {
    let mut sessions = plan.sessions.iter();
    let asked = sessions.find(|s| Some(s.id.as_str()) == session);
    Thaw {
        format: FORMAT.to_owned(),
        season: season.name.clone(),
        zone: season.zone.name().to_owned(),
        sessions: plan
            .sessions
            .iter()
            .filter_map(|s| listed(plan, s))
            .collect(),
        session: asked.and_then(|s| of_session(season, plan, s)),
        clock: season.units.clock,
    }
}

fn listed(plan: &Plan, s: &Session) -> Option<Listed> {
    Some(Listed {
        session: s.id.clone(),
        site_name: plan.site_name(&s.site).to_owned(),
        first_cow: s.first_cow?,
        last_cow: s.last_cow?,
        head: s.head,
        technicians: s.technicians.iter().map(|t| t.id.clone()).collect(),
    })
}

/// The rounds of a session of a plan of this season; none if it breeds no cow.
#[must_use]
pub fn of_session(season: &Season, plan: &Plan, session: &Session) -> Option<SessionThaw> {
    let mut sites = season.sites.iter();
    let site = sites.find(|s| s.id.as_str() == session.site)?;
    if session.head == 0 {
        return None;
    }
    let mut stock = stock::Stock::new(season, plan);
    let supply = stock.supply(session);
    let waste = stock.waste(session);
    let free = down_again(season, plan, session, &stock);
    let rounds = rounds::of_session(season, plan, session, supply, free);
    let mut technicians = Vec::new();
    for (at, rounds) in session.technicians.iter().zip(rounds) {
        technicians.push(technician(season, at, rounds)?);
    }
    let by_tag = words::by_tag(season, &technicians);
    for round in technicians.iter_mut().flat_map(|t| &mut t.rounds) {
        let of = |s: &Straw| s.tag.is_none() && by_tag.iter().any(|(g, _)| *g == s.group);
        round.by_tag = round.straws.iter().any(of);
    }
    let rules = &season.rules;
    let mut found = SessionThaw {
        session: session.id.clone(),
        site: session.site.clone(),
        site_name: plan.site_name(&session.site).to_owned(),
        words: Vec::new(),
        head: technicians.iter().map(|t| t.head).sum(),
        thaw_seconds: rules.thaw.0,
        bath_to_cow_minutes: hundredths(rules.bath_to_cow.minutes()),
        lift_seconds: rules.straws.lift.0,
        straws_a_lift: rules.straws.a_lift.0,
        bath_straws: site.thaw_bath.0,
        canisters: canisters(season, &technicians),
        waste,
        bath: bath::figures(season, &site.bath, &technicians),
        technicians,
        findings: Vec::new(),
        notes: Vec::new(),
        units: season.units,
    };
    found.findings = words::findings(season, &found);
    found.words = words::verdict(&found);
    found.notes = words::notes(season, &found);
    Some(found)
}

/// When the last canister of each tank is down again that a session before this one lifts, if that may
/// be as late as this one begins.
fn down_again(
    season: &Season,
    plan: &Plan,
    session: &Session,
    stock: &stock::Stock<'_>,
) -> rounds::Free {
    let begins = |s: &Session| s.technicians.iter().map(|t| t.begins).min();
    let mut free = rounds::Free::new();
    let Some(begin) = begins(session) else {
        return free;
    };
    let near = begin - chrono::TimeDelta::seconds(2 * season.rules.bath_to_cow.0.ceil() as i64);
    for before in &plan.sessions {
        // Straws elsewhere at that time are in another tank of the same name.
        let late = before.last_cow.is_some_and(|last| last > near);
        let first = begins(before).is_some_and(|b| b < begin);
        if !late || !first || before.site != session.site {
            continue;
        }
        let free_before = down_again(season, plan, before, stock);
        let rounds = rounds::of_session(season, plan, before, stock.supply(before), free_before);
        for lift in rounds.iter().flatten().flat_map(|r| &r.lifts) {
            let down = free.entry(lift.tank.clone()).or_default();
            *down = lift.down.to_utc().max(*down);
        }
    }
    free
}

/// `None` if the plan names somebody whom the season does not have.
fn technician(season: &Season, at: &AtSession, rounds: Vec<Round>) -> Option<TechnicianThaw> {
    let of = season.crew.iter().find(|t| t.id.as_str() == at.id)?;
    let planned = rounds_of(of, &season.rules, at.straws_at_once.max(1))?;
    let own = of.helper;
    let table = |helper: bool| -> Vec<PaceRow> {
        // The minutes at the cow that the plan counts on, whatever the number of straws.
        let of = season::Technician {
            pace: season::Pace::AtTheCow(Seconds(planned.cow.0)),
            helper,
            ..of.clone()
        };
        let rows = (1..=MOST_SHOWN).filter_map(|k| rounds_of(&of, &season.rules, k));
        rows.map(|r| PaceRow {
            straws_at_once: r.straws.0,
            head_per_hour: hundredths(r.cows_per_hour()),
            last_straw_minutes: hundredths(r.last_age.minutes()),
            late_percent: hundredths(r.late * 100.0),
            safe: r.last_age.0 <= season.rules.bath_to_cow.0
                && r.late <= season.rules.late_straw_risk,
            planned: helper == own && r.straws.0 == at.straws_at_once,
        })
        .collect()
    };
    Some(TechnicianThaw {
        id: at.id.clone(),
        name: of.name.clone(),
        helper: of.helper,
        head: rounds.iter().map(|r| r.straws.len() as u32).sum(),
        straws_at_once: at.straws_at_once,
        minutes_per_cow: hundredths(planned.cow.minutes()),
        from_cows_per_hour: matches!(of.pace, season::Pace::Overall(_)),
        rounds,
        alone: table(false),
        helped: table(true),
    })
}

fn canisters(season: &Season, technicians: &[TechnicianThaw]) -> Vec<CanisterUse> {
    let mut all: Vec<CanisterUse> = Vec::new();
    for round in technicians.iter().flat_map(|t| &t.rounds) {
        for lift in &round.lifts {
            let mine = |s: &&Straw| s.tank == lift.tank && s.canister == lift.canister;
            let sizes = round.straws.iter().filter(mine).map(|s| s.straw_ml);
            let most = sizes
                .map(|ml| limits::neck(ml).0)
                .fold(f64::INFINITY, f64::min);
            let known = all
                .iter()
                .position(|c| c.tank == lift.tank && c.canister == lift.canister);
            let n = known.unwrap_or_else(|| {
                all.push(CanisterUse {
                    tank: lift.tank.clone(),
                    canister: lift.canister,
                    lifts: 0,
                    seconds: 0.0,
                    straws: 0,
                    most_seconds_a_lift: most,
                });
                all.len() - 1
            });
            all[n].lifts += 1;
            all[n].seconds += season.rules.straws.lift.0;
            all[n].straws += lift.straws;
            all[n].most_seconds_a_lift = all[n].most_seconds_a_lift.min(most);
        }
    }
    all.sort_by(|a, b| (&a.tank, a.canister).cmp(&(&b.tank, b.canister)));
    all
}
