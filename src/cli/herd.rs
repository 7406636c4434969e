//! The herds behind the groups: reading their files, and who is ready.

use std::collections::BTreeMap;
use std::path::Path;

use chrono::NaiveDate;
use thawline::error::{
    Code, Error, Finding, Place, Severity, has_errors, quoted, sort_findings, unknown_id,
};
use thawline::herd::{self, Herd, Member, scores, summary, summary::GroupReport};
use thawline::output;
use thawline::pipeline;
use thawline::protocol::Class;
use thawline::season::{Bull, Group, HerdFile, Season};

use super::reading::read;
use super::words::lines;
use super::{Outcome, Printed, SeasonFile, files};

/// Herds read, by their group's place in the season, and what was found in them.
pub(super) struct Read {
    herds: Vec<(usize, Herd)>,
    found: Vec<Finding>,
}

/// Reads the herd files of these groups, and of those still open if asked; files are named from the season file's folder.
///
/// # Errors
/// Every finding of every file, at least one of them an error.
pub(super) fn read_all(
    season: &Season,
    file: &Path,
    groups: &[usize],
    with_open: bool,
) -> Result<Read, Error> {
    let mut found = Vec::new();
    let mut herds = Vec::new();
    for n in groups {
        let group = &season.groups[*n];
        let Some(named) = &group.herd else {
            continue;
        };
        match read_one(file, named, group.class, Some(group.start.date())) {
            Ok((herd, more)) => {
                herds.push((*n, herd));
                found.extend(more);
            }
            Err(e) => found.extend_from_slice(e.findings()),
        }
    }
    // Animals of a group whose start is to be chosen: their file must be right all the same.
    for group in season.open.iter().filter(|_| with_open) {
        let Some(named) = &group.herd else { continue };
        match read_one(file, named, group.class, None) {
            Ok((_, more)) => found.extend(more),
            Err(e) => found.extend_from_slice(e.findings()),
        }
    }
    // A herd that could not be read is not held against others: its faults come first.
    found.extend(herd::compare(&members(season, &herds)));
    if has_errors(&found) {
        return Err(Error::input(found));
    }
    Ok(Read { herds, found })
}

fn read_one(
    season: &Path,
    named: &HerdFile,
    class: Class,
    first_day: Option<NaiveDate>,
) -> Result<(Herd, Vec<Finding>), Error> {
    let table = files::Table::read(season, &named.name, &named.place)?;
    table.told(herd::read(&table.name, &table.bytes, class, first_day))
}

/// The herds of all groups, by their place in the file, those still open too.
///
/// # Errors
/// Every finding of every file, at least one of them an error.
pub(super) fn for_matings(
    season: &Season,
    file: &Path,
) -> Result<(BTreeMap<usize, Herd>, Vec<Finding>), Error> {
    let all: Vec<usize> = (0..season.groups.len()).collect();
    let read = read_all(season, file, &all, false)?;
    let mut found = read.found;
    let mut herds = BTreeMap::new();
    for (n, herd) in read.herds {
        herds.insert(season.groups[n].nth, herd);
    }
    let mut faults = Vec::new();
    for group in &season.open {
        let Some(named) = &group.herd else { continue };
        match read_one(file, named, group.class, None) {
            Ok((herd, more)) => {
                found.extend(more);
                herds.insert(group.nth, herd);
            }
            Err(e) => faults.extend_from_slice(e.findings()),
        }
    }
    if faults.is_empty() {
        Ok((herds, found))
    } else {
        Err(Error::input(faults))
    }
}

/// Reads a scores file, named from the season file's folder.
pub(super) fn read_scores(
    season: &Path,
    named: &HerdFile,
    bulls: &[Bull],
) -> Result<(scores::Scores, Vec<Finding>), Error> {
    let table = files::Table::read(season, &named.name, &named.place)?;
    table.told(scores::read(&table.name, &table.bytes, bulls))
}

fn members<'a>(season: &'a Season, herds: &'a [(usize, Herd)]) -> Vec<Member<'a>> {
    herds
        .iter()
        .filter_map(|(n, herd)| {
            let group = &season.groups[*n];
            Some(Member {
                group: group.id.as_str(),
                head: group.head().0,
                pens: &group.pens,
                place: &group.herd.as_ref()?.place,
                herd,
            })
        })
        .collect()
}

impl Read {
    pub(super) fn reports<'a>(&'a self, season: &'a Season) -> Vec<GroupReport<'a>> {
        self.herds
            .iter()
            .map(|(n, herd)| {
                let g: &Group = &season.groups[*n];
                summary::of(
                    (g.id.as_str(), &g.name),
                    herd,
                    g.class,
                    &g.protocol,
                    g.start,
                    &season.rules.ready,
                    season.units,
                )
            })
            .collect()
    }

    /// All findings: of the files, of herds against groups, and of groups as a whole.
    pub(super) fn findings(&self, season: &Season, reports: &[GroupReport<'_>]) -> Vec<Finding> {
        let mut all = self.found.clone();
        for ((n, _), report) in self.herds.iter().zip(reports) {
            if let Some(named) = &season.groups[*n].herd {
                all.extend(report.findings(&named.place));
            }
        }
        sort_findings(&mut all);
        all
    }
}

/// What `check` says of the herds of a season.
pub(super) fn check(season: &Season, file: &Path) -> Result<Vec<Finding>, Error> {
    let all: Vec<usize> = (0..season.groups.len()).collect();
    let read = read_all(season, file, &all, true)?;
    let mut found = read.findings(season, &read.reports(season));
    let own = season.groups.iter().filter_map(|g| g.scores.as_ref());
    let open = season.open.iter().filter_map(|g| g.scores.as_ref());
    for named in season.scores.iter().chain(own).chain(open) {
        found.extend(read_scores(file, named, &season.bulls)?.1);
    }
    Ok(found)
}

pub(super) fn run(
    file: &SeasonFile,
    group: Option<&str>,
    form: Printed,
    all: bool,
) -> Result<Outcome, Error> {
    let (season, _) = read(file)?;
    let groups = chosen(&season, &file.season, group)?;
    let read = read_all(&season, &file.season, &groups, false)?;
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
