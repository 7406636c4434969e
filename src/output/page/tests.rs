use super::*;
use crate::output::demo::{self, not_bred};
use crate::planning::plan::Work;
use crate::service::pipeline;
use crate::trade::protocol::Caution;

fn demo() -> Plan {
    demo::PLAN.clone()
}

/// A plan in which every name and remark tries to break out of the page, and that falls short.
fn hostile() -> Plan {
    let bad = "<script>alert('x')</script>\"><img onerror=x> & \u{1f402} `";
    let mut plan = demo();
    for text in demo::texts(&mut plan) {
        bad.clone_into(text);
    }
    plan.zone = bad.to_owned();
    for b in &mut plan.bulls {
        b.name = "long".repeat(50);
    }
    for p in &mut plan.passes {
        p.id = format!("{bad} {}", p.id);
    }
    for s in &mut plan.sessions {
        s.id = format!("{bad} {}", s.id);
        for pen in &mut s.pens {
            pen.pass = format!("{bad} {}", pen.pass);
            pen.what = bad.to_owned();
        }
    }
    for f in &mut plan.findings {
        f.what = bad.to_owned();
        f.hint = Some(bad.to_owned());
        f.place = Some(bad.to_owned());
    }
    plan.verdict.covered = false;
    plan.verdict.words = vec![bad.to_owned()];
    let of = &plan.sessions[0];
    let mut uncovered = not_bred(of, &of.pens[0], &[1, 2, 9], bad);
    uncovered.group = bad.to_owned();
    plan.uncovered = vec![uncovered];
    plan
}

fn count(text: &str, part: &str) -> usize {
    text.matches(part).count()
}

#[test]
fn hostile_names_come_out_as_text() {
    let page = page(&hostile());
    assert!(count(&page, "<script") == 1 && !page.contains("<img"));
    assert!(page.contains(
        "&lt;script&gt;alert('x')&lt;/script&gt;&quot;&gt;&lt;img onerror=x&gt; &amp; \u{1f402}"
    ));
    // No tag has an attribute that the code did not write.
    for tag in page.split('<').skip(1) {
        let tag = tag.split('>').next().unwrap_or_default();
        let outside: String = tag.split('"').step_by(2).collect();
        assert!(!outside.contains("onerror"), "{tag}");
    }
}

#[test]
fn nothing_is_fetched_and_only_our_script_is_run() {
    for page in [page(&demo()), page(&hostile())] {
        let fetches = "http src= <link @import url( <iframe javascript:";
        for part in fetches.split(' ') {
            assert!(!page.contains(part), "{part}");
        }
        let (_, script) = page.split_once("<script>").unwrap();
        let (script, after) = script.split_once("</script>").unwrap();
        assert_eq!(script, include_str!("now.js"));
        assert_eq!(after, "</body></html>");
    }
}

/// A square for each group's breeding day, a column for each technician's slot with its head.
#[test]
fn drawings_hold_what_the_plan_says() {
    use std::collections::BTreeSet;
    let plan = demo();
    let page = page(&plan);
    let bred = plan.passes.iter().filter(|p| p.work == Work::Breeding);
    let bred: BTreeSet<_> = bred.map(|p| (&p.group, p.start.date_naive())).collect();
    let slots = || plan.sessions.iter().flat_map(|s| &s.slots);
    let columns: BTreeSet<_> = slots().map(|s| (&s.technician, s.start)).collect();
    assert_eq!(
        count(&page, "<rect class=\"full\""),
        bred.len() + columns.len()
    );
    let heads = page.split("<title>").skip(1).filter_map(|t| {
        let words = t.split_once("</title>")?.0.strip_suffix(" head")?;
        words.split_once(": ")?.1.parse::<u32>().ok()
    });
    assert_eq!(heads.sum::<u32>(), slots().map(|s| s.head).sum::<u32>());
    assert!(!page.contains("NaN") && !page.contains("inf\""));
}

/// Each follow-up stands once, with its sources; the calves' columns are as high as they are many.
#[test]
fn what_follows_and_the_calves_are_shown() {
    let (season, _) = demo::season();
    let plan = demo();
    let told = pipeline::forecast(&season, &plan).unwrap();
    let page = page_with(&plan, None, Some(&told));
    for event in plan.follow_up.iter().flat_map(|f| &f.events) {
        assert_eq!(count(&page, &format!("data-follow=\"{}\"", event.id)), 1);
        for tag in &event.sources {
            assert!(page.contains(&format!("<dt>{tag}</dt>")), "{tag}");
        }
    }
    let (_, chart) = page
        .split_once("AI calves and clean-up bull calves expected each day")
        .unwrap();
    let (chart, _) = chart.split_once("</svg>").unwrap();
    let heights = |kind: &str| -> f64 {
        let begin = format!("<rect class=\"{kind} thin\"");
        let all = chart.split(begin.as_str()).skip(1);
        all.map(|r| {
            let (_, rest) = r.split_once("height=\"").unwrap();
            rest.split_once('"').unwrap().0.parse::<f64>().unwrap()
        })
        .sum()
    };
    let curve = &told.calving.as_ref().unwrap().curve;
    let most = curve.iter().map(|d| d.ai_head + d.bulls_head);
    let most = most.fold(0.0, f64::max);
    let ai: f64 = curve.iter().map(|d| d.ai_head).sum();
    let bulls: f64 = curve.iter().map(|d| d.bulls_head).sum();
    // A tenth of a unit is the least that is drawn.
    let close =
        |drawn: f64, head: f64| (drawn - 140.0 * head / most).abs() < 0.06 * curve.len() as f64;
    assert!(close(heights("full"), ai) && close(heights("open"), bulls));
}

#[test]
fn every_pass_and_session_stands_once() {
    for plan in [demo(), hostile()] {
        let page = page(&plan);
        let passes: Vec<&String> = plan.passes.iter().map(|p| &p.id).collect();
        let sessions = plan.sessions.iter().map(|s| &s.id).collect();
        for (name, ids) in [("data-pass", passes), ("data-session", sessions)] {
            for id in &ids {
                let quoted = html! { (id) }.into_string();
                assert_eq!(count(&page, &format!("{name}=\"{quoted}\"")), 1, "{id}");
            }
            assert_eq!(count(&page, &format!("{name}=")), ids.len());
        }
    }
}

#[test]
fn the_same_plan_gives_the_same_bytes() {
    let plan = demo();
    assert_eq!(page(&plan), page(&plan.clone()));
}

#[test]
fn anchors_are_unique_and_lead_somewhere() {
    for plan in [demo(), hostile()] {
        let page = page(&plan);
        let values = |before: &str| -> Vec<String> {
            let rest = page
                .split(before)
                .skip(1)
                .map(|rest| rest.split('"').next());
            rest.map(|value| value.unwrap().to_owned()).collect()
        };
        let ids = values(" id=\"");
        let unique: std::collections::BTreeSet<&String> = ids.iter().collect();
        assert_eq!(unique.len(), ids.len());
        let plain = |c: char| c.is_ascii_alphanumeric() || c == '-';
        assert!(ids.iter().all(|id| id.chars().all(plain)));
        let named = values("aria-labelledby=\"");
        for to in values("href=\"#").iter().chain(&named) {
            assert!(unique.contains(to), "{to}");
        }
    }
}

#[test]
fn each_warning_stands_once_with_its_source() {
    let page = page(&demo());
    for caution in Caution::ALL {
        assert_eq!(count(&page, caution.words()), 1, "{caution:?}");
        assert!(page.contains(&format!("Source: {}.", caution.source())));
    }
}

#[test]
fn what_is_not_covered_is_said_first_and_why() {
    let mut plan = demo();
    let of = &plan.sessions[1];
    let uncovered = not_bred(of, &of.pens[0], &[62, 63, 64], "nobody is on shift");
    plan.uncovered = vec![uncovered];
    plan.verdict.covered = false;
    plan.verdict.words = vec![
        "Short: 3 of 344 head cannot be bred in their AI windows.".to_owned(),
        plan.uncovered[0].words("first-calf"),
    ];
    let page = page(&plan);
    let at = |text: &str| page.find(text).unwrap_or_else(|| panic!("{text}"));
    assert!(at("Short: 3 of 344 head") < at("Animals no. 62–64"));
    assert!(at("Animals no. 62–64") < at("id=\"days\""));
    assert_eq!(count(&page, "obody is on shift"), 1);
}

#[test]
fn days_that_only_go_on_share_a_card() {
    let plan = demo();
    let page = page(&plan);
    let feeds = plan.passes.iter().filter(|p| p.work == Work::Feeding);
    let feeds = feeds.count();
    assert_eq!(feeds, 1);
    // Fourteen days: one card for the first, one for the rest, a box for each day.
    assert_eq!(count(&page, "Tue 13 Apr to Sun 25 Apr 2027"), 2);
    assert_eq!(count(&page, "class=\"box\""), 13 * feeds);
}

#[test]
fn a_session_without_a_cow_says_so() {
    let mut plan = demo();
    let session = &mut plan.sessions[0];
    session.first_cow = None;
    session.last_cow = None;
    session.head = 0;
    session.technicians.clear();
    session.slots.clear();
    session.straws.clear();
    let hours = &mut session.pens[0].hours;
    std::mem::swap(&mut hours.earliest, &mut hours.latest);
    let page = page(&plan);
    assert!(page.contains("No cow can be bred in this AI window"));
    assert!(page.contains("no time suits every animal"));
}
