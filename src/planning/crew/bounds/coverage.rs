//! How many animals can be bred, by plain counting: at each slot those go whose last slot comes
//! first, which covers as many as can be covered.

use std::cmp::Reverse;
use std::collections::{BTreeMap, BinaryHeap};

use crate::planning::crew::sessions::unstaffed::{Lot, Ticks};

/// How many of each lot can be bred with so many places a slot, in order of the slots.
fn coverage(lots: &[Lot], places: impl IntoIterator<Item = (i64, u32)>) -> Vec<u32> {
    let mut order: Vec<usize> = (0..lots.len()).collect();
    order.sort_by_key(|l| lots[*l].first);
    let mut next = order.into_iter().peekable();
    let mut waiting: BinaryHeap<Reverse<(i64, usize)>> = BinaryHeap::new();
    let mut bred = vec![0; lots.len()];
    for (slot, cap) in places {
        while let Some(l) = next.next_if(|l| lots[*l].first <= slot) {
            waiting.push(Reverse((lots[l].last, l)));
        }
        let mut left = cap;
        while left > 0 {
            let Some(Reverse((last, l))) = waiting.peek().copied() else {
                break;
            };
            if last >= slot {
                let take = left.min(lots[l].head - bred[l]);
                bred[l] += take;
                left -= take;
            }
            if last < slot || bred[l] == lots[l].head {
                waiting.pop();
            }
        }
    }
    bred
}

pub(crate) fn covered(lots: &[Lot], places: &BTreeMap<i64, u32>) -> u32 {
    covered_at(lots, places.iter().map(|(slot, places)| (*slot, *places)))
}

/// The same, with places in order of the slots.
pub(crate) fn covered_at(lots: &[Lot], places: impl IntoIterator<Item = (i64, u32)>) -> u32 {
    coverage(lots, places).iter().sum()
}

/// Places a slot: all who are there, the fastest first where boxes are fewer.
pub(crate) fn places<'a>(
    people: impl IntoIterator<Item = &'a Ticks>,
    boxes: u32,
) -> BTreeMap<i64, u32> {
    let mut by_slot: BTreeMap<i64, Vec<u32>> = BTreeMap::new();
    for ticks in people {
        for (slot, cap) in ticks.caps() {
            by_slot.entry(slot).or_default().push(cap);
        }
    }
    best_at(by_slot, boxes)
}

/// Places a slot of so many boxes, from what each person could do in it: the fastest stand there.
pub(crate) fn best_at(by_slot: BTreeMap<i64, Vec<u32>>, boxes: u32) -> BTreeMap<i64, u32> {
    by_slot
        .into_iter()
        .map(|(slot, mut caps)| {
            caps.sort_unstable_by(|a, b| b.cmp(a));
            (slot, caps.iter().take(boxes as usize).sum())
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn earliest_deadline_covers_most() {
        let places = [(0, 2), (1, 2), (2, 2)];
        // Four that must be done by slot 1 and two that may wait.
        let bred = coverage(&[Lot::within(0, 2, 2), Lot::within(0, 1, 4)], places);
        assert_eq!(bred, [2, 4]);
        // A lot whose hours hold no slot is never covered.
        assert_eq!(coverage(&[Lot::within(3, 2, 5)], places), [0]);
        assert_eq!(coverage(&[Lot::within(0, 0, 5)], places), [2]);
    }
}
