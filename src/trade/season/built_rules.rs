//! The rules that need the built season: paces that can be kept, and straws on hand.

use super::{Rules, Season, Technician, pace, raw, roads};
use crate::base::document::Tree;
use crate::base::error::{Code, Finding, quoted};

/// The rules that need the built season: paces and straws.
pub(super) fn check_built(tree: &Tree, raw: &raw::Season, season: &Season) -> Vec<Finding> {
    let mut found = Vec::new();
    paces(tree, season, &mut found);
    straws(tree, raw, season, &mut found);
    wish_span(tree, season, &mut found);
    found.extend(roads::too_fast(tree, raw, &season.sites, season.units));
    found
}

/// Days of breeding that are looked at, at the most.
const MOST_WISHED_DAYS: i64 = 190;

/// Every start between the first and the last wished date is looked at: of one season, not of two.
fn wish_span(tree: &Tree, season: &Season, found: &mut Vec<Finding>) {
    for group in season.every_group() {
        let Some(w) = &group.wishes else { continue };
        let from = w.breed_from.max(w.first_for_calves());
        let to = [w.breed_to, w.last_before_bulls()]
            .into_iter()
            .flatten()
            .min();
        if let (Some(from), Some(to)) = (from, to)
            && (to - from).num_days().abs() > MOST_WISHED_DAYS
        {
            let days = (to - from).num_days();
            let what = if days > 0 {
                format!("breeding may be on any of {days} days, from {from} to {to}")
            } else {
                format!(
                    "breeding is to be done by {to}, and may begin only {} days later",
                    -days
                )
            };
            let finding = Finding::error(Code::WishForm, what)
                .at(tree.place(&format!("groups[{}].wishes", group.nth)))
                .expected(format!("dates at most {MOST_WISHED_DAYS} days apart"))
                .hint("look at one season at a time, and check the years of the dates");
            found.push(finding);
        }
    }
}

/// Why a technician cannot bring one straw into a cow.
fn no_straw_in_time(t: &Technician, rules: &Rules) -> Finding {
    let who = quoted(t.id.as_str());
    if (1..=pace::MOST_STRAWS).all(|k| pace::rounds_of(t, rules, k).is_none()) {
        let least = pace::LEAST_AT_COW;
        return Finding::error(
            Code::PaceTooSlow,
            format!("the overall pace of {who} leaves less than {least} seconds at the cow once straws are thawed and loaded"),
        )
        .expected(format!("at least {least} seconds at the cow (our own limit)"))
        .hint("check `cows_per_hour` and the seconds of thawing, loading and reset; or give `minutes_per_cow`");
    }
    let limit = rules.bath_to_cow.minutes();
    let what =
        format!("{who} cannot bring even one straw into a cow within {limit} minutes of the bath");
    Finding::error(Code::PaceTooSlow, what)
        .expected("a pace, spread and risk that leave room for one straw")
        .hint("check the pace and its spread; a helper who thaws and loads saves minutes")
}

fn paces(tree: &Tree, season: &Season, found: &mut Vec<Finding>) {
    for (n, t) in season.crew.iter().enumerate() {
        match pace::safest(t, &season.rules, pace::MOST_STRAWS) {
            None => {
                found
                    .push(no_straw_in_time(t, &season.rules).at(tree.place(&format!("crew[{n}]"))));
            }
            Some(safe) => {
                let limit = season.rules.bath_to_cow.minutes();
                if let Some(wish) = t.straws_at_once
                    && wish > safe.straws
                {
                    let finding = Finding::warning(
                            Code::StrawsAtOnceUnsafe,
                            format!("{} asks for {wish} at once; the pace allows {}, and that is planned", quoted(t.id.as_str()), safe.straws),
                        )
                        .at(tree.place(&format!("crew[{n}].straws_at_once")))
                        .expected(format!("at most {}", safe.straws.0))
                        .hint(format!("with more, the last straw would too often take more than {limit} minutes from bath to cow"));
                    found.push(finding);
                }
            }
        }
    }
}

fn straws(tree: &Tree, raw: &raw::Season, season: &Season, found: &mut Vec<Finding>) {
    for group in season.every_group() {
        let head = group.head();
        let have = season.straws_of_bulls(&group.bulls);
        if have < u64::from(head.0) {
            let id = quoted(group.id.as_str());
            let what = format!("the bulls of {id} have {have} straws for {head}");
            let finding = Finding::warning(Code::GroupNeedsStraws, what)
                .at(group.bulls_place.clone())
                .expected("a straw for each animal")
                .hint("order straws, or name another bull");
            found.push(finding);
        }
    }
    for (b, bull) in season.bulls.iter().enumerate() {
        let used = season.every_group().any(|g| g.bulls.contains(&b));
        if !used && bull.straws().0 > 0 {
            let first = raw.semen.iter().position(|s| s.bull == bull.id.as_str());
            let field = format!("semen[{}].bull", first.unwrap_or(0));
            let id = quoted(bull.id.as_str());
            let what = format!("no group may use the {} of {id}", bull.straws());
            found.push(Finding::note(Code::BullUnused, what).at(tree.place(&field)));
        }
    }
}
