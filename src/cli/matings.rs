//! Which animal gets which bull.

use clap::Args;
use thawline::error::Error;
use thawline::files::ForMatings;
use thawline::pipeline;
use thawline::pipeline::Options;

use super::asked::{Outcome, Printing, Run, SeasonFile};
use super::files::Beside;
use super::progress::Shown;
use super::reading::read;
use super::words::known;

/// Say which animal gets which bull, and where the straw sits.
///
/// For each animal of the groups' herd files a bull and a backup bull: as many as can get one,
/// calving-ease bulls for heifers, then the best sum of scores that the straws on hand allow,
/// proven. No bull is her sire, half-brother or son, as far as parents are known, and only
/// animals marked get sexed straws. What herd files give in `mating` and `second_mating` is kept. The
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

impl Run for Asked {
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
            let plan = pipeline::plan_with(
                &all,
                &[],
                Options {
                    matings: Some(&made),
                    progress: &Shown::new(),
                    ..Options::default()
                },
            )?;
            pipeline::locate_straws(&mut made, &input, &plan)?;
        }
        if let Some(id) = &self.group {
            made.groups.retain(|g| g.group == *id);
        }
        let well = made.verdict.with_bull >= made.verdict.head;
        self.printing.answer(&made, String::new(), well)
    }
}
