//! A new export after an earlier one.

use std::collections::{BTreeMap, BTreeSet};

use chrono::TimeDelta;
use proptest::prelude::*;

use super::tests::{DEMO, event, events, stamp, value};
use super::{calendar, calendar_after, read_previous};
use crate::base::time::Instant;
use crate::planning::plan::Plan;

fn later() -> Instant {
    stamp() + TimeDelta::days(3)
}

fn after(plan: &Plan, technician: Option<&str>, at: Instant, old: &str) -> String {
    let old = read_previous("old.ics", old.as_bytes()).unwrap();
    calendar_after(plan, technician, at, &old, "old.ics").unwrap()
}

/// Each UID with SEQUENCE, DTSTAMP and STATUS.
fn revisions(file: &str) -> BTreeMap<String, (u32, String, String)> {
    let mut found = BTreeMap::new();
    for e in events(file) {
        let of = |name| value(&e, name).unwrap().to_owned();
        assert_eq!(of("DTSTAMP"), of("LAST-MODIFIED"));
        let told = (of("SEQUENCE").parse().unwrap(), of("DTSTAMP"), of("STATUS"));
        assert_eq!(found.insert(of("UID"), told), None, "a UID twice");
    }
    found
}

#[test]
fn the_same_plan_gives_the_same_bytes_at_any_later_time() {
    for technician in [None, Some("ana")] {
        let first = calendar(&DEMO, technician, stamp());
        assert_eq!(after(&DEMO, technician, later(), &first), first);
    }
}

#[test]
fn what_changed_counts_on_and_what_did_not_stays() {
    let first = calendar(&DEMO, None, stamp());
    let mut moved = DEMO.clone();
    let mut passes = moved.passes.iter_mut();
    let p = passes.find(|p| p.id == "mature/1/pg").unwrap();
    p.end += TimeDelta::minutes(15);
    let second = after(&moved, None, later(), &first);
    let (was, is) = (revisions(&first), revisions(&second));
    let uid = event(&first, "X-THAWLINE-PASS", "mature/1/pg");
    let uid = value(&uid, "UID").unwrap().to_owned();
    for (of, old) in &was {
        let new = &is[of];
        if *of == uid {
            assert_eq!((old.0, new.0), (0, 1));
            assert_eq!(new.1, "20270118T120000Z");
        } else {
            assert_eq!(old, new, "{of}");
        }
        assert_eq!(new.2, "CONFIRMED");
    }
    // Moved back: that is a change again.
    let third = after(&DEMO, None, later(), &second);
    assert_eq!(revisions(&third)[&uid].0, 2);
    // A clock that was set back does not turn the stamp back.
    let fourth = after(&moved, None, stamp() - TimeDelta::days(9), &third);
    assert_eq!(
        revisions(&fourth)[&uid],
        (3, "20270118T120000Z".to_owned(), "CONFIRMED".to_owned())
    );
}

#[test]
fn what_went_away_is_cancelled_stays_so_and_can_come_back() {
    let first = calendar(&DEMO, None, stamp());
    let mut fewer = DEMO.clone();
    fewer.passes.retain(|p| p.group != "late");
    fewer
        .sessions
        .retain(|s| s.pens.iter().all(|p| p.group != "late"));
    fewer.follow_up.retain(|g| g.group != "late");
    let gone = events(&first).len() - events(&calendar(&fewer, None, stamp())).len();
    assert!(gone > 8, "{gone}");

    let second = after(&fewer, None, later(), &first);
    let is = revisions(&second);
    assert_eq!(is.len(), revisions(&first).len());
    let cancelled: Vec<_> = is.values().filter(|r| r.2 == "CANCELLED").collect();
    assert_eq!(cancelled.len(), gone);
    assert!(
        cancelled
            .iter()
            .all(|r| r.0 == 1 && r.1 == "20270118T120000Z")
    );
    let [before, one] = [&first, &second].map(|f| event(f, "X-THAWLINE-PASS", "late/1/first-pg"));
    let summary = format!("CANCELLED: {}", value(&before, "SUMMARY").unwrap());
    assert_eq!(value(&one, "SUMMARY"), Some(&*summary));
    let start = "DTSTART;TZID=America/Denver";
    assert_eq!(value(&one, start), value(&before, start));
    assert_eq!(value(&one, "TRANSP"), Some("TRANSPARENT"));
    // Nothing rings for what is not.
    assert!(before.iter().any(|l| l == "BEGIN:VALARM"));
    assert!(one.iter().all(|l| l != "BEGIN:VALARM"));

    // Exported again, nothing changes; back in the plan, it is the next revision.
    assert_eq!(
        after(&fewer, None, later() + TimeDelta::days(1), &second),
        second
    );
    let back = revisions(&after(&DEMO, None, later(), &second));
    let returned = back.values().filter(|r| r.0 == 2).count();
    assert_eq!(returned, gone);
    assert!(back.values().all(|r| r.2 == "CONFIRMED"));
}

#[test]
fn a_cancelled_event_keeps_the_zone_that_it_was_told_in() {
    let mut away = DEMO.clone();
    away.zone = "America/Boise".to_owned();
    away.passes.clear();
    away.sessions.clear();
    let old = calendar(&DEMO, None, stamp());
    let file = after(&away, None, later(), &old);
    for zone in ["America/Boise", "America/Denver"] {
        assert_eq!(
            file.matches(&format!("\r\nTZID:{zone}\r\n")).count(),
            1,
            "{zone}"
        );
    }
}

#[test]
fn folded_and_bare_line_ends_of_another_program_are_the_same_calendar() {
    let first = calendar(&DEMO, None, stamp());
    let unfolded = first.replace("\r\n ", "");
    let bare = first.replace("\r\n", "\n").replace("\n ", "\n\t");
    let marked = format!("\u{feff}{first}");
    for again in [unfolded, bare, marked] {
        assert_eq!(after(&DEMO, None, later(), &again), first);
    }
}

#[test]
fn what_cannot_be_read_says_in_which_line() {
    let file = calendar(&DEMO, None, stamp());
    let lines: Vec<&str> = file.split("\r\n").collect();
    let at = |start: &str| lines.iter().position(|l| l.starts_with(start)).unwrap() + 1;
    let event = at("BEGIN:VEVENT");
    let cut: String = lines[..event + 3].join("\r\n");
    let mut cases = vec![
        ("E101", 1, String::new()),
        ("E101", 1, "no calendar\r\n".to_owned()),
        ("E101", event + 3, cut),
        ("E101", lines.len(), format!("{file}{file}")),
    ];
    for [code, line, from, to] in [
        ["E101", "BEGIN:VEVENT", "UID:", "X-UID:"],
        ["E101", "DTSTART;TZID", "TZID=America", "TZID=Amerika"],
        ["E101", "SEQUENCE", "SEQUENCE:0", "SEQUENCE:many"],
        ["E101", "DTSTAMP", "DTSTAMP:2027", "DTSTAMP:20a7"],
        ["E101", "SUMMARY", "SUMMARY:", "SUMMARY "],
        ["E101", "END:VEVENT", "END:VEVENT", "END:VTODO"],
        ["E102", "PRODID", "Thawline//Thawline", "Other//Other"],
    ] {
        cases.push((code, at(line), file.replacen(from, to, 1)));
    }
    for (code, line, text) in cases {
        let error = read_previous("old.ics", text.as_bytes()).unwrap_err();
        let found = &error.findings()[0];
        let place = found.place.as_ref().unwrap();
        let told = (found.code.as_str(), &*place.file, place.line as usize);
        assert_eq!(told, (code, "old.ics", line), "{found}");
    }
    let deep = format!("BEGIN:VCALENDAR\n{}", "BEGIN:X\n".repeat(100_000));
    assert!(read_previous("old.ics", deep.as_bytes()).is_err());
    let binary = [file.as_bytes(), b"\xff"].concat();
    assert!(read_previous("old.ics", &binary).is_err());
}

#[test]
fn another_persons_calendar_is_refused() {
    let ana = calendar(&DEMO, Some("ana"), stamp());
    let old = read_previous("ana.ics", ana.as_bytes()).unwrap();
    for other in [None, Some("burt")] {
        let fault = calendar_after(&DEMO, other, later(), &old, "ana.ics").unwrap_err();
        assert_eq!(fault.code.as_str(), "E102");
        assert!(fault.what.contains("technician `ana`"), "{fault}");
    }
}

/// What a phone has after it imported both files, the later over the earlier: each UID once.
fn imported(files: [&str; 2]) -> BTreeMap<String, (u32, String, String)> {
    let mut phone: BTreeMap<String, (u32, String, String)> = BTreeMap::new();
    for file in files {
        for (uid, told) in revisions(file) {
            match phone.get(&uid) {
                Some(known) if known.0 > told.0 => panic!("SEQUENCE turned back"),
                _ => drop(phone.insert(uid, told)),
            }
        }
    }
    phone
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(24))]
    /// Any passes and sessions dropped, moved and renamed, twice over: every UID once, SEQUENCE
    /// never turns back, and what is left on the phone is the plan and what is cancelled.
    #[test]
    fn any_change_leaves_one_updated_set(
        drop_passes in prop::collection::vec(any::<bool>(), 40),
        move_days in prop::collection::vec(0_i64..4, 40),
        drop_groups in prop::collection::vec(any::<bool>(), 4),
        note in ".{0,30}",
    ) {
        let mut changed = DEMO.clone();
        let mut n = 0;
        changed.passes.retain(|_| { n += 1; !drop_passes[n % 40] });
        for (p, days) in changed.passes.iter_mut().zip(&move_days) {
            p.start += TimeDelta::days(*days);
            p.end += TimeDelta::days(*days);
        }
        let mut n = 0;
        changed.follow_up.retain(|_| { n += 1; drop_groups[n % 4] });
        changed.groups[0].note = Some(note);
        let first = calendar(&DEMO, None, stamp());
        let second = after(&changed, None, later(), &first);
        let third = after(&DEMO, None, later() + TimeDelta::hours(1), &second);
        let live = |file: &str| -> BTreeSet<String> {
            let all = revisions(file).into_iter();
            all.filter(|r| r.1.2 == "CONFIRMED").map(|r| r.0).collect()
        };
        let alone = |plan: &Plan| live(&calendar(plan, None, stamp()));
        prop_assert_eq!(live(&second), alone(&changed));
        prop_assert_eq!(live(&third), alone(&DEMO));
        let phone = imported([&first, &second]);
        prop_assert_eq!(phone.len(), revisions(&first).len());
        imported([&second, &third]);
        // Nothing changed, nothing counted.
        prop_assert_eq!(after(&changed, None, later() + TimeDelta::days(9), &second), second);
    }

    /// Whatever bytes come: an error or a calendar, never a panic.
    #[test]
    fn nothing_read_panics(
        at in 0_usize..20_000,
        bytes in prop::collection::vec(any::<u8>(), 0..40),
        text in "(?s).{0,200}",
    ) {
        let mut file = calendar(&DEMO, Some("ana"), stamp()).into_bytes();
        let at = at % file.len();
        let end = (at + bytes.len() / 2).min(file.len());
        file.splice(at..end, bytes);
        let _ = read_previous("old.ics", &file);
        let _ = read_previous("old.ics", text.as_bytes());
    }
}

/// Lines and events longer than any of ours are refused, at their beginning; what is not asked for is not
/// kept.
#[test]
fn lines_without_end_are_refused() {
    let long = "x".repeat(3_000_000);
    let folded = vec!["y".repeat(70); 50_000].join("\r\n ");
    for what in [long, folded] {
        let text = format!("BEGIN:VCALENDAR\r\nVERSION:2.0\r\nX-Y:{what}\r\nEND:VCALENDAR\r\n");
        let e = read_previous("c.ics", text.as_bytes()).unwrap_err();
        let first = &e.findings()[0];
        assert_eq!(first.place.as_ref().unwrap().line, 3, "{}", first.what);
        assert!(first.what.contains("longer than"), "{}", first.what);
    }
    let event = format!(
        "BEGIN:VCALENDAR\nBEGIN:VEVENT\n{}END:VEVENT\nEND:VCALENDAR\n",
        "X-Y:z\n".repeat(2000)
    );
    let e = read_previous("c.ics", event.as_bytes()).unwrap_err();
    assert!(e.findings()[0].what.contains("more than 1000 lines"), "{e}");
}
