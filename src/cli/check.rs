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
        found.extend(season.label_notes());
        // Before the choice, a season with open groups is as it should be.
        found.extend(season.open.iter().map(|g| Finding {
            severity: Severity::Note,
            ..pipeline::still_open(g)
        }));
        let beside = files::Beside(&self.season.season);
        found.extend(thawline::files::check(&season, &beside)?);
        sort_findings(&mut found);
        found.dedup();
        debug_assert!(!has_errors(&found));
        let warns = |f: &&Finding| f.severity == Severity::Warning;
        let warnings = found.iter().filter(warns).count();
        let file = visible(&self.season.season.display().to_string());
        let what = if season.open.is_empty() {
            "a season that can be planned"
        } else {
            "a season to choose for, and then to plan"
        };
        let counts = [(warnings, "warning"), (found.len() - warnings, "note")];
        let counts = counts.map(|(n, what)| format!("{n} {what}{}", plural(n)));
        let summary = format!("{file}: {what}; {}.", counts.join(", "));
        let found = Findings::of(&found, &summary);
        let well = !self.strict || warnings == 0;
        self.printing.answer(&found, String::new(), well)
    }
}
