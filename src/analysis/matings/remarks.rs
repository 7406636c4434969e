//! What is to be remarked on in matings: animals without a bull, heifers with a bull that is not for
//! them, what cannot be seen, and scores that nothing is done with.

use std::collections::BTreeMap;

use super::assign::Assignment;
use super::choice::Choice;
use super::{GroupMatings, Input};
use crate::base::error::{Code, Finding, Place, quoted};
use crate::trade::herd::{Spot, same_id, scores::Scores};
use crate::trade::protocol::Class;

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

pub(super) fn findings(
    input: &Input<'_>,
    choice: &Choice<'_>,
    assigned: &Assignment<'_>,
    groups: &[GroupMatings],
    said: &mut Vec<Finding>,
) {
    for (n, (group, told)) in input.groups.iter().zip(groups).enumerate() {
        let id = quoted(group.id);
        let here = || {
            let all = assigned.units.iter().enumerate();
            all.filter(move |(_, u)| u.group == n)
        };
        let got = |k: &usize| -> u32 { assigned.first.stores[*k].iter().map(|(_, h)| h).sum() };
        let none: u32 = told.head - here().map(|(k, _)| got(&k)).sum::<u32>();
        let names: Vec<&str> = here()
            .filter(|(k, u)| got(k) < u.head && assigned.given[*k].first.is_none())
            .filter_map(|(_, u)| Some(u.animal?.id.as_str()))
            .collect();
        let lost: Vec<&str> = here()
            .filter(|(k, _)| assigned.given[*k].first.is_some() && !has_given(choice, assigned, *k))
            .filter_map(|(_, u)| Some(u.animal?.id.as_str()))
            .collect();
        let given_none =
            here().filter(|(k, u)| got(k) < u.head && assigned.given[*k].first.is_some());
        let proposed = none - given_none.count() as u32;
        if proposed > 0 {
            let who = if names.is_empty() {
                String::new()
            } else {
                format!(": {}", named(&names))
            };
            let what = format!(
                "{proposed} of {} animals of {id} get no bull{who}",
                told.head
            );
            said.push(
                Finding::warning(Code::NoBull, what)
                    .at(group.place.clone())
                    .expected("a straw for each animal of a bull that she may have")
                    .hint("buy straws, or name another bull under the group's `bulls`"),
            );
        }
        if !lost.is_empty() {
            let what = format!(
                "{} of {id} are given a bull of whom no straw is left for them: {}",
                lost.len(),
                named(&lost)
            );
            said.push(
                Finding::warning(Code::MatingStraws, what)
                    .at(group.place.clone())
                    .expected("no more matings given with a bull than he has straws")
                    .hint("they have the next best that is left, if any: name another bull, or leave the cell blank"),
            );
        }
        heifers(choice, assigned, n, group, said);
        if group.herd.is_none() {
            let what = format!(
                "{id} names no herd file: its bulls are given by number, and kinship is not seen"
            );
            said.push(Finding::note(Code::CountsOnly, what).at(group.place.clone()));
        }
        let unknown = here()
            .filter_map(|(_, u)| u.animal)
            .filter(|a| a.sire.is_none() && a.dam.is_none())
            .count();
        if unknown > 0 {
            let what = format!(
                "{unknown} of {} animals of {id} name neither sire nor dam: kinship with a bull cannot be seen",
                told.head
            );
            said.push(Finding::note(Code::ParentsUnknown, what).at(group.place.clone()));
        }
    }
    unused(input, choice, said);
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
    n: usize,
    group: &super::InputGroup<'_>,
    said: &mut Vec<Finding>,
) {
    let mut head = 0;
    let mut names = Vec::new();
    for (k, u) in assigned
        .units
        .iter()
        .enumerate()
        .filter(|(_, u)| u.group == n)
    {
        let class = u.animal.map_or(group.class, |a| a.class);
        // What is given has a finding of its own.
        if class != Class::Heifer || has_given(choice, assigned, k) {
            continue;
        }
        let other = assigned.first.stores[k].iter();
        let other: u32 = other
            .filter(|(s, _)| choice.not_for_heifers(class, choice.stores[*s].bull))
            .map(|(_, h)| h)
            .sum();
        head += other;
        if other > 0 {
            names.extend(u.animal.map(|a| a.id.as_str()));
        }
    }
    if head > 0 {
        let who = if names.is_empty() {
            String::new()
        } else {
            format!(": {}", named(&names))
        };
        said.push(
            Finding::warning(
                Code::HeiferBull,
                format!(
                    "{head} heifers of {} get a bull that is not marked for calving ease{who}",
                    quoted(group.id)
                ),
            )
            .at(group.place.clone())
            .expected("a calving-ease bull with a straw for each heifer")
            .hint("no such straw is left that they may have: buy some, or name another such bull under `bulls` of the group"),
        );
    }
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
            let animals = herd.into_iter().flat_map(|h| &h.animals);
            group_of.extend(animals.map(|a| (same_id(&a.id), n)));
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
            .filter(|(b, s)| s.is_some() && !input.groups[*n].bulls.contains(b))
            .map(|(b, _)| (scored.spot, scored.id.as_str(), b));
        barred.extend(outside);
    }
    let (spot, animal, bull) = barred.iter().min()?;
    let more = match barred.len() - 1 {
        0 => String::new(),
        n => format!(", and {n} more such"),
    };
    let what = format!(
        "a score of {} for {}, whose group may not use him{more}",
        quoted(choice.season.bulls[*bull].id.as_str()),
        quoted(animal)
    );
    let finding = Finding::note(Code::ScoreUnused, what)
        .at(at(file, *spot))
        .expected("scores of bulls under the group's `bulls`")
        .hint("such scores are passed over; add the bull to the group if he may be used");
    Some(finding)
}
