//! `thawline calendar`, and the calendars of `thawline plan --out`.

use std::fs;
use std::path::{Path, PathBuf};
use std::time::SystemTime;

use chrono::{Datelike as _, TimeDelta};
use clap::Args;
use thawline::error::{Code, Error, Finding, unknown_id, visible};
use thawline::output::calendar::{MOST_BYTES, Previous, calendar, calendar_after, read_previous};
use thawline::plan::Plan;
use thawline::season::Season;
use thawline::time::Instant;

use super::asked::{Outcome, Run, SeasonFile};
use super::progress::Shown;
use super::reading::{planned, read};
use super::words::{paragraph, plural, verdict};
use super::{files, writing};

/// Print the season's calendar, for phones.
///
/// An iCalendar file (RFC 5545) with every day of chute work and breeding, and with what follows AI:
/// return heats, bulls, pregnancy checks, calving, withdrawal. Importing a later one updates the
/// events of an earlier one; with --previous, dropped events are canceled, too.
/// `SOURCE_DATE_EPOCH` sets its time stamp, for output that is the same from run to run.
#[derive(Args)]
pub(super) struct Calendar {
    #[command(flatten)]
    season: SeasonFile,
    /// Only what this technician does, by id.
    #[arg(long = "for", value_name = "TECHNICIAN")]
    technician: Option<String>,
    /// The calendar that was exported before: changed events are updated, and dropped ones are
    /// canceled.
    #[arg(long, value_name = "OLD.ics")]
    previous: Option<PathBuf>,
    /// Write to this file in place of standard output.
    #[arg(short, long, value_name = "FILE")]
    output: Option<PathBuf>,
    #[command(flatten)]
    over: writing::Over,
}

impl Run for Calendar {
    fn run(&self) -> Result<Outcome, Error> {
        let file = &self.season;
        let technician = self.technician.as_deref();
        let previous = self.previous.as_deref();
        let output = self.output.as_deref().map(|path| (path, self.over));
        let (mut season, found) = read(file)?;
        if let Some(id) = technician
        && !season.crew.iter().any(|t| t.id.as_str() == id)
        // The calendar of somebody who left is made to cancel what is in it.
        && previous.is_none()
        {
            return Err(no_such_technician(id, &season, &file.season));
        }
        let beside = previous.map_or_else(String::new, mixed);
        let previous = previous.map(earlier).transpose()?;
        let plan = planned(&mut season, file, &found, &Shown::new())?;
        let stamp = stamp()?;
        let mut outcome = Outcome::printed(String::new());
        outcome.err = beside;
        outcome.out = match &previous {
            None => calendar(&plan, technician, stamp),
            Some((path, old)) => {
                let name = path.display().to_string();
                if let Some(other) = old.season.as_ref().filter(|s| **s != plan.season) {
                    let said = format!(
                        "The earlier calendar is of the season {other}: all its events are canceled."
                    );
                    outcome.err += &paragraph(&visible(&said));
                }
                let text = calendar_after(&plan, technician, stamp, old, &name)?;
                let cancelled = text.lines().filter(|l| *l == "STATUS:CANCELLED").count();
                if cancelled > 0 {
                    let said = format!(
                        "{cancelled} event{} that the plan no longer has: canceled.\n",
                        plural(cancelled)
                    );
                    outcome.err += &said;
                }
                text
            }
        };
        if let Some((path, over)) = output.filter(|(p, _)| *p != Path::new("-")) {
            let written = [(
                path.to_owned(),
                std::mem::take(&mut outcome.out).into_bytes(),
            )];
            writing::write_all(&written, over)?;
            outcome.err += &writing::written(path);
        }
        if !plan.is_well() {
            outcome.err += &verdict(&plan);
            outcome.code = 1;
        }
        Ok(outcome)
    }
}

fn no_such_technician(id: &str, season: &Season, file: &Path) -> Error {
    let known = season.crew.iter().map(|t| t.id.as_str());
    let see = format!("see `crew` in {}", visible(&file.display().to_string()));
    unknown_id("technician", id, known, "a season with a crew", &see).into()
}

/// What is said of an earlier calendar that stands among files of another plan.
fn mixed(path: &Path) -> String {
    let others = ["plan.json", "season.html", "season.ics", files::PDF];
    let mut all: Vec<PathBuf> = others.iter().map(|n| path.with_file_name(n)).collect();
    if !all.iter().any(|p| p == path) {
        all.push(path.to_owned());
    }
    let mixed = writing::of_several_plans(all.iter().map(PathBuf::as_path));
    mixed.map_or_else(String::new, |mixed| {
        let said = format!(
            "The earlier calendar stands among files of several plans ({mixed}): \
             `thawline plan SEASON --out` writes all of them anew."
        );
        paragraph(&said)
    })
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
            let ics = Path::new(name).extension().is_some_and(|x| x == "ics");
            // A copy that somebody made of the season's calendar is not what phones have.
            let season = name == "season.ics"
                || (name.starts_with("season.") && number_kept(Path::new(name)).is_some());
            ics && (season || name.starts_with("technician-"))
        };
        let entries = fs::read_dir(dir).into_iter().flatten().flatten();
        let paths = entries.filter(|e| e.file_name().to_str().is_some_and(ours));
        let paths = paths.map(|e| e.path()).filter(|p| p.is_file());
        let mut paths: Vec<PathBuf> = paths.collect();
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
    fn of(&self, plan: &Plan, technician: Option<&str>, at: &Path) -> Option<&(PathBuf, Previous)> {
        let same = |p: &Previous| is_of(p, plan) && p.technician.as_deref() == technician;
        // A copy beside it may be an older one.
        let now = self.all.iter().filter(|(_, p)| same(p));
        let now = now.min_by_key(|(path, _)| path != at);
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
        let text = |technician: Option<&str>, at: &Path| match self.of(plan, technician, at) {
            Some((path, old)) => {
                calendar_after(plan, technician, stamp, old, &path.display().to_string())
            }
            None => Ok(calendar(plan, technician, stamp)),
        };
        let season = dir.join("season.ics");
        let mut made = vec![(season.clone(), text(None, &season)?)];
        let mut names: Vec<String> = Vec::new();
        for t in &plan.technicians {
            let mut name = file_name(&t.id);
            while names.contains(&name) {
                name.push('-');
            }
            let path = dir.join(format!("technician-{name}.ics"));
            let text = text(Some(&t.id), &path)?;
            made.push((path, text));
            names.push(name);
        }
        for (path, old) in self.all.iter().filter(|(_, p)| is_of(p, plan)) {
            if let Some(id) = old.technician.as_deref()
                && plan.technicians.iter().all(|t| t.id != id)
                && made.iter().all(|(p, _)| p != path)
            {
                made.push((path.clone(), text(Some(id), path)?));
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
             .{KEPT}, and nothing of them is canceled. If the season only has a new name: \
             thawline calendar SEASON --previous {}.",
            old.season.as_deref().unwrap_or("unnamed"),
            kept.display()
        );
        Ok(paragraph(&visible(&said)))
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
    let read = |path: &Path| {
        let bytes = files::read_up_to(path, MOST_BYTES)?;
        Ok::<_, Finding>(String::from_utf8_lossy(&bytes).into_owned())
    };
    let text = read(path)?;
    let mut name = path.with_extension(KEPT);
    let mut n = 1;
    while name.exists() && read(&name).ok().as_ref() != Some(&text) {
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
    let taken = |c: char| c.is_alphanumeric() || c == '_';
    let chars = id.chars().map(|c| if taken(c) { c } else { '-' });
    chars.flat_map(char::to_lowercase).collect()
}

/// A reading of the machine's clock, which may be set to anything: a calendar has room for the years up
/// to 9999, and no clock that is before 1970 is right.
fn of_clock(now: SystemTime) -> Instant {
    let last = Instant::UNIX_EPOCH + TimeDelta::days(365 * 8000);
    let since = now.duration_since(SystemTime::UNIX_EPOCH);
    let since = since.ok().map_or(Some(0), |s| s.as_secs().try_into().ok());
    since
        .and_then(|s| Instant::from_timestamp(s, 0))
        .map_or(last, |now| now.min(last))
}

/// The time stamp of calendar events: now, or `SOURCE_DATE_EPOCH` for output that repeats.
fn stamp() -> Result<Instant, Error> {
    let Some(text) = std::env::var_os("SOURCE_DATE_EPOCH") else {
        return Ok(of_clock(SystemTime::now()));
    };
    let digits = text
        .to_str()
        .filter(|t| !t.is_empty() && t.bytes().all(|b| b.is_ascii_digit()));
    let Some(digits) = digits else {
        let what = "the variable SOURCE_DATE_EPOCH does not hold a number of seconds";
        return Err(Finding::error(Code::BadTime, what)
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
            let what = "the variable SOURCE_DATE_EPOCH holds a moment after the year 9999";
            Finding::error(Code::BadTime, what)
                .expected("seconds since 1970, at most 253402300799")
                .hint("unset it, or give fewer: milliseconds must be divided by 1000")
                .into()
        })
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::time::Duration;

    #[test]
    fn a_clock_may_be_set_to_anything() {
        let epoch = SystemTime::UNIX_EPOCH;
        assert_eq!(
            of_clock(epoch - Duration::from_secs(1)),
            Instant::UNIX_EPOCH
        );
        assert_eq!(of_clock(epoch), Instant::UNIX_EPOCH);
        let now = Duration::from_secs(1_800_000_000);
        assert_eq!(of_clock(epoch + now).timestamp(), 1_800_000_000);
        for power in 0..63 {
            let far = Duration::from_secs(1 << power);
            let clocks = [epoch.checked_add(far), epoch.checked_sub(far)];
            for clock in clocks.into_iter().flatten() {
                assert!((1970..=9999).contains(&of_clock(clock).year()));
            }
        }
    }
}
