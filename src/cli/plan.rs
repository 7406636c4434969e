//! The main job: a season planned, and its files written.

use std::path::{Path, PathBuf};

use clap::Args;
use thawline::error::{Code, Error, Finding};
use thawline::plan::Plan as Planned;
use thawline::season::Season;
use thawline::{forecast, output, tank, thaw};

use super::asked::{Outcome, PaperSize, Printed, Printing, Run, SeasonFile};
use super::progress::Shown;
use super::reading::{planned, read};
use super::words::{beside, lines, paragraph};
use super::{calendar, files, writing};

/// Plan a season: the main job.
///
/// Prints the verdict and the dated work. With --out, writes plan.json, season.ics, one
/// technician-ID.ics for each technician, and season.html. Older plan files are replaced once
/// all new ones are written. Phone calendars are updated: changed events change, and dropped
/// events are canceled.
#[derive(Args)]
pub(super) struct Plan {
    #[command(flatten)]
    season: SeasonFile,
    /// The directory for the files; made if it is not there.
    #[arg(long, value_name = "DIR")]
    out: Option<PathBuf>,
    /// Write season.pdf too: the pages of season.html for plain paper, with thaw rounds; each
    /// day of breeding on sheets of its own.
    #[arg(long, requires = "out")]
    pdf: bool,
    /// The size of its paper.
    #[arg(long, value_name = "SIZE", default_value = "letter", requires = "pdf")]
    paper: PaperSize,
    #[command(flatten)]
    printing: Printing,
    /// Print every pen, session and finding, however long the text: that of a large season is
    /// shortened otherwise.
    #[arg(long, conflicts_with_all = ["json", "csv"])]
    full: bool,
    #[command(flatten)]
    over: writing::Over,
}

impl Run for Plan {
    fn run(&self) -> Result<Outcome, Error> {
        let (mut season, found) = read(&self.season)?;
        let before = match &self.out {
            Some(dir) => calendar::Before::read(dir)?,
            None => calendar::Before::default(),
        };
        let plan = planned(&mut season, &self.season, &found, &Shown::new())?;
        // Before any file is written: the name of a table may be wrong.
        let out = self.printing.print(&output::plan_csv::Printed {
            plan: &plan,
            full: self.full,
        })?;
        let mut left_out = LeftOut::default();
        let mut err = match &self.out {
            Some(dir) => self.write(dir, &season, &plan, &before, &mut left_out)?,
            None => String::new(),
        };
        if self.printing.form() == Printed::Csv {
            // A table has no place for the verdict.
            err += &beside(&plan, &found);
        }
        err += &lines(&left_out.0);
        let well = plan.is_well() && left_out.0.is_empty();
        Ok(Outcome::answered(out, err, well))
    }
}

impl Plan {
    /// Writes the files of a plan, and says which.
    fn write(
        &self,
        dir: &Path,
        season: &Season,
        plan: &Planned,
        before: &calendar::Before,
        left_out: &mut LeftOut,
    ) -> Result<String, Error> {
        let forecast = forecast::forecast(season, plan);
        let tanks = tank::look(season, plan);
        let mut files = plan_files(plan, &tanks, Some(&forecast), dir, before)?;
        let mut otherwise = None;
        if self.pdf {
            let sessions = plan.sessions.iter();
            let rounds: Vec<_> = sessions
                .filter_map(|s| thaw::of_session(season, plan, s))
                .collect();
            let paper = self.paper.into();
            let printed = output::pdf::season(plan, Some(&tanks), Some(&forecast), &rounds, paper);
            if let Some(printed) = left_out.unless("the PDF", printed) {
                otherwise = printed.instead_words();
                files.push((dir.join(files::PDF), printed.bytes));
            }
        }
        let of_others = before.of_other_seasons(plan)?;
        let mixed = writing::of_several_plans(files.iter().map(|(p, _)| p.as_path()));
        writing::write_all(&files, self.over)?;
        let names = files.iter().filter_map(|(p, _)| p.file_name());
        let names: Vec<_> = names.map(|n| n.to_string_lossy()).collect();
        let (folder, names) = (dir.display(), names.join(", "));
        let written = format!("Written to {folder}, plan {}: {names}.", plan.id);
        let mixed = mixed.map(|mixed| {
            format!(
                "There were files of several plans here, as a run was ended while it replaced them \
                 ({mixed}). All of them are of this plan now."
            )
        });
        let left = files::left_over(dir, &files).join(", ");
        let left = (!left.is_empty())
            .then(|| format!("Left from an earlier plan, and not of this one: {left}."));
        let said = [Some(written), otherwise, mixed, left];
        let said = said.iter().flatten().map(|s| paragraph(s));
        Ok(of_others + &said.collect::<String>())
    }
}

/// Parts of the files that cannot be made. The plan is written without them.
#[derive(Default)]
struct LeftOut(Vec<Finding>);

impl LeftOut {
    /// A part, or what is wrong with it.
    fn unless<T>(&mut self, part: &str, made: Result<T, Error>) -> Option<T> {
        let error = match made {
            Ok(made) => return Some(made),
            Err(error) => error,
        };
        let found = error.findings();
        let why = found.first().map_or_else(String::new, |f| f.what.clone());
        let more = match found.len() {
            0 | 1 => String::new(),
            n => format!(" (and {} more)", n - 1),
        };
        let first = Finding::warning(
            Code::Verify,
            format!("the files leave out {part}: {why}{more}"),
        );
        let expected = found.first().and_then(|f| f.expected.clone());
        self.0.push(Finding {
            expected,
            ..first.hint("the plan holds without it; please report this with the season file")
        });
        None
    }
}

fn plan_files(
    plan: &Planned,
    tanks: &tank::TankReport,
    forecast: Option<&thawline::forecast::Forecast>,
    dir: &Path,
    before: &calendar::Before,
) -> Result<Vec<(PathBuf, Vec<u8>)>, Error> {
    let mut files = vec![
        (dir.join("plan.json"), output::json::plan(plan)),
        (
            dir.join("season.html"),
            output::page::page_with(plan, Some(tanks), forecast),
        ),
    ];
    files.splice(1..1, before.calendars(plan, dir)?);
    let bytes = |(path, text): (PathBuf, String)| (path, text.into_bytes());
    Ok(files.into_iter().map(bytes).collect())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_part_that_does_not_hold_is_told_and_left_out() {
        let mut left_out = LeftOut::default();
        assert_eq!(left_out.unless("the PDF", Ok(7)), Some(7));
        assert!(left_out.0.is_empty());
        let wrong = |what| Finding::error(Code::Verify, what).expected("1.50 min");
        let faults = vec![wrong("a round: the page has 2.50"), wrong("any")];
        let made: Result<u8, Error> = Err(Error::internal(faults));
        assert_eq!(left_out.unless("the PDF", made), None);
        // Sentences are wrapped to the terminal.
        let told = lines(&left_out.0);
        let told = told.split_whitespace().collect::<Vec<_>>().join(" ");
        for words in [
            "warning V101",
            "leave out the PDF",
            "the page has 2.50 (and 1 more)",
            "expected: 1.50 min",
            "the plan holds without it",
        ] {
            assert!(told.contains(words), "{words}: {told}");
        }
    }
}
