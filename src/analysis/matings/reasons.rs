//! Why an animal has not her first choice, and what is short: plain counting, never the solver's.

use super::assign::Assignment;
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
pub(super) fn wanted(choice: &Choice<'_>, assigned: &Assignment<'_>) -> Wanted {
    let bulls = choice.season.bulls.len();
    // Those not marked, and those marked.
    let mut heads = vec![[0; 2]; bulls];
    for (unit, given) in assigned.units.iter().zip(&assigned.given) {
        let bull = given.first.or_else(|| {
            let (bull, _) = choice.first(unit)?;
            choice.bars(unit, bull).is_empty().then_some(bull)
        });
        if let Some(bull) = bull {
            heads[bull][usize::from(unit.marked())] += unit.head;
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

pub(super) fn why(
    choice: &Choice<'_>,
    assigned: &Assignment<'_>,
    n: usize,
    wanted: &Wanted,
    has: bool,
) -> String {
    let unit = &assigned.units[n];
    if unit.animal.is_none() {
        return String::new();
    }
    let name = |b: usize| choice.season.bulls[b].id.as_str();
    let got = assigned.first.stores[n].first();
    if let Some(bull) = assigned.given[n].first {
        let has = got.map(|(store, _)| choice.stores[*store].bull);
        if has != Some(bull) {
            let next = has.map_or_else(String::new, |b| format!(": {} is the next best", name(b)));
            return format!(
                "your herd file names {}, but no straw of his is left for her{next}",
                name(bull)
            );
        }
        let bars: Vec<_> = choice.bars(unit, bull).iter().map(|b| b.words()).collect();
        return if bars.is_empty() {
            "bull named in your herd file".to_owned()
        } else {
            let bars = bars.join(" and ");
            format!("bull named in your herd file, though he {bars}")
        };
    }
    if has {
        return String::new();
    }
    let Some((bull, _)) = choice.first(unit) else {
        return String::new();
    };
    let reason = match choice.bars(unit, bull).first() {
        Some(bar) => format!("{}, the first choice, {}", name(bull), bar.words()),
        None => short(name(bull), wanted.of_bull[bull]),
    };
    if got.is_some() {
        return reason;
    }
    // Without any: what speaks against each of the others.
    let others = unit.group.facts.bulls.iter().filter(|b| **b != bull);
    let each: Vec<String> = others
        .map(|b| match choice.bars(unit, *b).first() {
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
            "{name}, the first choice: his {} do more for animals whose own first choice is short of straws",
            Straws(straws)
        ),
        _ => format!("{name}, the first choice, is short by {}", Straws(lacking)),
    }
}
