//! The order of animals at the chute: her pen, and her number in it, held against the group's pens.

use std::collections::BTreeMap;

use super::member::{Member, place};
use super::{Animal, Column};
use crate::base::error::{Code, Finding, quoted};
use crate::base::sheet::Findings;
use crate::base::units::{Head, count};

/// The animals of each pen in their order, by their place in the herd, from pen and number of each;
/// none unless every animal has a number, and every number of every pen an animal. In a group of one
/// pen that need not be named.
#[must_use]
pub fn of_pens(
    animals: impl IntoIterator<Item = (Option<u32>, Option<u32>)>,
    pens: usize,
) -> Option<Vec<Vec<usize>>> {
    let mut by_pen: Vec<Vec<(u32, usize)>> = vec![Vec::new(); pens];
    for (n, (pen, at)) in animals.into_iter().enumerate() {
        let pen = pen.or((pens == 1).then_some(1))?;
        let pen = by_pen.get_mut((pen as usize).checked_sub(1)?)?;
        pen.push((at?, n));
    }
    let ordered = |mut pen: Vec<(u32, usize)>| {
        pen.sort_unstable();
        let each = pen.iter().zip(1..);
        let whole = each.fold(true, |so_far, ((at, _), n)| so_far && *at == n);
        whole.then(|| pen.into_iter().map(|(_, n)| n).collect())
    };
    by_pen.into_iter().map(ordered).collect()
}

/// Pens that there are not, places taken twice, and an order that is not complete.
pub(super) fn check(m: &Member<'_>, found: &mut Findings) {
    let pens = m.pens.len() as u32;
    let mut faulty = false;
    let mut taken: BTreeMap<(u32, u32), &str> = BTreeMap::new();
    for a in &m.herd.animals {
        if let Some(pen) = a.pen.filter(|p| *p > pens) {
            faulty = true;
            let (id, group) = (quoted(&a.id), quoted(m.group));
            let what = format!("{id} is put in pen {pen}, and {group} has {pens}");
            let finding = Finding::error(Code::ChuteOrder, what)
                .expected(format!("a pen from 1 to {pens}"))
                .hint("correct the cell, or `pens` or `pen_head` of the group");
            found.add(finding, || place(m, a.order_spots[0], Column::Pen));
            continue;
        }
        let (Some(at), Some(pen)) = (a.chute_order, a.pen.or((pens == 1).then_some(1))) else {
            continue;
        };
        if let Some(other) = taken.insert((pen, at), &a.id) {
            faulty = true;
            let (other, id) = (quoted(other), quoted(&a.id));
            let what = format!("{other} and {id} are both number {at} of pen {pen}");
            let finding = Finding::error(Code::ChuteOrder, what)
                .expected("each number once in a pen")
                .hint("correct one of the two, or leave both blank");
            found.add(finding, || place(m, a.order_spots[1], Column::ChuteOrder));
        }
    }
    let numbered = |a: &&Animal| a.chute_order.is_some();
    if faulty || !m.herd.animals.iter().any(|a| numbered(&a)) {
        return;
    }
    let places = m.herd.animals.iter().map(|a| (a.pen, a.chute_order));
    let whole = of_pens(places, m.pens.len());
    let whole = whole.as_ref().is_some_and(|pens| {
        let heads = pens.iter().map(|p| p.len() as u32);
        heads.eq(m.pens.iter().map(|p| p.0))
    });
    if !whole {
        let what = format!(
            "the chute order of {} is not complete: {}",
            quoted(m.group),
            lacking(&m.herd.animals, m.pens)
        );
        let finding = Finding::warning(Code::ChuteOrderPart, what)
                .expected("in each pen the numbers from 1 to its head, each once, and a pen for each animal where the group has several")
                .hint("fill `pen` and `chute_order` for all: until then no animal is named at the thaw bath");
        found.add(finding, || m.place.clone());
    }
}

/// What keeps an order from being whole, the plainest first.
fn lacking(animals: &[Animal], pens: &[Head]) -> String {
    let all = animals.len();
    let with = animals.iter().filter(|a| a.chute_order.is_some()).count();
    if with < all {
        return format!("{with} of {all} animals have a number");
    }
    let in_pen = animals.iter().filter(|a| a.pen.is_some()).count();
    if pens.len() > 1 && in_pen < all {
        return format!("{in_pen} of {all} animals have a pen");
    }
    for (n, head) in (1..).zip(pens) {
        let mine = animals.iter().filter(|a| a.pen.is_none_or(|p| p == n));
        let mut numbers: Vec<u32> = mine.filter_map(|a| a.chute_order).collect();
        numbers.sort_unstable();
        let there = numbers.len() as u32;
        if there != head.0 {
            return format!(
                "pen {n} has {} in the file, and {} head in the season",
                count(there, "animal", "animals"),
                head.0
            );
        }
        if let Some((free, next)) = (1..).zip(&numbers).find(|(k, at)| k != *at) {
            return format!("in pen {n} no animal is number {free}, but one is number {next}");
        }
    }
    "its numbers do not follow each other".to_owned()
}
