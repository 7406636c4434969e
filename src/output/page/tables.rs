//! The season's lists: groups, technicians, bulls and the publications named.

use std::collections::BTreeSet;

use maud::{Markup, html};

use super::book::{Book, named};
use super::words::{begins, date, prose, sentence};
use crate::planning::plan::{Group, Plan};
use crate::trade::sources::{self, Source};

/// The groups and their protocols.
pub(super) fn groups(book: &Book) -> Markup {
    let unverified = book.plan.groups.iter().any(|g| g.unverified);
    html! {
        section aria-labelledby="groups" {
            h2 id="groups" { "Groups" }
            table class="stack" {
                caption class="unseen" { "Groups of the season" }
                thead {
                    tr {
                        th scope="col" { "Group" }
                        th scope="col" { "Protocol" }
                        th scope="col" { "Animals" }
                        th scope="col" { "Start" }
                        th scope="col" { "Straws" }
                    }
                }
                tbody { @for g in &book.plan.groups { (group(book, g)) } }
            }
            @if unverified {
                p id="from-memory" {
                    b { "* Times partly from memory:" }
                    " check with the current protocol sheet and your veterinarian."
                }
            }
        }
    }
}

fn group(book: &Book, g: &Group) -> Markup {
    let day = g.start.date_naive();
    let all: u32 = g.pen_head.iter().sum();
    html! {
        tr {
            th scope="row" class="any" {
                (named(&g.name, &g.id))
            }
            td class="any" data-label="Protocol" {
                span {
                    (g.protocol_name)
                    @if g.unverified { "; " a href="#from-memory" { "times partly from memory*" } }
                }
            }
            td class="any" data-label="Animals" {
                span {
                    (all) " head, " (g.class) ", " (book.site_name(&g.site))
                    @if g.pen_head.len() > 1 {
                        "; pens of "
                        @for (n, head) in g.pen_head.iter().enumerate() {
                            @if n > 0 { " + " }
                            (head)
                        }
                    }
                    "; " (order(&g.order))
                    @if let Some(note) = &g.note { ". " (sentence(note)) }
                }
            }
            td data-label="Start" { span { (date(day)) " " (begins(g.start, day)) } }
            td class="any" data-label="Straws" {
                span {
                    @for (n, s) in g.straws.iter().enumerate() {
                        @if n > 0 { br; }
                        (s.straws) " of " (book.bull_name(&s.bull)) (crate::output::sexed(s))
                    }
                    @if g.straws.is_empty() { "none set aside" }
                }
            }
        }
    }
}

fn order(word: &str) -> &str {
    if word == "kept" {
        "order kept"
    } else {
        "any order"
    }
}

/// The technicians' share.
pub(super) fn technicians(plan: &Plan) -> Markup {
    html! {
        section aria-labelledby="technicians" {
            h2 id="technicians" { "Technicians" }
            table class="stack" {
                caption class="unseen" { "Share of the season" }
                thead {
                    tr {
                        th scope="col" { "Name" }
                        th scope="col" { "Sessions" }
                        th scope="col" { "Head" }
                        th scope="col" { "Bath to last cow" }
                        @if plan.road.is_some() { th scope="col" { "On the road" } }
                    }
                }
                tbody {
                    @for t in &plan.technicians {
                        tr {
                            th scope="row" class="any" {
                                (named(&t.name, &t.id))
                                @if t.helper { span class="id" { ", with a helper" } }
                            }
                            td data-label="Sessions" { span { (t.sessions) } }
                            td data-label="Head" { span { (t.head) } }
                            td class="whole" data-label="Bath to last cow" { span { (t.hours) " h" } }
                            @if plan.road.is_some() {
                                @match &t.road {
                                    Some(road) => { td data-label="On the road" { span { (plan.road_figures(road)) } } }
                                    None => { td data-label="On the road" { span { "no home" } } }
                                }
                            }
                        }
                    }
                }
            }
            @for sentence in plan.road_total() { p class="soft" { (prose(&sentence)) } }
        }
    }
}

/// The bulls' straws.
pub(super) fn bulls(plan: &Plan) -> Markup {
    html! {
        section aria-labelledby="bulls" {
            h2 id="bulls" { "Bulls" }
            table {
                caption class="unseen" { "Straws" }
                thead {
                    tr {
                        th scope="col" { "Bull" }
                        th scope="col" { "Straws on hand" }
                        th scope="col" { "Planned" }
                        th scope="col" { "Left" }
                    }
                }
                tbody {
                    @for b in &plan.bulls {
                        tr {
                            th scope="row" class="any" { (named(&b.name, &b.id)) }
                            td { (b.straws) }
                            td { (b.planned_straws) }
                            td { (b.left_straws) }
                        }
                    }
                }
            }
        }
    }
}

/// The publications whose tags stand in the notes and warnings shown.
pub(super) fn sources(plan: &Plan) -> Markup {
    let notes = plan.passes.iter().filter_map(|p| p.note.as_deref());
    let cautions = plan
        .passes
        .iter()
        .flat_map(|p| &p.cautions)
        .map(|c| c.source());
    let after = plan.follow_up.iter().flat_map(|f| &f.events);
    let after = after.flat_map(|e| e.words.iter().chain(&e.sources));
    let texts = notes.chain(cautions).chain(after.map(String::as_str));
    let texts: BTreeSet<&str> = texts.collect();
    let named: Vec<&Source> = sources::all()
        .iter()
        .filter(|s| texts.iter().any(|text| names(text, &s.tag)))
        .collect();
    html! {
        @if !named.is_empty() {
            section aria-labelledby="sources" {
                h2 id="sources" { "Sources" }
                dl class="sources" {
                    @for s in named { div { dt { (s.tag) } dd { (s.title) } } }
                }
            }
        }
    }
}

/// True if the tag stands in the text as a word of its own.
fn names(text: &str, tag: &str) -> bool {
    text.split(|c: char| !(c.is_alphanumeric() || c == '-'))
        .any(|word| word == tag)
}
