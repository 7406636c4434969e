//! A planned session from tank to cow: which straws go into the bath when, out of which canister,
//! and by when they must be in their cows.
//!
//! Rounds and moments are the plan's own; straws at once are never more than the plan's. Straws are
//! those that [`crate::analysis::tank::take`] takes for the session, one canister before the next (`stock`); one
//! canister of a tank is lifted at a time (`rounds`). What a bath of water can do stands in [`bath`].

pub mod bath;
pub mod limits;
mod rounds;
mod stock;
pub(crate) mod words;

use serde::{Deserialize, Serialize};

use crate::base::units::{Seconds, Units, hundredths};
use crate::planning::plan::{AtSession, Moment, Plan, Remark, Session};
use crate::trade::season::pace::rounds_of;
use crate::trade::season::{self, Season, StrawPlace};

/// Form and version of the JSON.
pub const FORMAT: &str = "thawline.thaw/1";

/// The largest round of the table of paces.
pub const MOST_SHOWN: u32 = 8;

/// The sessions of a season, and the rounds of the one that is asked about.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
#[serde(deny_unknown_fields)]
#[schemars(title = "Thawline thaw rounds")]
pub struct Thaw {
    /// `thawline.thaw/1`.
    pub format: String,
    /// Name of the season.
    pub season: String,
    /// IANA time zone of the local readings.
    pub zone: String,
    /// Sessions in which cows are bred, by time.
    pub sessions: Vec<Listed>,
    /// The one that was asked about.
    pub session: Option<SessionThaw>,
}

/// A session to ask about.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Listed {
    /// Its id.
    pub session: String,
    /// Name of the site.
    pub site_name: String,
    /// First cow.
    pub first_cow: Moment,
    /// Last cow.
    pub last_cow: Moment,
    /// Head bred.
    pub head: u32,
    /// Ids of its technicians.
    pub technicians: Vec<String>,
}

/// The rounds of a session.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct SessionThaw {
    /// Id of the session.
    pub session: String,
    /// Site id.
    pub site: String,
    /// Name of the site.
    pub site_name: String,
    /// The answer, in sentences.
    pub words: Vec<String>,
    /// Head bred.
    pub head: u32,
    /// Seconds a straw stays in the bath, by the season's rules.
    pub thaw_seconds: f64,
    /// Most minutes from bath to cow, by the season's rules.
    pub bath_to_cow_minutes: f64,
    /// Seconds that a canister is in the neck at each lift.
    pub lift_seconds: f64,
    /// Straws taken out at a lift at the most.
    pub straws_a_lift: u32,
    /// Most straws in the site's bath.
    pub bath_straws: u32,
    /// Technicians, as in the plan.
    pub technicians: Vec<TechnicianThaw>,
    /// Canisters by how often they are lifted.
    pub canisters: Vec<CanisterUse>,
    /// Straws for cows that never come, by bull; empty where no share is given.
    pub waste: Vec<Waste>,
    /// What the bath's water can do.
    pub bath: bath::BathFigures,
    /// What was noticed.
    pub findings: Vec<Remark>,
    /// What the figures rest on, in sentences, with sources.
    pub notes: Vec<String>,
    /// Units that people read; absent where none are chosen.
    #[serde(default, skip_serializing_if = "Units::is_open")]
    pub units: Units,
}

/// A technician of a session.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct TechnicianThaw {
    /// Technician id.
    pub id: String,
    /// Name.
    pub name: String,
    /// True if a helper thaws and loads.
    pub helper: bool,
    /// Head bred.
    pub head: u32,
    /// Straws at once in the plan.
    pub straws_at_once: u32,
    /// Minutes a cow with loaded guns at hand.
    pub minutes_per_cow: f64,
    /// True if these were worked out from cows an hour, and are held for other rounds.
    pub from_cows_per_hour: bool,
    /// Rounds, by time.
    pub rounds: Vec<Round>,
    /// What other numbers of straws at once would do, alone.
    pub alone: Vec<PaceRow>,
    /// The same with a helper.
    pub helped: Vec<PaceRow>,
}

/// Straws that are in the bath together for one technician.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Round {
    /// From 1.
    pub number: u32,
    /// When its first straws go into the bath.
    pub bath_at: Moment,
    /// When the first straw may come out.
    pub earliest_out: Moment,
    /// When the first gun is loaded.
    pub first_gun: Moment,
    /// When the last straw must be in its cow.
    pub cow_by: Moment,
    /// Minutes from the bath to the last cow, as planned.
    pub last_straw_minutes: f64,
    /// Seconds by which a gun is ready later than planned, as the tank is in use.
    pub gun_late_seconds: i64,
    /// True if the order of its animals is not known and they have straws of several bulls or sorts: then the
    /// straws are each bull's share, and whose straw goes into the bath is decided by the tag.
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub by_tag: bool,
    /// Canisters lifted, in order.
    pub lifts: Vec<Lift>,
    /// Straws in the order in which guns are loaded.
    pub straws: Vec<Straw>,
}

/// One lift of one canister.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Lift {
    /// When the canister comes up.
    pub at: Moment,
    /// When it is down again and the straws are in the bath.
    pub down: Moment,
    /// The tank, if given.
    pub tank: Option<String>,
    /// Number of the canister, if given.
    pub canister: Option<u32>,
    /// Straws taken out.
    pub straws: u32,
}

/// A straw and its cow.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Straw {
    /// The bull.
    pub bull: String,
    /// Millilitres.
    pub straw_ml: f64,
    /// Which place of the bull's in the season's list of semen, from 1.
    pub place: u32,
    /// Where it is, in words.
    pub where_words: String,
    /// The tank, if given.
    pub tank: Option<String>,
    /// Number of the canister, if given.
    pub canister: Option<u32>,
    /// Code on the cane, if given.
    pub cane: Option<String>,
    /// `top` or `bottom`, if given.
    pub goblet: Option<String>,
    /// Into the bath.
    pub in_at: Moment,
    /// Out of the bath, to be dried and loaded.
    pub out_at: Moment,
    /// In the cow, by the plan.
    pub bred_at: Moment,
    /// Group id.
    pub group: String,
    /// Pen, from 1; absent for a whole group bred by heat.
    pub pen: Option<u32>,
    /// Id of the breeding pass.
    pub pass: String,
    /// Which animal of the pen, from 1, where the order is kept.
    pub animal: Option<u32>,
    /// Her id, where the herd file has the order; the straw is of her mating then.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub tag: Option<String>,
}

/// How often a canister is lifted.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct CanisterUse {
    /// The tank, if given.
    pub tank: Option<String>,
    /// Number of the canister, if given.
    pub canister: Option<u32>,
    /// Lifts.
    pub lifts: u32,
    /// Seconds in the neck, all lifts together.
    pub seconds: f64,
    /// Straws taken out.
    pub straws: u32,
    /// Seconds that a lift may take, for its straws.
    pub most_seconds_a_lift: f64,
}

/// Straws of one bull for cows that never come.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Waste {
    /// The bull.
    pub bull: String,
    /// Straws counted as waste.
    pub straws: u32,
    /// Of these, no straw is left for.
    pub lacking_straws: u32,
    /// Where those set aside are, in words.
    pub places: Vec<String>,
}

/// A technician's pace with so many straws at once, by the planner's formula.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct PaceRow {
    /// Straws at once.
    pub straws_at_once: u32,
    /// Head an hour over whole rounds.
    pub head_per_hour: f64,
    /// Mean age in minutes of the last straw when it is in the cow.
    pub last_straw_minutes: f64,
    /// Chance in percent that it is older than the season allows.
    pub late_percent: f64,
    /// True if it is within the season's limit and risk.
    pub safe: bool,
    /// True if it is the plan's way.
    pub planned: bool,
}

impl Thaw {
    /// The JSON Schema.
    #[must_use]
    pub fn schema() -> serde_json::Value {
        schemars::schema_for!(Self).to_value()
    }
}

/// Where a straw is, in words: `big, canister 2, cane DF12-a, top goblet`.
#[must_use]
pub fn place_words(place: &StrawPlace) -> String {
    let parts = [
        place.tank.clone(),
        place.canister.map(|n| format!("canister {n}")),
        place.cane.as_ref().map(|c| format!("cane {c}")),
        place.goblet.map(|g| format!("{} goblet", g.as_str())),
    ];
    let parts: Vec<String> = parts.into_iter().flatten().collect();
    if parts.is_empty() {
        "place not given".to_owned()
    } else {
        parts.join(", ")
    }
}

/// The sessions of a plan of this season and, if asked for, the rounds of one of them. A session
/// that is not there, or breeds no cow, gives none.
#[must_use]
pub fn of_plan(season: &Season, plan: &Plan, session: Option<&str>) -> Thaw {
    let asked = plan
        .sessions
        .iter()
        .find(|s| Some(s.id.as_str()) == session);
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
    let site = season
        .sites
        .iter()
        .find(|s| s.id.as_str() == session.site)?;
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
            planned: helper == at_helper(season, at) && r.straws.0 == at.straws_at_once,
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

fn at_helper(season: &Season, at: &AtSession) -> bool {
    let of = season.crew.iter().find(|t| t.id.as_str() == at.id);
    of.is_some_and(|t| t.helper)
}

/// Canisters by tank and number.
fn canisters(season: &Season, technicians: &[TechnicianThaw]) -> Vec<CanisterUse> {
    let mut all: Vec<CanisterUse> = Vec::new();
    for round in technicians.iter().flat_map(|t| &t.rounds) {
        for lift in &round.lifts {
            let mine = |s: &&Straw| s.tank == lift.tank && s.canister == lift.canister;
            let sizes = round.straws.iter().filter(mine).map(|s| s.straw_ml);
            let most = sizes
                .map(limits::neck_seconds)
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
