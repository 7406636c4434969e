//! `thawline calendar`, and the calendars of `thawline plan --out`.

use std::fs;
use std::path::{Path, PathBuf};

use chrono::Datelike as _;
use thawline::error::{Code, Error, Finding, unknown_id, visible};
use thawline::plan::Plan;
use thawline::report;
use thawline::report::calendar::{MOST_BYTES, Previous, calendar, calendar_after, read_previous};
use thawline::season::Season;
use thawline::time::Instant;

use super::commands::{plural, read, verdict};
use super::watching::Watching;
use super::{Outcome, SeasonFile, files, matings};

pub(super) fn run(
    file: &SeasonFile,
    technician: Option<&str>,
    previous: Option<&Path>,
    output: Option<&Path>,
) -> Result<Outcome, Error> {
    let (mut season, found) = read(file)?;
    if let Some(id) = technician
        && !season.crew.iter().any(|t| t.id.as_str() == id)
        // The calendar of somebody who left is made to cancel what is in it.
        && previous.is_none()
    {
        return Err(no_such_technician(id, &season, &file.season));
    }
    let previous = previous.map(earlier).transpose()?;
    let plan = matings::planned(&mut season, &file.season, &found, &Watching::new())?;
    let stamp = stamp()?;
    let mut outcome = Outcome::printed(String::new());
    outcome.out = match &previous {
        None => calendar(&plan, technician, stamp),
        Some((path, old)) => {
            let name = path.display().to_string();
            if let Some(other) = old.season.as_ref().filter(|s| **s != plan.season) {
                let said = format!(
                    "The earlier calendar is of the season {other}: all its events are cancelled."
                );
                outcome.err += &(report::wrapped(&visible(&said), "", "  ") + "\n");
            }
            let text = calendar_after(&plan, technician, stamp, old, &name)?;
            let cancelled = text.lines().filter(|l| *l == "STATUS:CANCELLED").count();
            if cancelled > 0 {
                let said = format!(
                    "{cancelled} event{} that the plan no longer has: cancelled.\n",
                    plural(cancelled)
                );
                outcome.err += &said;
            }
            text
        }
    };
    if let Some(path) = output.filter(|p| *p != Path::new("-")) {
        let written = [(
            path.to_owned(),
            std::mem::take(&mut outcome.out).into_bytes(),
        )];
        files::only_over(&written)?;
        files::write_all(&written)?;
        outcome.err += &files::written(path);
    }
    if !plan.is_well() {
        outcome.err += &verdict(&plan);
        outcome.code = 1;
    }
    Ok(outcome)
}

fn no_such_technician(id: &str, season: &Season, file: &Path) -> Error {
    let known = season.crew.iter().map(|t| t.id.as_str());
    let see = format!("see `crew` in {}", visible(&file.display().to_string()));
    unknown_id("technician", id, known, "a season with a crew", &see).into()
}

fn earlier(path: &Path) -> Result<(PathBuf, Previous), Error> {
    let bytes = files::read_up_to(path, MOST_BYTES)?;
    Ok((
        path.to_owned(),
        read_previous(&path.display().to_string(), &bytes)?,
    ))
}

/// How the calendars of another season end that stood in the folder. Ids give no dots.
const KEPT: &str = "before.ics";

/// The calendars that stand in a folder before a plan is written to it.
#[derive(Default)]
pub(super) struct Before {
    all: Vec<(PathBuf, Previous)>,
    /// Those kept from before the folder was another season's, the latest last.
    kept: Vec<(PathBuf, Previous)>,
}

impl Before {
    /// Reads `season.ics` and every `technician-….ics` of a folder.
    pub(super) fn read(dir: &Path) -> Result<Self, Error> {
        let ours = |name: &str| {
            (name.starts_with("season.") || name.starts_with("technician-"))
                && Path::new(name).extension().is_some_and(|x| x == "ics")
        };
        let mut paths: Vec<PathBuf> = fs::read_dir(dir)
            .into_iter()
            .flatten()
            .flatten()
            .filter(|e| e.file_name().to_str().is_some_and(ours))
            .map(|e| e.path())
            .filter(|p| p.is_file())
            .collect();
        paths.sort();
        let (mut kept, all): (Vec<PathBuf>, Vec<PathBuf>) =
            paths.into_iter().partition(|p| number_kept(p).is_some());
        kept.sort_by_key(|p| number_kept(p));
        let all = all.iter().map(|p| earlier(p)).collect::<Result<_, _>>()?;
        // A kept one is nobody's to mend: one that cannot be read is left alone.
        let kept = kept.iter().filter_map(|p| earlier(p).ok()).collect();
        Ok(Self { all, kept })
    }

    /// The calendar of before of the same season and person: that of the folder, or else the one last
    /// kept.
    fn of(&self, plan: &Plan, technician: Option<&str>) -> Option<&(PathBuf, Previous)> {
        let same = |p: &Previous| is_of(p, plan) && p.technician.as_deref() == technician;
        let now = self.all.iter().find(|(_, p)| same(p));
        now.or_else(|| self.kept.iter().rfind(|(_, p)| same(p)))
    }

    /// The season's calendar and one for each technician; those of technicians who left cancel
    /// what was in them.
    pub(super) fn calendars(
        &self,
        plan: &Plan,
        dir: &Path,
    ) -> Result<Vec<(PathBuf, String)>, Error> {
        let stamp = stamp()?;
        let text = |technician: Option<&str>| match self.of(plan, technician) {
            Some((path, old)) => {
                calendar_after(plan, technician, stamp, old, &path.display().to_string())
            }
            None => Ok(calendar(plan, technician, stamp)),
        };
        let mut made = vec![(dir.join("season.ics"), text(None)?)];
        let mut names: Vec<String> = Vec::new();
        for t in &plan.technicians {
            let mut name = file_name(&t.id);
            while names.contains(&name) {
                name.push('-');
            }
            let path = dir.join(format!("technician-{name}.ics"));
            made.push((path, text(Some(&t.id))?));
            names.push(name);
        }
        for (path, old) in self.all.iter().filter(|(_, p)| is_of(p, plan)) {
            let left = old
                .technician
                .as_deref()
                .filter(|id| plan.technicians.iter().all(|t| t.id != *id));
            if let Some(id) = left
                && made.iter().all(|(p, _)| p != path)
            {
                made.push((path.clone(), text(Some(id))?));
            }
        }
        for (path, _) in self.others(plan) {
            made.push(kept(path)?);
        }
        Ok(made)
    }

    /// Calendars of other seasons.
    fn others(&self, plan: &Plan) -> impl Iterator<Item = &(PathBuf, Previous)> {
        self.all.iter().filter(move |(_, p)| !is_of(p, plan))
    }

    /// What is said where the folder held the calendar of another season.
    ///
    /// # Errors
    /// A file that cannot be read.
    pub(super) fn of_other_seasons(&self, plan: &Plan) -> Result<String, Finding> {
        let Some((path, old)) = self.others(plan).next() else {
            return Ok(String::new());
        };
        let (kept, _) = kept(path)?;
        let said = format!(
            "There were calendars of another season here ({}). They are kept as files that end in \
             .{KEPT}, and nothing of them is cancelled. If the season only has a new name: \
             thawline calendar SEASON --previous {}.",
            old.season.as_deref().unwrap_or("unnamed"),
            kept.display()
        );
        Ok(report::wrapped(&visible(&said), "", "  ") + "\n")
    }
}

/// The number of a kept calendar: `season.before.ics` is 1, `season.2.before.ics` is 2.
fn number_kept(path: &Path) -> Option<u32> {
    let name = path.file_name()?.to_str()?;
    let rest = name.strip_suffix(KEPT)?.strip_suffix('.')?;
    let number = rest.rsplit_once('.').and_then(|(_, n)| n.parse().ok());
    Some(number.unwrap_or(1))
}

/// A calendar to keep, under the first name at which nothing else is kept.
fn kept(path: &Path) -> Result<(PathBuf, String), Finding> {
    let text = fs::read_to_string(path).map_err(|e| files::fault(path, "keep this file", &e))?;
    let mut name = path.with_extension(KEPT);
    let mut n = 1;
    while name.exists() && fs::read_to_string(&name).ok().as_ref() != Some(&text) {
        n += 1;
        name = path.with_extension(format!("{n}.{KEPT}"));
    }
    Ok((name, text))
}

/// True if a calendar is of the plan's season, or does not say of which.
fn is_of(old: &Previous, plan: &Plan) -> bool {
    old.season.as_ref().is_none_or(|s| *s == plan.season)
}

/// An id as part of a file name: what some file systems do not take becomes a hyphen.
fn file_name(id: &str) -> String {
    id.chars()
        .map(|c| {
            if c.is_alphanumeric() || c == '_' {
                c
            } else {
                '-'
            }
        })
        .flat_map(char::to_lowercase)
        .collect()
}

/// The time stamp of calendar events: now, or `SOURCE_DATE_EPOCH` for output that repeats.
fn stamp() -> Result<Instant, Error> {
    let Some(text) = std::env::var_os("SOURCE_DATE_EPOCH") else {
        return Ok(chrono::Utc::now());
    };
    let digits = text
        .to_str()
        .filter(|t| !t.is_empty() && t.bytes().all(|b| b.is_ascii_digit()));
    let Some(digits) = digits else {
        return Err(Finding::error(
            Code::BadTime,
            "the variable SOURCE_DATE_EPOCH does not hold a number of seconds",
        )
        .expected("seconds since 1970 as digits")
        .hint("unset it, or give a number")
        .into());
    };
    let moment = digits.parse().ok();
    moment
        .and_then(|s| Instant::from_timestamp(s, 0))
        // A calendar has room for four digits of the year.
        .filter(|t| t.year() <= 9999)
        .ok_or_else(|| {
            Finding::error(
                Code::BadTime,
                "the variable SOURCE_DATE_EPOCH holds a moment after the year 9999",
            )
            .expected("seconds since 1970, at most 253402300799")
            .hint("unset it, or give fewer: milliseconds must be divided by 1000")
            .into()
        })
}
