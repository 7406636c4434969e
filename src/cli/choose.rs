//! Which protocol, starting when.

use std::path::{Path, PathBuf};

use clap::Args;
use thawline::choose::{self, Limits};
use thawline::error::{Code, Error, Finding};

use super::asked::{Outcome, Printing, Run, SeasonFile};
use super::progress::Shown;
use super::reading::{library, season as season_of};
use super::words::lines;
use super::writing::Over;
use super::{files, writing};

/// Pick a protocol and start date for each group from what you want.
///
/// A group may have `wishes` in place of, or beside, a protocol and a start. Every protocol
/// at every start is looked at; what breaks a wish is dropped, with the reason; the rest is
/// ranked by what it costs, how well it fits the crew, and the other things people weigh.
#[derive(Args)]
pub(super) struct Choose {
    #[command(flatten)]
    season: SeasonFile,
    /// Only this group, by id; all others stand as they are.
    #[arg(long, value_name = "ID")]
    group: Option<String>,
    /// Rows of a group's list at the most.
    #[arg(long, value_name = "N", default_value_t = 10, value_parser = clap::value_parser!(u8).range(1..))]
    rows: u8,
    /// Write a copy of the season file with the choice in it: for several groups the one made
    /// for all together, for one group the first row.
    #[arg(long, value_name = "FILE")]
    write: Option<PathBuf>,
    /// With --write and one group: this row of the list.
    #[arg(long, value_name = "N", requires = "write", value_parser = clap::value_parser!(u8).range(1..))]
    row: Option<u8>,
    #[command(flatten)]
    over: Over,
    #[command(flatten)]
    printing: Printing,
}

impl Run for Choose {
    fn run(&self) -> Result<Outcome, Error> {
        let (library, mut found) = library(&self.season.own)?;
        let bytes = files::read(&self.season.season)?;
        let file = self.season.season.display().to_string();
        let (season, more) = season_of(&self.season, &bytes, &library)?;
        found.extend(more);
        let limits = Limits {
            rows: usize::from(self.rows.max(self.row.unwrap_or(0))),
            ..Limits::default()
        };
        let chosen = choose::choose(
            &season,
            &library,
            self.group.as_deref(),
            limits,
            &Shown::new(),
        )?;
        // Before a copy is written: the name of a table may be wrong.
        let out = self.printing.print(&chosen)?;
        let mut err = lines(&found);
        if let Some(path) = &self.write {
            not_the_same(&self.season.season, path)?;
            let picked = chosen.picked(self.row.map(|n| usize::from(n) - 1))?;
            let (text, notes) = choose::write(&file, &bytes, &picked)?;
            writing::write_all(&[(path.clone(), text)], self.over)?;
            err += &lines(&notes);
            err += &writing::written(path);
        }
        Ok(Outcome::answered(out, err, chosen.is_well()))
    }
}

/// A file of its own: the season file itself is the user's.
fn not_the_same(season: &Path, copy: &Path) -> Result<(), Finding> {
    if copy == Path::new("-") {
        return Err(Finding::error(
            Code::FileUnreadable,
            "the copy is not written to standard output: the list goes there",
        )
        .at(files::place(copy))
        .expected("the name of a file")
        .hint("for instance `--write chosen.yaml`"));
    }
    let real = |p: &Path| p.canonicalize().ok();
    if real(season).is_some() && real(season) == real(copy) {
        return Err(Finding::error(
            Code::FileUnreadable,
            "the copy would take the place of the season file",
        )
        .at(files::place(copy))
        .expected("another file for the copy")
        .hint("write it under a new name, look it over, and rename it yourself"));
    }
    Ok(())
}
