//! A document as a PDF file, for plain paper: the pages' own words, laid on sheets.
//!
//! Nothing here has words of its own about a plan: `blocks` takes from the document what is set in
//! one way, `lines`, `rows` and `drawing` set it in columns, `sheets` divides it, and `write` makes
//! the file.
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

#[cfg(not(feature = "pdf"))]
use super::document::Document;
use super::{page, thaw_page};
use crate::analysis::forecast::Forecast;
use crate::analysis::tank::TankReport;
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
    tanks: Option<&TankReport>,
    forecast: Option<&Forecast>,
    rounds: &[SessionThaw],
    paper: Paper,
) -> Result<Printed, Error> {
    let document = page::on_paper(plan, tanks, forecast, rounds);
    let program = super::page::made_by(plan);
    print(document, &plan.season, 10.5, &program, paper)
}

/// The sheets of a session for the wall, one or more for each technician, with larger type.
///
/// # Errors
/// As for [`season`].
pub fn wall(thaw: &Thaw, session: &SessionThaw, paper: Paper) -> Result<Printed, Error> {
    let document = thaw_page::document(thaw, session);
    let title = document.title.clone();
    print(document, &title, 12.5, env!("CARGO_PKG_VERSION"), paper)
}

/// A program built without the feature `pdf` says so.
#[cfg(not(feature = "pdf"))]
fn print(_: Document, _: &str, _: f32, _: &str, _: Paper) -> Result<Printed, Error> {
    Err(Finding::error(
        Code::FileUnreadable,
        "cannot write a PDF: this program was built without the feature `pdf`",
    )
    .expected("a program built as the README says; `pdf` is in it then")
    .hint("build it with `cargo build --release`, or leave --pdf out and print season.html")
    .into())
}
