//! The printed and phone page: one self-contained HTML file, read without its script too, for a phone
//! out of signal and for plain paper in either common size.
//!
//! Everything that came from a person goes through the markup macro and comes out escaped;
//! anchors are made from dates and places in lists, never from names.

mod after;
mod agenda;
mod book;
mod calving;
mod drawing;
mod front;
mod load;
mod now;
mod session;
mod tables;
mod tanks;
mod timeline;
mod words;
mod work;

#[cfg(test)]
mod tests;

use maud::{DOCTYPE, Markup, PreEscaped, html};

use crate::analysis::forecast;
use crate::analysis::tank;
use crate::analysis::thaw::SessionThaw;
use crate::base::units::count;
use crate::planning::plan::Plan;
use agenda::agenda;
use book::Book;

/// The look, for screens in light and dark and for paper.
const STYLE: &str = include_str!("page.css");

/// The page of a whole season.
#[must_use]
pub fn page(plan: &Plan) -> String {
    page_with(plan, None, None)
}

/// The same with the map of the tanks, where the season names any, and the calves expected.
#[must_use]
pub fn page_with(
    plan: &Plan,
    tanks: Option<&tank::Answer>,
    forecast: Option<&forecast::Answer>,
) -> String {
    let book = Book::new(plan);
    html! {
        (DOCTYPE)
        html lang="en" {
            head {
                meta charset="utf-8";
                meta name="viewport" content="width=device-width, initial-scale=1";
                meta name="color-scheme" content="light dark";
                // Phones would turn clock times and dates into links.
                meta name="format-detection" content="telephone=no, date=no, address=no";
                meta name="generator" content=(format!("Thawline {}", made_by(plan)));
                title { (title(plan)) }
                style { (PreEscaped(STYLE)) }
            }
            body class=[is_long(plan).then_some("long")] {
                a class="skip" href="#work" { "Skip to the work day by day" }
                (body(&book, tanks, forecast))
                (now::script())
            }
        }
    }
    .into_string()
}

/// Work of a season from which on a page is laid out piece by piece as it is scrolled to: a phone would
/// take minutes for all of it at once.
const LONG: usize = 400;

fn is_long(plan: &Plan) -> bool {
    plan.passes.len() + plan.sessions.len() > LONG
}

/// The same for paper alone, with the thaw rounds of sessions: markup that [`super::pdf`] lays on sheets.
pub(super) fn on_paper(
    plan: &Plan,
    tanks: Option<&tank::Answer>,
    forecast: Option<&forecast::Answer>,
    rounds: &[SessionThaw],
) -> String {
    body(&Book::with_rounds(plan, rounds), tanks, forecast).into_string()
}

/// What is read, in the order in which it is turned to.
fn body(book: &Book, tanks: Option<&tank::Answer>, forecast: Option<&forecast::Answer>) -> Markup {
    let plan = book.plan;
    let days = agenda(book);
    html! {
        (header(plan))
        main {
            (front::verdict(plan))
            (front::uncovered(book))
            (front::findings(plan))
            (now::now(plan))
            (work::index(&days))
            (timeline::timeline(book))
            (front::care(book))
            (work::days(book, &days))
            (after::after(book))
            @if let Some(forecast) = forecast { (calving::calving(forecast)) }
            (tables::groups(book))
            (tables::technicians(plan))
            (tables::bulls(plan))
            @if let Some(tanks) = tanks { (tanks::tanks(tanks, book)) }
            (tables::sources(plan))
        }
        (footer(plan))
    }
}

/// The program's version, and which plan this is: files of two plans can be told apart.
pub(super) fn made_by(plan: &Plan) -> String {
    format!("{}, plan {}", plan.program, plan.id)
}

/// What a window or a viewer calls the page.
pub(super) fn title(plan: &Plan) -> String {
    format!("{} – breeding plan", plan.season)
}

fn header(plan: &Plan) -> Markup {
    html! {
        header {
            p class="kind" { "Breeding plan" }
            h1 { (plan.season) }
            p class="soft" { "Times are local (" (plan.zone) "), on the 24-hour clock." }
        }
    }
}

fn footer(plan: &Plan) -> Markup {
    html! {
        footer {
            p {
                "Plan " (plan.id) ", made by Thawline " (plan.program) ", plan form " (plan.format) ". "
                "Plan proven best in " (plan.search.proven) " of "
                (count(plan.search.parts, "part", "parts")) " of the season."
            }
            p { a class="back" href="#days" { "Back to the days" } }
        }
    }
}
