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
mod drawing;
#[cfg(feature = "pdf")]
mod letters;
#[cfg(feature = "pdf")]
mod lines;
#[cfg(feature = "pdf")]
mod markup;
#[cfg(feature = "pdf")]
mod print;
#[cfg(feature = "pdf")]
mod rows;
#[cfg(feature = "pdf")]
mod sheets;
#[cfg(feature = "pdf")]
mod strips;
#[cfg(feature = "pdf")]
#[cfg(test)]
mod tests;
#[cfg(feature = "pdf")]
mod write;

use std::collections::BTreeMap;

#[cfg(feature = "pdf")]
use print::print;

use super::{page, thaw_page};
use crate::analysis::calves;
use crate::analysis::tank;
use crate::analysis::thaw::{SessionThaw, Thaw};
use crate::base::error::Error;
#[cfg(not(feature = "pdf"))]
use crate::base::error::{Code, Finding};
use crate::planning::plan::Plan;

/// Most letters that are listed as written otherwise.
const MOST_LISTED: usize = 40;

/// A common size of paper.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Paper {
    /// 8.5 by 11 inches.
    #[default]
    Letter,
    /// 210 by 297 millimetres (ISO 216).
    A4,
}

impl Paper {
    #[cfg(feature = "pdf")]
    /// Free on each side, in points: most printers reach further.
    const MARGIN: f32 = 40.0;

    /// Width and height in points, of which 72 are an inch.
    #[must_use]
    pub const fn points(self) -> (f32, f32) {
        match self {
            Self::Letter => (612.0, 792.0),
            Self::A4 => (595.28, 841.89),
        }
    }
}

/// A PDF file.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Printed {
    /// Its bytes: the same for the same plan.
    pub bytes: Vec<u8>,
    /// Letters that its type lacks, with what is written in their place.
    pub instead: BTreeMap<char, String>,
}

impl Printed {
    /// What is to be said of letters that the type lacks; nothing if there are none.
    #[must_use]
    pub fn instead_words(&self) -> Option<String> {
        instead_words(&self.instead)
    }
}

/// The pages of a season: the answer, the work day by day with the thaw rounds of sessions, each day
/// of a session on sheets of its own, what follows, and the season's lists.
///
/// # Errors
/// An internal error if the file cannot be made; an error of input if the feature `pdf` is not there.
pub fn season(
    plan: &Plan,
    tanks: Option<&tank::Answer>,
    forecast: Option<&calves::Answer>,
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

fn instead_words(instead: &BTreeMap<char, String>) -> Option<String> {
    if instead.is_empty() {
        return None;
    }
    let listed = instead.iter().take(MOST_LISTED);
    let listed = listed.map(|(letter, latin)| format!("U+{:04X} as {latin}", u32::from(*letter)));
    let listed: Vec<String> = listed.collect();
    let more = match instead.len().saturating_sub(MOST_LISTED) {
        0 => String::new(),
        n => format!(", and {n} more"),
    };
    Some(format!(
        "Letters that the type of these sheets lacks are written otherwise: {}{more}.",
        listed.join(", ")
    ))
}
