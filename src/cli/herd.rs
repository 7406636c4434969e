//! The herds behind the groups: who is ready.

use std::path::Path;

use clap::Args;
use thawline::error::{Code, Error, Finding, Place, Severity, quoted, unknown_id};
use thawline::files::Herds;
use thawline::output;
use thawline::pipeline;
use thawline::season::Season;

use super::asked::{Outcome, Printed, Printing, Run, SeasonFile};
use super::files::Beside;
use super::reading::read;
use super::words::lines;

/// Say which animals of the herds are ready on their group's first day.
///
/// For groups that name a herd file (`herd: cows.csv`): how many are ready, who should wait
/// and until when, who needs a progestin, and for whom information is missing; with the published
/// thresholds and where they come from.
///
/// A herd file is a table as comma-separated values (CSV; semicolons or tabs will do), one
/// row for each animal. Its first line names the columns, in any order: animal, tag or
/// `electronic_id` (15 digits) must be there; the others if known: class, `birth_date`,
/// `last_calving_date`, breed, `body_condition` (1 to 9), `weight_lb` or `weight_kg`, `weighed_date`,
/// `mature_weight_lb` or `mature_weight_kg`, `frame_score`, `tract_score` (1 to 5), sire, dam,
/// mating and `second_mating` (bulls that you give her), sexed (`yes` for sexed semen), pen and
/// `chute_order` (her number in it, for thaw rounds that name her), notes.
/// Common words for columns (EID, VID, DOB, BCS, last calved) and other dates than 2027-05-17 are
/// read, and it is said how. A blank cell is not known.
#[derive(Args)]
pub(super) struct Herd {
    #[command(flatten)]
    season: SeasonFile,
    /// Only this group, by id.
    #[arg(long, value_name = "ID")]
    group: Option<String>,
    #[command(flatten)]
    printing: Printing,
    /// List the animals that are ready too.
    #[arg(long)]
    all: bool,
    /// A heading of the herd file and its column, such as `Last Calved=last_calving_date`; `none`
    /// leaves a column out. May be given again. `columns` of a group keeps it.
    #[arg(long, value_name = "HEADING=COLUMN", value_parser = column)]
    columns: Vec<(String, String)>,
}

fn column(text: &str) -> Result<(String, String), String> {
    let (heading, column) = text
        .rsplit_once('=')
        .ok_or("write the heading, =, and the column, as \"Last Calved=last_calving_date\"")?;
    Ok((heading.trim().to_owned(), column.trim().to_owned()))
}

impl Run for Herd {
    fn run(&self) -> Result<Outcome, Error> {
        let (mut season, _) = read(&self.season)?;
        for file in season.groups.iter_mut().filter_map(|g| g.herd.as_mut()) {
            file.asked.columns.extend(self.columns.iter().cloned());
        }
        let groups = chosen(&season, &self.season.season, self.group.as_deref())?;
        let read = Herds::read(&season, &Beside(&self.season.season), &groups, false)?;
        let reports = read.reports(&season);
        let found = read.findings(&season, &reports);
        debug_assert!(found.iter().all(|f| f.severity != Severity::Error));
        let out = self.printing.print(&output::herd::Herds {
            format: thawline::herd::FORMAT,
            season: &season.name,
            groups: &reports,
            findings: &found,
            all: self.all,
        })?;
        let err = match self.printing.form() {
            Printed::Csv => lines(&found),
            _ => String::new(),
        };
        Ok(Outcome::answered(out, err, true))
    }
}

/// The groups asked for that name a herd.
fn chosen(season: &Season, file: &Path, id: Option<&str>) -> Result<Vec<usize>, Finding> {
    let named = |n: &usize| season.groups[*n].herd.is_some();
    let Some(id) = id else {
        let all: Vec<usize> = (0..season.groups.len()).filter(named).collect();
        let open = season.open.iter().find(|g| g.herd.is_some());
        return if let (true, Some(open)) = (all.is_empty(), open) {
            Err(pipeline::still_open(open))
        } else if all.is_empty() {
            Err(no_herd(
                "no group with a protocol and a start names a herd file".to_owned(),
                file,
            ))
        } else {
            Ok(all)
        };
    };
    if let Some(open) = season.open.iter().find(|g| g.id.as_str() == id) {
        return Err(pipeline::still_open(open));
    }
    let known = || season.groups.iter().map(|g| g.id.as_str());
    let Some(n) = known().position(|k| k == id) else {
        let see = "see `groups` in the season file";
        let none = "a season with a group";
        return Err(unknown_id("group", id, known(), none, see));
    };
    if named(&n) {
        Ok(vec![n])
    } else {
        Err(no_herd(
            format!("the group {} names no herd file", quoted(id)),
            file,
        ))
    }
}

fn no_herd(what: String, file: &Path) -> Finding {
    let place = Place {
        file: file.display().to_string(),
        line: 1,
        column: 1,
        field: "groups".to_owned(),
    };
    Finding::error(Code::NoHerd, what)
        .at(place)
        .expected("a group with `herd: FILE.csv`")
        .hint("write the animals to a CSV file with the column `animal`, and name it under the group; `thawline schema season` lists the columns")
}
