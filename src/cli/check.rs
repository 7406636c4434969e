//! Everything that is wrong with a season, or worth knowing.

use clap::Args;
use thawline::error::{Error, Finding, Severity, has_errors, sort_findings, visible};
use thawline::output::findings::Findings;
use thawline::{dating, pipeline};

use super::asked::{Outcome, Printing, Run, SeasonFile};
use super::files;
use super::reading::read;
use super::words::plural;

/// Read a season and print everything that is wrong or worth knowing.
///
/// Each finding has a code, file, line, column and field, what was expected and what to do.
/// All of them are printed, not only the first.
#[derive(Args)]
pub(super) struct Check {
    #[command(flatten)]
    season: SeasonFile,
    #[command(flatten)]
    printing: Printing,
    /// Exit with 1 when there are warnings.
    #[arg(long)]
    strict: bool,
}

impl Run for Check {
    fn answers_with_findings(&self) -> bool {
        true
    }

    fn run(&self) -> Result<Outcome, Error> {
        let (season, mut found) = read(&self.season)?;
        found.extend(dating::date(&season).findings);
        // Before the choice, a season with open groups is as it should be.
        found.extend(season.open.iter().map(|g| Finding {
            severity: Severity::Note,
            ..pipeline::still_open(g)
        }));
        found.extend(thawline::files::check(
            &season,
            &files::Beside(&self.season.season),
        )?);
        sort_findings(&mut found);
        found.dedup();
        debug_assert!(!has_errors(&found));
        let warnings = found
            .iter()
            .filter(|f| f.severity == Severity::Warning)
            .count();
        let summary = format!(
            "{}: {}; {warnings} warning{}, {} note{}.",
            visible(&self.season.season.display().to_string()),
            if season.open.is_empty() {
                "a season that can be planned"
            } else {
                "a season to choose for, and then to plan"
            },
            plural(warnings),
            found.len() - warnings,
            plural(found.len() - warnings),
        );
        let out = self.printing.print(&Findings::of(&found, &summary))?;
        let well = !self.strict || warnings == 0;
        Ok(Outcome::answered(out, String::new(), well))
    }
}
