//! What each command does.

use std::fmt::Write as _;
use std::path::{Path, PathBuf};

use chrono::Datelike as _;
use thawline::chance::SeasonChance;
use thawline::error::{
    Code, Error, Finding, Severity, has_errors, sort_findings, unknown_id, visible,
};
use thawline::plan::{Plan, Remark};
use thawline::protocol::Library;
use thawline::season::Season;
use thawline::tank as tank_of;
use thawline::time::Instant;
use thawline::{expand, pipeline, protocol, report, season};

use super::watching::Watching;
use super::{
    Command, Form, Outcome, OwnProtocols, SeasonFile, chance, choose, cover, files, herd, matings,
    protocols, tank, thaw,
};

pub(super) fn run(command: Command) -> Outcome {
    let (json, result) = match command {
        Command::Protocols(args) => (args.json(), protocols::run(&args)),
        Command::Check {
            season,
            json,
            strict,
        } => (json, check(&season, json, strict)),
        Command::Choose(args) => (args.json, choose::run(&args)),
        Command::Chance(args) => (args.json, chance::run(&args)),
        Command::Cover(args) => (args.json, cover::run(&args)),
        Command::Thaw(args) => (args.json, thaw::run(&args)),
        Command::Plan {
            season,
            out,
            json,
            full,
        } => (json, plan(&season, out.as_deref(), json, full)),
        Command::Calendar {
            season,
            technician,
            output,
        } => (
            false,
            calendar(&season, technician.as_deref(), output.as_deref()),
        ),
        Command::Herd {
            season,
            group,
            json,
            all,
        } => (json, herd::run(&season, group.as_deref(), json, all)),
        Command::Tank(args) => (args.json, tank::run(&args)),
        Command::Matings(args) => (args.json, matings::run(&args)),
        Command::Schema { form } => (false, Ok(Outcome::printed(schema(form)))),
    };
    result.unwrap_or_else(|error| failed(&error, json))
}

fn failed(error: &Error, json: bool) -> Outcome {
    let mut outcome = Outcome {
        out: String::new(),
        err: lines(error.findings()),
        code: if error.is_input() { 2 } else { 3 },
    };
    if error.is_input() {
        let errors = error
            .findings()
            .iter()
            .filter(|f| f.severity == Severity::Error)
            .count();
        let _ = writeln!(
            outcome.err,
            "{errors} error{}; nothing was written.",
            plural(errors)
        );
    } else {
        outcome.err += "This is a fault of thawline, not of your file; nothing was written.\n";
    }
    if json {
        outcome.out = report::json::findings(error.findings());
    }
    outcome
}

pub(super) fn plural(n: usize) -> &'static str {
    if n == 1 { "" } else { "s" }
}

pub(super) fn lines(found: &[Finding]) -> String {
    found
        .iter()
        .map(|f| report::remark(&Remark::from(f)) + "\n")
        .collect()
}

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
    let (season, more) = season(&file.season, &bytes, &library)?;
    found.extend(more);
    Ok((season, found))
}

/// A season from its bytes; a table of straws is read from the folder of its file.
pub(super) fn season(
    path: &Path,
    bytes: &[u8],
    library: &Library,
) -> Result<(Season, Vec<Finding>), Error> {
    let load = |named: &season::StrawFile| {
        let table = files::beside(path, &named.name);
        let bytes = files::read_table(&table, &named.place)?;
        Ok((table.display().to_string(), bytes))
    };
    season::read_with(&path.display().to_string(), bytes, library, &load)
}

fn check(file: &SeasonFile, json: bool, strict: bool) -> Result<Outcome, Error> {
    let (season, mut found) = read(file)?;
    found.extend(expand::expand(&season).findings);
    // Before the choice, a season with open groups is as it should be.
    found.extend(season.open.iter().map(|g| Finding {
        severity: Severity::Note,
        ..pipeline::still_open(g)
    }));
    found.extend(herd::check(&season, &file.season)?);
    sort_findings(&mut found);
    found.dedup();
    debug_assert!(!has_errors(&found));
    let warnings = found
        .iter()
        .filter(|f| f.severity == Severity::Warning)
        .count();
    let out = if json {
        report::json::findings(&found)
    } else {
        format!(
            "{}{}: {}; {warnings} warning{}, {} note{}.\n",
            lines(&found),
            visible(&file.season.display().to_string()),
            if season.open.is_empty() {
                "a season that can be planned"
            } else {
                "a season to choose for, and then to plan"
            },
            plural(warnings),
            found.len() - warnings,
            plural(found.len() - warnings),
        )
    };
    Ok(Outcome {
        out,
        err: String::new(),
        code: u8::from(strict && warnings > 0),
    })
}

fn plan(file: &SeasonFile, out: Option<&Path>, json: bool, full: bool) -> Result<Outcome, Error> {
    let (season, found) = read(file)?;
    let plan = matings::planned(&season, &file.season, &found, &Watching::new())?;
    let mut err = String::new();
    if let Some(dir) = out {
        let files = plan_files(&plan, &tank_of::look(&season, &plan), dir)?;
        files::write_all(&files)?;
        let names: Vec<String> = files
            .iter()
            .filter_map(|(p, _)| p.file_name().map(|n| n.to_string_lossy().into_owned()))
            .collect();
        err = report::wrapped(
            &format!("Written to {}: {}.", dir.display(), names.join(", ")),
            "",
            "  ",
        ) + "\n";
        let left = files::left_over(dir, &files);
        if !left.is_empty() {
            let _ = writeln!(
                err,
                "Left from an earlier plan, and not of this one: {}.",
                left.join(", ")
            );
        }
    }
    Ok(Outcome {
        out: if json {
            report::json::plan(&plan)
        } else if full {
            report::text::plan_in_full(&plan)
        } else {
            report::text::plan(&plan)
        },
        err,
        code: u8::from(!plan.is_well()),
    })
}

fn plan_files(
    plan: &Plan,
    tanks: &tank_of::Answer,
    dir: &Path,
) -> Result<Vec<(PathBuf, String)>, Error> {
    let stamp = stamp()?;
    let mut files = vec![
        (dir.join("plan.json"), report::json::plan(plan)),
        (
            dir.join("season.ics"),
            report::calendar::calendar(plan, None, stamp),
        ),
        (
            dir.join("season.html"),
            report::page::page_with_tanks(plan, Some(tanks)),
        ),
    ];
    let mut names: Vec<String> = Vec::new();
    for t in &plan.technicians {
        let mut name = file_name(&t.id);
        while names.contains(&name) {
            name.push('-');
        }
        files.push((
            dir.join(format!("technician-{name}.ics")),
            report::calendar::calendar(plan, Some(&t.id), stamp),
        ));
        names.push(name);
    }
    Ok(files)
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
    text.to_str()
        .filter(|t| t.bytes().all(|b| b.is_ascii_digit()))
        .and_then(|t| t.parse().ok())
        .and_then(|s| Instant::from_timestamp(s, 0))
        // A calendar has room for four digits of the year.
        .filter(|t| t.year() <= 9999)
        .ok_or_else(|| {
            Finding::error(
                Code::BadTime,
                "the variable SOURCE_DATE_EPOCH does not hold a number of seconds",
            )
            .expected("seconds since 1970 as digits")
            .hint("unset it, or give a number")
            .into()
        })
}

fn calendar(
    file: &SeasonFile,
    technician: Option<&str>,
    output: Option<&Path>,
) -> Result<Outcome, Error> {
    let (season, found) = read(file)?;
    if let Some(id) = technician
        && !season.crew.iter().any(|t| t.id.as_str() == id)
    {
        return Err(no_such_technician(id, &season, &file.season));
    }
    let plan = matings::planned(&season, &file.season, &found, &Watching::new())?;
    let text = report::calendar::calendar(&plan, technician, stamp()?);
    let mut outcome = Outcome::printed(text);
    if let Some(path) = output.filter(|p| *p != Path::new("-")) {
        files::write_all(&[(path.to_owned(), std::mem::take(&mut outcome.out))])?;
        outcome.err = format!("Written: {}\n", path.display());
    }
    if !plan.is_well() {
        outcome.err += &plan
            .verdict
            .words
            .iter()
            .map(|w| report::wrapped(w, "", "  ") + "\n")
            .collect::<String>();
        outcome.code = 1;
    }
    Ok(outcome)
}

fn no_such_technician(id: &str, season: &Season, file: &Path) -> Error {
    let known = season.crew.iter().map(|t| t.id.as_str());
    let see = format!("see `crew` in {}", visible(&file.display().to_string()));
    unknown_id("technician", id, known, "a season with a crew", &see).into()
}

/// Refuses an id that is not among those known.
pub(super) fn known<'a>(
    kind: &str,
    id: &str,
    mut all: impl Iterator<Item = &'a str> + Clone,
    see: &str,
) -> Result<(), Finding> {
    let none = format!("a {kind}; this plan has none");
    let unknown = unknown_id(kind, id, all.clone(), &none, see);
    all.any(|k| k == id).then_some(()).ok_or(unknown)
}

fn schema(form: Form) -> String {
    let schema = match form {
        Form::Season => season::schema().clone(),
        Form::Protocol => protocol::schema().clone(),
        Form::Plan => Plan::schema(),
        Form::Chance => SeasonChance::schema(),
        Form::Cover => thawline::cover::Answer::schema(),
        Form::Tank => thawline::tank::Answer::schema(),
        Form::Thaw => thawline::thaw::Thaw::schema(),
        Form::Matings => thawline::mate::Matings::schema(),
    };
    serde_json::to_string_pretty(&schema).unwrap_or_default() + "\n"
}
