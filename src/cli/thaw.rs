//! Thaw rounds of a planned session, by the minute.

use std::path::PathBuf;

use clap::Args;
use thawline::error::{Code, Error, Finding, Severity};
use thawline::{output, thaw};

use super::asked::{Outcome, PaperSize, Printing, Run, SeasonFile};
use super::progress::Shown;
use super::reading::{planned, read};
use super::words::{beside, known, paragraph};
use super::writing;
use super::writing::Over;

/// Show a session's thaw rounds by the minute, from tank to cow.
///
/// For each technician which straws, out of which canister, go into the bath when, the
/// earliest moment to take them out, and by when they must be in their cows; how often each
/// canister is lifted; straws for cows that never come; what the bath's water can do; and
/// the pace with 1 to 8 straws at once, alone and with a helper. Without --session the
/// sessions are listed. --page writes a sheet for each technician, to tape to the wall.
#[derive(Args)]
pub(super) struct Rounds {
    #[command(flatten)]
    season: SeasonFile,
    /// The session, by id; without it the sessions are listed.
    #[arg(long, value_name = "ID")]
    session: Option<String>,
    /// Only this technician's rounds, by id. Canisters and the bath are told for all.
    #[arg(long, value_name = "ID", requires = "session")]
    technician: Option<String>,
    /// Write a page to print and tape to the wall: a sheet for each technician.
    #[arg(long, value_name = "FILE", requires = "session")]
    page: Option<PathBuf>,
    /// Write the same sheets as PDF.
    #[arg(long, value_name = "FILE", requires = "session")]
    pdf: Option<PathBuf>,
    /// The size of its paper.
    #[arg(long, value_name = "SIZE", default_value = "letter", requires = "pdf")]
    paper: PaperSize,
    #[command(flatten)]
    over: Over,
    #[command(flatten)]
    printing: Printing,
}

impl Run for Rounds {
    fn run(&self) -> Result<Outcome, Error> {
        let (mut season, found) = read(&self.season)?;
        if let Some(id) = &self.technician {
            let crew = season.crew.iter().map(|t| t.id.as_str());
            known("technician", id, crew, "see `crew` in the season file")?;
        }
        let plan = planned(&mut season, &self.season, &found, &Shown::new())?;
        let with_cows = plan.sessions.iter().filter(|s| s.head > 0);
        if let Some(id) = &self.session {
            let all = with_cows.clone().map(|s| s.id.as_str());
            known("session", id, all, "`thawline thaw SEASON` shows the ids")?;
        }
        let mut told = thaw::of_plan(&season, &plan, self.session.as_deref());
        let mut warned = false;
        if let Some(s) = &mut told.session {
            warned = s.findings.iter().any(|f| f.severity == Severity::Warning);
            if let Some(id) = &self.technician {
                s.technicians.retain(|t| t.id == *id);
                if s.technicians.is_empty() {
                    return Err(nobody(id, &s.session).into());
                }
            }
        }
        // Before any file is written: the name of a table may be wrong.
        let out = self.printing.print(&told)?;
        let mut err = beside(&plan, &found);
        let mut written: Vec<(PathBuf, Vec<u8>)> = Vec::new();
        let mut otherwise = None;
        if let (Some(file), Some(s)) = (&self.page, &told.session) {
            let page = output::thaw_page::page(&told, s);
            written.push((file.clone(), page.into_bytes()));
        }
        if let (Some(file), Some(s)) = (&self.pdf, &told.session) {
            let printed = output::pdf::wall(&told, s, self.paper.into())?;
            otherwise = printed.instead_words();
            written.push((file.clone(), printed.bytes));
        }
        writing::not_twice(&written)?;
        writing::write_all(&written, self.over)?;
        for (file, _) in &written {
            err += &writing::written(file);
        }
        if let Some(words) = otherwise {
            err += &paragraph(&words);
        }
        Ok(Outcome::answered(out, err, plan.is_well() && !warned))
    }
}

fn nobody(technician: &str, session: &str) -> Finding {
    use thawline::error::quoted;
    Finding::error(
        Code::UnknownId,
        format!(
            "the plan breeds no cow for technician {} at session {}",
            quoted(technician),
            quoted(session)
        ),
    )
    .expected("a technician of that session")
    .hint("`thawline thaw SEASON` shows who breeds where")
}
