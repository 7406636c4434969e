//! What is where in the tanks, and their nitrogen.

use clap::Args;
use thawline::error::{Error, unknown_id};
use thawline::{output, tank};

use super::progress::Shown;
use super::reading::read;
use super::words::lines;
use super::{Outcome, SeasonFile, matings};

#[derive(Args)]
pub(super) struct Tanks {
    #[command(flatten)]
    season: SeasonFile,
    /// Only this tank, by id.
    #[arg(long, value_name = "ID")]
    tank: Option<String>,
    /// Print JSON.
    #[arg(long)]
    pub(super) json: bool,
    /// Print a table as comma-separated values, for spreadsheets.
    #[arg(long, conflicts_with = "json")]
    csv: bool,
}

pub(super) fn run(args: &Tanks) -> Result<Outcome, Error> {
    let (mut season, found) = read(&args.season)?;
    let plan = matings::planned(&mut season, &args.season.season, &found, &Shown::new())?;
    let answer = tank::look_at(&season, &plan, args.tank.as_deref());
    if let Some(id) = args.tank.as_deref().filter(|_| answer.tanks.is_empty()) {
        return Err(no_such_tank(id, &tank::look(&season, &plan)));
    }
    Ok(Outcome {
        out: if args.json {
            output::tank::json(&answer)
        } else if args.csv {
            output::tank::csv(&answer)
        } else {
            output::tank::text(&answer)
        },
        err: lines(&found),
        code: u8::from(!answer.is_well()),
    })
}

fn no_such_tank(id: &str, answer: &tank::Answer) -> Error {
    let ids = answer.tanks.iter().map(|t| t.id.as_str());
    let known = ids.filter(|t| !t.is_empty());
    let see = "see `tanks` and `semen` in the season file";
    unknown_id("tank", id, known, "a season that names tanks", see).into()
}
