//! The matings as an answer: each animal's bulls, what is left of each bull, the verdict.

use std::collections::BTreeMap;

use super::assign::Assignment;
use super::choice::Choice;
use super::reasons::{Wanted, wanted, why};
use super::remarks::findings;
use super::{BullTotals, Count, FORMAT, GroupMatings, Input, Mating, Matings, Straw, Verdict};
use crate::base::error::{Finding, sort_findings};
use crate::base::units::{Straws, count};
use crate::planning::plan::Remark;
use crate::trade::herd::Animal;

/// Bulls that are named as short.
const SHORT_NAMED: usize = 5;

pub(super) fn matings(
    input: &Input<'_>,
    choice: &Choice<'_>,
    assigned: &Assignment<'_>,
    mut said: Vec<Finding>,
) -> Matings {
    let wanted = wanted(choice, assigned);
    let groups = groups(input, choice, assigned, &wanted);
    let bulls = bulls(choice, assigned, &wanted);
    findings(input, choice, assigned, &mut said);
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
        proof: assigned.first.proof,
        backup_proof: assigned.backup.proof,
        findings: said.iter().map(Remark::from).collect(),
    }
}

fn groups(
    input: &Input<'_>,
    choice: &Choice<'_>,
    assigned: &Assignment<'_>,
    wanted: &Wanted,
) -> Vec<GroupMatings> {
    let counts = counts(choice, assigned, input.groups.len());
    let groups = input.groups.iter();
    let groups = groups.zip(counts).map(|(g, by_bull)| GroupMatings {
        group: g.id().to_owned(),
        name: g.facts.name.clone(),
        head: g.herd.map_or(g.facts.head().0, |h| h.animals.len() as u32),
        herd_file: g.herd.map(|h| h.file.clone()),
        first_choice: 0,
        animals: Vec::new(),
        by_bull,
    });
    let mut groups: Vec<GroupMatings> = groups.collect();
    for (n, unit) in assigned.units.iter().enumerate() {
        let group = &mut groups[unit.nth];
        let best = choice.first(unit).map(|(_, score)| score);
        let score = |store: usize| choice.score(unit, choice.stores[store].bull);
        let with_first = assigned.first.stores[n].iter();
        let with_first = with_first.filter(|(s, _)| Some(score(*s)) == best);
        group.first_choice += with_first.map(|(_, head)| head).sum::<u32>();
        if let Some(animal) = unit.animal {
            let mating = mating(choice, assigned, n, wanted, animal);
            group.animals.push(mating);
        }
    }
    groups
}

/// A straw whose place is still to be named.
fn straw(choice: &Choice<'_>, taken: &[(usize, u32)]) -> Option<Straw> {
    let (store, _) = taken.first()?;
    let store = choice.stores[*store];
    Some(Straw {
        bull: choice.season.bulls[store.bull].id.as_str().to_owned(),
        sexed: store.sexed,
        tank: None,
        canister: None,
        cane: None,
        goblet: None,
    })
}

/// One animal's, by her place among the units.
fn mating(
    choice: &Choice<'_>,
    assigned: &Assignment<'_>,
    n: usize,
    wanted: &Wanted,
    animal: &Animal,
) -> Mating {
    let unit = &assigned.units[n];
    let best = choice.first(unit);
    let bull = assigned.first.stores[n].first();
    let score = bull.map(|(s, _)| choice.score(unit, choice.stores[*s].bull));
    let has = score.is_some() && score == best.map(|(_, s)| s);
    let name = |b: usize| choice.season.bulls[b].id.as_str().to_owned();
    Mating {
        animal: animal.id.clone(),
        pen: animal.pen,
        chute_order: animal.chute_order,
        first_choice: best.map(|(b, _)| name(b)),
        has_first_choice: has,
        given: assigned.given[n].first.map(name),
        straw: straw(choice, &assigned.first.stores[n]),
        score: score.map(|s| s as f64 / 100.0),
        backup_given: assigned.given[n].backup.map(name),
        backup: straw(choice, &assigned.backup.stores[n]),
        why: why(choice, assigned, n, wanted, has),
    }
}

fn bulls(choice: &Choice<'_>, assigned: &Assignment<'_>, wanted: &Wanted) -> Vec<BullTotals> {
    let each = choice.stores.iter().enumerate();
    each.map(|(j, s)| {
        let taken = |stores: &[Vec<(usize, u32)>]| -> u32 {
            let all = stores.iter().flatten();
            all.filter(|(n, _)| *n == j).map(|(_, head)| head).sum()
        };
        BullTotals {
            bull: choice.season.bulls[s.bull].id.as_str().to_owned(),
            sexed: s.sexed,
            straws: s.straws,
            wanted_first: wanted.of_store[j],
            given: taken(&assigned.first.stores),
            backup: taken(&assigned.backup.stores),
            left: assigned.backup.left[j],
            price: assigned.first.prices[j].0,
            backup_price: assigned.backup.prices[j].0,
        }
    })
    .collect()
}

fn counts(choice: &Choice<'_>, assigned: &Assignment<'_>, groups: usize) -> Vec<Vec<Count>> {
    let mut heads = vec![BTreeMap::<usize, [u32; 2]>::new(); groups];
    for (n, unit) in assigned.units.iter().enumerate() {
        for (round, of) in [&assigned.first, &assigned.backup].into_iter().enumerate() {
            for (store, head) in &of.stores[n] {
                heads[unit.nth].entry(*store).or_default()[round] += head;
            }
        }
    }
    let count = |(n, [head, backup_head]): (usize, [u32; 2])| Count {
        bull: choice.season.bulls[choice.stores[n].bull]
            .id
            .as_str()
            .to_owned(),
        sexed: choice.stores[n].sexed,
        head,
        backup_head,
    };
    let by_group = heads.into_iter();
    by_group
        .map(|h| h.into_iter().map(count).collect())
        .collect()
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
    words.extend(short(bulls));
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

/// The bulls that have too few straws for all first choices: those that lack most, and how many more there are.
fn short(bulls: &[BullTotals]) -> Option<String> {
    let lacking = bulls.iter();
    let mut lacking: Vec<(u32, &str)> = lacking
        .map(|b| (b.wanted_first.saturating_sub(b.straws), b.bull.as_str()))
        .filter(|(straws, _)| *straws > 0)
        .collect();
    if lacking.len() > SHORT_NAMED {
        lacking.sort_by_key(|(straws, _)| std::cmp::Reverse(*straws));
    }
    let (worst, rest) = lacking.split_at(lacking.len().min(SHORT_NAMED));
    let worst: Vec<String> = worst
        .iter()
        .map(|(straws, bull)| format!("{bull} is {} short", Straws(*straws)))
        .collect();
    let more = match rest.len() as u32 {
        0 => String::new(),
        n => format!(
            ", and {} {} short in all",
            count(n, "more bull is", "more bulls are"),
            Straws(rest.iter().map(|(straws, _)| straws).sum())
        ),
    };
    (!worst.is_empty()).then(|| {
        let worst = worst.join(", ");
        format!("Too few straws for all first choices: {worst}{more}.")
    })
}
