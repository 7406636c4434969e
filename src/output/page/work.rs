//! The work day by day, and the list of days that leads to it.

use chrono::NaiveDate;
use maud::{Markup, html};

use super::agenda::{Day, Item, Trip};
use super::book::Book;
use super::front::markers;
use super::session;
use super::words::{begins, date, ends, hours, prose, sentence, short_date, tick};
use crate::output::first_and_last;
use crate::planning::plan::{Pass, Work};
use crate::trade::protocol::Caution;

/// Links to the days, with what each is about.
pub(super) fn index(days: &[Day]) -> Markup {
    html! {
        nav id="days" aria-labelledby="days-title" {
            h2 id="days-title" { "Days" }
            ol class="days" {
                @for day in days {
                    li data-from=(day.from) data-to=(day.to) {
                        a href={ "#" (day.anchor()) } {
                            b { (when(day)) }
                            " " span { (about(day)) }
                        }
                    }
                }
            }
        }
    }
}

/// The date of a day, or the first and last of a stretch.
fn when(day: &Day) -> String {
    if day.from == day.to {
        date(day.from)
    } else {
        format!("{} to {}", short_date(day.from), date(day.to))
    }
}

/// The work of a day in a few words, each thing once.
fn about(day: &Day) -> String {
    let mut words: Vec<String> = Vec::new();
    for item in &day.items {
        let word = match item {
            Item::Session(_, s) => session::title(s),
            Item::Trip(t) => t.first().what.clone(),
        };
        if !words.contains(&word) {
            words.push(word);
        }
    }
    if day.items.is_empty() {
        words.extend(day.going_on.iter().map(|t| t.first().what.clone()));
        words.dedup();
    }
    sentence_case(&words.join(", "))
}

/// A card for each day.
pub(super) fn days(book: &Book, days: &[Day]) -> Markup {
    html! {
        section id="work" aria-labelledby="work-title" {
            h2 id="work-title" { "Work day by day" }
            @for day in days {
                section class="day" id=(day.anchor()) {
                    h3 { (when(day)) }
                    @for item in &day.items {
                        @match item {
                            Item::Trip(trip) => { (card(book, trip, day.from)) }
                            Item::Session(n, s) => { (session::card(book, *n, s, day.from)) }
                        }
                    }
                    @if !day.going_on.is_empty() { (going_on(book, day)) }
                    p class="back" { a href="#days" { "All days" } }
                }
            }
        }
    }
}

/// Work of one group: a row for each pen.
fn card(book: &Book, trip: &Trip, day: NaiveDate) -> Markup {
    let pass = trip.first();
    let group = book.group(&pass.group);
    html! {
        article class="card" {
            h4 { (title(trip)) }
            p class="where" {
                (book.group_name(&pass.group)) ", " (book.site_name(&pass.site))
            }
            ul class="plain rows" {
                @for pass in &trip.passes { (row(book, pass, day)) }
            }
            @for note in notes(trip) { p { (prose(&sentence(note))) } }
            @if let Some(note) = group.and_then(|g| g.note.as_ref()) { p { (sentence(note)) } }
            (markers(&cautions(trip)))
        }
    }
}

/// What is done, and until when if it goes on.
fn title(trip: &Trip) -> String {
    let pass = trip.first();
    let what = sentence(&pass.what);
    let what = what.trim_end_matches('.');
    match pass.last_day.filter(|last| Some(*last) != pass.first_day) {
        Some(last) => format!("{what}, each day through {}", date(last)),
        None => what.to_owned(),
    }
}

fn row(book: &Book, pass: &Pass, day: NaiveDate) -> Markup {
    html! {
        li data-pass=(pass.id) {
            (tick())
            div {
                b class="clock" {
                    @let (first, last) = first_and_last(pass.start, pass.end);
                    (begins(first, day))
                    @if pass.work == Work::Chute && pass.end > pass.start {
                        " to " (ends(last, day))
                    }
                }
                " " span class="who" {
                    @if let Some(pen) = book.pen(&pass.group, pass.pen) { (sentence_case(&pen)) ", " }
                    (pass.head) " head"
                }
                @if let Some(heat) = book.plan.heats(pass) {
                    p { (sentence(&heat.words())) }
                    ul { @for day in &heat.half_days { li { (sentence(&day.words())) } } }
                }
                @if let Some(h) = &pass.hours {
                    p { "Start within: " (hours(h, day)) " (" (h.window) ")." }
                }
                @if let Some(clock) = &pass.clock {
                    p { b { "Clocks change:" } " " (sentence(clock)) }
                }
            }
        }
    }
}

fn sentence_case(text: &str) -> String {
    sentence(text).trim_end_matches('.').to_owned()
}

/// Feeding and watching begun on earlier days, with a box for each day and pen.
fn going_on(book: &Book, day: &Day) -> Markup {
    html! {
        div class="card going-on" {
            h4 { @if day.items.is_empty() { "Going on each day" } @else { "Also going on" } }
            ul class="plain rows" {
                @for trip in &day.going_on {
                    @for pass in &trip.passes {
                        li {
                            @if day.from == day.to { (tick()) }
                            div {
                                // Heat is watched for at the season's checks, not when it began.
                                @if pass.work != Work::HeatWatch {
                                    b class="clock" { (begins(pass.start, pass.start.date_naive())) }
                                    " "
                                }
                                span class="who" {
                                    (sentence_case(&pass.what)) ": "
                                    (book.pen_of(&pass.group, pass.pen)) ", " (pass.head) " head, "
                                    (book.site_name(&pass.site))
                                    @if let Some(last) = pass.last_day { ", through " (short_date(last)) }
                                }
                                @if day.from < day.to {
                                    p class="paper" {
                                        @for on in day.from.iter_days().take_while(|d| *d <= day.to) {
                                            span class="box" { (tick()) (short_date(on)) }
                                            " "
                                        }
                                    }
                                }
                            }
                        }
                    }
                }
            }
        }
    }
}

/// The notes of a trip's passes, each once.
fn notes<'a>(trip: &Trip<'a>) -> Vec<&'a str> {
    let mut notes: Vec<&str> = trip
        .passes
        .iter()
        .filter_map(|p| p.note.as_deref())
        .collect();
    notes.dedup();
    notes
}

fn cautions(trip: &Trip) -> Vec<Caution> {
    trip.passes
        .iter()
        .flat_map(|p| &p.cautions)
        .copied()
        .collect()
}
