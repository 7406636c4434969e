use std::sync::LazyLock;

use super::*;
use crate::planning::plan::{Hours, Uncovered, Work};
use crate::service::pipeline;
use crate::trade::protocol::{Caution, Library};
use crate::trade::season;

const DEMO: &[u8] = include_bytes!("../../../demo/season.yaml");

static PLAN: LazyLock<Plan> = LazyLock::new(|| {
    let (season, findings) =
        season::read("season.yaml", DEMO, &Library::built_in()).expect("the demo season is good");
    pipeline::plan(&season, &findings).expect("the demo season can be planned")
});

fn demo() -> Plan {
    PLAN.clone()
}

/// A plan in which every name and remark tries to break out of the page, and that falls short.
fn hostile() -> Plan {
    let bad = "<script>alert('x')</script>\"><img onerror=x> & \u{1f402} `";
    let mut plan = demo();
    plan.season = bad.to_owned();
    plan.zone = bad.to_owned();
    plan.sites.iter_mut().for_each(|s| s.name = bad.to_owned());
    plan.technicians
        .iter_mut()
        .for_each(|t| t.name = bad.to_owned());
    plan.bulls
        .iter_mut()
        .for_each(|b| b.name = "long".repeat(50));
    for g in &mut plan.groups {
        g.name = bad.to_owned();
        g.note = Some(bad.to_owned());
        g.protocol_name = bad.to_owned();
    }
    for p in &mut plan.passes {
        p.id = format!("{bad} {}", p.id);
        p.what = bad.to_owned();
        p.note = Some(bad.to_owned());
        p.clock = Some(bad.to_owned());
    }
    for s in &mut plan.sessions {
        s.id = format!("{bad} {}", s.id);
        s.binding_words = bad.to_owned();
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
    plan.uncovered = vec![Uncovered {
        session: plan.sessions[0].id.clone(),
        pass: plan.sessions[0].pens[0].pass.clone(),
        group: bad.to_owned(),
        pen: Some(1),
        head: 3,
        animals: vec![1, 2, 9],
        hours: plan.sessions[0].pens[0].hours.clone(),
        why: vec![bad.to_owned()],
        binding: Some(crate::planning::plan::Binding::Shifts),
        limits: Vec::new(),
        at_most_head: None,
        hints: Vec::new(),
    }];
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
        for part in [
            "http",
            "src=",
            "<link",
            "@import",
            "url(",
            "<iframe",
            "javascript:",
        ] {
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
    let bred: BTreeSet<_> = plan
        .passes
        .iter()
        .filter(|p| p.work == Work::Breeding)
        .map(|p| (&p.group, p.start.date_naive()))
        .collect();
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
    let (season, _) = season::read("season.yaml", DEMO, &Library::built_in()).unwrap();
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
    let most = curve
        .iter()
        .map(|d| d.ai_head + d.bulls_head)
        .fold(0.0, f64::max);
    let (ai, bulls): (f64, f64) = curve
        .iter()
        .fold((0.0, 0.0), |(a, b), d| (a + d.ai_head, b + d.bulls_head));
    // A tenth of a unit is the least that is drawn.
    let close =
        |drawn: f64, head: f64| (drawn - 140.0 * head / most).abs() < 0.06 * curve.len() as f64;
    assert!(close(heights("full"), ai) && close(heights("open"), bulls));
}

#[test]
fn every_pass_and_session_stands_once() {
    for plan in [demo(), hostile()] {
        let page = page(&plan);
        let quoted = |id: &str| html! { (id) }.into_string();
        for p in &plan.passes {
            assert_eq!(
                count(&page, &format!("data-pass=\"{}\"", quoted(&p.id))),
                1,
                "{}",
                p.id
            );
        }
        for s in &plan.sessions {
            assert_eq!(
                count(&page, &format!("data-session=\"{}\"", quoted(&s.id))),
                1,
                "{}",
                s.id
            );
        }
        assert_eq!(count(&page, "data-pass="), plan.passes.len());
        assert_eq!(count(&page, "data-session="), plan.sessions.len());
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
            page.split(before)
                .skip(1)
                .map(|rest| rest.split('"').next().unwrap_or_default().to_owned())
                .collect()
        };
        let ids = values(" id=\"");
        let unique: std::collections::BTreeSet<&String> = ids.iter().collect();
        assert_eq!(unique.len(), ids.len());
        assert!(
            ids.iter()
                .all(|id| id.chars().all(|c| c.is_ascii_alphanumeric() || c == '-'))
        );
        for to in values("href=\"#")
            .iter()
            .chain(&values("aria-labelledby=\""))
        {
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
    let pen = plan.sessions[0].pens[0].clone();
    plan.verdict.covered = false;
    plan.uncovered = vec![Uncovered {
        session: plan.sessions[0].id.clone(),
        pass: pen.pass,
        group: "first-calf".to_owned(),
        pen: Some(1),
        head: 3,
        animals: vec![62, 63, 64],
        hours: pen.hours,
        why: vec!["nobody is on shift".to_owned()],
        binding: Some(crate::planning::plan::Binding::Shifts),
        limits: Vec::new(),
        at_most_head: None,
        hints: Vec::new(),
    }];
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
    let feeds = plan
        .passes
        .iter()
        .filter(|p| p.work == Work::Feeding)
        .count();
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
    let Hours {
        earliest, latest, ..
    } = session.pens[0].hours.clone();
    session.pens[0].hours.earliest = latest;
    session.pens[0].hours.latest = earliest;
    let page = page(&plan);
    assert!(page.contains("No cow can be bred in this AI window"));
    assert!(page.contains("no time suits every animal"));
}
