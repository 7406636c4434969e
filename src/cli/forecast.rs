//! What comes of a season: pregnancies, calves, money.

use clap::Args;
use thawline::error::Error;
use thawline::forecast;

use super::asked::{Outcome, Printing, Run, SeasonFile};
use super::progress::Shown;
use super::reading::{planned, read};
use super::words::{beside, known};

/// Show what comes of the season: pregnancies, calves by day, and money.
///
/// By group: pregnant to AI by the published percentages of its protocol or your own, those
/// that come back in heat, what clean-up bulls settle, and who stays open, each with its
/// spread; when calves come, day by day, and how many in the first 21 days. What AI costs a head, a
/// pregnancy and a calf at your own prices, and a partial budget against natural service. Unpriced
/// items are listed and left out of totals. Groups have their facts under `calves`, the season under `prices`
/// and `money`.
#[derive(Args)]
pub(super) struct Forecast {
    #[command(flatten)]
    season: SeasonFile,
    /// Show only this group, by id; totals and money stay those of all groups.
    #[arg(long, value_name = "ID")]
    group: Option<String>,
    #[command(flatten)]
    printing: Printing,
}

impl Run for Forecast {
    fn run(&self) -> Result<Outcome, Error> {
        let (mut season, found) = read(&self.season)?;
        if let Some(id) = &self.group {
            let all = season.groups.iter().map(|g| g.id.as_str());
            known("group", id, all, "see `groups` in the season file")?;
        }
        let plan = planned(&mut season, &self.season, &found, &Shown::new())?;
        let mut answer = forecast::forecast(&season, &plan);
        if let Some(id) = &self.group {
            answer = answer.only(id);
        }
        self.printing
            .answer(&answer, beside(&plan, &[]), plan.is_well())
    }
}
