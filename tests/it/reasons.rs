//! Reasons and hints at their word: what a plan says keeps animals from being bred is taken out of the
//! season, and the season is planned again.

use serde_json::{Value, json};
use thawline::pipeline::Options;
use thawline::plan::{Binding, Plan, Uncovered};
use thawline::{pipeline, season};

use crate::support::{Dice, LIBRARY, cases};

fn read(season: &Value) -> Result<season::Season, String> {
    let text = serde_json::to_string_pretty(season).unwrap();
    let read = season::read("s.yaml", text.as_bytes(), &LIBRARY);
    read.map(|(s, _)| s).map_err(|e| format!("{e}\n{text}"))
}

/// A changed season's plan: what it says of reasons is not looked at.
pub(crate) fn plan(season: &Value) -> Result<Plan, String> {
    let planned = pipeline::plan_with(
        &read(season)?,
        &[],
        Options {
            reasons: false,
            ..Options::default()
        },
    );
    planned.map_err(|e| e.to_string())
}

/// Head bred in sessions at a site, or anywhere.
fn bred(plan: &Plan, site: Option<&str>) -> u32 {
    let there = |s: &&thawline::plan::Session| site.is_none_or(|site| s.site == site);
    plan.sessions.iter().filter(there).map(|s| s.head).sum()
}

pub(crate) fn clock(minutes: u64) -> String {
    format!("{:02}:{:02}", minutes / 60 % 24, minutes % 60)
}

/// A small season, such that most fall short of something.
// The parts of one season, in one view.
#[allow(clippy::too_many_lines)]
pub(crate) fn made(seed: u64) -> Value {
    let mut d = Dice(seed);
    let sites = d.from(1, 3);
    let groups = d.from(1, 4);
    let people = d.from(1, 3);
    let site = |d: &mut Dice, n: u64| {
        let mut roads = serde_json::Map::new();
        for other in n + 1..sites {
            roads.insert(format!("s{other}"), json!(d.from(5, 90)));
        }
        json!({
            "id": format!("s{n}"),
            "injections_head_per_hour": d.from(15, 90),
            "inserts_head_per_hour": d.from(12, 60),
            "breeding_boxes": d.from(1, 2),
            "minutes_to": roads,
        })
    };
    let all_sites: Vec<Value> = (0..sites).map(|n| site(&mut d, n)).collect();
    let protocols = [
        ("cow-7-day-co-synch-insert", "cow"),
        ("cow-7-day-co-synch-insert", "cow"),
        ("cow-5-day-co-synch-insert", "cow"),
        ("heifer-7-day-co-synch-insert", "heifer"),
        ("heifer-14-day-insert-pg", "heifer"),
    ];
    let group = |d: &mut Dice, n: u64| {
        let (protocol, class) = *d.pick(&protocols);
        let start = format!("2027-05-{:02}T{}", d.from(3, 5), clock(d.from(20, 72) * 15));
        let bulls = [
            json!(["A"]),
            json!(["B"]),
            json!(["A", "B"]),
            json!(["B", "A"]),
        ];
        json!({
            "id": format!("g{n}"),
            "site": format!("s{}", d.below(sites)),
            "class": class,
            "head": d.from(8, 70),
            "pens": d.from(1, 3),
            "protocol": protocol,
            "start": start,
            "order": *d.pick(&["mixed", "kept"]),
            "bulls": d.pick(&bulls),
        })
    };
    let mut all_groups: Vec<Value> = (0..groups).map(|n| group(&mut d, n)).collect();
    let person = |d: &mut Dice, n: u64| {
        let mut p = json!({"id": format!("p{n}"), "helper": d.below(2) == 0});
        if d.below(3) == 0 {
            p["cows_per_hour"] = json!(d.from(8, 20));
        } else {
            p["minutes_per_cow"] = json!(d.from(4, 12) as f64 / 2.0);
        }
        if d.below(3) > 0 {
            let from = d.from(12, 36) * 15;
            let to = from + d.from(4, 40) * 15;
            p["shifts"] = json!([{"from": clock(from), "to": clock(to)}]);
            if d.below(3) == 0 {
                p["shifts"][0]["days"] = json!(["mon", "tue", "wed", "fri"]);
            }
        }
        if d.below(4) == 0 {
            p["days_off"] = json!([format!("2027-05-{}", d.from(11, 14))]);
        }
        if d.below(3) == 0 {
            p["home_site"] = json!(format!("s{}", d.below(sites)));
        }
        if d.below(6) == 0 {
            p["longest_day_hours"] = json!(d.from(3, 10));
        }
        p
    };
    let mut crew: Vec<Value> = (0..people).map(|n| person(&mut d, n)).collect();
    let mut rules = json!({"slot_minutes": *d.pick(&[5, 10, 15, 15, 20, 30])});
    if d.below(5) == 0 {
        rules["longest_day_hours"] = json!(d.from(3, 12));
    }
    if d.below(5) == 0 {
        rules["rest_after_hours"] = json!(d.from(1, 4));
        rules["rest_minutes"] = json!(d.from(15, 60));
    }
    if d.below(4) == 0 {
        let from = d.from(20, 60) * 15;
        let to = from + d.from(4, 16) * 15;
        rules["no_chute_work"] = json!([{
            "weekday": *d.pick(&["wed", "thu", "fri"]), "from": clock(from), "to": clock(to)
        }]);
    }
    // Of every third nothing but people's pace, boxes and straws are limits.
    let bare = d.below(3) == 0;
    if bare {
        rules = json!({"slot_minutes": rules["slot_minutes"]});
        for person in &mut crew {
            for key in ["shifts", "days_off", "longest_day_hours"] {
                person.as_object_mut().unwrap().remove(key);
            }
        }
        for group in &mut all_groups {
            group["order"] = json!("kept");
            group["head"] = json!(group["head"].as_u64().unwrap() * 2);
        }
    }
    let straws = |d: &mut Dice| if d.below(3) == 0 { d.from(0, 90) } else { 600 };
    let mut semen =
        json!([{"bull": "A", "straws": straws(&mut d)}, {"bull": "B", "straws": straws(&mut d)}]);
    // What a hint must regard to be a season file: small straws, small baths, starts left to the plan.
    let mut d = Dice(seed ^ 0xbad);
    if d.below(3) == 0 {
        semen[d.below(2) as usize]["straw_ml"] = json!(0.25);
    }
    let mut all_sites = all_sites;
    for site in &mut all_sites {
        if d.below(3) == 0 {
            site["thaw_bath_straws"] = json!(d.from(1, 4));
        }
    }
    for group in &mut all_groups {
        if d.below(6) == 0 && group["class"] == "cow" {
            group["protocol"] = json!("cow-select-synch-timed");
        } else if d.below(5) == 0 && group["class"] == "cow" {
            let start = group["start"].as_str().unwrap();
            group["latest_start"] =
                json!(format!("{}T{}", &start[..10], clock(d.from(74, 80) * 15)));
        }
    }
    let mut season = json!({
        "format": "thawline.season/1",
        "name": "Made",
        "zone": "America/Denver",
        "sites": all_sites,
        "groups": all_groups,
        "crew": crew,
        "semen": semen,
        "rules": rules,
    });
    let mut d = Dice(seed ^ 0xda3);
    if !bare && d.below(6) == 0 {
        season["rules"]["no_work_before"] = json!(clock(d.from(12, 44) * 15));
    }
    // One tank for sites that want it at the same time.
    let mut d = Dice(seed ^ 0x7a2c);
    if sites > 1 && d.below(3) == 0 {
        season["tanks"] = json!([{"id": "t", "canisters": 6}]);
        season["semen"][0]["tank"] = json!("t");
        if d.below(2) == 0 {
            season["semen"][1]["tank"] = json!("t");
        }
    }
    season
}

/// The season without one of the limits that a plan names.
fn without(season: &Value, limit: Binding, u: &Uncovered, plan: &Plan) -> Value {
    let mut season = season.clone();
    let session = plan.sessions.iter().find(|s| s.id == u.session).unwrap();
    let drop = |of: &mut Value, keys: &[&str]| {
        for key in keys {
            of.as_object_mut().unwrap().remove(*key);
        }
    };
    let people = |season: &mut Value, keys: &[&str]| {
        for person in season["crew"].as_array_mut().unwrap() {
            drop(person, keys);
        }
    };
    match limit {
        Binding::Straws => {
            for bull in season["semen"].as_array_mut().unwrap() {
                bull["straws"] = json!(bull["straws"].as_u64().unwrap() + 1000);
            }
        }
        Binding::Window => {
            for group in season["groups"].as_array_mut().unwrap() {
                if session.pens.iter().any(|p| group["id"] == p.group.as_str()) {
                    group["order"] = json!("kept");
                }
            }
        }
        Binding::Shifts => people(&mut season, &["shifts", "days_off"]),
        Binding::LongestDay => {
            people(&mut season, &["longest_day_hours"]);
            drop(&mut season["rules"], &["longest_day_hours"]);
        }
        Binding::Rest => drop(&mut season["rules"], &["rest_after_hours", "rest_minutes"]),
        Binding::FreeHours => {
            drop(&mut season["rules"], &["no_chute_work", "no_work_before"]);
        }
        Binding::Boxes => {
            let people = season["crew"].as_array().unwrap().len() as u64;
            for site in season["sites"].as_array_mut().unwrap() {
                if site["id"] == session.site.as_str() {
                    site["breeding_boxes"] = json!(20);
                    let straws = site["thaw_bath_straws"].as_u64().unwrap_or(10);
                    site["thaw_bath_straws"] = json!(straws.max(people));
                }
            }
        }
        Binding::Elsewhere => {
            let groups = season["groups"].as_array_mut().unwrap();
            groups.retain(|g| g["site"] == session.site.as_str());
        }
        Binding::Pace | Binding::Tank => panic!("{limit:?} is no limit to lift"),
    }
    season
}

/// Sets values by JSON Pointer (RFC 6901), `-` for one more of a list.
fn with(season: &Value, set: &[thawline::plan::Set]) -> Value {
    let mut season = season.clone();
    for s in set {
        let mut at = &mut season;
        for key in s.at.split('/').skip(1) {
            if let Some(list) = at.as_array_mut() {
                if key == "-" {
                    list.push(Value::Null);
                }
                let n = key.parse().unwrap_or(list.len() - 1);
                at = &mut at[n];
            } else {
                at = &mut at[key];
            }
        }
        *at = s.to.clone();
    }
    season
}

const SINGLE: [Binding; 8] = [
    Binding::Straws,
    Binding::Window,
    Binding::Shifts,
    Binding::LongestDay,
    Binding::Rest,
    Binding::Elsewhere,
    Binding::Boxes,
    Binding::FreeHours,
];

/// What was met in the seasons.
#[derive(Debug, Default)]
struct Met {
    refused: u32,
    short: u32,
    pens: u32,
    limits: u32,
    pairs: u32,
    hints: u32,
    none: u32,
    at_most: u32,
    straws: u32,
}

/// Head that a changed season breeds beside the old: at the session's site alone, where other groups are
/// left out.
fn more(old: &Plan, new: &Plan, site: Option<&str>) -> i64 {
    i64::from(bred(new, site)) - i64::from(bred(old, site))
}

// One season, with each reason and hint in turn.
#[allow(clippy::too_many_lines)]
fn held(seed: u64, season: &Value, met: &mut Met) -> Vec<String> {
    let mut faults = Vec::new();
    // Refused by rules of the file, such as a technician too slow for any straw.
    let Ok(read) = read(season) else {
        met.refused += 1;
        return faults;
    };
    let old = match pipeline::plan(&read, &[]) {
        Ok(old) => old,
        Err(e) => return vec![format!("seed {seed}: {e}")],
    };
    let unsure = !old.search.open.is_empty();
    straws_short(seed, season, &old, met, &mut faults);
    if old.uncovered.is_empty() || unsure {
        return faults;
    }
    met.short += 1;
    for u in &old.uncovered {
        met.pens += 1;
        let session = old.sessions.iter().find(|s| s.id == u.session).unwrap();
        let here = |limits: &[Binding]| {
            let alone = limits.contains(&Binding::Elsewhere);
            alone.then_some(session.site.as_str())
        };
        let mut fault = |what: String| faults.push(format!("seed {seed} {}: {what}", u.pass));
        for limit in &u.limits {
            met.limits += 1;
            met.pairs += u32::from(limit.limits.len() > 1);
            let mut lifted = season.clone();
            for one in &limit.limits {
                lifted = without(&lifted, *one, u, &old);
            }
            match plan(&lifted) {
                Ok(new) => {
                    let more = more(&old, &new, here(&limit.limits));
                    if more < i64::from(limit.head) || limit.head > u.head || limit.head == 0 {
                        fault(format!("{limit:?} lifted breeds {more} more: {:?}", u.why));
                    }
                }
                Err(e) => fault(format!("{limit:?}: {e}")),
            }
        }
        for hint in &u.hints {
            met.hints += 1;
            match plan(&with(season, &hint.set)) {
                Ok(new) => {
                    let more = more(&old, &new, None);
                    if more < i64::from(hint.head) || hint.head == 0 {
                        fault(format!("{hint:?} breeds {more} more"));
                    }
                }
                Err(e) => fault(format!("{hint:?}: {e}")),
            }
        }
        if u.why.iter().any(|w| w.starts_with("no other limit")) {
            met.none += 1;
            for limit in SINGLE {
                let new = plan(&without(season, limit, u, &old)).unwrap();
                let more_all = more(&old, &new, here(&[limit]));
                let more_here = i64::from(session_head(&new, u)) - i64::from(session.head);
                if more_all > 0 && more_here > 0 && limit != Binding::Elsewhere {
                    fault(format!(
                        "{limit:?} is not told, and costs {more_all}: {:?}",
                        u.why
                    ));
                }
            }
        }
        if let Some(most) = u.at_most_head {
            met.at_most += 1;
            let mut free = season.clone();
            for limit in [
                Binding::Shifts,
                Binding::LongestDay,
                Binding::Rest,
                Binding::FreeHours,
                Binding::Elsewhere,
                Binding::Straws,
            ] {
                free = without(&free, limit, u, &old);
            }
            free["rules"]["slot_minutes"] = json!(5);
            // Those at hand are those of the plan; others are not counted.
            let busy: Vec<&str> = old
                .sessions
                .iter()
                .filter(|s| s.id != u.session)
                .flat_map(|s| s.technicians.iter().map(|t| t.id.as_str()))
                .collect();
            if busy.is_empty() {
                let new = plan(&free).unwrap();
                if session_head(&new, u) > most {
                    fault(format!(
                        "at most {most} told, {} bred",
                        session_head(&new, u)
                    ));
                }
            }
        }
    }
    faults
}

/// Head bred in the session that breeds a pen.
fn session_head(plan: &Plan, u: &Uncovered) -> u32 {
    let holds = |s: &&thawline::plan::Session| s.pens.iter().any(|p| p.pass == u.pass);
    plan.sessions.iter().find(holds).map_or(0, |s| s.head)
}

/// Straws are short where more of them breed more, by as many; and what is to be bought is what is short.
fn straws_short(seed: u64, season: &Value, old: &Plan, met: &mut Met, faults: &mut Vec<String>) {
    let short: u32 = old.groups.iter().map(|g| g.straws_short).sum();
    let list = thawline::supplies::of_plan(&read(season).unwrap(), old);
    let bought: u32 = list.lacking_straws.iter().map(|l| l.straws).sum();
    if bought != short {
        faults.push(format!(
            "seed {seed}: {short} straws short, {bought} to buy"
        ));
    }
    let by: Vec<_> = list.on_hand.iter().map(|o| o.by).collect();
    if !by.is_sorted() {
        faults.push(format!("seed {seed}: not in order of date: {by:?}"));
    }
    let mut plenty = season.clone();
    for bull in plenty["semen"].as_array_mut().unwrap() {
        bull["straws"] = json!(1000);
    }
    // What is left of a group that still has straws is not for want of them.
    let has = |group: &str| {
        let bulls = &old.bulls;
        let group = season["groups"]
            .as_array()
            .unwrap()
            .iter()
            .find(|g| g["id"] == group);
        let of = group.unwrap()["bulls"].as_array().unwrap();
        bulls
            .iter()
            .any(|b| b.left_straws > 0 && of.contains(&json!(b.id)))
    };
    if old.uncovered.iter().any(|u| has(&u.group)) && short == 0 {
        return;
    }
    let new = plan(&plenty).unwrap();
    if more(old, &new, None) != i64::from(short) {
        let more = more(old, &new, None);
        faults.push(format!(
            "seed {seed}: {short} straws short, {more} bred more with plenty"
        ));
    }
    met.straws += u32::from(short > 0);
}

fn seasons(all: u32) -> Met {
    let mut met = Met::default();
    let each = (0..u64::from(all)).flat_map(|seed| held(seed, &made(seed), &mut met));
    let faults: Vec<String> = each.collect();
    assert!(faults.is_empty(), "{met:?}\n{}", faults.join("\n"));
    met
}

#[test]
fn every_reason_and_hint_holds_at_its_word() {
    let all = cases(40, 120);
    let met = seasons(all);
    let least = all * 3 / 8;
    assert!(
        met.refused < all / 8 && met.short >= least && met.limits >= least && met.hints >= least,
        "{met:?}"
    );
}

/// One group on one protocol, for as many technicians.
fn small(site: Value, group: Value, people: u32, pace: f64) -> Value {
    let crew: Vec<Value> = (0..people)
        .map(|n| json!({"id": format!("p{n}"), "minutes_per_cow": pace}))
        .collect();
    let (mut s, mut g) = (
        json!({"id": "s", "injections_head_per_hour": 60}),
        json!({"id": "g", "site": "s", "class": "cow", "bulls": ["A"]}),
    );
    for (of, more) in [(&mut s, site), (&mut g, group)] {
        of.as_object_mut()
            .unwrap()
            .extend(more.as_object().unwrap().clone());
    }
    json!({"format": "thawline.season/1", "name": "Small", "zone": "America/Denver", "sites": [s],
        "groups": [g], "crew": crew, "semen": [{"bull": "A", "straws": 400}]})
}

#[test]
fn hints_regard_the_bath_the_starts_the_half_days_and_turns_at_boxes() {
    let timed =
        json!({"head": 160, "protocol": "cow-7-day-co-synch-insert", "start": "2027-05-03T08:00"});
    let with = |more: Value| {
        let mut group = timed.clone();
        group
            .as_object_mut()
            .unwrap()
            .extend(more.as_object().unwrap().clone());
        group
    };
    // Two boxes stand there, and one straw at a time in the bath.
    let bath = small(
        json!({"breeding_boxes": 2, "thaw_bath_straws": 1}),
        with(json!({})),
        2,
        4.0,
    );
    let night = json!([{"from": "00:00", "to": "24:00", "why": "a fair", "date": "2027-05-13"}]);
    let mut starts = small(
        json!({"breeding_boxes": 1}),
        with(json!({"latest_start": "2027-05-03T09:00"})),
        1,
        4.0,
    );
    starts["rules"] = json!({"no_chute_work": night});
    let heat =
        json!({"head": 60, "protocol": "cow-select-synch-timed", "start": "2027-05-03T08:00"});
    let mut half_days = small(json!({"breeding_boxes": 1}), heat, 1, 4.0);
    half_days["rules"] = json!({"no_chute_work": [{"date": "2027-05-13"}]});
    // A third technician takes turns at two boxes, which is planned in longer steps.
    let mut turns = small(
        json!({"breeding_boxes": 2, "injections_head_per_hour": 84.1}),
        json!({"head": 86, "class": "heifer", "protocol": "heifer-14-day-insert-pg-split-86h",
            "start": "2027-05-08T15:00", "order": "mixed"}),
        0,
        5.0,
    );
    turns["crew"] = json!([
        {"id": "p0", "minutes_per_cow": 5, "minutes_spread": 0, "shifts": [{"from": "06:00", "to": "12:59"}]},
        {"id": "p1", "cows_per_hour": 6.6, "minutes_spread": 1.2},
    ]);
    for (n, season) in [bath, starts, half_days, turns].iter().enumerate() {
        let mut met = Met::default();
        let faults = held(n as u64, season, &mut met);
        assert!(faults.is_empty(), "{n}: {}", faults.join("\n"));
        assert!(met.hints > 0, "{n}: {met:?}");
    }
}

/// Two more would be bred at one site, and as many fewer at the other: counted by the session alone, three
/// technicians more seem to help.
#[test]
fn nothing_is_advised_that_is_lost_at_another_site() {
    let group = |id: &str, site: &str, class: &str, of: Value| {
        let mut group = json!({"id": id, "site": site, "class": class, "bulls": ["A"]});
        group
            .as_object_mut()
            .unwrap()
            .extend(of.as_object().unwrap().clone());
        group
    };
    let season = json!({"format": "thawline.season/1", "name": "Small", "zone": "Asia/Vladivostok",
        "sites": [
            {"id": "a", "injections_head_per_hour": 45, "breeding_boxes": 50, "minutes_to": {"b": 700}},
            {"id": "b", "injections_head_per_hour": 67.667, "breeding_boxes": 2, "thaw_bath_straws": 1}],
        "groups": [
            group("g", "b", "cow", json!({"head": 72, "protocol": "cow-14-day-insert-pg", "start": "2032-10-21T17:07"})),
            group("h", "a", "cow", json!({"head": 2, "pens": 2, "in_heat_percent": 100,
                "protocol": "cow-7-day-co-synch-insert-split", "start": "2032-11-13T22:00"})),
            group("k", "b", "heifer", json!({"head": 36, "pen_head": [26, 10], "heat_spread_hours": 100,
                "in_heat_percent": 55.5, "protocol": "heifer-mga-pg-60h", "start": "2032-10-22T14:30"})),
            group("m", "b", "heifer", json!({"head": 2, "protocol": "heifer-mga-pg-detect", "start": "2032-10-22T16:30"}))],
        "crew": [{"id": "ana", "cows_per_hour": 16}], "semen": [{"bull": "A", "straws": 900}],
        "rules": {"bath_to_cow_minutes": 15.2, "lift_seconds": 5, "straws_a_lift": 3,
            "heat_breeding_hours": {"earliest": 11.5, "aim": 16, "latest": 24}}});
    let mut met = Met::default();
    let faults = held(1, &season, &mut met);
    assert!(faults.is_empty(), "{}", faults.join("\n"));
    assert!(met.short > 0, "{met:?}");
}
