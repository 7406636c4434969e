//! The herds behind the groups: who is ready.

use std::path::Path;

use thawline::error::{Code, Error, Finding, Place, Severity, quoted, unknown_id};
use thawline::files::Herds;
use thawline::output;
use thawline::pipeline;
use thawline::season::Season;

use super::files::Beside;
use super::reading::read;
use super::words::lines;
use super::{Outcome, Printed, SeasonFile};

pub(super) fn run(
    file: &SeasonFile,
    group: Option<&str>,
    form: Printed,
    all: bool,
) -> Result<Outcome, Error> {
    let (season, _) = read(file)?;
    let groups = chosen(&season, &file.season, group)?;
    let read = Herds::read(&season, &Beside(&file.season), &groups, false)?;
    let reports = read.reports(&season);
    let found = read.findings(&season, &reports);
    debug_assert!(found.iter().all(|f| f.severity != Severity::Error));
    let mut err = String::new();
    let out = match form {
        Printed::Json => output::json::herds(&season.name, &reports, &found),
        Printed::Csv => {
            err = lines(&found);
            output::herd_csv::csv(&reports)
        }
        Printed::Text => output::herd::text(&season.name, &reports, &found, all),
    };
    Ok(Outcome { out, err, code: 0 })
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
