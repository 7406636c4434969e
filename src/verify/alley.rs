//! The alley and its boxes: who is in which, and who comes first.

use std::collections::BTreeMap;

use chrono::{DateTime, Utc};

use super::stays::{Seen, Stay};
use super::{CLOSE, Reading};

/// At no moment stand more animals in boxes than there are: each from entering until she is bred.
pub(super) fn boxes(r: &Reading<'_>, site: usize, here: &[&Stay<'_>], seen: &mut Seen) {
    let most = r.season.sites[site].breeding_boxes as usize;
    let cows = || here.iter().flat_map(|s| &s.cows);
    let mut enter: Vec<DateTime<Utc>> = cows().map(|c| c.enters + CLOSE).collect();
    let mut leave: Vec<DateTime<Utc>> = cows()
        .map(|c| (c.at - CLOSE).max(c.enters + CLOSE))
        .collect();
    enter.sort_unstable();
    leave.sort_unstable();
    let mut left = 0;
    for (n, at) in enter.into_iter().enumerate() {
        left += leave[left..].iter().take_while(|l| **l <= at).count();
        if n + 1 - left > most {
            let who = format!("the boxes of {}", r.season.sites[site].id);
            seen.wrong(who, format!("at most {most} animals in them"), at);
        }
    }
}

/// Where the order is kept, no animal of a pen enters a box before one that stood in front of her,
/// whoever breeds them.
pub(super) fn in_order(stays: &[Stay<'_>], seen: &mut Seen) {
    let mut pens: BTreeMap<&str, Vec<(u32, DateTime<Utc>)>> = BTreeMap::new();
    for cow in stays.iter().flat_map(|s| &s.cows) {
        let of = pens.entry(cow.pass.as_str()).or_default();
        of.extend(cow.animal.map(|a| (a, cow.enters)));
    }
    for (pass, mut animals) in pens {
        animals.sort_unstable();
        let mut last = None;
        for (_, enters) in animals {
            if last.is_some_and(|last| enters < last - CLOSE * 2) {
                seen.wrong(pass, "animals in the order of the earlier pass", enters);
            }
            last = last.max(Some(enters));
        }
    }
}
