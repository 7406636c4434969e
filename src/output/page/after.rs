//! What follows AI, group by group: return heats, bulls, pregnancy checks, calving, withdrawal.

use maud::{Markup, html};

use super::book::Book;
use super::words::{date, tick};
use crate::planning::plan::FollowUp;

/// The section; nothing where nothing follows.
pub(super) fn after(book: &Book) -> Markup {
    html! {
        @if !book.plan.follow_up.is_empty() {
            section aria-labelledby="after" {
                h2 id="after" { "After AI" }
                @for (g, f) in book.plan.follow_up.iter().enumerate() {
                    h3 class="part" { (book.group_name(&f.group)) }
                    ul class="plain rows" {
                        @for (n, event) in f.events.iter().enumerate() {
                            (row(event, &format!("after-{g}-{n}"), book.group_name(&f.group)))
                        }
                    }
                }
            }
        }
    }
}

/// A row with what today and next tell of it: its days, and a line of words.
fn row(event: &FollowUp, anchor: &str, group: &str) -> Markup {
    let told = format!("{group}: {}, {}", event.what, days(event));
    html! {
        li id=(anchor) data-follow=(event.id) data-from=(event.first_day)
            data-to=(event.last_day.unwrap_or(event.first_day)) data-told=(told) {
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
