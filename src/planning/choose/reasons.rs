//! Why candidates fall out, and what to give up where none is left.

use schemars::JsonSchema;
use serde::Serialize;

use super::candidates::{self, Candidate};
use super::shortlist::Field;
use crate::base::time::{Reading, Timestamp};
use crate::base::units::Id;
use crate::planning::wishes::Demands;
use crate::trade::protocol::Library;

pub(super) fn tally(demands: &Demands<'_>, candidates: &[Candidate]) -> Vec<Wish> {
    demands
        .list
        .iter()
        .enumerate()
        .map(|(n, demand)| {
            let bit = 1u128 << n;
            let hard = demands.hard & bit != 0;
            let breaking = candidates.iter().filter(|c| c.broken & bit != 0);
            let alone = breaking.clone().filter(|c| c.broken & demands.hard == bit);
            Wish {
                words: demand.words.clone(),
                hard,
                breaks: breaking.count(),
                alone: alone.count(),
            }
        })
        .collect()
}

/// The fewest wishes broken by any of these, in each way there is: a candidate fits as soon as
/// all that it breaks are given up, so the smallest set that a candidate breaks is the answer.
fn fewest<'c>(
    hard: u128,
    candidates: impl Iterator<Item = &'c Candidate> + Clone,
) -> Vec<(u128, usize, &'c Candidate)> {
    let Some(least) = candidates
        .clone()
        .map(|c| (c.broken & hard).count_ones())
        .min()
    else {
        return Vec::new();
    };
    let mut ways: Vec<(u128, usize, &Candidate)> = Vec::new();
    for c in candidates.filter(|c| (c.broken & hard).count_ones() == least) {
        match ways.iter_mut().find(|(set, _, _)| *set == c.broken & hard) {
            Some((_, count, _)) => *count += 1,
            None => ways.push((c.broken & hard, 1, c)),
        }
    }
    ways.sort_by_key(|(set, count, _)| (std::cmp::Reverse(*count), *set));
    ways
}

pub(super) fn kept_out(field: &Field<'_>) -> Vec<KeptOut> {
    (0..field.protocols.len())
        .filter_map(|p| {
            let mine = field.candidates.iter().filter(|c| c.protocol == p);
            let ways = fewest(field.demands.hard, mine);
            let (set, _, _) = ways.first().filter(|(set, _, _)| *set != 0)?;
            Some(KeptOut {
                protocol: field.protocols[p].id.clone(),
                wishes: field.demands.words(*set),
            })
        })
        .collect()
}

pub(super) fn give_up(field: &Field<'_>) -> Vec<GiveUp> {
    let (from, to) = field.demands.bounds();
    let outside = |c: &&Candidate| {
        let day = field.season.zone.date(c.first);
        let early = from.map_or(0, |d| (d - day).num_days().max(0));
        let late = to.map_or(0, |d| (day - d).num_days().max(0));
        (early + late, c.night, c.start, c.protocol)
    };
    let nearest = |set: u128| {
        let mine = field.candidates.iter();
        mine.filter(|c| c.broken & field.demands.hard == set)
            .min_by_key(outside)
    };
    fewest(field.demands.hard, field.candidates.iter())
        .into_iter()
        .filter(|(set, _, _)| *set != 0)
        .filter_map(|(set, candidates, _)| Some((set, candidates, nearest(set)?)))
        .map(|(set, candidates, one)| GiveUp {
            wishes: field.demands.words(set),
            candidates,
            protocol: field.protocols[one.protocol].id.clone(),
            start: field.season.zone.reading(one.start),
            first_breeding: field.season.zone.timestamp(one.first),
        })
        .collect()
}

/// The protocols that are published for these animals and not permitted, with the reason.
pub(super) fn refused(field: &Field<'_>, library: &Library) -> Vec<Refused> {
    let all = candidates::published(library, field.group, field.wishes);
    let refused = all.filter_map(|p| {
        Some(Refused {
            protocol: p.id.clone(),
            why: field.season.refuses(p, field.group.class)?.words(),
        })
    });
    refused.collect()
}

/// A wish.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, JsonSchema)]
pub struct Wish {
    /// In words.
    #[serde(rename = "wish")]
    pub words: String,
    /// True if nothing may break it.
    #[serde(rename = "must_hold")]
    pub hard: bool,
    /// Starts that break it.
    #[serde(rename = "starts_breaking")]
    pub breaks: usize,
    /// Starts that break it and no other wish.
    #[serde(rename = "starts_breaking_it_alone")]
    pub alone: usize,
}

/// A protocol that is ruled out.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, JsonSchema)]
pub struct KeptOut {
    /// The protocol's id.
    pub protocol: Id,
    /// Wishes that rule it out, in words.
    pub wishes: Vec<String>,
}

/// A protocol that is not permitted in the season's country.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, JsonSchema)]
pub struct Refused {
    /// The protocol's id.
    pub protocol: Id,
    /// What is not permitted and why, with the tags of the sources.
    pub why: String,
}

/// Wishes to give up.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, JsonSchema)]
pub struct GiveUp {
    /// The wishes, in words.
    pub wishes: Vec<String>,
    /// Starts that then fit.
    #[serde(rename = "starts")]
    pub candidates: usize,
    /// One that then fits.
    pub protocol: Id,
    /// Its start, with the offset.
    pub start: Reading,
    /// Its first breeding, with the offset.
    pub first_breeding: Timestamp,
}
