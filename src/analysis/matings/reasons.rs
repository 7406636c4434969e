//! Why an animal has not her first choice, and what is short: plain counting, never the solver's.

use super::Input;
use super::assign::{Assignment, Unit};
use super::choice::{Bar, Choice};
use crate::base::units::Straws;

/// What is wanted of the bulls, as first choices.
pub(super) struct Wanted {
    /// Head of each store: marked animals count at the sexed straws of a bull as far as these go, and
    /// then, like all others, at his conventional ones.
    pub(super) of_store: Vec<u32>,
    /// Straws of each bull, and how many are lacking.
    of_bull: Vec<(u32, u32)>,
}

/// Head for whom each bull is the first choice, and who may have him.
pub(super) fn wanted(input: &Input<'_>, choice: &Choice<'_>, assigned: &Assignment<'_>) -> Wanted {
    let bulls = choice.season.bulls.len();
    // Those not marked, and those marked.
    let mut heads = vec![[0; 2]; bulls];
    for (unit, given) in assigned.units.iter().zip(&assigned.given) {
        let group = &input.groups[unit.group];
        let bull = given.first.or_else(|| {
            let (bull, _) = choice.first(group, unit.animal)?;
            bar(choice, group, unit, bull).is_none().then_some(bull)
        });
        if let Some(bull) = bull {
            let marked = unit.animal.is_some_and(|a| a.sexed);
            heads[bull][usize::from(marked)] += unit.head;
        }
    }
    let mut of_store = vec![0; choice.stores.len()];
    for (bull, [others, marked]) in heads.into_iter().enumerate() {
        match (choice.store(bull, false), choice.store(bull, true)) {
            (Some(conventional), Some(sexed)) => {
                of_store[sexed] = marked.min(choice.stores[sexed].straws);
                of_store[conventional] = others + marked - of_store[sexed];
            }
            (one, other) => {
                if let Some(store) = one.or(other) {
                    of_store[store] = others + marked;
                }
            }
        }
    }
    let mut of_bull = vec![(0, 0); bulls];
    for (s, head) in choice.stores.iter().zip(&of_store) {
        of_bull[s.bull].0 += s.straws;
        of_bull[s.bull].1 += head.saturating_sub(s.straws);
    }
    Wanted { of_store, of_bull }
}

fn bar(
    choice: &Choice<'_>,
    group: &super::InputGroup<'_>,
    unit: &Unit<'_>,
    bull: usize,
) -> Option<Bar> {
    match unit.animal {
        Some(animal) => choice.bars(group, animal, bull).into_iter().next(),
        None => choice
            .not_for_heifers(group.class, bull)
            .then_some(Bar::NotForHeifers),
    }
}

pub(super) fn why(
    input: &Input<'_>,
    choice: &Choice<'_>,
    assigned: &Assignment<'_>,
    n: usize,
    wanted: &Wanted,
    has: bool,
) -> String {
    let unit = &assigned.units[n];
    let (Some(animal), group) = (unit.animal, &input.groups[unit.group]) else {
        return String::new();
    };
    let name = |b: usize| choice.season.bulls[b].id.as_str();
    let got = assigned.first.stores[n].first();
    if let Some(bull) = assigned.given[n].first {
        let has = got.map(|(store, _)| choice.stores[*store].bull);
        if has != Some(bull) {
            let next = has.map_or_else(String::new, |b| format!(": {} is the next best", name(b)));
            return format!(
                "{} is given, and no straw of his is left for her{next}",
                name(bull)
            );
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
        None => short(name(bull), wanted.of_bull[bull]),
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

fn short(name: &str, (straws, lacking): (u32, u32)) -> String {
    match (straws, lacking) {
        (0, _) => format!("{name}, the first choice, has no straws"),
        (_, 0) => format!(
            "{name}, the first choice: his {} do more for others, whose first choice is short",
            Straws(straws)
        ),
        _ => format!("{name}, the first choice, is short by {}", Straws(lacking)),
    }
}
