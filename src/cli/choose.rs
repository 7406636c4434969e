//! Which protocol, starting when.

use thawline::choose::{self, Limits};
use thawline::error::Error;
use thawline::report;

use super::commands::library;
use super::commands::{lines, read};
use super::{Outcome, SeasonFile};

pub(super) fn run(file: &SeasonFile, group: Option<&str>) -> Result<Outcome, Error> {
    let (season, found) = read(file)?;
    let (library, _) = library(&file.own)?;
    let chosen = choose::choose(&season, &library, group, Limits::default())?;
    let fits = chosen.groups.iter().all(|g| g.fitting > 0);
    Ok(Outcome {
        out: report::choose::chosen(&chosen, &season),
        err: lines(&found),
        code: u8::from(!fits),
    })
}
