//! The matings as told: where each straw sits, why an animal has not her first choice, what is
//! short. Reasons are plain counting, never the solver's.

use super::assign::{Found, Unit};
use super::choice::{Bar, Choice};
use super::{BullTotals, Count, FORMAT, GroupMatings, Input, Mating, Matings, Straw, Verdict};
use crate::error::{Code, Finding, quoted, sort_findings};
use crate::plan::Remark;
use crate::protocol::Class;
use crate::units::Straws;

/// Animals that are named in a finding.
const NAMED: usize = 8;

/// Straws of each store in the order in which they are taken: place by place as in the file.
struct Rack<'a> {
    choice: &'a Choice<'a>,
    /// Place and straws taken from it, for each store.
    at: Vec<(usize, u32)>,
}

impl Rack<'_> {
    fn take(&mut self, store: usize, head: u32) -> Option<Straw> {
        let kind = self.choice.stores[store];
        let bull = &self.choice.season.bulls[kind.bull];
        let (place, taken) = &mut self.at[store];
        let mut last = None;
        for _ in 0..head {
            while bull.places.get(*place)?.straws.0 <= *taken {
                *place += 1;
                *taken = 0;
            }
            *taken += 1;
            last = bull.places.get(*place);
        }
        last.map(|p| Straw {
            bull: bull.id.as_str().to_owned(),
            sexed: kind.sexed,
            tank: p.tank.clone(),
            canister: p.canister,
            cane: p.cane.clone(),
        })
    }
}

/// What is counted of each bull.
#[derive(Clone, Copy, Default)]
struct Wanted {
    head: u32,
    straws: u32,
}

#[allow(clippy::too_many_lines)] // One after the other, what is told of them.
pub(super) fn matings(
    input: &Input<'_>,
    choice: &Choice<'_>,
    found: &Found<'_>,
    mut said: Vec<Finding>,
) -> Matings {
    let wanted = wanted(input, choice, found);
    let mut rack = Rack {
        choice,
        at: vec![(0, 0); choice.stores.len()],
    };
    // First straws from the front of the rack, backups from what is behind them.
    let [first, backup] = [&found.first, &found.backup].map(|round| {
        let each = round.stores.iter();
        each.map(|taken| {
            let straws = taken.iter().map(|(store, head)| rack.take(*store, *head));
            straws.last().flatten()
        })
        .collect::<Vec<_>>()
    });
    let mut groups: Vec<GroupMatings> = input
        .groups
        .iter()
        .map(|g| GroupMatings {
            group: g.id.to_owned(),
            name: g.name.to_owned(),
            head: g.herd.map_or(g.head, |h| h.animals.len() as u32),
            herd_file: g.herd.map(|h| h.file.clone()),
            first_choice: 0,
            animals: Vec::new(),
            by_bull: counts(choice, found, g.id, input),
        })
        .collect();
    for (n, unit) in found.units.iter().enumerate() {
        let group = &mut groups[unit.group];
        let party = &input.groups[unit.group];
        let Some(animal) = unit.animal else {
            let best = choice.first(party, None);
            let of = found.first.stores[n].iter();
            let bull = |store: &usize| choice.stores[*store].bull;
            group.first_choice = of
                .filter(|(s, _)| best.is_some_and(|(_, b)| choice.score(party, None, bull(s)) == b))
                .map(|(_, head)| head)
                .sum();
            continue;
        };
        let best = choice.first(party, Some(animal));
        let straw = first[n].clone();
        let bull = found.first.stores[n]
            .first()
            .map(|(s, _)| choice.stores[*s].bull);
        let score = bull.map(|b| choice.score(party, Some(animal), b));
        let has = score.is_some() && score == best.map(|(_, s)| s);
        let name = |b: usize| choice.season.bulls[b].id.as_str().to_owned();
        group.first_choice += u32::from(has);
        group.animals.push(Mating {
            animal: animal.id.clone(),
            first_choice: best.map(|(b, _)| name(b)),
            has_first_choice: has,
            given: found.given[n].first.map(name),
            straw,
            score: score.map(|s| s as f64 / 100.0),
            backup_given: found.given[n].backup.map(name),
            backup: backup[n].clone(),
            why: why(input, choice, found, n, &wanted, has),
        });
    }
    let bulls: Vec<BullTotals> = choice
        .stores
        .iter()
        .enumerate()
        .map(|(j, s)| {
            let taken = |stores: &[Vec<(usize, u32)>]| -> u32 {
                let all = stores.iter().flatten();
                all.filter(|(n, _)| *n == j).map(|(_, head)| head).sum()
            };
            BullTotals {
                bull: choice.season.bulls[s.bull].id.as_str().to_owned(),
                sexed: s.sexed,
                straws: s.straws,
                wanted_first: wanted[s.bull].head,
                given: taken(&found.first.stores),
                backup: taken(&found.backup.stores),
                left: found.backup.left[j],
                price: found.first.prices[j].into(),
                backup_price: found.backup.prices[j].into(),
            }
        })
        .collect();
    findings(input, choice, found, &groups, &mut said);
    sort_findings(&mut said);
    let mut verdict = Verdict {
        head: groups.iter().map(|g| g.head).sum(),
        with_bull: bulls.iter().map(|b| b.given).sum(),
        first_choice: groups.iter().map(|g| g.first_choice).sum(),
        with_backup: bulls.iter().map(|b| b.backup).sum(),
        words: Vec::new(),
    };
    verdict.words = words(&verdict, &bulls);
    Matings {
        format: FORMAT.to_owned(),
        season: choice.season.name.clone(),
        verdict,
        groups,
        bulls,
        proof: found.first.proof,
        backup_proof: found.backup.proof,
        findings: said.iter().map(Remark::from).collect(),
    }
}

/// Head for whom each bull is the first choice, and who may have him; and his straws.
fn wanted(input: &Input<'_>, choice: &Choice<'_>, found: &Found<'_>) -> Vec<Wanted> {
    let mut all = vec![Wanted::default(); choice.season.bulls.len()];
    for s in &choice.stores {
        all[s.bull].straws += s.straws;
    }
    for (unit, given) in found.units.iter().zip(&found.given) {
        let group = &input.groups[unit.group];
        let bull = given.first.or_else(|| {
            let (bull, _) = choice.first(group, unit.animal)?;
            bar(choice, group, unit, bull).is_none().then_some(bull)
        });
        if let Some(bull) = bull {
            all[bull].head += unit.head;
        }
    }
    all
}

fn bar(choice: &Choice<'_>, group: &super::Party<'_>, unit: &Unit<'_>, bull: usize) -> Option<Bar> {
    match unit.animal {
        Some(animal) => choice.bars(group, animal, bull).into_iter().next(),
        None => choice
            .not_for_heifers(group.class, bull)
            .then_some(Bar::NotForHeifers),
    }
}

fn counts(choice: &Choice<'_>, found: &Found<'_>, id: &str, input: &Input<'_>) -> Vec<Count> {
    let sum = |stores: &[Vec<(usize, u32)>], store: usize| -> u32 {
        let here = found.units.iter().zip(stores);
        here.filter(|(u, _)| input.groups[u.group].id == id)
            .flat_map(|(_, taken)| taken)
            .filter(|(n, _)| *n == store)
            .map(|(_, head)| head)
            .sum()
    };
    let each = choice.stores.iter().enumerate();
    each.map(|(n, s)| Count {
        bull: choice.season.bulls[s.bull].id.as_str().to_owned(),
        sexed: s.sexed,
        head: sum(&found.first.stores, n),
        backup_head: sum(&found.backup.stores, n),
    })
    .filter(|c| c.head + c.backup_head > 0)
    .collect()
}

fn why(
    input: &Input<'_>,
    choice: &Choice<'_>,
    found: &Found<'_>,
    n: usize,
    wanted: &[Wanted],
    has: bool,
) -> String {
    let unit = &found.units[n];
    let (Some(animal), group) = (unit.animal, &input.groups[unit.group]) else {
        return String::new();
    };
    let name = |b: usize| choice.season.bulls[b].id.as_str();
    let got = found.first.stores[n].first();
    if let Some(bull) = found.given[n].first {
        if got.is_none() {
            return format!("{} is given, and no straw of his is left", name(bull));
        }
        let bars: Vec<_> = choice
            .bars(group, animal, bull)
            .iter()
            .map(|b| b.words())
            .collect();
        return if bars.is_empty() {
            "as given".to_owned()
        } else {
            format!("as given, though he {}", bars.join(" and "))
        };
    }
    if has {
        return String::new();
    }
    let Some((bull, _)) = choice.first(group, Some(animal)) else {
        return String::new();
    };
    let reason = match bar(choice, group, unit, bull) {
        Some(bar) => format!("{}, the first choice, {}", name(bull), bar.words()),
        None => short(name(bull), wanted[bull]),
    };
    if got.is_some() {
        return reason;
    }
    // Without any: what speaks against each of the others.
    let others = group.bulls.iter().filter(|b| **b != bull);
    let each: Vec<String> = others
        .map(|b| match choice.bars(group, animal, *b).first() {
            Some(bar) if *bar != Bar::NotForHeifers => format!("{} {}", name(*b), bar.words()),
            _ => format!("{} has no straw left", name(*b)),
        })
        .collect();
    std::iter::once(reason)
        .chain(each)
        .collect::<Vec<_>>()
        .join("; ")
}

fn short(name: &str, wanted: Wanted) -> String {
    if wanted.straws == 0 {
        return format!("{name}, the first choice, has no straws");
    }
    match wanted.head.checked_sub(wanted.straws) {
        Some(less) if less > 0 => format!("{name}, the first choice, is short by {}", Straws(less)),
        _ => format!(
            "{name}, the first choice: his {} do more for others, whose first choice is short",
            Straws(wanted.straws)
        ),
    }
}

fn words(v: &Verdict, bulls: &[BullTotals]) -> Vec<String> {
    let mut words = Vec::new();
    let all = if v.with_bull == v.head {
        format!("Each of {} animals gets a bull", v.head)
    } else {
        format!("{} of {} animals get a bull", v.with_bull, v.head)
    };
    words.push(format!(
        "{all}; {} get{} the first choice.",
        v.first_choice,
        if v.first_choice == 1 { "s" } else { "" }
    ));
    if v.with_bull < v.head {
        let less = v.head - v.with_bull;
        words.push(format!(
            "{less} get{} none: see why below.",
            if less == 1 { "s" } else { "" }
        ));
    }
    let short: Vec<String> = bulls
        .iter()
        .filter(|b| b.wanted_first > b.straws)
        .map(|b| format!("{} by {}", b.bull, Straws(b.wanted_first - b.straws)))
        .collect();
    if !short.is_empty() {
        words.push(format!("Short as first choice: {}.", short.join(", ")));
    }
    words.push(format!(
        "{} have a straw of a backup bull set aside from what is left.",
        if v.with_backup == v.head {
            "All".to_owned()
        } else {
            format!("{} of {}", v.with_backup, v.head)
        }
    ));
    words
}

fn named(names: &[&str]) -> String {
    let some: Vec<String> = names.iter().take(NAMED).map(|n| quoted(n)).collect();
    let rest = names.len().saturating_sub(NAMED);
    if rest == 0 {
        some.join(", ")
    } else {
        format!("{} and {rest} more", some.join(", "))
    }
}

fn findings(
    input: &Input<'_>,
    choice: &Choice<'_>,
    found: &Found<'_>,
    groups: &[GroupMatings],
    said: &mut Vec<Finding>,
) {
    for (n, (group, told)) in input.groups.iter().zip(groups).enumerate() {
        let id = quoted(group.id);
        let here = || {
            let all = found.units.iter().enumerate();
            all.filter(move |(_, u)| u.group == n)
        };
        let got = |k: &usize| -> u32 { found.first.stores[*k].iter().map(|(_, h)| h).sum() };
        let none: u32 = told.head - here().map(|(k, _)| got(&k)).sum::<u32>();
        let names: Vec<&str> = here()
            .filter(|(k, u)| got(k) < u.head && found.given[*k].first.is_none())
            .filter_map(|(_, u)| Some(u.animal?.id.as_str()))
            .collect();
        let lost: Vec<&str> = here()
            .filter(|(k, u)| got(k) < u.head && found.given[*k].first.is_some())
            .filter_map(|(_, u)| Some(u.animal?.id.as_str()))
            .collect();
        let proposed = none - lost.len() as u32;
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
                "{} of {id} are given a bull of whom no straw is left: {}",
                lost.len(),
                named(&lost)
            );
            said.push(
                Finding::warning(Code::MatingStraws, what)
                    .at(group.place.clone())
                    .expected("no more matings given with a bull than he has straws")
                    .hint("name another bull, or leave the cell blank to have one proposed"),
            );
        }
        heifers(choice, found, n, group, said);
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

fn heifers(
    choice: &Choice<'_>,
    found: &Found<'_>,
    n: usize,
    group: &super::Party<'_>,
    said: &mut Vec<Finding>,
) {
    let mut head = 0;
    let mut names = Vec::new();
    for (k, u) in found.units.iter().enumerate().filter(|(_, u)| u.group == n) {
        let class = u.animal.map_or(group.class, |a| a.class);
        // What is given has a finding of its own.
        if class != Class::Heifer || found.given[k].first.is_some() {
            continue;
        }
        let other = found.first.stores[k].iter();
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
    use crate::herd::{same_id, scores::Scores};
    let all = 0..input.groups.len();
    let mut files: Vec<(&Scores, Vec<usize>)> = Vec::new();
    files.extend(input.scores.map(|s| (s, all.clone().collect())));
    files.extend(all.filter_map(|n| Some((input.groups[n].scores?, vec![n]))));
    for (file, groups) in files {
        let mut group_of = std::collections::BTreeMap::new();
        for n in groups {
            let herd = input.groups[n].herd;
            let animals = herd.into_iter().flat_map(|h| &h.animals);
            group_of.extend(animals.map(|a| (same_id(&a.id), n)));
        }
        let at = |spot: crate::herd::Spot| crate::error::Place {
            file: file.file.clone(),
            line: spot.line,
            column: spot.column,
            field: "animal".to_owned(),
        };
        let strangers: Vec<_> = file
            .animals
            .iter()
            .filter(|(key, _)| !group_of.contains_key(*key))
            .map(|(_, s)| s)
            .collect();
        if let Some(first) = strangers.iter().min_by_key(|s| s.spot) {
            let names: Vec<&str> = strangers.iter().map(|s| s.id.as_str()).collect();
            let what = format!(
                "scores for {} that {} in no herd they could be used for: {}",
                if names.len() == 1 {
                    "an animal".to_owned()
                } else {
                    format!("{} animals", names.len())
                },
                if names.len() == 1 { "is" } else { "are" },
                named(&names)
            );
            said.push(
                Finding::warning(Code::ScoreUnused, what)
                    .at(at(first.spot))
                    .expected("animals of the herd files, by the same id")
                    .hint("correct the ids, or take the rows out"),
            );
        }
        let mut barred: Vec<(crate::herd::Spot, &str, usize)> = Vec::new();
        for (key, scored) in &file.animals {
            let Some(n) = group_of.get(key) else { continue };
            let bulls = scored.by_bull.iter().enumerate();
            let outside = bulls
                .filter(|(b, s)| s.is_some() && !input.groups[*n].bulls.contains(b))
                .map(|(b, _)| (scored.spot, scored.id.as_str(), b));
            barred.extend(outside);
        }
        if let Some((spot, animal, bull)) = barred.iter().min() {
            let more = match barred.len() - 1 {
                0 => String::new(),
                n => format!(", and {n} more such"),
            };
            let what = format!(
                "a score of {} for {}, whose group may not use him{more}",
                quoted(choice.season.bulls[*bull].id.as_str()),
                quoted(animal)
            );
            said.push(
                Finding::note(Code::ScoreUnused, what)
                    .at(at(*spot))
                    .expected("scores of bulls under the group's `bulls`")
                    .hint(
                        "such scores are passed over; add the bull to the group if he may be used",
                    ),
            );
        }
    }
}
