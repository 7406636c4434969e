//! What is noticed while dating a season. One rule, one function.

use std::fmt::Write as _;

use chrono::TimeDelta;

use super::{Heats, Pass, Synchronizing, Work};
use crate::base::error::{Code, Finding, quoted};
use crate::base::time::{Doubt, Instant};
use crate::base::units::human_minutes;
use crate::trade::protocol::timetable::{CLOCKS_COUNTED, change_words, is_night};
use crate::trade::protocol::{Anchor, Delay, Kind, Window};
use crate::trade::season::{Group, Order, Season};

fn name(season: &Season, pass: &Pass) -> String {
    let group = &season.groups[pass.group];
    let step = &group.protocol.steps[pass.step];
    format!("{}: {}", who(group, pass.pen), step.words())
}

fn who(group: &Group, pen: usize) -> String {
    if group.pens.len() > 1 {
        format!("{} pen {}", quoted(group.id.as_str()), pen + 1)
    } else {
        quoted(group.id.as_str())
    }
}

/// A local time that does not exist, or exists twice.
pub(super) fn clock_doubt(season: &Season, group: &Group, doubt: Doubt) -> Finding {
    let mut finding = doubt.finding(season.zone);
    finding.what = format!("{}: {}", quoted(group.id.as_str()), finding.what);
    finding
        .at(group.start_place.clone())
        .hint("start the group at another hour if this matters")
}

/// A pen waits for the pen before it.
pub(super) fn pen_shifted(
    season: &Season,
    group: &Group,
    pen: usize,
    step: usize,
    wanted: Instant,
    free: Instant,
) -> Finding {
    Finding::note(
        Code::PenShifted,
        format!(
            "{}: {} begins at {} instead of {}, when the pen before it is through the chute",
            who(group, pen),
            group.protocol.steps[step].words(),
            season.zone.human_short(free),
            season.zone.clock(wanted)
        ),
    )
    .at(group.start_place.clone())
}

/// Chute work in elapsed hours that does not hold for every animal.
pub(super) fn outside_window(
    season: &Season,
    group: &Group,
    step: usize,
    anchor: &Synchronizing,
    window: &Window,
    pass: &Pass,
) -> Option<Finding> {
    // Mixed: first in the anchor pass may be last in this one. Kept: each against itself, and
    // as both passes go at an even pace, the first and the last animal are the extremes.
    let (shortest, longest) = match group.order {
        Order::Mixed => (pass.start - anchor.end(), pass.end - anchor.start),
        Order::Kept => {
            let (a, b) = (pass.start - anchor.start, pass.end - anchor.end());
            (a.min(b), a.max(b))
        }
    };
    if shortest >= window.earliest && longest <= window.latest {
        return None;
    }
    Some(
        Finding::warning(
            Code::PassOutsideWindow,
            format!(
                "{}: {} comes {} to {} after `{}`, depending on the animal",
                who(group, pass.pen),
                group.protocol.steps[step].words(),
                signed(shortest),
                signed(longest),
                match group.protocol.steps[step].anchor {
                    Anchor::Step(a) => group.protocol.steps[a].id.as_str(),
                    Anchor::Start => "start",
                },
            ),
        )
        .at(group.start_place.clone())
        .expected(format!("{} ({})", window.words(), season.zone.human_short(pass.start)))
        .hint("bring the animals in the same order each time (`order: kept`), or make more and smaller pens"),
    )
}

/// A length of time that may lie before what it counts from.
fn signed(time: TimeDelta) -> String {
    if time < TimeDelta::zero() {
        format!("minus {}", human_minutes(-time.num_minutes()))
    } else {
        human_minutes(time.num_minutes())
    }
}

/// Two passes of different groups, or of pens that wait for nobody, in one chute at one time.
pub(super) fn chute_busy(season: &Season, passes: &[Pass]) -> Vec<Finding> {
    let mut found = Vec::new();
    for site in 0..season.sites.len() {
        let mut here: Vec<&Pass> = passes
            .iter()
            .filter(|p| p.work == Work::Chute && season.groups[p.group].site == site)
            .collect();
        here.sort_by_key(|p| (p.start, p.end));
        // Each pass against the one that holds the chute longest of those before it.
        let mut holds: Option<&Pass> = None;
        for b in here {
            if let Some(a) = holds.filter(|a| b.start < a.end) {
                found.push(
                    Finding::warning(
                        Code::ChuteBusy,
                        format!(
                            "the chute at {} is needed twice at once from {}: {}, and {}",
                            quoted(season.sites[site].id.as_str()),
                            season.zone.human_short(b.start),
                            name(season, a),
                            name(season, b)
                        ),
                    )
                    .at(season.groups[b.group].start_place.clone())
                    .expected(format!(
                        "the chute free until {}",
                        season.zone.human_short(a.end)
                    ))
                    .hint("start one of the two groups at another hour or on another day"),
                );
            }
            if holds.is_none_or(|a| a.end < b.end) {
                holds = Some(b);
            }
        }
    }
    found
}

/// Chute work in hours that the season keeps free.
pub(super) fn free_hours(season: &Season, passes: &[Pass]) -> Vec<Finding> {
    passes
        .iter()
        .filter(|p| p.work == Work::Chute)
        .filter_map(|p| {
            let (from, to, why) = *season.free_between(p.start, p.end).first()?;
            Some(
                Finding::warning(
                    Code::NoWorkHours,
                    format!(
                        "{} on {} falls in hours kept free{}",
                        name(season, p),
                        season.zone.human_range(p.start, p.end),
                        why.map(|w| format!(" ({w})")).unwrap_or_default()
                    ),
                )
                .at(season.groups[p.group].start_place.clone())
                .expected(format!(
                    "no chute work {}",
                    season.zone.human_range(from, to)
                ))
                .hint("start the group on another day or at another hour"),
            )
        })
        .collect()
}

/// The clocks change between a step and the one its hours count from.
pub(super) fn clock_changes(season: &Season, passes: &[Pass]) -> Vec<Finding> {
    let mut found: Vec<Finding> = Vec::new();
    for p in passes.iter().filter(|p| p.pen == 0 && p.half_day.is_none()) {
        let group = &season.groups[p.group];
        let step = &group.protocol.steps[p.step];
        let (Delay::Elapsed(window), Anchor::Step(a)) = (step.delay, step.anchor) else {
            continue;
        };
        let anchor = passes
            .iter()
            .find(|q| q.group == p.group && q.pen == p.pen && q.step == a);
        let Some(anchor) = anchor else { continue };
        let due = anchor.start + window.aim;
        for change in season.zone.transitions(anchor.start, due) {
            let words = change_words(
                season.zone,
                &change,
                (&group.protocol.steps[a], anchor.start),
                (step, due),
            );
            let what = format!("{}: {words}", quoted(group.id.as_str()));
            let note = Finding::note(Code::ClockChange, what).hint(CLOCKS_COUNTED);
            found.push(note.at(group.start_place.clone()));
        }
    }
    found
}

/// A group bred by detected heat: how many on how many half-days, and where the hours come from.
pub(super) fn bred_by_heat(
    season: &Season,
    group: &Group,
    heats: Option<&Heats>,
) -> Option<Finding> {
    let clean_up = match group.protocol.kind {
        Kind::EstrusDetection => false,
        Kind::EstrusDetectionThenTimed => true,
        _ => return None,
    };
    let name = quoted(group.id.as_str());
    let Some(heats) = heats else {
        let what = format!(
            "{name} is bred as animals come in heat: the watch is dated and straws are set aside, but the number on each half-day is not planned, as no hours to heat are known"
        );
        let finding = Finding::note(Code::BredByHeat, what).at(group.start_place.clone());
        return Some(finding.hint("give `heat_mean_hours` and `heat_spread_hours`; breed about 12 hours after first seen in heat"));
    };
    let (bred, left) = (heats.bred(), heats.left());
    let (source, borrowed) = heats.source(group);
    let hours = heats.spread.map_or(String::new(), |s| {
        format!(
            "; hours to heat {} on average, one standard deviation {}",
            tenths(s.mean),
            tenths(s.sd)
        )
    });
    let borrowed = borrowed.map(|b| format!(". Borrowed: {b}"));
    let what = format!(
        "{name} is bred as animals come in heat: about {} of {} ({} to {} in nine seasons of ten) on {} half-days; {} ({} to {}) {}{hours} ({}){}",
        bred.head,
        group.head(),
        bred.low,
        bred.high,
        heats.half_days.iter().filter(|h| h.head > 0).count(),
        left.head,
        left.low,
        left.high,
        if clean_up {
            "are left for the clean-up"
        } else {
            "are not expected to be bred, and no work is planned for them"
        },
        source,
        borrowed.unwrap_or_default()
    );
    let told = season.zone.told();
    let checks: Vec<String> = season
        .rules
        .heat
        .checks
        .iter()
        .map(|c| told.time(*c))
        .collect();
    let mut hint = format!("checks at {}", checks.join(", "));
    if checks.len() < 3 {
        let [early, late] = [6, 18].map(|hour| told.hour(hour));
        let _ = write!(
            hint,
            ": published advice is three a day or more (COWS-IN-SYNCH). With checks at {early} and {late} alone 19.9 % more heats were missed, with one at noon 10.0 % (HALL59); that is not taken off here"
        );
    }
    let finding = Finding::note(Code::BredByHeat, what).at(group.start_place.clone());
    Some(finding.hint(hint + ". Set `in_heat_percent` from your own counts"))
}

fn tenths(x: f64) -> f64 {
    (x * 10.0).round() / 10.0
}

/// A group of which only a share is bred in a step.
pub(super) fn share_assumed(group: &Group, share: Option<f64>) -> Finding {
    let kind = group.protocol.kind;
    let finding = match share {
        Some(share) => Finding::note(
            Code::ShareAssumed,
            format!(
                "{} is planned with {share} % seen in heat and the rest bred in the later hours",
                quoted(group.id.as_str())
            ),
        ),
        None => Finding::note(
            Code::ShareAssumed,
            format!(
                "no share in heat is published for the protocol of {}: {} planned for the whole group",
                quoted(group.id.as_str()),
                if kind == Kind::SplitTime {
                    "both breedings are"
                } else {
                    "the clean-up is"
                }
            ),
        ),
    };
    finding
        .at(group.start_place.clone())
        .hint("set `in_heat_percent` on the group to plan for your own share")
}

/// Breeding hours that lie wholly or for the most part in the night.
pub(super) fn night_hours(season: &Season, pass: &Pass) -> Option<Finding> {
    let hours = pass.hours.filter(|_| pass.work == Work::Breeding)?;
    let mut at = hours.earliest;
    let (mut night, mut all) = (0, 0);
    while at < hours.latest {
        all += 1;
        night += i32::from(is_night(season.zone, at));
        at += TimeDelta::minutes(15);
    }
    (all > 0 && night * 2 > all).then(|| {
        let group = &season.groups[pass.group];
        Finding::note(
            Code::NightWork,
            format!(
                "{}: the breeding hours lie mostly in the night, {}",
                match pass.half_day {
                    Some(_) => quoted(group.id.as_str()),
                    None => who(group, pass.pen),
                },
                season.zone.human_range(hours.earliest, hours.latest)
            ),
        )
        .at(group.start_place.clone())
        .hint("the clock time of the start decides them: start the group at another hour")
    })
}
