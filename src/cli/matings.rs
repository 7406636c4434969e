//! Which animal gets which bull.

use std::path::Path;

use clap::Args;
use thawline::error::{Error, Finding};
use thawline::files::{self, ForMatings};
use thawline::plan::Plan;
use thawline::progress::Progress;
use thawline::season::Season;
use thawline::{output, pipeline};

use super::files::Beside;
use super::progress::Shown;
use super::reading::read;
use super::words::known;
use super::{Outcome, SeasonFile};

#[derive(Args)]
pub(super) struct Asked {
    #[command(flatten)]
    season: SeasonFile,
    /// List only this group, by id. Straws are shared among all groups all the same.
    #[arg(long, value_name = "ID")]
    group: Option<String>,
    /// Print JSON.
    #[arg(long)]
    pub(super) json: bool,
    /// Print a table as comma-separated values, for spreadsheets.
    #[arg(long, conflicts_with = "json")]
    csv: bool,
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

pub(super) fn run(args: &Asked) -> Result<Outcome, Error> {
    let (season, _) = read(&args.season)?;
    if let Some(id) = &args.group {
        let open = season.open.iter().map(|g| g.id.as_str());
        let all = season.groups.iter().map(|g| g.id.as_str()).chain(open);
        known("group", id, all, "see `groups` in the season file")?;
    }
    let files = ForMatings::read(&season, &Beside(&args.season.season))?;
    let input = files.input(&season);
    let mut made = pipeline::matings(&input, &files.found)?;
    if season.open.is_empty() {
        let all = pipeline::with_given(&season, &made);
        let plan = pipeline::plan_mated(&all, &[], Some(&made), &Shown::new())?;
        pipeline::place(&mut made, &input, &plan)?;
    }
    let group = args.group.as_deref();
    Ok(Outcome {
        out: if args.json {
            output::matings::json(&made, group)
        } else if args.csv {
            output::matings::csv(&made, group)
        } else {
            output::matings::text(&made, group)
        },
        err: String::new(),
        code: u8::from(made.verdict.with_bull < made.verdict.head),
    })
}
