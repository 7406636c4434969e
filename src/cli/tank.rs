//! What is where in the tanks, and their nitrogen.

use clap::Args;
use thawline::error::{Error, unknown_id};
use thawline::tank;

use super::asked::{Outcome, Printing, Run, SeasonFile};
use super::progress::Shown;
use super::reading::{planned, read};
use super::words::lines;

/// Show the tanks: what is where, what each session leaves, and when to refill.
///
/// Each tank from above with its canisters; canes, goblets, bulls, straw size and sort; which
/// straws each session of the plan takes and what is left; and, where the season lists `tanks`
/// with dipstick readings, what the nitrogen loses a day and the day to refill by.
#[derive(Args)]
pub(super) struct Tanks {
    #[command(flatten)]
    season: SeasonFile,
    /// Only this tank, by id.
    #[arg(long, value_name = "ID")]
    tank: Option<String>,
    #[command(flatten)]
    printing: Printing,
}

impl Run for Tanks {
    fn run(&self) -> Result<Outcome, Error> {
        let (mut season, found) = read(&self.season)?;
        let plan = planned(&mut season, &self.season, &found, &Shown::new())?;
        let answer = tank::look_at(&season, &plan, self.tank.as_deref());
        if let Some(id) = self.tank.as_deref().filter(|_| answer.tanks.is_empty()) {
            return Err(no_such_tank(id, &tank::look(&season, &plan)));
        }
        let (err, well) = (lines(&found), answer.is_well());
        self.printing.answer(&answer, err, well)
    }
}

fn no_such_tank(id: &str, answer: &tank::TankReport) -> Error {
    let ids = answer.tanks.iter().map(|t| t.id.as_str());
    let known = ids.filter(|t| !t.is_empty());
    let see = "see `tanks` and `semen` in the season file";
    unknown_id("tank", id, known, "a season that names tanks", see).into()
}
