//! Whole calendars.

use std::collections::BTreeSet;

use super::calendar;
use crate::base::time::Instant;
pub(super) use crate::output::demo::PLAN as DEMO;
use crate::output::demo::not_bred;
use crate::planning::plan::{Moment, Plan, Work};
use crate::trade::protocol::Caution;

pub(super) fn stamp() -> Instant {
    "2027-01-15T12:00:00Z".parse().unwrap()
}

/// Content lines, unfolded.
pub(super) fn lines(file: &str) -> Vec<String> {
    let unfolded = file.replace("\r\n ", "");
    unfolded.split("\r\n").map(str::to_owned).collect()
}

/// Events, as content lines.
pub(super) fn events(file: &str) -> Vec<Vec<String>> {
    let mut found: Vec<Vec<String>> = Vec::new();
    let mut inside = false;
    for line in lines(file) {
        match line.as_str() {
            "BEGIN:VEVENT" => {
                inside = true;
                found.push(Vec::new());
            }
            "END:VEVENT" => inside = false,
            _ if inside => found.last_mut().unwrap().push(line),
            _ => {}
        }
    }
    found
}

pub(super) fn value<'a>(event: &'a [String], name: &str) -> Option<&'a str> {
    event
        .iter()
        .find_map(|l| l.strip_prefix(name)?.strip_prefix(':'))
}

/// The event that has this value of a property.
pub(super) fn event(file: &str, name: &str, id: &str) -> Vec<String> {
    let mut all = events(file).into_iter();
    let found = all.find(|e| value(e, name) == Some(id));
    found.unwrap_or_else(|| panic!("no {name} {id}"))
}

fn values(file: &str, name: &str) -> Vec<String> {
    let found = events(file);
    let values = found.iter().filter_map(|e| value(e, name));
    values.map(str::to_owned).collect()
}

pub(super) fn every_calendar(plan: &Plan) -> Vec<String> {
    let technicians = plan.technicians.iter().map(|t| Some(t.id.as_str()));
    let whose = [None].into_iter().chain(technicians);
    whose.map(|t| calendar(plan, t, stamp())).collect()
}

#[test]
fn the_season_holds_every_pass_and_session_once() {
    let file = calendar(&DEMO, None, stamp());
    let passes = DEMO.passes.iter().filter(|p| p.work != Work::Breeding);
    let follow = DEMO.follow_up.iter().flat_map(|g| &g.events);
    assert!(follow.clone().count() > 4 * 6);
    let ids: [(&str, Vec<&String>); 3] = [
        ("X-THAWLINE-PASS", passes.map(|p| &p.id).collect()),
        (
            "X-THAWLINE-SESSION",
            DEMO.sessions.iter().map(|s| &s.id).collect(),
        ),
        ("X-THAWLINE-FOLLOW", follow.map(|f| &f.id).collect()),
    ];
    for (name, mut wanted) in ids {
        let mut told = values(&file, name);
        told.sort();
        wanted.sort();
        assert_eq!(told.iter().collect::<Vec<_>>(), wanted, "{name}");
    }
}

#[test]
fn a_technician_has_the_sessions_he_or_she_is_in() {
    for technician in &DEMO.technicians {
        let file = calendar(&DEMO, Some(&technician.id), stamp());
        assert!(file.contains(&format!("X-THAWLINE-TECHNICIAN:{}\r\n", technician.id)));
        let (events, returns): (Vec<_>, Vec<_>) = events(&file)
            .into_iter()
            .partition(|e| value(e, "X-THAWLINE-FOLLOW").is_none());
        assert_eq!(events.len(), technician.sessions as usize);
        // Return heats of the groups that he or she bred, and nothing else of what follows.
        let slots = DEMO.sessions.iter().flat_map(|s| &s.slots);
        let mine = slots.filter(|s| s.technician == technician.id);
        let mine: BTreeSet<_> = mine.map(|s| format!("{}/return-heat", s.group)).collect();
        let told = returns.iter().map(|e| value(e, "X-THAWLINE-FOLLOW"));
        let told: BTreeSet<_> = told.map(|id| id.unwrap().to_owned()).collect();
        assert_eq!(told, mine);
        for event in events {
            let id = value(&event, "X-THAWLINE-SESSION").unwrap();
            let session = DEMO.sessions.iter().find(|s| s.id == id).unwrap();
            let all = session.technicians.iter();
            let (here, others): (Vec<_>, Vec<_>) = all.partition(|t| t.id == technician.id);
            let here = here[0];
            let start = here.begins.format("%Y%m%dT%H%M%S").to_string();
            let told = value(&event, "DTSTART;TZID=America/Denver");
            assert_eq!(told, Some(&*start));
            let text = value(&event, "DESCRIPTION").unwrap();
            assert!(text.contains(&format!(": {} head\\n", here.head)));
            let slots = session.slots.iter();
            let slots = slots.filter(|l| l.technician == technician.id);
            for start in slots.map(|l| l.start.format("\\n%H:%M ").to_string()) {
                assert!(text.contains(&start), "{text}");
            }
            for other in others {
                assert!(text.contains(DEMO.technician_name(&other.id)));
            }
        }
    }
}

#[test]
fn a_chute_pass_in_full() {
    let caution = |c: Caution| {
        let text = format!("\\nCaution: {} [{}]", c.words(), c.source());
        text.replace(';', "\\;").replace(',', "\\,")
    };
    let file = calendar(&DEMO, None, stamp());
    let event = event(&file, "X-THAWLINE-PASS", "mature/1/pg");
    let description = "Mature cows\\, pen 1 of 2: 80 head\\n\
        PG + insert out\\, Mon 24 May 14:00 to 15:36\\n\
        Protocol: 7-day CO-Synch + CIDR\\n\
        Note: Write down when the first and the last cow get PG\\; the breeding hours run from here.\\n\
        Drugs: follow the label and your veterinarian.";
    let pass = DEMO.passes.iter().find(|p| p.id == "mature/1/pg");
    let cautions = pass.unwrap().cautions.iter();
    let cautions: String = cautions.map(|c| caution(*c)).collect();
    let summary = "PG + insert out: Mature cows pen 1\\, 80 head";
    let alarm = |trigger: &str| {
        format!("BEGIN:VALARM|ACTION:DISPLAY|DESCRIPTION:{summary}|TRIGGER:{trigger}|END:VALARM")
    };
    let wanted = format!(
        "UID:{}|DTSTAMP:20270115T120000Z|LAST-MODIFIED:20270115T120000Z|SEQUENCE:0|STATUS:CONFIRMED|DTSTART;TZID=America/Denver:20270524T140000|\
         DTEND;TZID=America/Denver:20270524T153600|SUMMARY:{summary}|LOCATION:Juniper Bench corrals|GEO:40.25;-108.75|\
         DESCRIPTION:{description}{cautions}|CATEGORIES:Chute work,Juniper Bench corrals|\
         X-THAWLINE-PASS:mature/1/pg|{}|{}",
        value(&event, "UID").unwrap(),
        alarm("-PT19H"),
        alarm("-PT1H")
    );
    assert_eq!(event.join("|"), wanted);
}

/// Feeding rings every day. Bred on Thu 27 May, return heats are watched for on days 18 to 24, each with
/// its reminder; the check from 30 days after the bulls go in on 7 June until day 90 is one stretch; calves
/// come after 279 days (278.6, ANGUS-GL), the first 12 days earlier.
#[test]
fn days_of_feeding_and_of_what_follows_ai_are_told_as_they_are() {
    let file = calendar(&DEMO, None, stamp());
    let follow = "X-THAWLINE-FOLLOW";
    for row in [
        "heifers/all/mga|SUMMARY|Feed MGA to 25 Apr: Yearling heifers\\, 88 head",
        "heifers/all/mga|RRULE|FREQ=DAILY;COUNT=14",
        "heifers/all/mga|TRANSP|TRANSPARENT",
        "mature/return-heat|DTSTART;VALUE=DATE|20270614",
        "mature/return-heat|RRULE|FREQ=DAILY;COUNT=7",
        "mature/return-heat|CATEGORIES|Heat watch,Juniper Bench corrals",
        "mature/ai-or-bull|DTSTART;VALUE=DATE|20270707",
        "mature/ai-or-bull|DTEND;VALUE=DATE|20270826",
        "mature/ai-or-bull|RRULE|",
        "mature/bulls-out|DTSTART;VALUE=DATE|20270720",
        "mature/mean-calving|DTSTART;VALUE=DATE|20280301",
        "mature/first-calving|DTSTART;VALUE=DATE|20280218",
    ] {
        let (id, told) = row.split_once('|').unwrap();
        let (name, told) = told.split_once('|').unwrap();
        let feeding = id.ends_with("mga");
        let found = event(&file, if feeding { "X-THAWLINE-PASS" } else { follow }, id);
        assert_eq!(value(&found, name).unwrap_or_default(), told, "{row}");
    }
    let withdrawal = event(&file, follow, "mature/withdrawal");
    let text = value(&withdrawal, "DESCRIPTION").unwrap();
    assert!(
        text.contains("see the label") && text.contains("the label in hand"),
        "{text}"
    );
}

/// The zone is told for the times that are used: calving a year later is of whole days.
#[test]
fn the_zone_spans_the_times_and_not_the_days() {
    let file = calendar(&DEMO, None, stamp());
    let whole = lines(&file);
    let onsets = whole.iter().filter_map(|l| l.strip_prefix("DTSTART:"));
    let onsets: Vec<&str> = onsets.collect();
    assert_eq!(onsets, ["20270314T020000"]);
    assert!(file.contains("DTSTART;VALUE=DATE:2028"));
}

#[test]
fn the_frame_is_whole() {
    for file in every_calendar(&DEMO) {
        let whole = lines(&file);
        assert_eq!(&whole[..2], ["BEGIN:VCALENDAR", "VERSION:2.0"]);
        assert_eq!(&whole[whole.len() - 2..], ["END:VCALENDAR", ""]);
        assert_eq!(file.matches("BEGIN:VTIMEZONE").count(), 1);
        assert!(!file.contains("\r\nMETHOD"));
        let count = |start: &str| whole.iter().filter(|l| l.starts_with(start)).count();
        // None in VTIMEZONE and VALARM, one in each event.
        assert_eq!(count("UID:"), count("BEGIN:VEVENT"));
        assert_eq!(count("DTSTAMP:20270115T120000Z"), count("BEGIN:VEVENT"));
        assert_eq!(count("BEGIN:VALARM"), 2 * count("BEGIN:VEVENT"));
    }
}

#[test]
fn uids_are_unique_and_outlast_a_change_of_plan() {
    let uids = |plan: &Plan| -> Vec<String> {
        let all = every_calendar(plan);
        all.iter().flat_map(|f| values(f, "UID")).collect()
    };
    let before = uids(&DEMO);
    assert_eq!(before.iter().collect::<BTreeSet<_>>().len(), before.len());
    let mut moved = DEMO.clone();
    for pass in &mut moved.passes {
        pass.start += chrono::TimeDelta::days(2);
        pass.end += chrono::TimeDelta::days(2);
        pass.head += 5;
    }
    for event in moved.follow_up.iter_mut().flat_map(|g| &mut g.events) {
        event.first_day += chrono::TimeDelta::days(2);
    }
    for session in &mut moved.sessions {
        session.technicians.reverse();
        for t in &mut session.technicians {
            t.last_cow += chrono::TimeDelta::minutes(5);
        }
    }
    let after: BTreeSet<String> = uids(&moved).into_iter().collect();
    assert_eq!(after, before.into_iter().collect());
    let mut renamed = DEMO.clone();
    renamed.season.push('2');
    assert!(uids(&renamed).iter().all(|u| !after.contains(u)));
}

#[test]
fn events_come_by_start_and_the_same_input_gives_the_same_bytes() {
    let file = calendar(&DEMO, None, stamp());
    let all = events(&file);
    let starts = all.iter().map(|e| {
        let line = e.iter().find(|l| l.starts_with("DTSTART")).unwrap();
        line.split(':').nth(1).unwrap()
    });
    let starts: Vec<&str> = starts.collect();
    assert!(starts.is_sorted(), "{starts:?}");
    let mut shuffled = DEMO.clone();
    shuffled.passes.reverse();
    shuffled.sessions.reverse();
    assert_eq!(calendar(&shuffled, None, stamp()), file);
}

#[test]
fn a_session_with_nobody_bred_says_so_over_its_hours() {
    let mut plan = DEMO.clone();
    let s = &mut plan.sessions[0];
    (s.head, s.first_cow, s.last_cow) = (0, None, None);
    s.technicians.clear();
    s.slots.clear();
    s.straws.clear();
    for p in &mut s.pens {
        p.bred_head = 0;
    }
    let s = s.clone();
    let uncovered = |p| not_bred(&s, p, &[1, 2, 3], "nobody is on shift");
    plan.uncovered = s.pens.iter().map(uncovered).collect();
    let file = calendar(&plan, None, stamp());
    let event = event(&file, "X-THAWLINE-SESSION", &s.id);
    let local = |t: Moment| t.format("%Y%m%dT%H%M%S").to_string();
    for (name, told) in [
        ("SUMMARY", "NOT BRED: Yearling heifers\\, 88 head"),
        ("DTSTART;TZID=America/Denver", &local(s.open)),
        ("DTEND;TZID=America/Denver", &local(s.close)),
    ] {
        assert_eq!(value(&event, name), Some(told));
    }
    let text = value(&event, "DESCRIPTION").unwrap();
    assert!(text.contains(
        "NOT BRED: 44 head of Yearling heifers\\, pen 1 of 2 (animals 1 to 3): nobody is on shift"
    ));
    assert!(!text.contains("Margin"));
}

#[test]
fn a_calendar_without_events_is_still_one() {
    let file = calendar(&DEMO, Some("nobody"), stamp());
    assert!(events(&file).is_empty());
    assert!(file.contains("BEGIN:STANDARD"));
}
