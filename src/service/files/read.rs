//! A season with the files that decide what it holds: its table of straws, and who of its herds is ready.

use std::cell::OnceCell;

use super::{Files, herds};
use crate::base::error::{Error, Finding, sort_findings};
use crate::trade::protocol::Library;
use crate::trade::season::{self, Season, StrawFile};

/// A season from its text, with the table of straws that it may name, and without animals of its herd files that
/// are not ready.
///
/// # Errors
/// Every finding, at least one of them an error.
pub fn read_season(
    name: &str,
    text: &[u8],
    library: &Library,
    files: &dyn Files,
) -> Result<(Season, Vec<Finding>), Error> {
    let straws = OnceCell::new();
    let load = |named: &StrawFile| {
        let table = files.read(&named.name, &named.place)?;
        let table = straws.get_or_init(|| table);
        Ok((table.name.clone(), table.bytes.clone()))
    };
    let read = season::read_with(name, text, library, &load);
    let (mut season, mut found) = match straws.get() {
        Some(table) => table.told(read),
        None => read,
    }?;
    found.extend(herds::leave_out(&mut season, files));
    sort_findings(&mut found);
    Ok((season, found))
}
