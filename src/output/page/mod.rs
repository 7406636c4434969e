//! The printed and phone page: one self-contained HTML file, read without its script too, for a phone
//! out of signal and for plain paper in either common size.
//!
//! Its words are a document's blocks, which screens and paper share; anchors are made from dates and
//! places in lists, never from names.

mod after;
mod agenda;
mod book;
mod calving;
mod drawing;
mod front;
mod load;
mod session;
mod tables;
mod tanks;
mod timeline;
mod words;
mod work;

#[cfg(test)]
mod tests;

use maud::{DOCTYPE, Markup, PreEscaped, html};

use crate::analysis::forecast::Forecast;
use crate::analysis::tank::TankReport;
use crate::analysis::thaw::SessionThaw;
use crate::base::units::count;
use crate::output::document::html::blocks;
use crate::output::document::{Block, Document, Role};
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
pub fn page_with(plan: &Plan, tanks: Option<&TankReport>, forecast: Option<&Forecast>) -> String {
    let book = Book::new(plan, tanks, forecast, &[]);
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
                (body(&book))
                script { (PreEscaped(include_str!("now.js"))) }
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

/// The same for paper alone, with the thaw rounds of sessions.
pub(super) fn on_paper(
    plan: &Plan,
    tanks: Option<&TankReport>,
    forecast: Option<&Forecast>,
    rounds: &[SessionThaw],
) -> Document {
    let book = Book::new(plan, tanks, forecast, rounds);
    let mut blocks = header(plan);
    blocks.extend(answer(&book));
    blocks.extend(work(&book));
    blocks.push(footer(plan));
    Document::new(title(plan), blocks)
}

/// What is read, in the order in which it is turned to.
fn body(book: &Book) -> Markup {
    let plan = book.plan;
    html! {
        header { (blocks(&header(plan))) }
        main {
            (blocks(&answer(book)))
            (now(plan))
            (blocks(&work(book)))
        }
        footer {
            (blocks(&[footer(plan)]))
            p { a class="back" href="#days" { "Back to the days" } }
        }
    }
}

/// What is on today, and what comes next: an empty section, which the script fills from the list of days by
/// the reader's own clock, in the season's zone. Without scripts it says nothing.
fn now(plan: &Plan) -> Markup {
    html! {
        section id="now" data-zone=(plan.zone) aria-labelledby="now-title" hidden {
            h2 id="now-title" { "Today and next" }
            ul class="days" {}
        }
    }
}

/// How it turned out.
fn answer(book: &Book) -> Vec<Block> {
    let mut blocks = vec![front::verdict(book.plan)];
    blocks.extend(front::uncovered(book));
    blocks.extend(front::findings(book.plan));
    blocks
}

/// What is done when, what follows, and the season's lists.
fn work(book: &Book) -> Vec<Block> {
    let plan = book.plan;
    let days = agenda(book);
    let mut blocks = vec![work::index(&days)];
    blocks.extend(timeline::timeline(book));
    blocks.push(front::care(book));
    blocks.push(work::days(book, &days));
    blocks.extend(after::after(book));
    blocks.extend(book.forecast.and_then(calving::calving));
    blocks.extend([
        tables::groups(book),
        tables::technicians(plan),
        tables::bulls(plan),
    ]);
    blocks.extend(book.tanks.and_then(tanks::tanks));
    blocks.extend(tables::sources(plan));
    blocks
}

/// The program's version, and which plan this is: files of two plans can be told apart.
pub(super) fn made_by(plan: &Plan) -> String {
    format!("{}, plan {}", plan.program, plan.id)
}

/// What a window or a viewer calls the page.
pub(super) fn title(plan: &Plan) -> String {
    format!("{} – breeding plan", plan.season)
}

fn header(plan: &Plan) -> Vec<Block> {
    let clock = plan.units.clock.words();
    let clock = format!("Times are local ({}), on the {clock}.", plan.zone);
    vec![
        Block::of_role(Role::Kind, "Breeding plan"),
        Block::heading(1, &plan.season),
        Block::of_role(Role::Soft, clock),
        Block::of_role(Role::Soft, format!("Country: {}.", plan.country.words())),
    ]
}

fn footer(plan: &Plan) -> Block {
    let parts = count(plan.search.parts, "part", "parts");
    let (id, program, form) = (&plan.id, &plan.program, &plan.format);
    Block::paragraph(format!(
        "Plan {id}, made by Thawline {program}, plan form {form}. Plan proven best in {} of {parts} of the season.",
        plan.search.proven
    ))
}
