//! Which animal gets which bull.

use std::path::Path;

use clap::Args;
use thawline::error::{Error, Finding};
use thawline::files::{self, ForMatings};
use thawline::plan::Plan;
use thawline::progress::Progress;
use thawline::season::Season;
use thawline::{output, pipeline};

use super::asked::{Outcome, Printed, Printing, Run, SeasonFile};
use super::files::Beside;
use super::progress::Shown;
use super::reading::read;
use super::words::known;

/// Say which animal gets which bull, and where the straw sits.
///
/// For each animal of the groups' herd files a bull and a backup bull: as many as can get one,
/// calving-ease bulls for heifers, then the best sum of scores that the straws on hand allow,
/// proven; never a sire, a half-brother or a son, as far as parents are known; sexed straws
/// for those marked only. What herd files give in `mating` and `second_mating` is kept. The
/// straw is the one that `tank` and `thaw` take for her group. Bulls have their facts under
/// `bulls` in the season file; scores are a CSV file under `scores`.
#[derive(Args)]
pub(super) struct Asked {
    #[command(flatten)]
    season: SeasonFile,
    /// List only this group, by id. Straws are shared among all groups all the same.
    #[arg(long, value_name = "ID")]
    group: Option<String>,
    #[command(flatten)]
    printing: Printing,
}

/// The plan of a season, with the files beside it.
pub(super) fn planned(
    season: &mut Season,
    file: &Path,
    found: &[Finding],
    progress: &dyn Progress,
) -> Result<Plan, Error> {
    files::plan(season, &Beside(file), found, progress)
}

impl Run for Asked {
    fn failing(&self) -> Printed {
        self.printing.failing()
    }

    fn run(&self) -> Result<Outcome, Error> {
        let (season, _) = read(&self.season)?;
        if let Some(id) = &self.group {
            let open = season.open.iter().map(|g| g.id.as_str());
            let all = season.groups.iter().map(|g| g.id.as_str()).chain(open);
            known("group", id, all, "see `groups` in the season file")?;
        }
        let files = ForMatings::read(&season, &Beside(&self.season.season))?;
        let input = files.input(&season);
        let mut made = pipeline::matings(&input, &files.found)?;
        if season.open.is_empty() {
            let all = pipeline::with_given(&season, &made);
            let plan = pipeline::plan_mated(&all, &[], Some(&made), &Shown::new())?;
            pipeline::place(&mut made, &input, &plan)?;
        }
        Ok(Outcome {
            out: self.printing.print(&output::matings::Printed {
                made: &made,
                group: self.group.as_deref(),
            })?,
            err: String::new(),
            code: u8::from(made.verdict.with_bull < made.verdict.head),
        })
    }
}
