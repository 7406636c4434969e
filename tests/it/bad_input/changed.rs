//! Seasons and protocols at the edge of what is allowed, and at random beyond it: each is refused
//! with a place, or planned to a plan that holds.

use thawline::protocol::Library;
use thawline::time::Instant;
use thawline::{output, pipeline, protocol, season};

use super::{DEMO, planned, small};
use crate::codes::{PROTOCOL, SEASON};
use crate::support::{Dice, Size, cases, large};

/// Ids may hold slashes; what is made of them must still be told apart.
#[test]
fn ids_of_passes_and_sessions_do_not_clash() {
    let text = small("id: yard", "id: x").replacen("site: yard", "site: x", 1);
    let group = |id: &str, site: &str| {
        format!(
            "  - {{id: {id}, site: {site}, class: cow, head: 5, protocol: cow-co-synch, start: 2027-06-07T14:00, bulls: [Ash 1]}}\n"
        )
    };
    let sites =
        "  - {id: x/y, injections_head_per_hour: 60, breeding_boxes: 1, minutes_to: {x: 5}}\n";
    let text = text
        .replacen("groups:\n", &format!("{sites}groups:\n"), 1)
        .replacen(
            "crew:\n",
            &[
                group("y", "x"),
                group("x/y", "x/y"),
                group("y/z", "x"),
                group("z", "x/y"),
                "crew:\n".into(),
            ]
            .concat(),
            1,
        );
    planned(text);
}

/// The whole group is fed and watched as one, whatever the pens.
#[test]
fn steps_that_count_from_feeding_or_from_the_start_hold_for_each_pen() {
    let pens = small("head: 20", "head: 20\n    pens: 3")
        .replacen(
            "breeding_boxes: 2",
            "inserts_head_per_hour: 20\n    breeding_boxes: 2",
            1,
        )
        .replacen("protocol: cow-7-day-co-synch-insert", "protocol: own", 1)
        // In the United States cows may not be fed MGA.
        .replacen("zone:", "country: CA\nzone:", 1);
    let fed = PROTOCOL.replacen(
        "  - {id: pg, after: gnrh, days: 7,",
        "  - {id: fed, after: start, days: 1, lasts_days: 5, do: [feed-mga]}\n  - {id: pg, after: fed, days: 7,",
        1,
    );
    let at_once = PROTOCOL.replacen(
        "after: pg, hours: {earliest: 60, aim: 63, latest: 66}",
        "after: start, hours: {earliest: 190, aim: 200, latest: 210}",
        1,
    );
    let after_feed = fed
        .replacen("after: pg, hours", "after: fed, hours", 1)
        .replacen("60, aim: 63, latest: 66", "200, aim: 202, latest: 204", 1);
    let hours_to_feed = fed.replacen(
        "days: 1, lasts",
        "hours: {earliest: 20, aim: 24, latest: 30}, lasts",
        1,
    );
    let to_the_hour = PROTOCOL.replacen(
        "after: gnrh, days: 7",
        "after: start, hours: {earliest: 160, aim: 168, latest: 170}",
        1,
    );
    for protocol in [fed, at_once, after_feed, hours_to_feed, to_the_hour] {
        let (library, _) = Library::with_files([("own.yaml", protocol.as_bytes())]).unwrap();
        assert!(survives(pens.as_bytes(), &library, &protocol));
    }
}

/// Hours into which no slot fits stand beside hours into which many do.
#[test]
fn a_pen_that_nobody_can_breed_leaves_the_others_theirs() {
    let slow = "  - {id: slow, site: yard, class: cow, head: 400, order: mixed, protocol: cow-7-day-co-synch-insert, start: 2027-05-03T20:00, bulls: [Ash 1]}\n";
    let out = planned(small("crew:\n", &format!("{slow}crew:\n")));
    assert!(out.contains("cows: 20 head"), "{out}");
    assert!(out.contains("slow: 0 of 400 head"), "{out}");
}

/// The same people stay at the boxes, whoever would be fastest in a single slot.
#[test]
fn a_few_head_that_no_plain_count_explains_have_a_reason() {
    let text = DEMO.replacen("minutes_per_cow: 3\n", "minutes_per_cow: 7\n", 1);
    planned(text.replacen("creek: 35", "creek: 33.3", 1));
}

/// The crew goes home and comes back within the hours of one session.
#[test]
fn a_session_may_last_over_a_night() {
    let text = small("head: 20", "head: 700")
        .replacen("straws: 40", "straws: 900", 1)
        .replacen("2027-05-03T20:00", "2027-05-03T04:00", 1)
        .replacen("helper: true", "shifts: [{from: '05:00', to: '20:00'}]", 1);
    let out = planned(text);
    assert!(out.contains("to Thu 13 May 09:"), "{out}");
}

#[test]
fn the_largest_numbers_allowed_do_not_overflow() {
    let places = "  - {bull: Ash 1, straws: 100000}\n".repeat(4999);
    planned(format!("{SEASON}{places}"));
    planned(small("per_hour: 60", "per_hour: 1"));
    planned(small("head: 20", "head: 200\n    pens: 200"));
    planned(small("2027-05-03", "2100-12-31"));
    planned(small("2027-05-03", "2000-01-01"));
    let zone = |name: &str, start: &str| {
        small("America/Denver", name).replacen("2027-05-03T20:00", start, 1)
    };
    planned(zone("Pacific/Apia", "2011-12-30T20:00"));
    planned(zone("Pacific/Apia", "2011-12-22T20:00"));
    planned(zone("Australia/Lord_Howe", "2027-04-04T01:45"));
    planned(zone("Africa/Casablanca", "2027-02-01T01:45"));
}

/// Reads a season and plans it: either an input error with places, or a sound plan.
fn survives(bytes: &[u8], library: &Library, what: &str) -> bool {
    let tried = std::panic::catch_unwind(|| {
        let (season, found) = match season::read("s.yaml", bytes, library) {
            Ok(read) => read,
            Err(e) => {
                assert!(e.is_input());
                assert!(e.findings().iter().all(|f| f.place.is_some()), "{e}");
                return false;
            }
        };
        let plan = pipeline::plan(&season, &found).unwrap_or_else(|e| panic!("{e}"));
        assert!(!output::text::plan(&plan).contains('\u{1b}'));
        let page = output::page::page(&plan);
        assert_eq!(page.matches("<script").count(), 1);
        let stamp = Instant::from_timestamp(1_800_000_000, 0).unwrap();
        assert!(output::calendar::calendar(&plan, None, stamp).ends_with("END:VCALENDAR\r\n"));
        true
    });
    tried.unwrap_or_else(|_| panic!("{what}:\n{}", String::from_utf8_lossy(bytes)))
}

const JUNK: &[&str] = &[
    "",
    "~",
    "0",
    "1",
    "-1",
    "2",
    "7",
    "199",
    "99999",
    "1000000000",
    "0.001",
    "1e308",
    ".nan",
    ".inf",
    "true",
    "x",
    "\"\"",
    "[]",
    "{}",
    "[1]",
    "{a: 1}",
    "- 1",
    "*a",
    "&a 1",
    "!x 1",
    "|",
    ">-",
    "#",
    "'",
    "\"",
    ": ",
    "2000-01-01T00:00",
    "2100-12-31T23:59",
    "2027-05-24",
    "00:00",
    "24:00",
    "<script>",
    "=1+1",
    "\u{202e}",
    "🐂",
];

/// Values that fit, so that the season is read and the planning is put to the test.
const FITTING: &[(&str, &[&str])] = &[
    ("head", &["1", "2", "13", "300", "1500"]),
    ("pens", &["1", "2", "7", "60"]),
    ("pen_head", &["[80, 70]", "[1, 149]", "[50, 50, 50]"]),
    (
        "start",
        &[
            "2027-03-05T14:00",
            "2027-03-07T02:30",
            "2027-10-28T23:45",
            "2027-05-17T03:20:17",
            "2027-05-24T12:00",
            "2027-04-07T12:00",
            "2100-12-31T23:59",
        ],
    ),
    ("order", &["kept", "mixed"]),
    ("site", &["bench", "creek", "site 0", "site 1"]),
    ("home_site", &["bench", "creek", "site 1", "site 2"]),
    (
        "protocol",
        &[
            "cow-5-day-co-synch-insert",
            "cow-7-and-7-synch",
            "cow-7-day-co-synch-insert-split",
            "cow-co-synch",
            "cow-select-synch-insert",
            "cow-select-synch-insert-timed",
            "heifer-14-day-insert-pg",
            "heifer-14-day-insert-pg-split",
            "heifer-mga-pg",
            "heifer-mga-pg-detect",
            "heifer-mga-pg-timed",
        ],
    ),
    ("class", &["cow", "heifer"]),
    (
        "zone",
        &[
            "America/Chicago",
            "Pacific/Apia",
            "Australia/Lord_Howe",
            "UTC",
            "Asia/Kathmandu",
            "America/St_Johns",
            "Africa/Casablanca",
            "Antarctica/Troll",
        ],
    ),
    ("injections_head_per_hour", &["1", "7", "33.3", "1000"]),
    ("inserts_head_per_hour", &["1", "7", "33.3", "1000"]),
    ("breeding_boxes", &["1", "2", "3", "50"]),
    (
        "minutes_to",
        &["{creek: 0}", "{creek: 1440}", "{}", "{creek: 33.3}"],
    ),
    ("minutes_per_cow", &["0.01", "1", "2.5", "7", "12"]),
    ("minutes_spread", &["0", "0.1", "1", "3"]),
    ("cows_per_hour", &["5", "13", "17.7", "40", "120"]),
    ("helper", &["true", "false"]),
    (
        "days_off",
        &[
            "[2027-05-27]",
            "[2027-05-27, 2027-05-28]",
            "[2027-03-15]",
            "[]",
        ],
    ),
    (
        "shifts",
        &[
            "[{from: '18:00', to: '06:00'}]",
            "[{from: '04:00', to: '09:00'}, {from: '09:00', to: '11:30'}]",
        ],
    ),
    ("straws", &["0", "5", "60", "100000"]),
    ("slot_minutes", &["5", "10", "20", "30"]),
    ("road_minutes", &["0", "1", "300"]),
    ("bath_to_cow_minutes", &["3", "8", "15", "60"]),
    ("late_straw_risk_percent", &["0.001", "1", "50"]),
];

/// Keys that may be added before others.
const MORE: &[(&str, &str)] = &[
    ("head", "in_heat_percent: 33.3"),
    ("head", "in_heat_percent: 0"),
    ("head", "in_heat_percent: 100"),
    ("head", "pens: 3"),
    ("minutes_per_cow", "straws_at_once: 1"),
    ("breeding_boxes", "thaw_bath_straws: 1"),
];

/// Where the value of a key stands in a line: to the line's end, or in a `{}` to its own end.
fn value_of(line: &str, key: &str) -> Option<std::ops::Range<usize>> {
    let at = line.find(&format!("{key}: "))?;
    let before = line[..at].chars().next_back().unwrap_or(' ');
    if !matches!(before, ' ' | '{') {
        return None;
    }
    let start = at + key.len() + 2;
    if !line[..at].contains('{') {
        return Some(start..line.len());
    }
    let mut depth = 0;
    let end = line[start..].find(|c| {
        let ends = depth == 0 && matches!(c, ',' | '}');
        depth += i32::from(matches!(c, '[' | '{')) - i32::from(matches!(c, ']' | '}'));
        ends
    });
    Some(start..start + end.unwrap_or(line.len() - start))
}

fn change_line(lines: &mut Vec<String>, dice: &mut Dice) {
    let n = dice.below(lines.len() as u64) as usize;
    let m = dice.below(lines.len() as u64) as usize;
    match dice.below(12) {
        0 => drop(lines.remove(n)),
        1 => lines.insert(m, lines[n].clone()),
        2 => lines.swap(n, m),
        3 => {
            if let Some(at) = lines[n].rfind(": ") {
                lines[n].truncate(at + 2);
                lines[n].push_str(dice.pick::<&str>(JUNK));
            }
        }
        4 => {
            let digits: Vec<usize> = lines[n]
                .match_indices(|c: char| c.is_ascii_digit())
                .map(|d| d.0)
                .collect();
            if !digits.is_empty() {
                let at = *dice.pick(&digits);
                lines[n].replace_range(at..=at, &dice.below(10).to_string());
            }
        }
        5 | 6 => {
            let (key, more) = *dice.pick(MORE);
            let Some(n) = some_line(lines, key, dice) else {
                return;
            };
            let at = value_of(&lines[n], key).unwrap().start - key.len() - 2;
            if lines[n][..at].contains('{') {
                lines[n].insert_str(at, &format!("{more}, "));
            } else {
                lines.insert(n, format!("{}{more}", " ".repeat(at)));
            }
        }
        _ => {
            let (key, values) = *dice.pick(FITTING);
            if let Some(n) = some_line(lines, key, dice) {
                let at = value_of(&lines[n], key).unwrap();
                lines[n].replace_range(at, dice.pick::<&str>(values));
            }
        }
    }
}

/// One of the lines in which a key has a value.
fn some_line(lines: &[String], key: &str, dice: &mut Dice) -> Option<usize> {
    let with: Vec<usize> = (0..lines.len())
        .filter(|n| value_of(&lines[*n], key).is_some())
        .collect();
    (!with.is_empty()).then(|| *dice.pick(&with))
}

/// A file with a few lines, values or bytes changed.
fn changed(text: &str, dice: &mut Dice) -> Vec<u8> {
    let mut lines: Vec<String> = text.lines().map(str::to_owned).collect();
    for _ in 0..dice.from(1, 3) {
        change_line(&mut lines, dice);
    }
    let mut bytes = (lines.join("\n") + "\n").into_bytes();
    if dice.below(8) == 0 {
        let at = dice.below(bytes.len() as u64) as usize;
        match dice.below(3) {
            0 => bytes[at] = dice.below(256) as u8,
            1 => bytes.truncate(at),
            _ => drop(bytes.drain(at..(at + 9).min(bytes.len()))),
        }
    }
    bytes
}

#[test]
fn changed_seasons_are_refused_or_planned() {
    let library = Library::built_in();
    let mut planned = 0;
    let all = u64::from(cases(60, 250));
    let size = Size {
        groups: 8,
        head: 400,
        technicians: 4,
        sites: 3,
        days: 9,
    };
    for seed in 0..all {
        let dice = &mut Dice(seed);
        let bytes = if dice.below(2) == 0 {
            changed(DEMO, dice)
        } else {
            changed(&large(&size, dice.below(9)), dice)
        };
        planned += u64::from(survives(&bytes, &library, &format!("seed {seed}")));
    }
    assert!(planned > all / 4, "only {planned} were planned");
}

#[test]
fn changed_protocols_are_refused_or_planned() {
    let folder = concat!(env!("CARGO_MANIFEST_DIR"), "/protocols");
    let mut paths: Vec<_> = std::fs::read_dir(folder)
        .unwrap()
        .map(|e| e.unwrap().path())
        .filter(|p| p.extension().is_some_and(|x| x == "yaml"))
        .collect();
    paths.sort();
    let texts: Vec<String> = paths
        .iter()
        .map(|p| std::fs::read_to_string(p).unwrap())
        .collect();
    let mut planned = 0;
    let all = u64::from(cases(100, 300));
    for seed in 0..all {
        let mut dice = Dice(seed ^ 0xb0b);
        let text = dice.pick(&texts);
        let steps = text.find("\nsteps:").unwrap() + 1;
        // Most changes go to the steps: the rest is words.
        let bytes = if dice.below(4) == 0 {
            changed(text, &mut dice)
        } else {
            [
                &text.as_bytes()[..steps],
                &changed_steps(&text[steps..], &mut dice),
            ]
            .concat()
        };
        let what = format!("seed {seed}:\n{}", String::from_utf8_lossy(&bytes));
        let Ok(protocol) = std::panic::catch_unwind(|| protocol::read("p.yaml", &bytes))
            .unwrap_or_else(|_| panic!("{what}"))
        else {
            continue;
        };
        let Ok((library, _)) = Library::with_files([("p.yaml", &bytes[..])]) else {
            continue;
        };
        let class = if protocol.class.as_str() == "heifer" {
            "heifer"
        } else {
            "cow"
        };
        let season = small(
            "protocol: cow-7-day-co-synch-insert",
            &format!("protocol: {}", protocol.id),
        )
        .replacen("class: cow", &format!("class: {class}"), 1)
        .replacen(
            "head: 20",
            &format!("head: 20\n    pens: {}", dice.from(1, 3)),
            1,
        )
        .replacen(
            "order: kept",
            &format!("order: {}", dice.pick(&["kept", "mixed"])),
            1,
        )
        .replacen(
            "boxes: 2",
            &format!(
                "boxes: 2\n    inserts_head_per_hour: {}",
                dice.pick(&["20", "60", "90"])
            ),
            1,
        );
        planned += u64::from(survives(season.as_bytes(), &library, &what));
    }
    assert!(planned > all / 5, "only {planned} were planned");
}

/// Steps with anchors, days, hours and actions changed for others that fit, or for junk.
fn changed_steps(steps: &str, dice: &mut Dice) -> Vec<u8> {
    let ids: Vec<&str> = steps
        .lines()
        .filter_map(|l| l.split("- id: ").nth(1))
        .collect();
    let mut lines: Vec<String> = steps.lines().map(str::to_owned).collect();
    for _ in 0..dice.from(1, 3) {
        let n = dice.below(lines.len() as u64) as usize;
        let Some((key, _)) = lines[n].split_once(": ") else {
            continue;
        };
        let key = key.to_owned();
        let value = match key.trim_start_matches([' ', '-']) {
            "after" => [&ids[..], &["start"]].concat()[dice.below(ids.len() as u64 + 1) as usize]
                .to_owned(),
            "days" => dice.below(40).to_string(),
            "lasts_days" => dice.from(1, 30).to_string(),
            "hours" => {
                let early = dice.below(100);
                let aim = early + dice.below(12);
                format!(
                    "{{earliest: {early}, aim: {aim}.5, latest: {}}}",
                    aim + 1 + dice.below(12)
                )
            }
            "do" => (*dice.pick(&[
                "[pg]",
                "[gnrh]",
                "[gnrh, insert-in]",
                "[insert-out, pg]",
                "[inseminate]",
                "[feed-mga]",
            ]))
            .to_owned(),
            _ => (*dice.pick::<&str>(JUNK)).to_owned(),
        };
        lines[n] = format!("{key}: {value}");
    }
    (lines.join("\n") + "\n").into_bytes()
}
