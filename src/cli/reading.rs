//! Seasons and protocols, read from their files.

use std::cell::OnceCell;

use thawline::error::{Error, Finding};
use thawline::protocol::Library;
use thawline::season::{self, Season};

use super::asked::{OwnProtocols, SeasonFile};
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

/// A season from its bytes; a table of straws is read from the folder of its file.
pub(super) fn season(
    file: &SeasonFile,
    bytes: &[u8],
    library: &Library,
) -> Result<(Season, Vec<Finding>), Error> {
    let path = &file.season;
    let straws = OnceCell::new();
    let load = |named: &season::StrawFile| {
        let table = files::Table::read(path, &named.name, &named.place)?;
        let table = straws.get_or_init(|| table);
        Ok((table.name.clone(), table.bytes.clone()))
    };
    let read = season::read_with(&path.display().to_string(), bytes, library, &load);
    let (mut season, found) = match straws.get() {
        Some(table) => table.told(read)?,
        None => read?,
    };
    if let Some(units) = file.units {
        season.units = units.units();
    }
    Ok((season, found))
}
