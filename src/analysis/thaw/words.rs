//! What is said of a session's rounds.

use std::collections::BTreeSet;
use std::fmt::Write as _;

use super::{SessionThaw, Straw, TechnicianThaw, limits};
use crate::base::error::{Code, Finding, quoted, sort_findings};
use crate::base::units::{count, hundredths};
use crate::planning::plan::{Remark, lacking};
use crate::trade::season::Season;

/// The shortest form of a number.
pub(crate) fn figure(x: f64) -> String {
    format!("{}", hundredths(x))
}

fn straws(s: &SessionThaw) -> impl Iterator<Item = &Straw> {
    let rounds = s.technicians.iter().flat_map(|t| &t.rounds);
    rounds.flat_map(|r| &r.straws)
}

/// Sizes of the session's straws, the small first.
fn sizes(s: &SessionThaw) -> Vec<f64> {
    let mut all: Vec<f64> = straws(s).map(|x| x.straw_ml).collect();
    all.sort_by(f64::total_cmp);
    all.dedup();
    all
}

/// `big 2`, `canister 2`, `a canister that is not named`.
#[must_use]
pub(crate) fn canister(tank: Option<&str>, canister: Option<u32>) -> String {
    match (tank, canister) {
        (Some(t), Some(n)) => format!("{t}, canister {n}"),
        (Some(t), None) => format!("{t}, canister not given"),
        (None, Some(n)) => format!("canister {n}"),
        (None, None) => "place not given".to_owned(),
    }
}

pub(super) fn verdict(s: &SessionThaw) -> Vec<String> {
    let rounds = s.technicians.iter().flat_map(|t| &t.rounds);
    let n = rounds.clone().count() as u32;
    let oldest = rounds.map(|r| r.last_straw_minutes).fold(0.0, f64::max);
    let lifts: u32 = s.canisters.iter().map(|c| c.lifts).sum();
    let seconds: f64 = s.canisters.iter().map(|c| c.seconds).sum();
    let mut words = vec![format!(
        "{} in {}. As planned the slowest straw is in its cow {} min after it goes into the bath; the limit is {}.",
        count(s.head, "straw", "straws"),
        count(n, "round", "rounds"),
        figure(oldest),
        figure(s.bath_to_cow_minutes)
    )];
    let most = s.canisters.iter().max_by_key(|c| c.lifts);
    if let Some(most) = most {
        let places = s.canisters.len() as u32;
        let mut said = format!(
            "{} of {}: they spend {} s up in the tank neck in all",
            count(lifts, "lift", "lifts"),
            count(places, "canister", "canisters"),
            figure(seconds)
        );
        if places > 1 {
            let _ = write!(
                said,
                "; most for {}: {}, {} s",
                canister(most.tank.as_deref(), most.canister),
                count(most.lifts, "lift", "lifts"),
                figure(most.seconds)
            );
        }
        words.push(said + ".");
    }
    let wasted: u32 = s.waste.iter().map(|w| w.straws).sum();
    let lacking: u32 = s.waste.iter().map(|w| w.lacking_straws).sum();
    if wasted > 0 {
        let mut said = format!(
            "{} more set aside for cows that never come",
            count(wasted, "straw", "straws")
        );
        if lacking > 0 {
            let _ = write!(said, "; {lacking} of them are not there");
        }
        words.push(said + ".");
    }
    words
}

/// What is wrong or worth knowing.
pub(super) fn findings(season: &Season, s: &SessionThaw) -> Vec<Remark> {
    let mut found = Vec::new();
    by_size(season, s, &mut found);
    for w in s.waste.iter().filter(|w| w.lacking_straws > 0) {
        found.push(lacking(&w.bull, w.lacking_straws));
    }
    let rounds = || s.technicians.iter().flat_map(|t| &t.rounds);
    let late = rounds().filter(|r| r.gun_late_seconds > 0).count() as u32;
    if late > 0 {
        let most = rounds().map(|r| r.gun_late_seconds).max().unwrap_or(0);
        let what = format!(
            "in {} straws come from the tank one lift after another, so a gun is up to {most} s late",
            count(late, "round", "rounds")
        );
        let finding = Finding::note(Code::GunsWait, what)
            .hint("take out both people's straws in one lift where two thaw at the same time, or allow more seconds to load");
        found.push(finding);
    }
    cooling(s, &mut found);
    without_names(season, s, &mut found);
    let unplaced = straws(s).filter(|x| x.canister.is_none()).count() as u32;
    if unplaced > 0 {
        let what = format!(
            "of {} the canister is not given, so lifts are counted as of one place",
            count(unplaced, "straw", "straws")
        );
        let finding = Finding::note(Code::StrawsMisplaced, what)
            .hint("add `tank`, `canister` and `cane` to the entries of `semen`");
        found.push(finding);
    }
    sort_findings(&mut found);
    found.iter().map(Remark::from).collect()
}

/// Thaw time and lifts against what is published for a size of straw.
fn by_size(season: &Season, s: &SessionThaw, found: &mut Vec<Finding>) {
    let rules = &season.rules;
    for ml in sizes(s) {
        let (least, source) = limits::thaw(ml);
        if rules.thaw.0 < least {
            let what = format!(
                "straws of {ml} mL come out of the bath after {} s",
                figure(rules.thaw.0)
            );
            let finding = Finding::warning(Code::ThawShort, what)
                .expected(format!("at least {least} s ({source})"))
                .hint("set `thaw_seconds` of the rules; follow the semen's own directions");
            found.push(finding);
        }
        let (most, source) = limits::neck(ml);
        if rules.straws.lift.0 > most {
            let what = format!(
                "a canister with straws of {ml} mL is in the neck for {} s at each lift",
                figure(rules.straws.lift.0)
            );
            let finding = Finding::warning(Code::LiftLong, what)
                .expected(format!("at most {most} s ({source})"))
                .hint("take fewer straws a lift, and lower the canister when a cane is not found; then set `lift_seconds`");
            found.push(finding);
        }
    }
}

/// Groups with straws of several bulls or sorts for animals that nobody can name in their rounds, and
/// how many bulls.
pub(super) fn by_tag<'a>(
    season: &'a Season,
    technicians: &[TechnicianThaw],
) -> Vec<(&'a str, usize)> {
    let sort = |s: &Straw| {
        let bull = season.bulls.iter().find(|b| b.id.as_str() == s.bull)?;
        Some(bull.is_sexed(bull.places.get((s.place as usize).checked_sub(1)?)?))
    };
    let mut found = Vec::new();
    for group in season.groups.iter().filter(|g| g.herd.is_some()) {
        let id = group.id.as_str();
        let rounds = technicians.iter().flat_map(|t| &t.rounds);
        let unnamed = rounds.flat_map(|r| &r.straws);
        let unnamed = unnamed.filter(|x| x.group == id && x.tag.is_none());
        let kinds: BTreeSet<(&str, Option<bool>)> =
            unnamed.map(|x| (x.bull.as_str(), sort(x))).collect();
        if kinds.len() > 1 {
            let bulls: BTreeSet<&str> = kinds.iter().map(|(bull, _)| *bull).collect();
            found.push((id, bulls.len()));
        }
    }
    found
}

fn without_names(season: &Season, s: &SessionThaw, found: &mut Vec<Finding>) {
    for (group, bulls) in by_tag(season, &s.technicians) {
        let of = match bulls {
            1 => "straws of both sorts".to_owned(),
            n => format!("straws of {n} bulls"),
        };
        let what = format!(
            "the order in which the animals of {} come to the chute is not known, and they have {of}: this list cannot say which straw each round needs; read the tags in the alley, and thaw each animal's own straw",
            quoted(group)
        );
        let finding = Finding::note(Code::BullByTag, what)
            .expected("`pen` and `chute_order` of each animal in the herd file, and `order: kept`")
            .hint("the rounds show each bull's share, so that times and lifts are about right; `thawline matings` lists the bull of each animal");
        found.push(finding);
    }
}

/// A bath without enough heat.
fn cooling(s: &SessionThaw, found: &mut Vec<Finding>) {
    let (bath, units) = (&s.bath, s.units);
    let Some(liters) = bath.liters else { return };
    if bath.heater_watts > 0.0 {
        if bath.heater_watts < bath.watts_for_pace {
            let what = format!(
                "the bath's heater of {} W is weaker than the {} W that straws take at the session's pace",
                figure(bath.heater_watts),
                figure(bath.watts_for_pace)
            );
            let finding = Finding::note(Code::BathCools, what)
                .hint("watch the thermometer, and add hot water");
            found.push(finding);
        }
    } else if liters < bath.least_liters {
        let what = format!(
            "{} at once cool {} L of water from {} to below {}",
            count(bath.straws_at_once, "straw", "straws"),
            figure(liters),
            units.degrees("95", "35"),
            units.degrees("92", "33.3")
        );
        let finding = Finding::warning(Code::BathCools, what)
            .expected(format!(
                "at least {} L, or a heater",
                figure(bath.least_liters)
            ))
            .hint("take more water, or fewer straws at once");
        found.push(finding);
    }
}

/// What the figures rest on.
pub(super) fn notes(season: &Season, s: &SessionThaw) -> Vec<String> {
    let rules = &season.rules;
    let mut notes = vec![
        format!(
            "A straw stays {} s in the bath (`thaw_seconds`); at least 45 s for 0.5 mL (SUMMER-AI), 30 s for 0.25 mL (no published source checked). It is in its cow {} min after it goes into the bath at the latest (`bath_to_cow_minutes`; 15, SUMMER-AI), at most 10 straws at once (SUMMER-AI).",
            figure(s.thaw_seconds),
            figure(s.bath_to_cow_minutes)
        ),
        format!(
            "A lift takes {} s and brings up to {} (`lift_seconds`, `straws_a_lift`; 5 and 2 unless given: common practice, no source). In the neck at most: 10 s for 0.5 mL (MILIVE25, IASRI), 8 s for 0.25 mL (MILIVE25); a cane not found in 5 to 10 s goes down to cool (ILL-AI).",
            figure(s.lift_seconds),
            count(s.straws_a_lift, "straw", "straws")
        ),
        "Straws are those that `thawline tank` shows for the session; of them one canister is finished before the next is begun, and each technician has a part of his or her own. Of one tank one canister is up at a time.".to_owned(),
        format!(
            "The bath starts at {} and is never below {} (SUMMER-AI). Its heat is counted with textbook constants (no published source checked), a straw as plain water without its wall; wet straws, forceps and air take more: go by the thermometer.",
            s.units.degrees("95", "35"),
            s.units.degrees("92", "33.3")
        ),
        "The pace tables assume steady rounds and a bell curve (`thawline chance` plays whole days).".to_owned(),
    ];
    if rules.straws.wasted > 0.0 {
        notes.push(format!(
            "Of the straws thawed {} % are counted as waste (`straws_wasted_percent`), rounded up over the season.",
            figure(rules.straws.wasted * 100.0)
        ));
    }
    if s.technicians.iter().any(|t| t.from_cows_per_hour) {
        notes.push("Minutes at the cow that come from cows an hour are worked out at the plan's straws at once, and held for other numbers.".to_owned());
    }
    notes
}
