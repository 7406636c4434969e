//! What is to be remarked on in matings: animals without a bull, heifers with a bull that is not for
//! them, what cannot be seen, and scores that nothing is done with.

use std::collections::BTreeMap;

use super::assign::Assignment;
use super::choice::{Choice, Unit};
use super::{Input, InputGroup};
use crate::base::error::{Code, Finding, Place, quoted};
use crate::trade::herd::{Spot, same_id, scores::Scores};

/// Animals that are named in a finding.
const NAMED: usize = 8;

fn named(names: &[&str]) -> String {
    let some: Vec<String> = names.iter().take(NAMED).map(|n| quoted(n)).collect();
    let rest = names.len().saturating_sub(NAMED);
    if rest == 0 {
        some.join(", ")
    } else {
        format!("{} and {rest} more", some.join(", "))
    }
}

/// The same behind a colon; nothing where nobody has a name.
fn who(names: &[&str]) -> String {
    if names.is_empty() {
        String::new()
    } else {
        format!(": {}", named(names))
    }
}

pub(super) fn findings(
    input: &Input<'_>,
    choice: &Choice<'_>,
    assigned: &Assignment<'_>,
    said: &mut Vec<Finding>,
) {
    for (nth, group) in input.groups.iter().enumerate() {
        let units = assigned.units.iter().enumerate();
        let here: Vec<(usize, &Unit<'_>)> = units.filter(|(_, u)| u.nth == nth).collect();
        let head = here.iter().map(|(_, u)| u.head).sum();
        said.extend(without_bull(assigned, group, head, &here));
        said.extend(without_given(choice, assigned, group, &here));
        said.extend(heifers(choice, assigned, group, &here));
        said.extend(kinship_unseen(group, head, &here));
    }
    unused(input, choice, said);
}

/// Animals that get no bull, but for those whose bull the user gave.
fn without_bull(
    assigned: &Assignment<'_>,
    group: &InputGroup<'_>,
    head: u32,
    here: &[(usize, &Unit<'_>)],
) -> Option<Finding> {
    let lacking = |(k, u): &(usize, &Unit<'_>)| {
        u.head
            - assigned.first.stores[*k]
                .iter()
                .map(|(_, h)| h)
                .sum::<u32>()
    };
    let proposed = here.iter();
    let proposed = proposed.filter(|(k, _)| assigned.given[*k].first.is_none());
    let short: Vec<_> = proposed.filter(|u| lacking(u) > 0).collect();
    let none: u32 = short.iter().map(|u| lacking(u)).sum();
    let names = short
        .iter()
        .filter_map(|(_, u)| Some(u.animal?.id.as_str()));
    let who = who(&names.collect::<Vec<_>>());
    (none > 0).then(|| {
        let id = quoted(group.id());
        let what = format!("{none} of {head} animals of {id} get no bull{who}");
        Finding::warning(Code::NoBull, what)
            .at(group.place())
            .expected("a straw for each animal of a bull that she may have")
            .hint("buy straws, or name another bull under the group's `bulls`")
    })
}

/// Animals that do not get the bull whom the user gave.
fn without_given(
    choice: &Choice<'_>,
    assigned: &Assignment<'_>,
    group: &InputGroup<'_>,
    here: &[(usize, &Unit<'_>)],
) -> Option<Finding> {
    let lost: Vec<&str> = here
        .iter()
        .filter(|(k, _)| assigned.given[*k].first.is_some() && !has_given(choice, assigned, *k))
        .filter_map(|(_, u)| Some(u.animal?.id.as_str()))
        .collect();
    (!lost.is_empty()).then(|| {
        let what = format!(
            "for {} of {} the herd file names a bull with no straw left: {}",
            lost.len(),
            quoted(group.id()),
            named(&lost)
        );
        Finding::warning(Code::MatingStraws, what)
            .at(group.place())
            .expected("no more matings with a bull than he has straws")
            .hint("they have the next best that is left, if any: name another bull, or leave it blank")
    })
}

/// True if an animal, by her place among the units, has the bull that the user gave her.
fn has_given(choice: &Choice<'_>, assigned: &Assignment<'_>, k: usize) -> bool {
    let has = assigned.first.stores[k].first();
    let has = has.map(|(store, _)| choice.stores[*store].bull);
    has.is_some() && has == assigned.given[k].first
}

fn heifers(
    choice: &Choice<'_>,
    assigned: &Assignment<'_>,
    group: &InputGroup<'_>,
    here: &[(usize, &Unit<'_>)],
) -> Option<Finding> {
    let mut head = 0;
    let mut names = Vec::new();
    // What is given has a finding of its own.
    for (k, u) in here
        .iter()
        .filter(|(k, _)| !has_given(choice, assigned, *k))
    {
        let other = assigned.first.stores[*k].iter();
        let other: u32 = other
            .filter(|(s, _)| choice.not_for_heifers(u.class(), choice.stores[*s].bull))
            .map(|(_, h)| h)
            .sum();
        head += other;
        if other > 0 {
            names.extend(u.animal.map(|a| a.id.as_str()));
        }
    }
    (head > 0).then(|| {
        let what = format!(
            "{head} heifers of {} get a bull that is not marked for calving ease{}",
            quoted(group.id()),
            who(&names)
        );
        Finding::warning(Code::HeiferBull, what)
            .at(group.place())
            .expected("a calving-ease bull with a straw for each heifer")
            .hint("no such straw is left that they may have: buy some, or name another such bull under `bulls` of the group")
    })
}

/// Animals of which nobody knows whom they are kin to.
fn kinship_unseen(
    group: &InputGroup<'_>,
    head: u32,
    here: &[(usize, &Unit<'_>)],
) -> Option<Finding> {
    let id = quoted(group.id());
    if group.herd.is_none() {
        let what = format!(
            "{id} has no herd file, so straws are split by head count and inbreeding is not checked"
        );
        return Some(Finding::note(Code::CountsOnly, what).at(group.place()));
    }
    let animals = here.iter().filter_map(|(_, u)| u.animal);
    let unknown = animals
        .filter(|a| a.sire.is_none() && a.dam.is_none())
        .count();
    (unknown > 0).then(|| {
        let what = format!(
            "{unknown} of {head} animals of {id} have neither sire nor dam in the herd file: inbreeding cannot be checked"
        );
        Finding::note(Code::ParentsUnknown, what).at(group.place())
    })
}

/// Scores that nothing is done with.
fn unused(input: &Input<'_>, choice: &Choice<'_>, said: &mut Vec<Finding>) {
    let all = 0..input.groups.len();
    let mut files: Vec<(&Scores, Vec<usize>)> = Vec::new();
    files.extend(input.scores.map(|s| (s, all.clone().collect())));
    files.extend(all.filter_map(|n| Some((input.groups[n].scores?, vec![n]))));
    for (file, groups) in files {
        let mut group_of = BTreeMap::new();
        for n in groups {
            let herd = input.groups[n].herd;
            let ids = herd.into_iter().flat_map(|h| {
                let planned = h.animals.iter().map(|a| &a.id);
                planned.chain(&h.waiting)
            });
            group_of.extend(ids.map(|id| (same_id(id), n)));
        }
        said.extend(strangers(file, &group_of));
        said.extend(outside(input, choice, file, &group_of));
    }
}

fn at(file: &Scores, spot: Spot) -> Place {
    spot.in_file(&file.file, "animal")
}

/// Scores of animals that are in no herd.
fn strangers(file: &Scores, group_of: &BTreeMap<String, usize>) -> Option<Finding> {
    let strangers = file.animals.iter();
    let strangers: Vec<_> = strangers
        .filter(|(key, _)| !group_of.contains_key(*key))
        .map(|(_, s)| s)
        .collect();
    let first = strangers.iter().min_by_key(|s| s.spot)?;
    let names: Vec<&str> = strangers.iter().map(|s| s.id.as_str()).collect();
    let what = format!(
        "scores for {} that {} in no herd they could be used for: {}",
        match names.len() {
            1 => "an animal".to_owned(),
            n => format!("{n} animals"),
        },
        if names.len() == 1 { "is" } else { "are" },
        named(&names)
    );
    let finding = Finding::warning(Code::ScoreUnused, what)
        .at(at(file, first.spot))
        .expected("animals of the herd files, by the same id")
        .hint("correct the ids, or take the rows out");
    Some(finding)
}

/// Scores of bulls that the animal's group may not use.
fn outside(
    input: &Input<'_>,
    choice: &Choice<'_>,
    file: &Scores,
    group_of: &BTreeMap<String, usize>,
) -> Option<Finding> {
    let mut barred: Vec<(Spot, &str, usize)> = Vec::new();
    for (key, scored) in &file.animals {
        let Some(n) = group_of.get(key) else { continue };
        let bulls = scored.by_bull.iter().enumerate();
        let outside = bulls
            .filter(|(b, s)| s.is_some() && !input.groups[*n].facts.bulls.contains(b))
            .map(|(b, _)| (scored.spot, scored.id.as_str(), b));
        barred.extend(outside);
    }
    let (spot, animal, bull) = barred.iter().min()?;
    let more = match barred.len() - 1 {
        0 => String::new(),
        n => format!(", and {n} more such"),
    };
    let id = quoted(choice.season.bulls[*bull].id.as_str());
    let animal = quoted(animal);
    let what = format!("a score of {id} for {animal}, whose group may not use him{more}");
    let finding = Finding::note(Code::ScoreUnused, what)
        .at(at(file, *spot))
        .expected("scores of bulls under the group's `bulls`")
        .hint("such scores are passed over; add the bull to the group if he may be used");
    Some(finding)
}
