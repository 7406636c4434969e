//! The day pages as a PDF file, for plain paper: the page's own markup, laid on sheets.
//!
//! `page` makes the markup, and nothing here has words of its own about a plan: `markup` reads it
//! back as a tree, `blocks` takes headings, paragraphs, lists, tables and drawings from it, `lines`,
//! `rows` and `drawing` set them in columns, `sheets` divides them, and `write` makes the file.
//!
//! All of it is behind the feature `pdf`, which is a default one.

#[cfg(feature = "pdf")]
mod blocks;
#[cfg(feature = "pdf")]
mod draw;
#[cfg(feature = "pdf")]
mod drawing;
#[cfg(feature = "pdf")]
mod letters;
#[cfg(feature = "pdf")]
mod lines;
#[cfg(feature = "pdf")]
mod markup;
mod paper;
#[cfg(feature = "pdf")]
mod print;
#[cfg(feature = "pdf")]
mod rows;
#[cfg(feature = "pdf")]
mod setter;
#[cfg(feature = "pdf")]
mod sheets;
#[cfg(feature = "pdf")]
mod strips;
#[cfg(feature = "pdf")]
#[cfg(test)]
mod tests;
#[cfg(feature = "pdf")]
mod write;

pub use paper::{Paper, Printed};

#[cfg(feature = "pdf")]
use print::print;

use super::{page, thaw_page};
use crate::analysis::forecast;
use crate::analysis::tank;
use crate::analysis::thaw::{SessionThaw, Thaw};
use crate::base::error::Error;
#[cfg(not(feature = "pdf"))]
use crate::base::error::{Code, Finding};
use crate::planning::plan::Plan;

/// The pages of a season: the answer, the work day by day with the thaw rounds of sessions, each day
/// of a session on sheets of its own, what follows, and the season's lists.
///
/// # Errors
/// An internal error if the file cannot be made; an error of input if the feature `pdf` is not there.
pub fn season(
    plan: &Plan,
    tanks: Option<&tank::Answer>,
    forecast: Option<&forecast::Answer>,
    rounds: &[SessionThaw],
    paper: Paper,
) -> Result<Printed, Error> {
    let markup = page::on_paper(plan, tanks, forecast, rounds);
    let title = page::title(plan);
    let program = super::page::made_by(plan);
    print(&markup, &title, &plan.season, 10.5, &program, paper)
}

/// The sheets of a session for the wall, one or more for each technician, with larger type.
///
/// # Errors
/// As for [`season`].
pub fn wall(thaw: &Thaw, session: &SessionThaw, paper: Paper) -> Result<Printed, Error> {
    let markup = thaw_page::on_paper(thaw, session);
    let title = thaw_page::title(session);
    print(
        &markup,
        &title,
        &title,
        12.5,
        env!("CARGO_PKG_VERSION"),
        paper,
    )
}

/// A program built without the feature `pdf` says so.
#[cfg(not(feature = "pdf"))]
fn print(_: &str, _: &str, _: &str, _: f32, _: &str, _: Paper) -> Result<Printed, Error> {
    Err(Finding::error(
        Code::FileUnreadable,
        "cannot write a PDF: this program was built without the feature `pdf`",
    )
    .expected("a program built as the README says; `pdf` is in it then")
    .hint("build it with `cargo build --release`, or leave --pdf out and print season.html")
    .into())
}
