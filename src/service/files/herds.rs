//! The herds behind the groups of a season, read from the files that it names.

use std::collections::BTreeMap;

use chrono::NaiveDate;

use super::{Files, Table};
use crate::base::error::{Error, Finding, has_errors, sort_findings};
use crate::base::units::Head;
use crate::trade::herd::{self, Herd, Member, scores, summary, summary::GroupReport};
use crate::trade::protocol::Class;
use crate::trade::season::{Bull, Group, HerdFile, Season};

/// Herds read, by their group's place in the season, and what was found in them.
pub struct Herds {
    herds: Vec<(usize, Herd)>,
    found: Vec<Finding>,
}

fn read_one(
    files: &dyn Files,
    named: &HerdFile,
    class: Class,
    first_day: Option<NaiveDate>,
) -> Result<(Herd, Vec<Finding>), Error> {
    let table = files.read(&named.name, &named.place)?;
    of_table(&table, named, class, first_day)
}

fn of_table(
    table: &Table,
    named: &HerdFile,
    class: Class,
    first_day: Option<NaiveDate>,
) -> Result<(Herd, Vec<Finding>), Error> {
    let (name, bytes) = (&table.name, &table.bytes);
    table.told(herd::read_as(name, bytes, class, first_day, &named.asked))
}

/// Takes animals that are not ready out of the groups that name them, and says so. A herd that cannot be read
/// changes nothing: whoever needs it says what is wrong.
pub(super) fn leave_out(season: &mut Season, files: &dyn Files) -> Vec<Finding> {
    let mut found = Vec::new();
    let starts: Vec<herd::Start> = season.groups.iter().map(herd::Start::of).collect();
    for group in &mut season.groups {
        let Some(named) = &group.facts.herd else {
            continue;
        };
        let Ok(table) = files.read(&named.name, &named.place) else {
            continue;
        };
        let day = Some(group.start.date());
        let Ok((herd, _)) = of_table(&table, named, group.class, day) else {
            continue;
        };
        let tell = !table.outside;
        if tell {
            found.extend(herd::unknown(named, &herd));
        }
        let ready = &season.rules.ready;
        found.extend(herd::leave_out(group, &herd, ready, &starts, tell));
    }
    found
}

/// The herds of all groups, by their place in the file, those still open too.
///
/// # Errors
/// Every finding of every file, at least one of them an error.
pub(super) fn for_matings(
    season: &Season,
    files: &dyn Files,
) -> Result<(BTreeMap<usize, Herd>, Vec<Finding>), Error> {
    let all: Vec<usize> = (0..season.groups.len()).collect();
    let read = Herds::read(season, files, &all, false)?;
    let mut found = read.found;
    let mut herds = BTreeMap::new();
    for (n, herd) in read.herds {
        let group = &season.groups[n];
        herds.insert(group.nth, herd.without(&group.waiting));
    }
    let mut faults = Vec::new();
    for group in &season.open {
        let Some(named) = &group.herd else { continue };
        match read_one(files, named, group.class, None) {
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

pub(super) fn read_scores(
    files: &dyn Files,
    named: &HerdFile,
    bulls: &[Bull],
) -> Result<(scores::Scores, Vec<Finding>), Error> {
    let table = files.read(&named.name, &named.place)?;
    table.told(scores::read(&table.name, &table.bytes, bulls))
}

/// With the pens as the season states them, those that wait too.
fn members<'a>(
    season: &'a Season,
    herds: &'a [(usize, Herd)],
    pens: &'a [Vec<Head>],
) -> Vec<Member<'a>> {
    herds
        .iter()
        .zip(pens)
        .filter_map(|((n, herd), pens)| {
            let group = &season.groups[*n];
            Some(Member {
                group: group.id.as_str(),
                head: pens.iter().map(|p| p.0).sum(),
                pens,
                place: &group.herd.as_ref()?.place,
                herd,
            })
        })
        .collect()
}

impl Herds {
    /// Reads the herd files of these groups, and of those still open if asked; as they are named.
    ///
    /// # Errors
    /// Every finding of every file, at least one of them an error.
    pub fn read(
        season: &Season,
        files: &dyn Files,
        groups: &[usize],
        with_open: bool,
    ) -> Result<Self, Error> {
        let mut found = Vec::new();
        let mut herds = Vec::new();
        for n in groups {
            let group = &season.groups[*n];
            let Some(named) = &group.herd else {
                continue;
            };
            match read_one(files, named, group.class, Some(group.start.date())) {
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
            match read_one(files, named, group.class, None) {
                Ok((_, more)) => found.extend(more),
                Err(e) => found.extend_from_slice(e.findings()),
            }
        }
        // A herd that could not be read is not held against others: its faults come first.
        let pens = herds.iter().map(|(n, _)| season.groups[*n].stated_pens());
        let pens: Vec<Vec<Head>> = pens.collect();
        found.extend(herd::compare(&members(season, &herds, &pens)));
        if has_errors(&found) {
            return Err(Error::input(found));
        }
        Ok(Self { herds, found })
    }

    /// How ready each herd is.
    #[must_use]
    pub fn reports<'a>(&'a self, season: &'a Season) -> Vec<GroupReport<'a>> {
        self.herds
            .iter()
            .map(|(n, herd)| {
                let g: &Group = &season.groups[*n];
                let mut report = summary::report(
                    (g.id.as_str(), &g.name),
                    herd,
                    g.class,
                    &g.protocol,
                    g.start,
                    &season.rules.ready,
                    season.units,
                );
                let waiting = g.waiting.len() as u32;
                if waiting > 0 {
                    let (planned, all) = (g.head().0, g.head().0 + waiting);
                    report
                        .words
                        .push(format!("The plan counts {planned} of {all}."));
                }
                report
            })
            .collect()
    }

    /// All findings: of the files, of herds against groups, and of groups as a whole.
    #[must_use]
    pub fn findings(&self, season: &Season, reports: &[GroupReport<'_>]) -> Vec<Finding> {
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

/// What is to say of the herds and scores of a season.
///
/// # Errors
/// Every finding of every file, at least one of them an error.
pub fn check(season: &Season, files: &dyn Files) -> Result<Vec<Finding>, Error> {
    let all: Vec<usize> = (0..season.groups.len()).collect();
    let read = Herds::read(season, files, &all, true)?;
    let mut found = read.findings(season, &read.reports(season));
    let own = season.every_group().filter_map(|g| g.scores.as_ref());
    for named in season.scores.iter().chain(own) {
        found.extend(read_scores(files, named, &season.bulls)?.1);
    }
    Ok(found)
}
