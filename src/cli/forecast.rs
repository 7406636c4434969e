//! What comes of a season: pregnancies, calves, money.

use clap::{Args, ValueEnum};
use thawline::error::Error;
use thawline::output::forecast::{self as forms, Table};
use thawline::pipeline;

use super::progress::Shown;
use super::reading::read;
use super::words::{beside, known};
use super::{Outcome, SeasonFile, matings};

#[derive(Args)]
pub(super) struct Forecast {
    #[command(flatten)]
    season: SeasonFile,
    /// Show only this group, by id; sums and money stay those of all.
    #[arg(long, value_name = "ID")]
    group: Option<String>,
    /// Print JSON.
    #[arg(long)]
    pub(super) json: bool,
    /// Print a table as comma-separated values, for spreadsheets: the calving curve by day, the
    /// groups, or money.
    #[arg(
        long,
        conflicts_with = "json",
        value_name = "TABLE",
        num_args = 0..=1,
        require_equals = true,
        default_missing_value = "curve"
    )]
    csv: Option<Sheet>,
}

#[derive(Clone, Copy, ValueEnum)]
enum Sheet {
    /// Calves of each group, and of all, by day.
    Curve,
    /// A row for each group, and for all.
    Groups,
    /// A row for each amount.
    Money,
}

pub(super) fn run(args: &Forecast) -> Result<Outcome, Error> {
    let (mut season, found) = read(&args.season)?;
    if let Some(id) = &args.group {
        let all = season.groups.iter().map(|g| g.id.as_str());
        known("group", id, all, "see `groups` in the season file")?;
    }
    let plan = matings::planned(&mut season, &args.season.season, &found, &Shown::new())?;
    let mut answer = pipeline::forecast(&season, &plan)?;
    if let Some(id) = &args.group {
        answer = answer.only(id);
    }
    let err = beside(&plan, &[]);
    Ok(Outcome {
        out: if args.json {
            forms::json(&answer)
        } else if let Some(sheet) = args.csv {
            let table = match sheet {
                Sheet::Curve => Table::Curve,
                Sheet::Groups => Table::Groups,
                Sheet::Money => Table::Money,
            };
            forms::csv(&answer, table)
        } else {
            forms::text(&answer)
        },
        err,
        code: u8::from(!plan.is_well()),
    })
}
