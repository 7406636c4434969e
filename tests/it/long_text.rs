//! The text of a plan that falls short in many places can still be read.

use thawline::output::text;
use thawline::plan::{Hours, Plan, Uncovered};

use crate::support::{demo, plan_of};

/// The demo's plan with so many pens of its sessions not covered, 1, 2, 3 ... head, and a warning
/// for each.
fn short_of(pens: u32) -> Plan {
    let (_, mut plan) = plan_of(&demo());
    let hours: Hours = plan.sessions[0].pens[0].hours.clone();
    let model = plan.sessions[0].clone();
    for n in 1..=pens {
        let mut session = model.clone();
        session.id = format!("made/{n}");
        plan.uncovered.push(Uncovered {
            session: session.id.clone(),
            pass: session.pens[0].pass.clone(),
            group: "heifers".to_owned(),
            pen: Some(1),
            head: n,
            animals: Vec::new(),
            hours: hours.clone(),
            why: vec![format!("reason {n}")],
            binding: Some(thawline::plan::Binding::Shifts),
            limits: Vec::new(),
            at_most_head: None,
            hints: Vec::new(),
        });
        plan.sessions.push(session);
        plan.findings.push(thawline::plan::Remark {
            code: thawline::error::Code::Uncovered,
            severity: thawline::error::Severity::Warning,
            place: None,
            what: format!("made-up warning {n}"),
            expected: None,
            hint: None,
        });
    }
    plan
}

#[test]
fn the_worst_stand_first_and_the_rest_is_counted() {
    let plan = short_of(30);
    let short = text::plan(&plan);
    let at = |what: &str| {
        short
            .find(what)
            .unwrap_or_else(|| panic!("{what}: {short}"))
    };
    assert!(at("why: reason 30\n") < at("why: reason 21\n"));
    assert!(!short.contains("why: reason 20\n"), "{short}");
    // 1 + 2 + ... + 20.
    assert!(
        short.contains("and 20 more sessions with 210 head"),
        "{short}"
    );
    assert!(short.contains("made-up warning 3\n") && !short.contains("made-up warning 4\n"));
    assert!(short.contains("and 27 warnings W102 more"), "{short}");
    assert!(short.contains("thawline plan SEASON --full"), "{short}");
    let json = thawline::output::json::plan(&plan);
    let full = text::plan_in_full(&plan);
    for n in 1..=30 {
        assert!(json.contains(&format!("\"reason {n}\"")), "{n}");
        assert!(full.contains(&format!("why: reason {n}\n")), "{n}");
        assert!(full.contains(&format!("made-up warning {n}\n")), "{n}");
    }
    assert!(!full.contains("shortened"), "{full}");
}

#[test]
fn text_stays_readable_however_much_there_is() {
    let lines = |pens| text::plan(&short_of(pens)).lines().count();
    // A session in two lines at the most; then a day in a line or two.
    assert!(lines(200) < 800, "{}", lines(200));
    assert!(lines(2000) < 250, "{}", lines(2000));
    let (_, plan) = plan_of(&demo());
    // Of a small one only what follows AI is told in short.
    let parts = |text: String| {
        let (before, rest) = text.split_once("\nAfter AI\n").unwrap();
        let (_, after) = rest.split_once("\nTake care\n").unwrap();
        (before.to_owned(), after.to_owned())
    };
    let (short, full) = (text::plan(&plan), text::plan_in_full(&plan));
    assert!(full.len() > short.len());
    assert_eq!(parts(short), parts(full));
}
