//! The matings of a season, and its plan with them, from the files that it names.

use std::collections::BTreeMap;
use std::path::Path;

use super::{Files, herds};
use crate::analysis::matings::{Input, Matings};
use crate::base::error::{Code, Error, Finding, Severity};
use crate::base::progress::Progress;
use crate::planning::plan::Plan;
use crate::service::pipeline::{self, Options};
use crate::trade::herd::Herd;
use crate::trade::herd::scores::Scores;
use crate::trade::season::{HerdFile, Season};

/// All that the matings of a season are made of.
pub struct ForMatings {
    herds: BTreeMap<usize, Herd>,
    own: BTreeMap<usize, Scores>,
    scores: Option<Scores>,
    /// What was found in the files.
    pub found: Vec<Finding>,
}

impl ForMatings {
    /// Reads the herd files and scores of a season.
    ///
    /// # Errors
    /// Every finding of every file, at least one of them an error.
    pub fn read(season: &Season, files: &dyn Files) -> Result<Self, Error> {
        let (herds, mut found) = herds::for_matings(season, files)?;
        let mut faults = Vec::new();
        let mut read_scores =
            |named: &HerdFile| match herds::read_scores(files, named, &season.bulls) {
                Ok((scores, more)) => {
                    found.extend(more);
                    Some(scores)
                }
                Err(e) => {
                    faults.extend_from_slice(e.findings());
                    None
                }
            };
        let scores = season.scores.as_ref().and_then(&mut read_scores);
        let mut own = BTreeMap::new();
        for g in season.every_group() {
            let read = g.scores.as_ref().and_then(&mut read_scores);
            own.extend(read.map(|s| (g.nth, s)));
        }
        if !faults.is_empty() {
            return Err(Error::input(faults));
        }
        // What herds say of readiness belongs to `herd`: here only what stops or changes a mating.
        found.retain(|f| f.severity != Severity::Note);
        Ok(Self {
            herds,
            own,
            scores,
            found,
        })
    }

    /// The same, as matings are asked for.
    #[must_use]
    pub fn input<'a>(&'a self, season: &'a Season) -> Input<'a> {
        Input::of(season, &self.herds, &self.own, self.scores.as_ref())
    }
}

/// The plan of a season with straws as its matings have them, by number for groups without a herd. If
/// these cannot be used, it is made without, and says so. Bulls that herd files give to animals are then among
/// their group's bulls in the season too.
pub fn plan(
    season: &mut Season,
    files: &dyn Files,
    found: &[Finding],
    progress: &dyn Progress,
) -> Result<Plan, Error> {
    let options = Options {
        progress,
        ..Options::default()
    };
    if !season.open.is_empty() {
        return pipeline::plan_with(season, found, options);
    }
    let named = named(season);
    match made(season, files) {
        Ok(made) => {
            let all = pipeline::with_given(season, &made);
            match pipeline::plan_with(
                &all,
                found,
                Options {
                    matings: Some(&made),
                    ..options
                },
            ) {
                Err(e) if !e.is_input() => without(season, found, &e, options),
                plan => {
                    *season = all;
                    plan
                }
            }
        }
        Err(e) if e.is_input() => {
            let mut found = found.to_vec();
            let named = at_fault(season, &e).or(named.as_ref());
            found.extend(named.map(|named| unread(&e, named)));
            pipeline::plan_with(season, &found, options)
        }
        Err(e) => without(season, found, &e, options),
    }
}

/// The plan without matings that do not hold, said so. If it does not hold without them either, the
/// fault is the plan's own.
fn without(
    season: &Season,
    found: &[Finding],
    error: &Error,
    options: Options<'_>,
) -> Result<Plan, Error> {
    let mut found = found.to_vec();
    let named = season.groups.iter().find_map(|g| g.herd.as_ref());
    found.extend(named.map(|named| {
        Finding {
            expected: None,
            ..unread(error, named)
                .hint("the plan holds without them; please report this with the season file")
        }
    }));
    pipeline::plan_with(season, &found, options)
}

/// Bulls that herd files give to animals join those of their group, as in a plan. Herd files that
/// cannot be used give none.
pub fn give(season: &mut Season, files: &dyn Files) -> Result<(), Error> {
    if named(season).is_none() {
        return Ok(());
    }
    match made(season, files) {
        Ok(made) => *season = pipeline::with_given(season, &made),
        Err(e) if e.is_input() => {}
        Err(e) => return Err(e),
    }
    Ok(())
}

/// The first herd file of a season that matings can be made of.
fn named(season: &Season) -> Option<HerdFile> {
    let named = season.groups.iter().find_map(|g| g.herd.clone());
    named.filter(|_| season.open.is_empty())
}

fn made(season: &Season, files: &dyn Files) -> Result<Matings, Error> {
    let files = ForMatings::read(season, files)?;
    pipeline::matings(&files.input(season), &files.found)
}

/// Where the season names the herd file that the first error is in.
fn at_fault<'a>(season: &'a Season, error: &Error) -> Option<&'a HerdFile> {
    let faults = error.findings().iter();
    let first = faults.filter(|f| f.severity == Severity::Error);
    let file = first
        .filter_map(|f| f.place.as_ref())
        .map(|p| Path::new(&p.file))
        .next()?;
    let mut named = season.groups.iter().filter_map(|g| g.herd.as_ref());
    named.find(|h| file.ends_with(&h.name))
}

fn unread(error: &Error, named: &HerdFile) -> Finding {
    let faults = error.findings().iter();
    let first = faults.clone().find(|f| f.severity == Severity::Error);
    let first = first.or(faults.clone().next());
    let why = first.map_or(String::new(), |f| match &f.place {
        Some(place) => format!(" ({} {place}: {})", f.code, f.what),
        None => format!(" ({}: {})", f.code, f.what),
    });
    Finding::warning(
        Code::MatingsUnread,
        format!("the matings cannot be made{why}: straws are set aside by number alone"),
    )
    .at(named.place.clone())
    .expected("herd files and scores that can be read")
    .hint("`thawline matings` lists what is wrong; or take `herd` out of the group")
}
