//! Which protocol, starting when: every protocol at every start that a group's wishes allow, judged
//! by what people weigh; and the starts of several groups chosen together.
//!
//! [`choose`] enumerates (`candidates`), drops what breaks a wish and keeps the reason (`wishes`, `reasons`),
//! counts what is left for what people weigh (`judge`, `cover`), lists the best (`shortlist`) and
//! picks for all groups at once (`pool` and `together`, by `model` and `pairs`).

mod answer;
mod candidates;
mod cover;
mod judge;
mod learn;
mod model;
mod pairs;
mod pool;
mod reasons;
mod shortlist;
mod table;
mod together;
mod write;

use std::collections::BTreeSet;

use chrono::{NaiveDate, NaiveDateTime};

pub use answer::{Chosen, FORMAT, GroupChoice, Lot, PickedRow, Row, Together};
pub use cover::Cover;
pub use judge::{
    AS_PLANNED, ASSUMED, CountedRate, Criterion, Standing, Values, WorkHours, cost_of_group,
};
pub use reasons::{GiveUp, KeptOut, Refused, Wish};
pub use together::Picked;
pub use write::write;

use crate::base::error::{Code, Error, Finding, quoted, unknown_id};
use crate::base::progress::Progress;
use crate::base::units::Id;
use crate::planning::crew;
use crate::planning::crew::starts::days::Spread;
use crate::planning::wishes::Demands;
use crate::trade::figures::Calving;
use crate::trade::protocol::Library;
use crate::trade::season::{Group, GroupFacts, Season, Weights};
use cover::Scene;
use pool::Pool;
use reasons::{give_up, kept_out, refused, tally};
use shortlist::{Field, Judged};
use table::Table;

/// How much is looked at and shown.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Limits {
    /// Rows of a group's list.
    pub rows: usize,
    /// Rows of one protocol in it.
    pub rows_a_protocol: usize,
    /// Starts of each group that a choice for several begins with. More are taken in where they may help.
    pub candidates: usize,
}

impl Default for Limits {
    fn default() -> Self {
        Self {
            rows: 10,
            rows_a_protocol: 2,
            candidates: 60,
        }
    }
}

/// Looks for a protocol and a start: for one group, or for each that has wishes. Asked to stop while
/// starts are chosen together, it gives the best choice so far, and how far off it can be.
///
/// # Errors
/// A finding if no group has that id, or has wishes. An internal error if the model fails.
pub fn choose(
    season: &Season,
    library: &Library,
    only: Option<&str>,
    limits: Limits,
    progress: &dyn Progress,
) -> Result<Chosen, Error> {
    let (wanting, fixed) = wanting(season, only)?;
    let mut scene = Scene::new(season, fixed, wanting.len())?;
    let unpriced = unpriced(season, library, &wanting);
    let weights = weights(season, &unpriced);
    let fields: Vec<Field<'_>> = wanting
        .iter()
        .filter_map(|g| Some(Field::new(season, library, g, g.wishes.as_ref()?, weights)))
        .collect();
    let mut groups = Vec::new();
    let mut pools = Vec::new();
    for field in &fields {
        let each = limits.rows_of_a_protocol(field);
        let rows = shortlist::shortlist(field, &mut scene, limits.rows, each)?;
        if fields.len() > 1 {
            let (batch, of) = (limits.candidates, fields.len());
            pools.push(Pool::new(field, &mut scene, &rows, batch, of)?);
        }
        let group = field.group;
        groups.push(GroupChoice {
            nth: group.nth,
            place: group.start_place.clone(),
            id: group.id.clone(),
            name: group.name.clone(),
            class: group.class,
            head: group.head(),
            wishes: tally(&field.demands, &field.candidates),
            protocols: field.protocols.len(),
            looked_at: field.candidates.len(),
            fitting: field.fitting().count(),
            kept_out: kept_out(field),
            not_permitted: refused(field, library),
            give_up: give_up(field),
            rows: with_reasons(field, &mut scene, &rows)?,
        });
    }
    let mut together = None;
    if pools.len() > 1 && pools.iter().all(|p| !p.judged.is_empty()) {
        let mut table = Table::new(season, weights, &mut scene, &pools);
        let (picks, picked) = table.pick_of_all(&mut pools, progress)?;
        let rows = |p: &Pool<'_, '_>| p.judged.iter().map(|j| row(p.field, j)).collect();
        let candidates = pools.iter().map(rows).collect();
        together = Some(Together::of(&groups, candidates, &picks, picked));
    }
    let prices = season.prices.as_ref();
    let criteria = Criterion::ALL.iter();
    Ok(Chosen {
        format: FORMAT,
        season: season.name.clone(),
        zone: season.zone.name(),
        told: season.zone.told(),
        currency: prices.and_then(|p| p.currency.clone()),
        points_for_each: criteria.map(|c| (*c, c.weight(&weights))).collect(),
        without_price: unpriced,
        straws_lacking: straws_lacking(season, library, &wanting)?,
        together,
        groups,
    })
}

impl Limits {
    /// Of few protocols that fit, more rows each.
    fn rows_of_a_protocol(&self, field: &Field<'_>) -> usize {
        let fitting: BTreeSet<usize> = field.fitting().map(|c| c.protocol).collect();
        self.rows_a_protocol.max(self.rows / fitting.len().max(1))
    }
}

/// The rows of a list; where some animals are not bred, with the reason.
fn with_reasons(
    field: &Field<'_>,
    scene: &mut Scene<'_>,
    rows: &[Judged],
) -> Result<Vec<Row>, crew::Fault> {
    let with_reason = |j: &Judged| {
        let mut row = row(field, j);
        if j.cover.not_bred > 0 {
            row.cover.why = scene.why(&field.decided(j))?;
        }
        Ok(row)
    };
    rows.iter().map(with_reason).collect()
}

/// Every group wants a straw an animal, whatever its protocol and start.
fn straws_lacking(
    season: &Season,
    library: &Library,
    wanting: &[GroupFacts],
) -> Result<u32, Error> {
    let mut all = season.clone();
    all.groups
        .retain(|g| wanting.iter().all(|w| w.nth != g.nth));
    if let Some(any) = library.iter().next() {
        let decided = |g: &GroupFacts| g.clone().decided(any.clone(), NaiveDateTime::MIN);
        all.groups.extend(wanting.iter().map(decided));
    }
    crew::straws_lacking(&all).map_err(|cause| {
        let day = "the whole season".to_owned();
        crew::Fault { day, cause }.into()
    })
}

/// What lacks a price for any protocol that is considered for any group.
fn unpriced(season: &Season, library: &Library, wanting: &[GroupFacts]) -> Vec<&'static str> {
    let mut found: Vec<&'static str> = Vec::new();
    for group in wanting {
        let Some(wishes) = &group.wishes else {
            continue;
        };
        let demands = Demands::new(season, wishes);
        for protocol in candidates::considered(season, library, group, wishes) {
            // What the wishes keep out at any start need not have a price.
            if demands.of_protocol(protocol) & demands.hard == 0 {
                found.extend(judge::standing(season, group, protocol, wishes.semen).unpriced());
            }
        }
    }
    found.sort_unstable();
    found.dedup();
    found
}

/// A cost without a price would be none: where one is missing, costs do not count at all.
fn weights(season: &Season, unpriced: &[&str]) -> Weights {
    let mut weights = season.weights;
    if season.prices.is_none() || !unpriced.is_empty() {
        weights.cost_a_head = 0.0;
        weights.cost_a_pregnancy = 0.0;
    }
    weights
}

/// The groups to choose for, and those that stand as they are.
fn wanting(season: &Season, only: Option<&str>) -> Result<(Vec<GroupFacts>, Vec<Group>), Error> {
    let is_meant = |id: &Id| only.is_none_or(|o| o == id.as_str());
    let mut wanting: Vec<GroupFacts> = season
        .open
        .iter()
        .filter(|g| is_meant(&g.id))
        .cloned()
        .collect();
    let mut fixed = Vec::new();
    for group in &season.groups {
        if is_meant(&group.id) && group.wishes.is_some() {
            wanting.push(group.facts.clone());
        } else {
            fixed.push(group.clone());
        }
    }
    wanting.sort_by_key(|g| g.nth);
    if wanting.is_empty() {
        return Err(none_wanting(season, only).into());
    }
    Ok((wanting, fixed))
}

fn none_wanting(season: &Season, only: Option<&str>) -> Finding {
    let Some(id) = only else {
        let place = season.groups.first().map(|g| g.start_place.clone());
        let found = Finding::error(Code::NoWishes, "no group of this season has wishes")
            .expected("`wishes` in place of, or beside, a group's `protocol` and `start`")
            .hint("say between which dates to breed: `wishes: {breed_from: 2027-05-20, breed_to: 2027-06-05}`");
        return match place {
            Some(place) => found.at(place),
            None => found,
        };
    };
    if let Some(group) = season.groups.iter().find(|g| g.id.as_str() == id) {
        return Finding::error(Code::NoWishes, format!("{} has no wishes", quoted(id)))
            .at(group.start_place.clone())
            .expected("`wishes` beside its `protocol` and `start`, or in their place")
            .hint("say between which dates to breed: `wishes: {breed_from: 2027-05-20, breed_to: 2027-06-05}`");
    }
    let open = season.open.iter().map(|g| g.id.as_str());
    let ids = season.groups.iter().map(|g| g.id.as_str()).chain(open);
    let see = "see `groups` in the season file";
    unknown_id("group", id, ids, "a season with a group", see)
}

/// A candidate as it is written and read.
fn row(field: &Field<'_>, judged: &Judged) -> Row {
    let c = &judged.candidate;
    let zone = field.season.zone;
    let due = |day: NaiveDate| Calving::from_breeding(day, &field.wishes.gestation);
    let lot = |(start, head)| Lot {
        start: zone.reading(start),
        head,
    };
    let lots = |spread: &Spread| spread.lots().into_iter().map(lot).collect();
    let mut standing = field.standings[c.protocol].clone();
    standing.hours.night = judged.values.get(Criterion::NightHours);
    Row {
        protocol: field.protocols[c.protocol].clone(),
        allowed: field
            .season
            .allowed(field.protocols[c.protocol], field.group.class),
        start: zone.reading(c.start),
        lots: judged.spread.as_ref().map(lots),
        spread: judged.spread.clone(),
        equal_starts: judged.equal.iter().map(|s| zone.reading(*s)).collect(),
        first_breeding: zone.timestamp(c.first),
        first_calves: due(c.first_day).first,
        mean_calving: due(zone.date(c.mean)).mean,
        standing,
        cover: judged.cover.clone(),
        broken_wishes: field.demands.words(c.broken),
        values: judged.values,
        points: judged.points,
    }
}
