//! What follows AI, group by group: return heats, bulls, pregnancy checks, calving, withdrawal.

use maud::{Markup, html};

use super::book::Book;
use super::words::date;
use super::work::tick;
use crate::plan::FollowUp;

/// The section; nothing where nothing follows.
pub(super) fn after(book: &Book) -> Markup {
    html! {
        @if !book.plan.follow_up.is_empty() {
            section aria-labelledby="after" {
                h2 id="after" { "After AI" }
                @for f in &book.plan.follow_up {
                    h3 class="part" { (book.group_name(&f.group)) }
                    ul class="plain rows" {
                        @for event in &f.events { (row(event)) }
                    }
                }
            }
        }
    }
}

fn row(event: &FollowUp) -> Markup {
    html! {
        li data-follow=(event.id) {
            (tick())
            div {
                b { (days(event)) } ": " (event.what)
                @for words in &event.words { p class="small" { (words) } }
                @if !event.sources.is_empty() {
                    p class="small soft" { "Sources: " (event.sources.join(", ")) "." }
                }
            }
        }
    }
}

fn days(event: &FollowUp) -> String {
    match event.last_day {
        Some(last) if last == event.first_day => date(last),
        Some(last) => format!("{} to {}", date(event.first_day), date(last)),
        None => format!("from {} on", date(event.first_day)),
    }
}
