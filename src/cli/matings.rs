//! Which animal gets which bull.

use std::collections::BTreeMap;

use clap::Args;
use thawline::error::{Error, Severity};
use thawline::herd::scores;
use thawline::mate::Input;
use thawline::{pipeline, report};

use super::commands::{known, read};
use super::{Outcome, SeasonFile, herd};

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

pub(super) fn run(args: &Asked) -> Result<Outcome, Error> {
    let (season, _) = read(&args.season)?;
    if let Some(id) = &args.group {
        let open = season.open.iter().map(|g| g.id.as_str());
        let all = season.groups.iter().map(|g| g.id.as_str()).chain(open);
        known("group", id, all, "see `groups` in the season file")?;
    }
    let file = &args.season.season;
    let (herds, mut found) = herd::for_matings(&season, file)?;
    let mut faults = Vec::new();
    let mut read_scores =
        |named: &thawline::season::HerdFile| match herd::read_scores(file, named, &season.bulls) {
            Ok((scores, more)) => {
                found.extend(more);
                Some(scores)
            }
            Err(e) => {
                faults.extend_from_slice(e.findings());
                None
            }
        };
    let all = season.scores.as_ref().and_then(&mut read_scores);
    let mut own: BTreeMap<usize, scores::Scores> = BTreeMap::new();
    let decided = season.groups.iter().map(|g| (g.nth, &g.scores));
    for (nth, named) in decided.chain(season.open.iter().map(|g| (g.nth, &g.scores))) {
        own.extend(named.as_ref().and_then(&mut read_scores).map(|s| (nth, s)));
    }
    if !faults.is_empty() {
        return Err(Error::input(faults));
    }
    // What herds say of readiness belongs to `herd`: here only what stops or changes a mating.
    found.retain(|f| f.severity != Severity::Note);
    let input = Input::of(&season, &herds, &own, all.as_ref());
    let made = pipeline::matings(&input, &found)?;
    let group = args.group.as_deref();
    Ok(Outcome {
        out: if args.json {
            report::matings::json(&made, group)
        } else if args.csv {
            report::matings::csv(&made, group)
        } else {
            report::matings::text(&made, group)
        },
        err: String::new(),
        code: u8::from(made.verdict.with_bull < made.verdict.head),
    })
}
