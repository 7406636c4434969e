//! One alley for all technicians of a site: order kept, boxes, whole thaw rounds. The finished plan is
//! read anew here, by the moments of its cows alone.

use std::collections::BTreeMap;
use std::fmt::Write as _;

use chrono::{DateTime, TimeDelta, Utc};
use thawline::plan::{Plan, Remark, Session};
use thawline::season::{Pace, Season};

use crate::support::{Dice, plan_of};

/// A corral, a few pens, one to three technicians.
fn made(seed: u64) -> String {
    let mut dice = Dice(seed);
    let boxes = dice.from(1, 2);
    let bath = *dice.pick(&["", "", ", thaw_bath_straws: 2"]);
    let mut y = format!(
        "format: thawline.season/1
name: One alley (invented)
zone: America/Denver
sites: [{{id: s, injections_head_per_hour: {}, breeding_boxes: {boxes}{bath}}}]
groups:
",
        dice.from(4, 12) * 10
    );
    for g in 0..dice.from(1, 3) {
        let _ = writeln!(
            y,
            "  - {{id: g{g}, site: s, class: cow, head: {}, pens: {}, protocol: cow-7-day-co-synch-insert, start: \"2027-05-17T{}:{}0\", order: {}, bulls: [Ash 1]}}",
            dice.from(8, 60),
            dice.from(1, 2),
            dice.from(10, 16),
            dice.below(6),
            dice.pick(&["kept", "kept", "mixed"]),
        );
    }
    y += "crew:\n";
    for t in 0..dice.from(1, 3) {
        let begins = dice.from(3, 9);
        let _ = writeln!(
            y,
            "  - {{id: t{t}, minutes_per_cow: {}.{}, minutes_spread: 0.4, helper: {}, shifts: [{{from: \"{begins:02}:{}0\", to: \"{:02}:00\"}}]}}",
            dice.from(2, 7),
            dice.below(10),
            dice.below(2) == 0,
            dice.below(6),
            begins + dice.from(2, 9),
        );
    }
    let rest = *dice.pick(&["", ", rest_after_hours: 1.5, rest_minutes: 20"]);
    let slot = *dice.pick(&[5, 10, 15, 30]);
    y + &format!("semen: [{{bull: Ash 1, straws: 900}}]\nrules: {{slot_minutes: {slot}{rest}}}\n")
}

/// A cow as she goes through a box.
#[derive(Clone, Copy, Debug)]
struct Cow<'a> {
    enters: DateTime<Utc>,
    bred: DateTime<Utc>,
    who: &'a str,
    pass: &'a str,
    /// Her place in the pen, where the order is kept.
    animal: Option<u32>,
}

/// Moments are written to a hundredth of a minute.
const NEAR: TimeDelta = TimeDelta::seconds(2);

fn seconds(s: f64) -> TimeDelta {
    TimeDelta::milliseconds((s * 1000.0) as i64)
}

fn minutes_a_cow(season: &Season, who: &str) -> TimeDelta {
    let technician = season.crew.iter().find(|t| t.id.as_str() == who).unwrap();
    match technician.pace {
        Pace::AtTheCow(cow) => seconds(cow.0),
        Pace::Overall(_) => panic!("these seasons state minutes a cow"),
    }
}

fn cows<'a>(season: &Season, session: &'a Session) -> Vec<Cow<'a>> {
    let mut cows = Vec::new();
    for slot in &session.slots {
        let in_box = minutes_a_cow(season, &slot.technician);
        for (n, minutes) in slot.bred_minutes.iter().enumerate() {
            let bred = slot.start.with_timezone(&Utc) + seconds(minutes * 60.0);
            cows.push(Cow {
                enters: bred - in_box,
                bred,
                who: &slot.technician,
                pass: &slot.pass,
                animal: slot.animals.get(n).copied(),
            });
        }
    }
    cows.sort_by_key(|c| c.bred);
    cows
}

/// The first two animals of a pen of which the one behind enters a box first.
fn out_of_order<'a>(cows: &[Cow<'a>]) -> Option<(Cow<'a>, Cow<'a>)> {
    let pairs = cows.iter().flat_map(|a| cows.iter().map(move |b| (*a, *b)));
    let wrong = |(a, b): &(Cow<'a>, Cow<'a>)| {
        a.pass == b.pass && a.animal < b.animal && b.enters < a.enters - NEAR
    };
    pairs.into_iter().find(wrong)
}

/// Cows in boxes as one more comes in.
fn in_boxes(cows: &[Cow<'_>], from: DateTime<Utc>, to: DateTime<Utc>) -> usize {
    let moments = cows
        .iter()
        .map(|c| c.enters.max(from))
        .filter(|at| *at < to);
    let here = |at: DateTime<Utc>| {
        cows.iter()
            .filter(move |c| c.enters <= at && at < c.bred - NEAR)
    };
    moments.map(|at| here(at).count()).max().unwrap_or(0)
}

/// Breaks of a technician's work inside a pen at which the next cow could have been bred at once.
fn needless_breaks(season: &Season, plan: &Plan, session: &Session) -> Vec<String> {
    let all = cows(season, session);
    let boxes = season.sites[0].breeding_boxes as usize;
    let rules = &season.rules;
    let mut found = Vec::new();
    for at in &session.technicians {
        let technician = season.crew.iter().find(|t| t.id.as_str() == at.id).unwrap();
        let straws = at.straws_at_once as usize;
        let cow = minutes_a_cow(season, &at.id).num_milliseconds() as f64 / 1000.0;
        let loaded = rules.thaw.0 + rules.load.0 * straws as f64;
        let (between, round) = if technician.helper {
            let between = cow.max(rules.load.0);
            let period = (straws as f64 * cow).max(loaded);
            (between, period - between * (straws as f64 - 1.0))
        } else {
            (cow, loaded + rules.reset.0 + cow)
        };
        let mine: Vec<&Cow<'_>> = all.iter().filter(|c| c.who == at.id).collect();
        let others: Vec<Cow<'_>> = all.iter().filter(|c| c.who != at.id).copied().collect();
        let (mut in_round, mut since) = (1, at.begins.with_timezone(&Utc));
        for pair in mine.windows(2) {
            let (last, next) = (pair[0], pair[1]);
            let step = if in_round < straws { between } else { round };
            let at_once = last.bred + seconds(step.max(between));
            let goes_on = next.bred <= at_once + NEAR * 2;
            in_round = if goes_on && in_round < straws {
                in_round + 1
            } else {
                1
            };
            if goes_on {
                continue;
            }
            let begins = next.bred - seconds(loaded + cow);
            let rested = rules
                .rest
                .is_some_and(|r| begins >= last.bred + r.long - NEAR);
            let tired = rules.rest.is_some_and(|r| at_once - since > r.after - NEAR);
            if rested {
                since = begins;
            }
            let pass = plan.passes.iter().find(|p| p.id == next.pass).unwrap();
            let hours = pass.hours.as_ref().unwrap();
            let ends = |s: &thawline::season::Shift| s.to <= season.zone.local(at_once).time();
            let off = technician.shifts.iter().any(ends);
            let pen = session.pens.iter().find(|p| p.pass == next.pass).unwrap();
            let treated = (pen.counted_to - pen.counted_from).as_seconds_f64();
            let each = treated / f64::from(pass.head.max(1));
            let own = |n: u32| seconds(each * f64::from(n));
            let (earliest, latest) = match next.animal {
                Some(n) => (
                    hours.earliest + own(n - 1),
                    hours.latest - own(pass.head - n),
                ),
                None => (hours.earliest, hours.latest),
            };
            let due =
                earliest.with_timezone(&Utc) <= at_once && at_once <= latest.with_timezone(&Utc);
            let no_box = in_boxes(&others, at_once - seconds(cow), at_once) >= boxes;
            if last.pass == next.pass && due && !off && !tired && !no_box {
                found.push(format!(
                    "{} at {}: {} after {}",
                    at.id, session.id, next.bred, last.bred
                ));
            }
        }
    }
    found
}

#[test]
fn cows_of_one_alley_keep_their_order_and_their_boxes() {
    let (mut shared, mut turns, mut bred, mut needless) = (0, 0, 0, Vec::new());
    for seed in 0..150 {
        let text = made(seed);
        let (season, plan) = plan_of(&text);
        for session in &plan.sessions {
            let cows = cows(&season, session);
            let wrong = out_of_order(&cows);
            assert!(wrong.is_none(), "{seed} {wrong:?}\n{text}");
            let boxes = season.sites[0].breeding_boxes as usize;
            let most = in_boxes(&cows, DateTime::UNIX_EPOCH, DateTime::<Utc>::MAX_UTC);
            assert!(
                most <= boxes,
                "{seed} {}: {most} at {boxes}\n{text}",
                session.id
            );
            if season.sites[0].thaw_bath.0 > 2 {
                let breaks = needless_breaks(&season, &plan, session);
                needless.extend(breaks.into_iter().map(|b| format!("{seed} {b}")));
            }
            let mut by_pen: BTreeMap<&str, Vec<&str>> = BTreeMap::new();
            for cow in cows.iter().filter(|c| c.animal.is_some()) {
                by_pen.entry(cow.pass).or_default().push(cow.who);
            }
            let several = |who: &Vec<&str>| who.iter().any(|w| *w != who[0]);
            shared += by_pen.values().filter(|w| several(w)).count();
            turns += usize::from(session.technicians.len() > boxes);
            bred += cows.len();
        }
    }
    // The seasons must show what they are for.
    assert!(shared >= 40 && turns >= 20, "{shared} {turns} {bred}");
    assert!(needless.is_empty(), "{needless:#?}");
}

fn corral(boxes: u32, more: &str, group: &str, crew: &str) -> String {
    format!(
        "format: thawline.season/1
name: A corral (invented)
zone: America/Denver
sites: [{{id: s, injections_head_per_hour: 80, breeding_boxes: {boxes}{more}}}]
groups:
{group}
crew:
{crew}
semen: [{{bull: Ash 1, straws: 300}}]
"
    )
}

fn group(id: &str, head: u32, hour: u32, order: &str) -> String {
    format!(
        "  - {{id: {id}, site: s, class: cow, head: {head}, protocol: cow-7-day-co-synch-insert, start: \"2027-05-17T{hour:02}:00\", order: {order}, bulls: [Ash 1]}}\n"
    )
}

/// A slow technician beside a quick one: by the moment bred the order would seem kept while a cow
/// passes another in the alley.
#[test]
fn a_slow_technicians_cow_goes_in_before_the_one_behind_her() {
    let crew = "  - {id: ana, minutes_per_cow: 3, shifts: [{from: \"04:00\", to: \"12:00\"}]}
  - {id: burt, minutes_per_cow: 8, minutes_spread: 0.5, helper: true, shifts: [{from: \"04:00\", to: \"12:00\"}]}";
    let (season, plan) = plan_of(&corral(2, "", &group("a", 40, 14, "kept"), crew));
    let cows = cows(&season, &plan.sessions[0]);
    assert_eq!(plan.sessions[0].technicians.len(), 2);
    assert!(out_of_order(&cows).is_none());
    let by_bred: Vec<_> = cows.iter().filter_map(|c| c.animal).collect();
    assert!(!by_bred.is_sorted(), "{by_bred:?}");
}

#[test]
fn nobody_is_called_for_one_cow_where_another_can_breed_her() {
    let crew = "  - {id: ana, minutes_per_cow: 4}
  - {id: burt, minutes_per_cow: 4}
  - {id: coe, minutes_per_cow: 4}";
    let (_, plan) = plan_of(&corral(3, "", &group("a", 3, 14, "mixed"), crew));
    assert_eq!(plan.sessions[0].technicians.len(), 1);
    assert_eq!(plan.verdict.covered_head, 3);
}

/// A quick technician until some hour and a slow one for as long as it takes, at one box.
fn handed_over(start: &str, minutes: [f64; 2], until: &str, slot: u32) -> String {
    let group = group("a", 75, 10, "mixed").replace("T10:00", &format!("T{start}"));
    let technician = |id: &str, minutes: f64, shifts: &str| {
        format!(
            "  - {{id: {id}, minutes_per_cow: {minutes:.1}, minutes_spread: 0, helper: true, straws_at_once: 1{shifts}}}\n"
        )
    };
    let shift = format!(", shifts: [{{from: \"22:00\", to: \"{until}\"}}]");
    let crew = technician("ana", minutes[0], &shift) + &technician("burt", minutes[1], "");
    corral(1, "", &group, &crew) + &format!("rules: {{slot_minutes: {slot}}}\n")
}

/// The first one is at the box until half past one, the next one until half past four by whole slots: one cow
/// fewer than the slots hold, for she would stand in the box in which the other's last cow is. But hours are
/// open from 23:36 to 4:40.
#[test]
fn a_box_that_changes_hands_costs_no_cow_that_has_minutes_left() {
    let (_, plan) = plan_of(&handed_over("10:40", [5.0, 7.0], "01:30", 30));
    assert_eq!(plan.verdict.covered_head, 45);
    assert_eq!(plan.search.proven, plan.search.parts);
}

/// As above, where the first one must begin sooner than near the aims.
#[test]
fn who_is_first_at_a_box_makes_room_for_who_comes_next() {
    let (_, plan) = plan_of(&handed_over("10:22", [6.0, 8.3], "02:30", 10));
    assert_eq!(plan.verdict.covered_head, 46);
    assert_eq!(plan.search.proven, plan.search.parts);
}

#[test]
fn no_cow_is_left_out_for_who_has_a_box_while_there_are_minutes_for_her() {
    let (mut both, mut left) = (0, 0);
    for seed in 0..40 {
        let mut dice = Dice(seed);
        let minutes = [(30, 60), (60, 90)].map(|(a, b)| dice.from(a, b) as f64 / 10.0);
        let start = format!("10:{:02}", dice.below(60));
        let until = *dice.pick(&["01:30", "02:00", "02:15", "02:30", "03:00"]);
        let slot = *dice.pick(&[10, 15, 20, 30]);
        let text = handed_over(&start, minutes, until, slot);
        let (season, plan) = plan_of(&text);
        let session = &plan.sessions[0];
        both += usize::from(session.technicians.len() == 2);
        if plan.search.proven == plan.search.parts {
            continue;
        }
        // Minutes before the first cow and after the last: all are of one pen, and any could come first.
        let cows = cows(&season, session);
        let (first, last) = (cows[0].bred, cows[cows.len() - 1].bred);
        let spare = (session.close.with_timezone(&Utc) - last)
            + (first - session.open.with_timezone(&Utc) - seconds(minutes[0] * 60.0));
        assert!(
            spare < seconds(minutes[1] * 60.0) + TimeDelta::minutes(1),
            "{seed}: {spare}\n{text}"
        );
        let said = |f: &&Remark| f.code.as_str() == "W104" && f.what.contains("share the boxes");
        assert_eq!(plan.findings.iter().filter(said).count(), 1, "{seed}");
        left += 1;
    }
    assert!(both >= 25 && left <= 4, "{both} {left}");
}

/// Two sessions with a night between are one day where a third fills the night.
#[test]
fn a_session_in_the_night_makes_one_day_of_two() {
    let groups =
        group("a", 10, 5, "mixed") + &group("b", 10, 12, "mixed") + &group("c", 10, 19, "mixed");
    let crew = "  - {id: ana, minutes_per_cow: 4, longest_day_hours: 14, shifts: [{from: \"18:00\", to: \"17:00\"}]}";
    let text = corral(2, "", &groups, crew) + "rules: {slot_minutes: 15}\n";
    let (_, plan) = plan_of(&text);
    assert!(
        (20..30).contains(&plan.verdict.covered_head),
        "{:?}",
        plan.verdict
    );
    let stays = plan.sessions.iter().flat_map(|s| &s.technicians);
    let (begins, ends): (Vec<_>, Vec<_>) = stays.map(|t| (t.begins, t.last_cow)).unzip();
    assert!(*ends.iter().max().unwrap() - *begins.iter().min().unwrap() <= TimeDelta::hours(14));
}

/// Where no road lies between two sites, work at one may begin as the last cow at the other is bred.
#[test]
fn sites_side_by_side_are_two_places_without_a_minute_between() {
    let (mut season, mut plan) = plan_of(
        "format: thawline.season/1
name: Two corrals side by side (invented)
zone: America/Denver
sites:
  - {id: north, injections_head_per_hour: 80, breeding_boxes: 1, minutes_to: {south: 240}}
  - {id: south, injections_head_per_hour: 80, breeding_boxes: 1}
groups:
  - {id: a, site: north, class: cow, head: 10, protocol: cow-7-day-co-synch-insert, start: \"2027-05-17T10:00\", order: kept, bulls: [Ash 1]}
  - {id: b, site: south, class: cow, head: 10, protocol: cow-7-day-co-synch-insert, start: \"2027-05-17T16:00\", order: kept, bulls: [Ash 1]}
crew:
  - {id: ana, minutes_per_cow: 3, helper: true}
semen: [{bull: Ash 1, straws: 200}]
",
    );
    assert_eq!(plan.verdict.covered_head, 20);
    // The road shrinks to what lies between the two stays, and to nothing.
    let stay = |n: usize, plan: &Plan| plan.sessions[n].technicians[0].clone();
    let gap = stay(1, &plan).begins - stay(0, &plan).last_cow;
    let two_places = |season: &Season, plan: &Plan| {
        let found = thawline::verify::verify(season, plan);
        found
            .iter()
            .filter_map(|f| f.expected.as_deref())
            .any(|e| e.starts_with("time for the road"))
    };
    let road = |season: &mut Season, long: TimeDelta| {
        season.sites[0].road[1] = long;
        season.sites[1].road[0] = long;
    };
    road(&mut season, gap);
    assert!(!two_places(&season, &plan));
    road(&mut season, gap + TimeDelta::minutes(2));
    assert!(two_places(&season, &plan));
    road(&mut season, TimeDelta::zero());
    let last = stay(0, &plan).last_cow;
    plan.sessions[1].technicians[0].begins = last;
    assert!(!two_places(&season, &plan));
    plan.sessions[1].technicians[0].begins = last - TimeDelta::minutes(2);
    assert!(two_places(&season, &plan));
}
