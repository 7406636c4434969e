//! The breeding model over random seasons: verified plans, whole head, order of the objectives,
//! and the most head that brute force can find.

use proptest::prelude::*;
use thawline::plan::Plan;
use thawline::verify::verify;

use crate::support::{cases, plan_of, small};

fn sum(plan: &Plan) -> (u32, u32) {
    let bred = plan.sessions.iter().map(|s| s.head).sum();
    let missed = plan.uncovered.iter().map(|u| u.head).sum();
    (bred, missed)
}

proptest! {
    #![proptest_config(crate::support::config(40, 200))]

    /// The pipeline verifies every plan; here the totals are counted once more, and planning
    /// again gives the same bytes.
    #[test]
    fn plans_hold_and_repeat(seed in any::<u64>()) {
        let text = small(seed);
        let (season, plan) = plan_of(&text);
        prop_assert_eq!(verify(&season, &plan), vec![]);
        let (bred, missed) = sum(&plan);
        prop_assert_eq!(bred, plan.verdict.covered_head);
        prop_assert_eq!(bred + missed, plan.verdict.due_head);
        let again = thawline::output::json::plan(&plan_of(&text).1);
        prop_assert_eq!(thawline::output::json::plan(&plan), again);
    }

    /// Another technician, free at all hours, never covers fewer; nor does a straw more.
    #[test]
    fn more_hands_never_cover_less(seed in any::<u64>()) {
        let text = small(seed);
        let (_, plan) = plan_of(&text);
        let helped = text.replace("crew:\n", "crew:\n  - {id: extra, minutes_per_cow: 2.5, helper: true}\n");
        let (_, better) = plan_of(&helped);
        prop_assert!(better.verdict.covered_head >= plan.verdict.covered_head);
    }
}

fn one_site(head: u32, pens: &str, order: &str, crew: &str, boxes: u32) -> String {
    format!(
        "format: thawline.season/1
name: Small (invented)
zone: America/Chicago
sites: [{{id: s, injections_head_per_hour: 60, breeding_boxes: {boxes}}}]
groups: [{{id: g, site: s, class: heifer, head: {head}, {pens}, protocol: heifer-7-day-co-synch-insert, start: \"2027-04-05T08:00\", order: {order}, bulls: [b]}}]
crew: {crew}
semen: [{{bull: b, straws: 9999}}]
rules: {{late_straw_risk_percent: 50}}
"
    )
}

/// With one technician at m minutes a cow, window W and a PG pass of P hours, mixed order leaves
/// W - P hours and kept order W + P (design of the model); each to within the slots at both ends.
#[test]
fn one_technician_covers_what_the_window_allows() {
    let crew = "[{id: t, minutes_per_cow: 5, minutes_spread: 0, helper: true}]";
    let covered = |head, order| {
        plan_of(&one_site(head, "pens: 1", order, crew, 1))
            .1
            .verdict
            .covered_head
    };
    // 52 to 56 h, 60 head an hour. Mixed, 120 head: 2 of 4 hours are left, 24 cows at 12 an hour and one as they open.
    let mixed = covered(120, "mixed");
    assert!((22..=25).contains(&mixed), "{mixed}");
    // Kept, 120 head: from 52 h after the first to 56 h after the last, 6 hours, 72 cows and one.
    let kept = covered(120, "kept");
    assert!((67..=73).contains(&kept), "{kept}");
    // Mixed, 240 head: the pass takes as long as the window is wide; nobody is safe.
    assert_eq!(covered(240, "mixed"), 0);
}

/// Most cows of tiny pens by trying every choice: which cow goes to which moment.
fn brute_force(windows: &[(i64, i64)], ticks: &[i64]) -> usize {
    fn go(windows: &[(i64, i64)], ticks: &[i64], used: &mut Vec<bool>, cow: usize) -> usize {
        if cow == windows.len() {
            return 0;
        }
        let mut best = go(windows, ticks, used, cow + 1);
        for t in 0..ticks.len() {
            if !used[t] && windows[cow].0 <= ticks[t] && ticks[t] <= windows[cow].1 {
                used[t] = true;
                best = best.max(1 + go(windows, ticks, used, cow + 1));
                used[t] = false;
                if best == windows.len() - cow {
                    break;
                }
            }
        }
        best
    }
    go(windows, ticks, &mut vec![false; ticks.len()], 0)
}

proptest! {
    #![proptest_config(crate::support::config(20, 60))]

    /// One slow technician and a handful of cows: brute force over whole slots covers as many.
    #[test]
    fn tiny_sessions_match_brute_force(
        head in 1u32..8,
        minutes in 20u32..58,
        pace in 1u32..4,
        kept in any::<bool>(),
        from in 8u32..16,
        hours in 1u32..5,
    ) {
        let order = if kept { "kept" } else { "mixed" };
        let text = format!(
            "format: thawline.season/1
name: Tiny (invented)
zone: Etc/UTC
sites: [{{id: s, injections_head_per_hour: {pace}, breeding_boxes: 1}}]
groups: [{{id: g, site: s, class: heifer, head: {head}, protocol: heifer-7-day-co-synch-insert, start: \"2027-04-05T08:00\", order: {order}, bulls: [b]}}]
crew: [{{id: t, minutes_per_cow: {minutes}, minutes_spread: 0, helper: true, shifts: [{{from: \"{from:02}:00\", to: \"{:02}:00\"}}]}}]
semen: [{{bull: b, straws: 99}}]
rules: {{slot_minutes: 15, bath_to_cow_minutes: 60, late_straw_risk_percent: 50}}
",
            from + hours
        );
        let (_, plan) = plan_of(&text);
        let pg = plan.passes.iter().find(|p| p.step == "pg").unwrap().start.timestamp();
        let each = 3600 / i64::from(pace);
        let slot = 900;
        // A cow's hours in whole slots, from the treatment of all or of herself.
        let windows: Vec<(i64, i64)> = (0..i64::from(head))
            .map(|n| {
                let (first, last) = if kept { (n, n + 1) } else { (0, i64::from(head)) };
                let early = pg + last * each + 52 * 3600;
                let late = pg + first * each + 56 * 3600;
                ((early + slot - 1).div_euclid(slot) * slot + 1, late.div_euclid(slot) * slot)
            })
            .collect();
        // The technician's moments: first straws in the bath when the shift allows, and so that the first cow is
        // bred as the hours open at the soonest; 75 s to the first gun, then one cow after the other.
        let day = pg.div_euclid(86400) + 2;
        let mut ticks = Vec::new();
        let open = windows.iter().map(|w| w.0 - 1).min().unwrap();
        let usable = windows.iter().any(|w| w.0 < w.1);
        for d in day - 1..=day + 2 {
            let first = 75 + i64::from(minutes) * 60;
            let begin = (d * 86400 + i64::from(from) * 3600).max(open - first);
            let end = d * 86400 + i64::from(from + hours) * 3600;
            let mut at = begin + first;
            while at <= end {
                // As the hours open counts to the slot that begins then.
                ticks.push(at.max(open + 1));
                at += i64::from(minutes) * 60;
            }
        }
        ticks.retain(|t| windows.iter().any(|w| w.0 <= *t && *t <= w.1));
        let best = if usable { brute_force(&windows, &ticks) } else { 0 };
        prop_assert_eq!(plan.verdict.covered_head as usize, best, "{}", text);
    }
}

/// Head covered is never given up for the aim, nor the aim for even load.
#[test]
fn the_objectives_keep_their_order() {
    // A hurried session: everyone is needed, so all are bred though many are far from the aim.
    let two = "[{id: fast, minutes_per_cow: 3, minutes_spread: 0, helper: true}, {id: slow, minutes_per_cow: 6, minutes_spread: 0, helper: true}]";
    let (_, full) = plan_of(&one_site(60, "pens: 1", "mixed", two, 2));
    assert!(full.verdict.covered);
    // The cow farthest from the aim is no farther than the same crew's work takes: all 60 head
    // at 30 an hour fit in two hours, one on each side of the aim, slots rounded.
    let session = &full.sessions[0];
    let aim = session.pens[0].hours.aim;
    let far = session
        .slots
        .iter()
        .map(|s| {
            ((s.start + chrono::TimeDelta::minutes(7)) - aim)
                .num_minutes()
                .abs()
        })
        .max()
        .unwrap();
    assert!(far <= 75, "{far} minutes from the aim");
    // Few cows, all near the aim: load is then even in hours of work, not left to one.
    let (_, few) = plan_of(&one_site(9, "pens: 1", "mixed", two, 2));
    assert!(
        few.sessions[0].technicians.len() == 2,
        "{:?}",
        few.sessions[0].technicians
    );
}

/// Technicians who are alike share alike, and boxes hold.
#[test]
fn equals_share_evenly() {
    let crew = "[{id: a, minutes_per_cow: 4, minutes_spread: 0, helper: true}, {id: b, minutes_per_cow: 4, minutes_spread: 0, helper: true}, {id: c, minutes_per_cow: 4, minutes_spread: 0, helper: true}]";
    let (_, plan) = plan_of(&one_site(60, "pens: 1", "kept", crew, 3));
    let heads: Vec<u32> = plan.sessions[0]
        .technicians
        .iter()
        .map(|t| t.head)
        .collect();
    assert_eq!(heads.iter().sum::<u32>(), 60);
    assert!(
        heads.iter().max().unwrap() - heads.iter().min().unwrap() <= 3,
        "{heads:?}"
    );
}

/// A session that cannot be covered says how many, where and truly why.
#[test]
fn reasons_are_true() {
    let why = |text: &str| {
        let (_, plan) = plan_of(text);
        (
            plan.verdict.uncovered_head,
            plan.sessions[0].binding.as_str(),
            plan.uncovered[0].why.join("; "),
        )
    };
    let slow = "[{id: t, minutes_per_cow: 5, minutes_spread: 0, helper: true}]";
    let (missed, binding, words) = why(&one_site(240, "pens: 1", "mixed", slow, 1));
    assert_eq!((missed, binding), (240, "window"), "{words}");
    let (_, binding, words) = why(&one_site(120, "pens: 1", "kept", slow, 1));
    assert_eq!(binding, "pace", "{words}");
    let late = "[{id: t, minutes_per_cow: 5, minutes_spread: 0, helper: true, shifts: [{from: \"17:00\", to: \"20:00\"}]}]";
    let (_, binding, words) = why(&one_site(40, "pens: 1", "kept", late, 1));
    assert_eq!(binding, "shifts", "{words}");
    let many = "[{id: t, minutes_per_cow: 5, minutes_spread: 0, helper: true}, {id: u, minutes_per_cow: 5, minutes_spread: 0, helper: true}]";
    let (_, binding, words) = why(&one_site(110, "pens: 1", "kept", many, 1));
    assert_eq!(binding, "boxes", "{words}");
    let short = one_site(40, "pens: 1", "kept", many, 2).replace("straws: 9999", "straws: 30");
    let (missed, binding, words) = why(&short);
    assert_eq!((missed, binding), (10, "straws"), "{words}");
}

/// Work is half an hour at a time with a rest of 7 minutes, but what a round leaves takes half an hour to put
/// in order: the next cow comes a whole round later, rest or not.
#[test]
fn a_rest_puts_nothing_in_order() {
    let text = "
format: thawline.season/1
name: Short rests (invented)
zone: America/Denver
sites: [{id: home, injections_head_per_hour: 45, breeding_boxes: 1}]
groups:
  - {id: cows, site: home, class: cow, head: 31, bulls: [A], order: kept, protocol: cow-7-day-co-synch-insert,
     start: 2060-08-23T17:30}
crew: [{id: ann, minutes_per_cow: 8}]
rules: {reset_seconds: 1800, rest_after_hours: 0.5, rest_minutes: 6.7}
semen: [{bull: A, straws: 60}]
";
    let (_, plan) = plan_of(text);
    let at = |s: &thawline::plan::Slot| {
        let start = s.start.timestamp() as f64 / 60.0;
        s.bred_minutes
            .iter()
            .map(move |m| start + m)
            .collect::<Vec<f64>>()
    };
    let mut cows: Vec<f64> = plan.sessions[0].slots.iter().flat_map(at).collect();
    cows.sort_by(f64::total_cmp);
    assert!(cows.len() > 3);
    let least = cows
        .windows(2)
        .map(|w| w[1] - w[0])
        .fold(f64::INFINITY, f64::min);
    assert!(least >= 30.0 + 8.0 - 0.1, "{least} minutes");
}

/// Thirteen heifers whose hours, 07:42 to 08:22, hold two whole quarters: three minutes each, they go in one
/// after the other in the 40 minutes that there are.
#[test]
fn hours_count_to_the_minute() {
    let season = "format: thawline.season/1
name: Grain (invented)
zone: America/Denver
sites: [{id: bench, injections_head_per_hour: 3.9, inserts_head_per_hour: 3.9, breeding_boxes: 1}]
groups: [{id: g, site: bench, class: heifer, head: 13, protocol: heifer-14-day-insert-pg, start: \"2027-04-01T12:22\", order: mixed, bulls: [b]}]
crew: [{id: ana, minutes_per_cow: 3, helper: true, straws_at_once: 3, minutes_spread: 0.5, shifts: [{from: \"04:00\", to: \"20:00\"}]}]
semen: [{bull: b, straws: 400}]
";
    assert_eq!(plan_of(season).1.verdict.covered_head, 13);
    let by_quarters = format!("{season}rules: {{slot_minutes: 15}}\n");
    assert!(plan_of(&by_quarters).1.verdict.covered_head < 13);
}

/// Steps left open breed no fewer than the steps they stand for, and often more.
#[test]
fn finer_steps_breed_no_fewer() {
    let (mut short, mut more) = (0, 0);
    for seed in 0..u64::from(cases(16, 150)) {
        let text = small(seed);
        let at = text.find("slot_minutes: ").expect("stated");
        let end = at + text[at..].find(", ").expect("not the last") + 2;
        let stated = format!("{}slot_minutes: 15, {}", &text[..at], &text[end..]);
        let open = format!("{}{}", &text[..at], &text[end..]);
        let told = |text: &str| plan_of(text).1.verdict;
        let (by_quarters, finely) = (told(&stated), told(&open));
        assert!(finely.covered_head >= by_quarters.covered_head, "{open}");
        short += u32::from(by_quarters.uncovered_head > 0);
        more += u32::from(finely.covered_head > by_quarters.covered_head);
    }
    assert!(more * 8 > short, "{more} of {short}");
}
