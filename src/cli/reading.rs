//! Seasons and protocols, read from their files.

use thawline::error::{Error, Finding};
use thawline::plan::Plan;
use thawline::progress::Progress;
use thawline::protocol::Library;
use thawline::season::Season;

use super::asked::{OwnProtocols, SeasonFile, told_in};
use super::files;

pub(super) fn library(own: &OwnProtocols) -> Result<(Library, Vec<Finding>), Error> {
    let Some(dir) = &own.protocols else {
        return Ok((Library::built_in(), Vec::new()));
    };
    let files = files::read_protocols(dir)?;
    Library::with_files(
        files
            .iter()
            .map(|(name, bytes)| (name.as_str(), bytes.as_slice())),
    )
}

pub(super) fn read(file: &SeasonFile) -> Result<(Season, Vec<Finding>), Error> {
    let (library, mut found) = library(&file.own)?;
    let bytes = files::read(&file.season)?;
    let (season, more) = season(file, &bytes, &library)?;
    found.extend(more);
    Ok((season, found))
}

/// The plan of a season, with the files beside it.
pub(super) fn planned(
    season: &mut Season,
    file: &SeasonFile,
    found: &[Finding],
    progress: &dyn Progress,
) -> Result<Plan, Error> {
    thawline::files::plan(season, &files::Beside(&file.season), found, progress)
}

/// A season from its bytes; a table of straws is read from the folder of its file.
pub(super) fn season(
    file: &SeasonFile,
    bytes: &[u8],
    library: &Library,
) -> Result<(Season, Vec<Finding>), Error> {
    let path = &file.season;
    let name = path.display().to_string();
    let (mut season, found) =
        thawline::files::read_season(&name, bytes, library, &files::Beside(path))?;
    season.tell_in(told_in(&file.units, season.units));
    Ok((season, found))
}
