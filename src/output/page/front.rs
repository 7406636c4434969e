//! What stands before the work: the answer, what falls short, what was noticed, what can hurt.

use std::collections::{BTreeMap, BTreeSet};

use maud::{Markup, PreEscaped, html};

use super::book::{Book, named};
use super::words::{date, hours, prose, ranges, sentence};
use crate::planning::plan::{Plan, Remark, Uncovered};
use crate::trade::protocol::Caution;

/// Signs that differ in shape, so that neither colour nor print quality matters.
const CHECK: &str = r#"<svg viewBox="0 0 48 48" aria-hidden="true"><circle cx="24" cy="24" r="20"/><path d="M14 25l7 7 13-15"/></svg>"#;
const TRIANGLE: &str = r#"<svg viewBox="0 0 48 48" aria-hidden="true"><path d="M24 5L45 43H3z"/><path d="M24 18v13M24 36v2"/></svg>"#;
const OCTAGON: &str = r#"<svg viewBox="0 0 48 48" aria-hidden="true"><path class="full" d="M16 4h16l12 12v16L32 44H16L4 32V16z"/><path class="on-full" d="M24 12v16M24 33v3"/></svg>"#;

/// The answer.
pub(super) fn verdict(plan: &Plan) -> Markup {
    let (class, sign) = if !plan.verdict.covered {
        ("verdict short", OCTAGON)
    } else if plan.verdict.rules_broken {
        ("verdict warned", TRIANGLE)
    } else {
        ("verdict well", CHECK)
    };
    let mut words = plan.verdict.words.iter();
    let first = words.next().map_or("No verdict", String::as_str);
    // What is said of single pens stands in the list of those not covered, with more.
    let rest: Vec<&String> = words.filter(|w| !says_why(plan, w)).collect();
    html! {
        section class=(class) aria-labelledby="verdict" {
            (PreEscaped(sign))
            h2 id="verdict" { (prose(first)) }
            @for sentence in rest { p { (prose(sentence)) } }
        }
    }
}

fn says_why(plan: &Plan, sentence: &str) -> bool {
    plan.uncovered.iter().any(|u| {
        sentence.starts_with(&format!("{} head of {} ", u.head, u.group))
            && sentence.contains(&u.why.join("; "))
    })
}

/// Who cannot be bred, and why.
pub(super) fn uncovered(book: &Book) -> Markup {
    let list = &book.plan.uncovered;
    html! {
        @if !list.is_empty() {
            section aria-labelledby="uncovered" {
                h2 id="uncovered" { "Not covered" }
                ul class="plain" {
                    @for u in list { (one_uncovered(book, u)) }
                }
            }
        }
    }
}

fn one_uncovered(book: &Book, u: &Uncovered) -> Markup {
    let day = u.hours.earliest.date_naive();
    html! {
        li class="remark short" {
            p class="lead" {
                b { (u.head) " head" } " of "
                @match book.group(&u.group) {
                    Some(g) => { (named(&g.name, &g.id)) }
                    None => { (u.group) }
                }
                @if let Some(pen) = book.pen(&u.group, u.pen) { ", " (pen) }
            }
            p {
                @match book.session_anchor(&u.session) {
                    Some(anchor) => { a href={ "#" (anchor) } { (date(day)) } }
                    None => { (date(day)) }
                }
                ". Hours: " (hours(&u.hours, day)) " (" (u.hours.window) ")."
            }
            @if !u.animals.is_empty() {
                p { "Animals no. " (ranges(&u.animals)) " in the order of the earlier pass." }
            }
            @if !u.why.is_empty() {
                p { "Why:" }
                ul { @for why in &u.why { li { (prose(&sentence(why))) } } }
            }
        }
    }
}

/// Warnings first, then notes.
pub(super) fn findings(plan: &Plan) -> Markup {
    let (notes, warnings): (Vec<&Remark>, Vec<&Remark>) =
        plan.findings.iter().partition(|f| f.severity == "note");
    html! {
        @if !warnings.is_empty() {
            section aria-labelledby="warnings" {
                h2 id="warnings" { "Warnings" }
                ul class="plain" { @for alike in alike(&warnings) { (remark(&alike)) } }
            }
        }
        @if !notes.is_empty() {
            section aria-labelledby="notes" {
                h2 id="notes" { "Worth knowing" }
                ul class="plain" { @for alike in alike(&notes) { (remark(&alike)) } }
            }
        }
    }
}

/// Findings of one kind with one remedy together, in the order of the first.
fn alike<'a>(findings: &[&'a Remark]) -> Vec<Vec<&'a Remark>> {
    let mut found: Vec<Vec<&'a Remark>> = Vec::new();
    let mut places: BTreeMap<(&str, &str, Option<&str>), usize> = BTreeMap::new();
    for f in findings {
        let place = *places
            .entry((&f.severity, &f.code, f.hint.as_deref()))
            .or_insert_with(|| {
                found.push(Vec::new());
                found.len() - 1
            });
        found[place].push(f);
    }
    found
}

/// Findings that share a remedy; never empty.
fn remark(alike: &[&Remark]) -> Markup {
    let first = alike[0];
    let single = alike.len() == 1;
    html! {
        li class=(if first.severity == "note" { "remark" } else { "remark warned" }) {
            p {
                b class="word" {
                    (sentence(&first.severity).trim_end_matches('.'))
                    @if !single { ", " (alike.len()) " times" }
                    "."
                }
                @if single { " " (said(first)) }
            }
            @if !single { ul { @for f in alike { li { (said(f)) } } } }
            @if let Some(hint) = &first.hint {
                p { b { "What to do:" } " " (prose(&sentence(hint))) }
            }
        }
    }
}

/// What is wrong, what was expected, and where.
fn said(f: &Remark) -> Markup {
    html! {
        (prose(&sentence(&f.what)))
        @if let Some(expected) = &f.expected { " Expected: " (prose(expected)) "." }
        " " span class="soft small" {
            "[" (f.code) @if let Some(place) = &f.place { " " (place) } "]"
        }
    }
}

/// The warnings that the season's work calls for, each once, with its source.
pub(super) fn care(book: &Book) -> Markup {
    let plan = book.plan;
    let called: BTreeSet<Caution> = plan
        .passes
        .iter()
        .flat_map(|p| &p.cautions)
        .chain(plan.sessions.iter().flat_map(|s| &s.cautions))
        .copied()
        .collect();
    html! {
        section id="care" aria-labelledby="care-title" {
            h2 id="care-title" { "Take care" }
            p {
                "The products given here are animal medicines, in many places on prescription only: "
                "their labels and your veterinarian come before this page."
            }
            @if plan.groups.iter().any(|g| g.unverified) {
                p { "Some times are partly from memory; " a href="#from-memory" { "the groups are marked" } "." }
            }
            @if !called.is_empty() {
                dl class="care" {
                    @for caution in Caution::ALL.into_iter().filter(|c| called.contains(c)) {
                        div {
                            dt id={ "care-" (caution.as_str()) } { (label(caution)) }
                            dd {
                                (caution.words())
                                " " span class="soft small" { "Source: " (caution.source()) "." }
                            }
                        }
                    }
                }
            }
        }
    }
}

/// Short words beside the work, each leading to its warning.
pub(super) fn markers(cautions: &[Caution]) -> Markup {
    html! {
        @if !cautions.is_empty() {
            p class="markers" {
                b { "Take care:" }
                @for (n, caution) in Caution::ALL.into_iter().filter(|c| cautions.contains(c)).enumerate() {
                    @if n > 0 { ", " } @else { " " }
                    a href={ "#care-" (caution.as_str()) } { (label(caution)) }
                }
            }
        }
    }
}

const fn label(caution: Caution) -> &'static str {
    match caution {
        Caution::Prostaglandin => "PG",
        Caution::Insert => "inserts",
        Caution::Mga => "MGA",
        Caution::Nitrogen => "nitrogen",
        Caution::Thaw => "thaw bath",
        Caution::Needles => "needles",
        Caution::Chute => "chute",
    }
}
