//! One site's breeding on one half-day: who is due, who breeds when, what to bring.

use std::collections::{BTreeMap, BTreeSet};

use chrono::NaiveDate;
use maud::{Markup, html};

use super::book::Book;
use super::front::markers;
use super::load::load;
use super::words::{begins, ends, hours, prose, ranges, sentence, short_date, tick};
use crate::base::units::count;
use crate::base::units::human_minutes;
use crate::output::{first_and_last, thaw_page};
use crate::planning::plan::{AtSession, DuePen, Moment, Session, Slot};

/// Technicians side by side in one table: as many as fit a sheet of paper.
const ABREAST: usize = 6;

/// The card of a session, `n` its place in the plan's list.
pub(super) fn card(book: &Book, n: usize, session: &Session, day: NaiveDate) -> Markup {
    html! {
        article class="card session" id={ "session-" (n + 1) } data-session=(session.id) {
            h4 { (tick()) (title(session)) }
            p class="where" { (book.site_name(&session.site)) }
            p class="lead" {
                @match session.first_cow.zip(session.last_cow) {
                    Some((first, last)) => {
                        @let (first, last) = first_and_last(first, last);
                        "First cow " b class="clock" { (begins(first, day)) }
                        ", last cow " b class="clock" { (ends(last, day)) }
                    }
                    None => { "No cow can be bred in these hours" }
                }
                ". Hours: " (begins(session.open, day)) " to " (ends(session.close, day)) "."
            }
            (due(book, session, day))
            (remarks(book, session))
            (bring(book, session))
            (margin(session))
            (markers(&session.cautions))
            (load(book, session, day, n + 1))
            (boards(book, n, session, day))
            @if let Some(rounds) = book.rounds(&session.id) { (thaw_page::of_day(rounds)) }
        }
    }
}

/// How many are bred, and of how many if not all can be.
pub(super) fn title(session: &Session) -> String {
    let due: u32 = session.pens.iter().map(|p| p.head).sum();
    match session.head {
        head if head == due && session.is_by_heat() => format!("Breed about {head} head, by heat"),
        head if head == due => format!("Breed {head} head"),
        0 => format!("Breed none of {due} head due"),
        head => format!("Breed {head} of {due} head due"),
    }
}

/// The pens due.
fn due(book: &Book, session: &Session, day: NaiveDate) -> Markup {
    html! {
        table class="stack" {
            caption { "Who is due" }
            thead {
                tr {
                    th scope="col" { "Pen" }
                    th scope="col" { "Due" }
                    th scope="col" { "Hours" }
                    th scope="col" { "Order" }
                    th scope="col" { "Counts from" }
                }
            }
            tbody {
                @for pen in &session.pens { (due_row(book, pen, day)) }
            }
        }
    }
}

fn due_row(book: &Book, pen: &DuePen, day: NaiveDate) -> Markup {
    let from = pen.counted_from.date_naive();
    html! {
        tr data-pass=(pen.pass) {
            th scope="row" class="any" { span class="ticked" { (tick()) span { (book.pen_of(&pen.group, pen.pen)) } } }
            td data-label="Due" {
                span {
                    b { (pen.head_words()) } ": " (pen.what)
                    @if let Some(seen) = pen.seen_words() { ", " (seen) }
                    @if pen.bred_head < pen.head {
                        "; " b { (pen.bred_head) " bred, " (pen.head - pen.bred_head) " not covered" }
                    }
                }
            }
            td data-label="Hours" {
                span {
                    (hours(&pen.hours, day))
                    @if pen.order == "kept" { "; each animal " (pen.hours.window) " after her own" }
                    @else { " (" (pen.hours.window) ")" }
                }
            }
            td data-label="Order" {
                span {
                    @if pen.order == "kept" { "kept, as in the earlier pass" }
                    @else { "any order" }
                }
            }
            td data-label="Counts from" {
                span {
                    (short_date(from)) " " (begins(pen.counted_from, from))
                    @if pen.counted_to != pen.counted_from { " to " (ends(pen.counted_to, from)) }
                }
            }
        }
    }
}

/// Notes of the protocol, remarks of the season and clock changes, each once.
fn remarks(book: &Book, session: &Session) -> Markup {
    let mut notes: Vec<&str> = Vec::new();
    let mut clocks: Vec<&str> = Vec::new();
    for pen in &session.pens {
        let pass = book.pass(&pen.pass);
        notes.extend(pass.and_then(|p| p.note.as_deref()));
        notes.extend(book.group(&pen.group).and_then(|g| g.note.as_deref()));
        clocks.extend(pass.and_then(|p| p.clock.as_deref()));
    }
    let mut said = BTreeSet::new();
    notes.retain(|n| said.insert(*n));
    clocks.dedup();
    html! {
        @for note in notes { p { (sentence(note)) } }
        @for clock in clocks { p { b { "Clocks change:" } " " (sentence(clock)) } }
    }
}

/// Straws to bring.
fn bring(book: &Book, session: &Session) -> Markup {
    html! {
        @if !session.straws.is_empty() {
            p class="label" { "Straws to bring" }
            ul class="plain bring" {
                @for s in &session.straws {
                    li {
                        (tick())
                        span {
                            b { (count(s.straws, "straw", "straws")) } " of " (book.bull_name(&s.bull)) (crate::output::sexed(s))
                            @if let Some(spare) = session.spare_for(s) {
                                ", and " b { (spare.straws) } " to spare for cows that never come"
                            }
                        }
                    }
                }
            }
        }
    }
}

/// How much room there is, and what sets the limit.
fn margin(session: &Session) -> Markup {
    html! {
        p {
            b { "Margin:" } " "
            @if session.margin_head > 0 {
                "room for " (session.margin_head) " head more in the tightest pen; "
            } @else {
                "no room for more head in the tightest pen; "
            }
            @if session.margin_minutes > 0 {
                "the crew could start " (human_minutes(session.margin_minutes)) " later. "
            } @else {
                "the crew cannot start later. "
            }
            (prose(&sentence(&session.binding_words)))
        }
    }
}

/// Who breeds when: a column for each technician. `n` is the session's place in the plan's list.
fn boards(book: &Book, n: usize, session: &Session, day: NaiveDate) -> Markup {
    let parts: Vec<&[AtSession]> = session.technicians.chunks(ABREAST).collect();
    html! {
        @for (k, crew) in parts.iter().enumerate() {
            @let part = if parts.len() > 1 {
                format!(", part {} of {}", k + 1, parts.len())
            } else {
                String::new()
            };
            // Focusable, so that a keyboard can scroll it too.
            section class="scroll" aria-label={ "Session " (n + 1) ": who breeds when" (part) } tabindex="0" {
                table class="board" {
                    caption { "Who breeds when" (part) }
                    thead {
                        tr {
                            // The head comes again on each sheet of paper, and says the day.
                            th scope="col" { (short_date(day)) }
                            @for t in *crew {
                                th scope="col" class="any" { (book.technician_name(&t.id)) }
                            }
                        }
                    }
                    (facts(book, crew, day))
                    (slots(book, session, crew, day))
                }
            }
        }
        @if session.slots.iter().any(|s| !s.animals.is_empty()) {
            p class="soft small" {
                "“no.” is the animal’s place in the order of the earlier pass."
            }
        }
    }
}

fn facts(book: &Book, crew: &[AtSession], day: NaiveDate) -> Markup {
    let row = |name: &str, cell: &dyn Fn(&AtSession) -> Markup| {
        html! {
            tr {
                th scope="row" { (name) }
                @for t in crew { td { (cell(t)) } }
            }
        }
    };
    html! {
        tbody class="facts" {
            (row("Breeds", &|t| html! { b class="whole" { (t.head) " head" } }))
            (row("Thaws", &|t| html! {
                @if book.technician(&t.id).is_some_and(|t| t.helper) { "a helper" } @else { "alone" }
            }))
            @if crew.iter().any(|t| t.leaves.is_some()) {
                (row("Leaves for here", &|t| html! {
                    @if let Some(l) = &t.leaves {
                        (book.site_name(&l.site)) " by " b { (ends(l.by, day)) } (book.plan.drive_words(l))
                    } @else { "is here" }
                }))
            }
            (row("First straws in the bath", &|t| html! { b { (ends(t.begins, day)) } }))
            (row("First to last cow", &|t| html! {
                @let (first, last) = first_and_last(t.first_cow, t.last_cow);
                (begins(first, day)) " to " (ends(last, day))
            }))
            (row("Straws at once", &|t| html! { b { (t.straws_at_once) } }))
            (row("At the cow", &|t| html! { (t.minutes_per_cow) " min" }))
            (row("Oldest straw", &|t| html! { (t.last_straw_minutes) " min" }))
            (row("Chance it is too old", &|t| html! { (t.late_percent) " %" }))
        }
    }
}

fn slots(book: &Book, session: &Session, crew: &[AtSession], day: NaiveDate) -> Markup {
    let place: BTreeMap<&str, usize> = crew
        .iter()
        .enumerate()
        .map(|(n, t)| (t.id.as_str(), n))
        .collect();
    let mut rows: BTreeMap<Moment, Vec<Vec<&Slot>>> = BTreeMap::new();
    for slot in &session.slots {
        if let Some(n) = place.get(slot.technician.as_str()) {
            rows.entry(slot.start)
                .or_insert_with(|| vec![Vec::new(); crew.len()])[*n]
                .push(slot);
        }
    }
    html! {
        tbody class="slots" {
            @for (start, cells) in &rows {
                tr {
                    th scope="row" { (begins(*start, day)) }
                    @for cell in cells {
                        td {
                            @if cell.is_empty() { span class="soft" { "–" } }
                            @for slot in cell { (entry(book, session, slot)) }
                        }
                    }
                }
            }
        }
    }
}

/// Which half-day's heats a slot is of.
fn seen(session: &Session, slot: &Slot) -> String {
    let pen = session.pens.iter().find(|p| p.pass == slot.pass);
    pen.and_then(DuePen::seen_words).unwrap_or_default()
}

/// Head of one pen in one slot, and which animals.
fn entry(book: &Book, session: &Session, slot: &Slot) -> Markup {
    let several = session.pens.len() > 1;
    let many_groups = session
        .pens
        .iter()
        .any(|p| p.group != session.pens[0].group);
    html! {
        div class="entry" {
            b class="whole" { (slot.head) " head" }
            @if several {
                " " span {
                    @if many_groups { (book.pen_of(&slot.group, slot.pen)) }
                    @else if let Some(pen) = slot.pen { "pen " (pen) }
                    @else { (seen(session, slot)) }
                }
            }
            @if !slot.animals.is_empty() { " " span { "no. " (ranges(&slot.animals)) } }
        }
    }
}
