//! Whether a crew covers, the largest groups against closed forms, and remedies that do what they say.

use proptest::prelude::*;
use serde_json::{Value, json};
use thawline::document::Tree;
use thawline::plan::site_of_session;
use thawline::progress::NoProgress;
use thawline::staffing::{Assessment, Crew, Question, Remedy, Staffing, assess};
use thawline::{dating, pipeline, season};

use crate::support::{LIBRARY, demo, plan_of, small};

fn read(text: &str) -> season::Season {
    season::read("season.yaml", text.as_bytes(), &LIBRARY)
        .unwrap_or_else(|e| panic!("{e}\n{text}"))
        .0
}

fn asked(text: &str, question: &Question) -> Assessment {
    assess(&read(text), &LIBRARY, question, &NoProgress).unwrap_or_else(|e| panic!("{e}\n{text}"))
}

fn answer(text: &str) -> Staffing {
    asked(text, &Question::default()).answer
}

/// What a remedy says to write, written into a season as a person would.
pub(crate) fn written(text: &str, before: &season::Season, remedy: &Remedy) -> String {
    let tree = Tree::parse("season", text.as_bytes()).unwrap();
    let mut file = tree.root().to_json();
    for write in &remedy.write {
        write_one(&mut file, before, write);
    }
    serde_json::to_string(&file).unwrap()
}

fn yaml(text: &str) -> Value {
    Tree::parse("value", text.as_bytes())
        .unwrap_or_else(|e| panic!("{e:?}\n{text}"))
        .root()
        .to_json()
}

fn named<'a>(file: &'a mut Value, list: &str, id: &str) -> &'a mut Value {
    let items = file[list].as_array_mut().unwrap();
    items.iter_mut().find(|x| x["id"] == id).unwrap()
}

fn write_one(file: &mut Value, before: &season::Season, write: &str) {
    if let Some(item) = write.strip_prefix("crew: - ") {
        file["crew"].as_array_mut().unwrap().push(yaml(item));
    } else if let Some(item) = write.strip_prefix("semen: - ") {
        file["semen"].as_array_mut().unwrap().push(yaml(item));
    } else if write.ends_with("as in the file") {
        // Whoever was left out stands in the file.
    } else if let Some((id, rest)) = write
        .strip_prefix("crew, ")
        .and_then(|w| w.split_once(": shifts: "))
    {
        for each in rest.split("; crew, ") {
            let (id, each) = each.split_once(": shifts: ").unwrap_or((id, each));
            let (shift, old) = each.split_once(", on that day in place of ").unwrap();
            let (shift, day) = (yaml(shift), yaml(shift)["days"][0].clone());
            let (from, to) = old.split_once(" to ").unwrap();
            let shifts = named(file, "crew", id)["shifts"].as_array_mut().unwrap();
            let was = shifts
                .iter_mut()
                .find(|s| s["from"] == from && s["to"] == to)
                .unwrap();
            let all = json!(["mon", "tue", "wed", "thu", "fri", "sat", "sun"]);
            let days = was.get("days").unwrap_or(&all).as_array().unwrap();
            let others: Vec<Value> = days.iter().filter(|d| **d != day).cloned().collect();
            was["days"] = json!(others);
            shifts.retain(|s| s["days"] != json!([]));
            shifts.push(shift);
        }
    } else {
        let (list, rest) = write.split_once(", ").unwrap();
        let (id, rest) = rest.split_once(": ").unwrap();
        let item = named(file, list, id);
        if let Some(bull) = rest.strip_prefix("bulls: add ") {
            item["bulls"].as_array_mut().unwrap().push(json!(bull));
            return;
        }
        let (rest, along) = match rest.split_once(", and `pen_starts` moved") {
            Some((rest, _)) => (rest, true),
            None => (rest, false),
        };
        let (rest, gone) = rest.split_once(", in place of ").unwrap_or((rest, ""));
        let item = item.as_object_mut().unwrap();
        let new = yaml(&format!("{{{rest}}}"));
        for (key, value) in new.as_object().unwrap() {
            if key == "start" && along {
                let group = before.groups.iter().find(|g| g.id.as_str() == id).unwrap();
                let at = |v: &Value| thawline::time::parse_local(v.as_str().unwrap()).unwrap();
                let by = at(value) - group.start;
                if let Some(starts) = item.get_mut("pen_starts") {
                    for s in starts.as_array_mut().unwrap() {
                        *s = json!((at(s) + by).format("%Y-%m-%dT%H:%M").to_string());
                    }
                }
            }
            if key == "pens" || key == "pen_head" {
                item.remove("pens");
                item.remove("pen_head");
                item.remove("pen_starts");
            }
            if key == "minutes_per_cow" {
                item.remove("cows_per_hour");
            }
        }
        item.remove(gone);
        if gone == "the pens given" {
            item.remove("pens");
            item.remove("pen_head");
        }
        for (key, value) in new.as_object().unwrap() {
            item.insert(key.clone(), value.clone());
        }
    }
}

/// A season of one group and one site, made so that certain changes help.
struct Made {
    head: u32,
    pens: &'static str,
    order: &'static str,
    pace: u32,
    boxes: u32,
    start: &'static str,
    protocol: &'static str,
    crew: &'static str,
    straws: u32,
    rules: &'static str,
}

const ONE: &str = "{id: t, minutes_per_cow: 5, minutes_spread: 0, helper: true}";
const TWO: &str = "{id: t, minutes_per_cow: 5, minutes_spread: 0, helper: true}, {id: u, minutes_per_cow: 5, minutes_spread: 0, helper: true}";

impl Default for Made {
    fn default() -> Self {
        Self {
            head: 40,
            pens: "pens: 1",
            order: "kept",
            pace: 60,
            boxes: 1,
            start: "2027-04-05T08:00",
            protocol: "heifer-7-day-co-synch-insert",
            crew: ONE,
            straws: 9999,
            rules: "",
        }
    }
}

impl Made {
    fn text(&self) -> String {
        format!(
            "format: thawline.season/1
name: Made up (invented)
zone: America/Chicago
sites: [{{id: s, injections_head_per_hour: {pace}, inserts_head_per_hour: {pace}, breeding_boxes: {}}}]
groups: [{{id: g, site: s, class: heifer, head: {}, {}, protocol: {}, start: \"{}\", order: {}, bulls: [b]}}]
crew: [{}]
semen: [{{bull: b, straws: {}}}, {{bull: c, straws: 500}}]
rules: {{{steps}late_straw_risk_percent: 50{}}}
",
            self.boxes,
            self.head,
            self.pens,
            self.protocol,
            self.start,
            self.order,
            self.crew,
            self.straws,
            self.rules,
            steps = if self.rules.contains("slot_minutes") { "" } else { "slot_minutes: 15, " },
            pace = self.pace
        )
    }
}

/// Each kind, and a season that it helps: planned anew with what it says to write, all are bred.
#[test]
#[allow(clippy::too_many_lines)] // A table.
fn each_kind_of_remedy_acts() {
    let all = Crew::All;
    let first = || Crew::Named(vec!["t".into()]);
    let cases: [(&str, Made, Crew); 15] = [
        (
            "keep-order",
            Made {
                head: 50,
                order: "mixed",
                ..Made::default()
            },
            all.clone(),
        ),
        (
            "pass-pace",
            Made {
                head: 60,
                ..Made::default()
            },
            all.clone(),
        ),
        (
            "pens",
            Made {
                head: 44,
                order: "mixed",
                ..Made::default()
            },
            all.clone(),
        ),
        (
            "pen-starts",
            Made {
                head: 80,
                pens: "pens: 2",
                ..Made::default()
            },
            all.clone(),
        ),
        (
            "start-hour",
            Made {
                crew: "{id: t, minutes_per_cow: 5, minutes_spread: 0, helper: true, shifts: [{from: \"14:00\", to: \"20:00\"}]}",
                ..Made::default()
            },
            all.clone(),
        ),
        (
            "shifts",
            Made {
                crew: "{id: t, minutes_per_cow: 5, minutes_spread: 0, helper: true, shifts: [{from: \"14:00\", to: \"20:00\"}]}",
                ..Made::default()
            },
            all.clone(),
        ),
        (
            "boxes",
            Made {
                head: 100,
                crew: TWO,
                ..Made::default()
            },
            all.clone(),
        ),
        (
            "left-out-technician",
            Made {
                head: 60,
                boxes: 2,
                crew: TWO,
                ..Made::default()
            },
            first(),
        ),
        (
            "helper",
            Made {
                head: 46,
                crew: "{id: t, minutes_per_cow: 5, minutes_spread: 0}",
                ..Made::default()
            },
            all.clone(),
        ),
        (
            "days",
            Made {
                head: 100,
                pens: "pens: 2",
                ..Made::default()
            },
            all.clone(),
        ),
        (
            "start-day",
            Made {
                rules: ", no_chute_work: [{weekday: wed}]",
                head: 30,
                ..Made::default()
            },
            all.clone(),
        ),
        (
            "protocol",
            Made {
                head: 60,
                ..Made::default()
            },
            all.clone(),
        ),
        (
            "technician",
            Made {
                head: 60,
                boxes: 2,
                ..Made::default()
            },
            all.clone(),
        ),
        (
            "straws",
            Made {
                straws: 30,
                ..Made::default()
            },
            all.clone(),
        ),
        // Neither pens nor a pause alone: one pen has nothing to pause between.
        (
            "pens+pen-starts",
            Made {
                head: 112,
                pace: 100,
                // Nor other days.
                rules: ", no_chute_work: [{date: 2027-04-06}, {date: 2027-04-07}, {date: 2027-04-08}, {date: 2027-04-09}, {date: 2027-04-10}, {date: 2027-04-11}]",
                ..Made::default()
            },
            all.clone(),
        ),
    ];
    for (kind, made, crew) in cases {
        let text = made.text();
        let found = asked(
            &text,
            &Question {
                crew,
                ..Question::default()
            },
        );
        assert!(!found.answer.verdict.covered, "{kind}: covered anyway");
        let covering = &found.answer.remedies[0].covering;
        let kinds: Vec<String> = covering.iter().map(|r| r.kinds.join("+")).collect();
        let at = kinds.iter().position(|k| k == kind);
        let remedy = &covering[at.unwrap_or_else(|| panic!("no {kind} among {kinds:?}\n{text}"))];
        let (_, plan) = plan_of(&written(&text, &found.season, remedy));
        assert!(plan.verdict.covered, "{kind}: {:?}", remedy.write);
        assert_eq!(
            plan.sessions[0].margin_minutes, remedy.margin_minutes,
            "{kind}"
        );
    }
}

/// Another bull, and the straws ordered, each for itself.
#[test]
fn straws_come_from_another_bull_or_an_order() {
    let text = Made {
        straws: 30,
        ..Made::default()
    }
    .text();
    let found = answer(&text);
    let writes: Vec<&str> = found.remedies[0]
        .covering
        .iter()
        .flat_map(|r| &r.write)
        .map(String::as_str)
        .collect();
    assert_eq!(
        writes,
        ["groups, g: bulls: add c", "semen: - {bull: b, straws: 10}"]
    );
}

/// The least that suffices is found: one head an hour, quarter or half hour less does not.
#[test]
fn the_least_of_a_change_is_found() {
    let text = Made {
        head: 60,
        ..Made::default()
    }
    .text();
    let found = answer(&text);
    let pace = found.remedies[0]
        .covering
        .iter()
        .find(|r| r.kinds == ["pass-pace"])
        .unwrap();
    assert_eq!(pace.write, ["sites, s: inserts_head_per_hour: 45"]);
    let left = |pace: u32| {
        let slow = text.replace(
            "inserts_head_per_hour: 60",
            &format!("inserts_head_per_hour: {pace}"),
        );
        plan_of(&slow).1.verdict.uncovered_head
    };
    assert_eq!((left(45), left(48) > 0, left(51) > 0), (0, true, true));
    // The shift of somebody more: a quarter of an hour shorter at either end is too short.
    let text = Made {
        head: 60,
        boxes: 2,
        ..Made::default()
    }
    .text();
    let found = answer(&text);
    let hire = found.remedies[0]
        .covering
        .iter()
        .find(|r| r.kinds == ["technician"])
        .unwrap();
    let write = &hire.write[0];
    let clock = |key: &str| {
        let text = write.split(&format!("{key}: \"")).nth(1).unwrap();
        chrono::NaiveTime::parse_from_str(&text[..5], "%H:%M").unwrap()
    };
    let (from, to) = (clock("from"), clock("to"));
    let left = |a: chrono::NaiveTime, b: chrono::NaiveTime| {
        let item = write
            .replace(
                &from.format("from: \"%H:%M").to_string(),
                &a.format("from: \"%H:%M").to_string(),
            )
            .replace(
                &to.format("to: \"%H:%M").to_string(),
                &b.format("to: \"%H:%M").to_string(),
            );
        let season = text.replace(
            "helper: true}]",
            &format!(
                "helper: true}}, {}]",
                item.strip_prefix("crew: - ").unwrap()
            ),
        );
        plan_of(&season).1.verdict.uncovered_head
    };
    let quarter = chrono::TimeDelta::minutes(15);
    assert_eq!(left(from, to), 0);
    assert!(
        left(from + quarter, to) > 0 && left(from, to - quarter) > 0,
        "{write}"
    );
}

/// Where nothing helps, every kind was tried, and every two.
#[test]
fn nothing_helps_is_told_with_what_was_tried() {
    let text = Made {
        head: 900,
        order: "mixed",
        ..Made::default()
    }
    .text();
    let found = answer(&text);
    let remedies = &found.remedies[0];
    assert!(remedies.nothing_covers && remedies.covering.is_empty());
    assert_eq!(remedies.tried.len(), 15);
    let two = remedies.tried.last().unwrap();
    assert!(two.kind == "two-together" && two.counted > 100, "{two:?}");
    assert!(remedies.tried.iter().all(|t| t.fewest_left_head != Some(0)));
    for r in &remedies.lessening {
        assert!(r.uncovered_head < remedies.uncovered_head);
    }
    // Two together lessen more than either alone.
    assert_eq!(remedies.lessening[0].kinds.len(), 2);
}

/// With fewer people a session begins with another pen, and so goes by another id: it is found by the pen that
/// the id names.
#[test]
fn a_session_is_found_by_its_pens_where_fewer_people_give_it_another_id() {
    let group = |id: &str, start: &str, more: &str| {
        format!(
            "  - {{id: {id}, site: s, class: cow, bulls: [x], order: kept, protocol: cow-7-day-co-synch-insert, start: {start}, {more}}}\n"
        )
    };
    let text = format!(
        "format: thawline.season/1\nname: N\nzone: America/Denver\nsites: [{{id: s, injections_head_per_hour: 100, breeding_boxes: 2}}]\ngroups:\n{}{}crew:\n  - {{id: ana, minutes_per_cow: 5, shifts: [{{from: \"05:00\", to: \"14:00\"}}]}}\n  - {{id: burt, minutes_per_cow: 5, shifts: [{{from: \"05:00\", to: \"14:00\"}}]}}\nsemen: [{{bull: x, straws: 200}}]\n",
        group("a", "2027-05-03T13:00", "head: 40, days: up to 2"),
        group("b", "2027-05-04T13:30", "head: 20")
    );
    let id = "a/2/ai@s";
    let of = |crew: Crew| {
        let question = Question {
            session: Some(id.to_owned()),
            crew,
            ..Question::default()
        };
        asked(&text, &question).answer.sessions
    };
    let (all, one) = (of(Crew::All), of(Crew::Named(vec!["ana".into()])));
    assert_eq!((all.len(), one.len()), (1, 1));
    assert_eq!((all[0].id.as_str(), one[0].id.as_str()), (id, "b/1/ai@s"));
}

/// With a margin asked for, a covered session is looked at too, and what is found leaves it.
#[test]
fn a_margin_may_be_asked_for() {
    let text = Made::default().text();
    let covered = answer(&text);
    assert!(covered.verdict.covered && covered.remedies.is_empty() && covered.is_well());
    let least = covered.sessions[0].margin_minutes + 30;
    let question = Question {
        least_margin_minutes: least,
        ..Question::default()
    };
    let thin = asked(&text, &question).answer;
    assert!(thin.verdict.covered && !thin.verdict.margin_kept && !thin.is_well());
    assert!(!thin.remedies[0].covering.is_empty());
    for r in &thin.remedies[0].covering {
        assert!(r.margin_minutes >= least, "{r:?}");
    }
}

/// The first and the last cow stand with the hours since their own treatment: within the window.
#[test]
fn hours_of_cows_keep_the_window() {
    let found = answer(&demo());
    for s in &found.sessions {
        for p in &s.pens {
            let (a, b) = p.window.split_once(" to ").unwrap();
            let (a, b): (f64, f64) = (
                a.parse().unwrap(),
                b.split(' ').next().unwrap().parse().unwrap(),
            );
            let (fewest, most) = (p.fewest_hours.unwrap(), p.most_hours.unwrap());
            assert!(
                a - 0.01 <= fewest && fewest <= most && most <= b + 0.01,
                "{p:?}"
            );
            let (first, last) = (p.first_cow.as_ref().unwrap(), p.last_cow.as_ref().unwrap());
            assert!(
                first.bred <= last.bred
                    && first.animal.is_some() == (p.order == thawline::season::Order::Kept)
            );
        }
    }
}

#[test]
fn the_site_of_a_session_is_known_before_it_is_planned() {
    let seasons = (0..4)
        .map(small)
        .chain([demo(), crate::by_heat::SEASON.to_owned()]);
    for text in seasons {
        let (season, plan) = plan_of(&text);
        let dated = dating::date(&season);
        let site = |id: &str| site_of_session(&season, &dated, id);
        assert!(!plan.sessions.is_empty());
        for s in &plan.sessions {
            let site = site(&s.id).map(|n| season.sites[n].id.as_str());
            assert_eq!(site, Some(s.site.as_str()), "{}", s.id);
        }
        assert_eq!(site("late/1/ai@nowhere"), None);
    }
}

/// One group's sessions, one session, and the crew asked about.
#[test]
fn a_question_is_about_what_it_names() {
    let group = Question {
        group: Some("mature".into()),
        ..Question::default()
    };
    let found = asked(&demo(), &group).answer;
    assert_eq!((found.sessions.len(), found.verdict.due_head), (1, 150));
    let session = Question {
        session: Some("late/1/ai@creek".into()),
        ..Question::default()
    };
    assert_eq!(asked(&demo(), &session).answer.verdict.due_head, 42);
    let season = read(&demo());
    for (text, who) in [
        ("1", vec!["ana"]),
        ("2", vec!["ana", "coe"]),
        ("burt,ana", vec!["ana", "burt"]),
    ] {
        let crew = Crew::parse(text, &season);
        let question = Question {
            crew,
            ..group.clone()
        };
        assert_eq!(
            asked(&demo(), &question).answer.asked.technicians,
            who,
            "{text}"
        );
    }
    // A number that is somebody's id names that person.
    let odd = demo().replace("id: burt", "id: \"2\"");
    let crew = Crew::parse("2", &read(&odd));
    assert_eq!(crew, Crew::Named(vec!["2".into()]));
}

#[test]
fn wrong_ids_are_told_with_the_nearest() {
    let season = read(&demo());
    let fault = |question: Question| {
        let error = assess(&season, &LIBRARY, &question, &NoProgress).unwrap_err();
        assert!(error.is_input());
        error.to_string()
    };
    let none = Question::default;
    let group = fault(Question {
        group: Some("matur".into()),
        ..none()
    });
    assert!(
        group.contains("S105")
            && group.contains("did you mean `mature`")
            && group.contains("`late`"),
        "{group}"
    );
    let session = fault(Question {
        session: Some("late/1/ai@crek".into()),
        ..none()
    });
    assert!(
        session.contains("did you mean `late/1/ai@creek`"),
        "{session}"
    );
    let people = Crew::Named(vec!["anna".into(), "zed".into()]);
    let people = fault(Question {
        crew: people,
        ..none()
    });
    assert!(
        people.contains("did you mean `ana`") && people.contains("`zed`"),
        "{people}"
    );
    let many = fault(Question {
        crew: Crew::Fastest(4),
        ..none()
    });
    assert!(
        many.contains("K104") && many.contains("from 1 to 3"),
        "{many}"
    );
    assert!(
        fault(Question {
            crew: Crew::Fastest(0),
            ..none()
        })
        .contains("K104")
    );
    // Groups with wishes only are for another command, as a plan says.
    let text =
        std::fs::read_to_string(concat!(env!("CARGO_MANIFEST_DIR"), "/demo/wishes.yaml")).unwrap();
    let error = assess(&read(&text), &LIBRARY, &none(), &NoProgress)
        .unwrap_err()
        .to_string();
    assert!(error.contains("S120"), "{error}");
}

/// Of groups bred as heat is seen the expected number of each half-day is counted, and told so.
#[test]
fn detected_heat_is_told_of() {
    let text = Made {
        protocol: "heifer-mga-pg-detect",
        ..Made::default()
    }
    .text();
    let question = Question {
        group: Some("g".into()),
        ..Question::default()
    };
    let found = asked(&text, &question).answer;
    assert!(found.sessions.len() > 2 && found.verdict.by_heat_head == found.verdict.due_head);
    assert!(
        found
            .verdict
            .words
            .concat()
            .contains("half-day by half-day")
    );
    assert_eq!(
        found
            .sessions
            .iter()
            .filter(|s| s.looked_at_closely)
            .count(),
        1
    );
}

/// The exact hours of a group of `n`: what `t` technicians at `p` an hour breed in steady work.
fn enough(n: f64, kept: bool, (r, p, t): (f64, f64, f64), (lo, hi): (f64, f64)) -> bool {
    let pass = n / r;
    // The first cow of each is bred as the hours open.
    let steady = (n - t).max(0.0);
    if kept {
        // Cow k may be bred from (k + 1)/r + lo on and until k/r + hi: the last waits for work to
        // come to her, or work waits for her.
        steady / (p * t) <= pass + hi - lo
    } else {
        hi - lo >= pass && steady / (p * t) <= hi - lo - pass
    }
}

proptest! {
    #![proptest_config(crate::support::config(6, 12))]

    /// One pen given PG at `r` an hour, a window of W hours, `t` technicians at `p` an hour: mixed
    /// order covers while n/r + (n - t)/(pt) <= W, kept order while (n - t)/(pt) <= W + n/r; each but for what
    /// the slots at both ends of the hours take.
    #[test]
    fn the_largest_group_is_that_of_the_closed_form(
        r in 20u32..90,
        minutes in 3u32..9,
        t in 1usize..4,
        slot in prop::sample::select(vec![5u32, 15]),
    ) {
        let person = |n| format!("{{id: t{n}, minutes_per_cow: {minutes}, minutes_spread: 0, helper: true}}");
        let crew: Vec<String> = (0..t).map(person).collect();
        let rules = format!(", slot_minutes: {slot}");
        let made = Made {
            head: 10, pace: r, boxes: 3,
            crew: Box::leak(crew.join(", ").into_boxed_str()),
            rules: Box::leak(rules.into_boxed_str()),
            ..Made::default()
        };
        let table = answer(&made.text()).largest.remove(0);
        let row = &table.rows[t - 1];
        let pace = 60.0 / f64::from(minutes);
        prop_assert!((row.head_per_hour - pace * t as f64).abs() < 0.1);
        // 52 to 56 h (the protocol's window).
        let all = (f64::from(r), pace, t as f64);
        // Two slots of hours, and a cow a technician as rounds end.
        let slack = (2.0 * f64::from(slot) / 60.0 * pace * t as f64 + 2.0 * t as f64).ceil();
        for (kept, found) in [(false, row.mixed_head), (true, row.kept_head)] {
            let most = |extra: f64| (1..=4000).rev().map(f64::from).find(|n| enough(n - extra, kept, all, (52.0, 56.0))).unwrap_or(0.0);
            let exact = most(0.0);
            // What the slots take grows where the pass spreads the hours: each head more brings
            // hours that pay for a part of itself.
            let gain = if kept { 1.0 / (1.0 - (pace * t as f64 / f64::from(r)).min(0.999)) } else { 1.0 };
            if let Some(head) = found {
                let head = f64::from(head);
                prop_assert!(head <= exact + 1.0, "{kept}: {head} over {exact}\n{}", made.text());
                prop_assert!(head >= exact - slack * gain - 1.0, "{kept}: {head} far under {exact}\n{}", made.text());
            } else {
                prop_assert!(kept && exact >= 2000.0 - slack * gain, "{exact}\n{}", made.text());
            }
        }
    }

    /// A group as large as the table says is covered by a plan, and one head more is not.
    #[test]
    fn the_largest_group_is_covered_and_no_larger_one(
        r in 20u32..90,
        minutes in 3u32..9,
        kept in any::<bool>(),
        pens in 1u32..4,
        boxes in 1u32..3,
    ) {
        let crew = format!("{{id: t, minutes_per_cow: {minutes}, minutes_spread: 0.5, helper: true}}, {{id: u, minutes_per_cow: {}, minutes_spread: 0.5, shifts: [{{from: \"10:00\", to: \"14:00\"}}]}}", minutes + 1);
        let pens = format!("pens: {pens}");
        let mut made = Made {
            head: 4, pace: r, boxes,
            order: if kept { "kept" } else { "mixed" },
            pens: Box::leak(pens.into_boxed_str()),
            crew: Box::leak(crew.into_boxed_str()),
            ..Made::default()
        };
        let table = answer(&made.text()).largest.remove(0);
        let row = &table.rows[1];
        let Some(head) = (if kept { row.kept_head } else { row.mixed_head }) else { return Ok(()) };
        prop_assume!(head > 4);
        made.head = head;
        prop_assert!(plan_of(&made.text()).1.verdict.covered, "{}", made.text());
        made.head = head + 1;
        prop_assert!(!plan_of(&made.text()).1.verdict.covered, "{}", made.text());
    }
}

proptest! {
    #![proptest_config(crate::support::config(1, 6))]

    #[test]
    fn remedies_do_what_they_say(seed in any::<u64>()) {
        remedies_hold(seed)?;
    }
}

/// The count of one technician more, with a helper, leaves one; the plan with her leaves none.
#[test]
fn what_a_plan_covers_is_no_half_remedy() {
    remedies_hold(12_682_938_401_908_490_190).unwrap();
}

/// No remedy leaves more than before; what covers, covers when the season is planned anew, with
/// what it says to write; and the figures are that plan's.
fn remedies_hold(seed: u64) -> Result<(), TestCaseError> {
    let text = small(seed);
    let season = read(&text);
    let before = pipeline::plan(&season, &[]).unwrap();
    let found = asked(&text, &Question::default());
    prop_assert_eq!(
        found.answer.verdict.uncovered_head,
        before.verdict.uncovered_head
    );
    prop_assert_eq!(found.answer.is_well(), before.verdict.covered);
    for (remedies, seasons) in found.answer.remedies.iter().zip(&found.changed) {
        let shown = remedies.covering.iter().chain(&remedies.lessening);
        for (n, (remedy, changed)) in shown.zip(seasons).enumerate() {
            let all = remedy.uncovered_head + remedy.elsewhere_uncovered_head;
            let covers = n < remedies.covering.len();
            prop_assert!(
                all < before.verdict.uncovered_head,
                "{:?}\n{}",
                remedy.write,
                text
            );
            prop_assert_eq!(
                covers,
                remedy.uncovered_head == 0
                    && remedy.elsewhere_uncovered_head <= remedies.elsewhere_uncovered_head
            );
            let planned = pipeline::plan(changed, &[]).unwrap();
            prop_assert_eq!(planned.verdict.uncovered_head, all);
            let (_, anew) = plan_of(&written(&text, &found.season, remedy));
            // Somebody hired for a weekday is there in other weeks too, as written.
            if remedy.kinds.iter().any(|k| k == "technician") {
                prop_assert!(
                    anew.verdict.uncovered_head <= all,
                    "{:?}\n{}",
                    remedy.write,
                    text
                );
            } else {
                prop_assert_eq!(
                    anew.verdict.uncovered_head,
                    all,
                    "{:?}\n{}",
                    remedy.write,
                    text
                );
            }
        }
    }
    Ok(())
}
