//! What to have at hand for a season, and when.

use clap::Args;
use thawline::error::Error;
use thawline::supplies;

use super::asked::{Outcome, Printing, Run, SeasonFile};
use super::progress::Shown;
use super::reading::{planned, read};
use super::words::beside;

/// List what to have at hand for the season, and by which day.
///
/// Doses of each drug by class and by day, with the volume at each published strength; MGA feed
/// by head and day; inserts, patches, needles, sheaths, gloves and towels; straws by bull; liquid
/// nitrogen. With `supplies` in the season file (sizes of packages, doses by your labels): which
/// packages to buy, with the fewest leftovers, and when each bottle is opened.
#[derive(Args)]
pub(super) struct Order {
    #[command(flatten)]
    season: SeasonFile,
    #[command(flatten)]
    printing: Printing,
}

impl Run for Order {
    fn run(&self) -> Result<Outcome, Error> {
        let (mut season, found) = read(&self.season)?;
        let plan = planned(&mut season, &self.season, &found, &Shown::new())?;
        let told = supplies::of_plan(&season, &plan);
        let err = beside(&plan, &found);
        self.printing.answer(&told, err, plan.is_well())
    }
}
