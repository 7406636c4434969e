//! What to have at hand for a season, and when.

use clap::Args;
use thawline::error::Error;
use thawline::{output, pipeline};

use super::progress::Shown;
use super::reading::read;
use super::words::beside;
use super::{Outcome, SeasonFile, matings};

#[derive(Args)]
pub(super) struct Order {
    #[command(flatten)]
    season: SeasonFile,
    /// Print JSON.
    #[arg(long)]
    pub(super) json: bool,
    /// Print a table as comma-separated values, for spreadsheets.
    #[arg(long, conflicts_with = "json")]
    csv: bool,
}

pub(super) fn run(args: &Order) -> Result<Outcome, Error> {
    let (mut season, found) = read(&args.season)?;
    let plan = matings::planned(&mut season, &args.season.season, &found, &Shown::new())?;
    let told = pipeline::supplies(&season, &plan)?;
    let err = beside(&plan, &found);
    Ok(Outcome {
        out: if args.json {
            output::supplies::json(&told)
        } else if args.csv {
            output::supplies_csv::csv(&told)
        } else {
            output::supplies::text(&told)
        },
        err,
        code: u8::from(!plan.is_well()),
    })
}
