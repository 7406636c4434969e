//! Checks, plans and schemas.

use std::path::{Path, PathBuf};

use thawline::chance::SeasonChance;
use thawline::error::{Code, Error, Finding, Severity, has_errors, sort_findings, visible};
use thawline::output::pdf::Paper;
use thawline::plan::Plan;
use thawline::tank as tank_of;
use thawline::{dating, output, pipeline, protocol, season};

use super::progress::Shown;
use super::reading::read;
use super::words::{beside, lines, plural};
use super::writing::Over;
use super::{Form, Outcome, Printed, SeasonFile, calendar, files, matings, writing};

pub(super) fn check(file: &SeasonFile, form: Printed, strict: bool) -> Result<Outcome, Error> {
    let (season, mut found) = read(file)?;
    found.extend(dating::date(&season).findings);
    // Before the choice, a season with open groups is as it should be.
    found.extend(season.open.iter().map(|g| Finding {
        severity: Severity::Note,
        ..pipeline::still_open(g)
    }));
    found.extend(thawline::files::check(
        &season,
        &files::Beside(&file.season),
    )?);
    sort_findings(&mut found);
    found.dedup();
    debug_assert!(!has_errors(&found));
    let warnings = found
        .iter()
        .filter(|f| f.severity == Severity::Warning)
        .count();
    let out = match form {
        Printed::Json => output::json::findings(&found),
        Printed::Csv => output::findings_csv::csv(&found),
        Printed::Text => format!(
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
        ),
    };
    Ok(Outcome {
        out,
        err: String::new(),
        code: u8::from(strict && warnings > 0),
    })
}

pub(super) fn plan(
    file: &SeasonFile,
    out: Option<(&Path, Over)>,
    pdf: Option<Paper>,
    form: Printed,
    full: bool,
) -> Result<Outcome, Error> {
    let (mut season, found) = read(file)?;
    let before = match out {
        Some((dir, _)) => calendar::Before::read(dir)?,
        None => calendar::Before::default(),
    };
    let plan = matings::planned(&mut season, &file.season, &found, &Shown::new())?;
    let mut err = String::new();
    let mut left_out = LeftOut::default();
    if let Some((dir, over)) = out {
        let forecast = left_out.unless("calves and money", pipeline::forecast(&season, &plan));
        let tanks = tank_of::look(&season, &plan);
        let mut files = plan_files(&plan, &tanks, forecast.as_ref(), dir, &before)?;
        let mut otherwise = None;
        if let Some(paper) = pdf {
            let rounds = left_out.unless("thaw rounds", pipeline::rounds(&season, &plan));
            let rounds = rounds.unwrap_or_default();
            let printed =
                output::pdf::season(&plan, Some(&tanks), forecast.as_ref(), &rounds, paper);
            if let Some(printed) = left_out.unless("the PDF", printed) {
                otherwise = printed.instead_words();
                files.push((dir.join(files::PDF), printed.bytes));
            }
        }
        err += &before.of_other_seasons(&plan)?;
        let mixed = writing::of_several_plans(files.iter().map(|(p, _)| p.as_path()));
        writing::write_all(&files, over)?;
        let names: Vec<String> = files
            .iter()
            .filter_map(|(p, _)| p.file_name().map(|n| n.to_string_lossy().into_owned()))
            .collect();
        err += &output::wrapped(
            &format!(
                "Written to {}, plan {}: {}.",
                dir.display(),
                plan.id,
                names.join(", ")
            ),
            "",
            "  ",
        );
        err.push('\n');
        if let Some(words) = otherwise {
            err += &output::wrapped(&words, "", "  ");
            err.push('\n');
        }
        if let Some(mixed) = mixed {
            let said = format!(
                "There were files of several plans here, as a run was ended while it replaced them \
                 ({mixed}). All of them are of this plan now."
            );
            err += &(output::wrapped(&said, "", "  ") + "\n");
        }
        let left = files::left_over(dir, &files);
        if !left.is_empty() {
            let left = left.join(", ");
            let said = format!("Left from an earlier plan, and not of this one: {left}.");
            err += &(output::wrapped(&said, "", "  ") + "\n");
        }
    }
    if form == Printed::Csv {
        // A table has no place for the verdict.
        err += &beside(&plan, &found);
    }
    err += &lines(&left_out.0);
    Ok(Outcome {
        out: match form {
            Printed::Json => output::json::plan(&plan),
            Printed::Csv => output::plan_csv::csv(&plan),
            Printed::Text if full => output::text::plan_in_full(&plan),
            Printed::Text => output::text::plan(&plan),
        },
        err,
        code: u8::from(!plan.is_well() || !left_out.0.is_empty()),
    })
}

/// Parts of the files that do not hold when they are counted again. The plan is written without them.
#[derive(Default)]
struct LeftOut(Vec<Finding>);

impl LeftOut {
    /// A part, or what is wrong with it.
    fn unless<T>(&mut self, part: &str, made: Result<T, Error>) -> Option<T> {
        let error = match made {
            Ok(made) => return Some(made),
            Err(error) => error,
        };
        let found = error.findings();
        let why = found.first().map_or_else(String::new, |f| f.what.clone());
        let more = match found.len() {
            0 | 1 => String::new(),
            n => format!(" (and {} more)", n - 1),
        };
        let first = Finding::warning(
            Code::Verify,
            format!("the files leave out {part}: {why}{more}"),
        );
        let expected = found.first().and_then(|f| f.expected.clone());
        self.0.push(Finding {
            expected,
            ..first.hint("the plan holds without it; please report this with the season file")
        });
        None
    }
}

fn plan_files(
    plan: &Plan,
    tanks: &tank_of::Answer,
    forecast: Option<&thawline::forecast::Answer>,
    dir: &Path,
    before: &calendar::Before,
) -> Result<Vec<(PathBuf, Vec<u8>)>, Error> {
    let mut files = vec![
        (dir.join("plan.json"), output::json::plan(plan)),
        (
            dir.join("season.html"),
            output::page::page_with(plan, Some(tanks), forecast),
        ),
    ];
    files.splice(1..1, before.calendars(plan, dir)?);
    let bytes = |(path, text): (PathBuf, String)| (path, text.into_bytes());
    Ok(files.into_iter().map(bytes).collect())
}

pub(super) fn schema(form: Form) -> String {
    let schema = match form {
        Form::Season => season::schema().clone(),
        Form::Protocol => protocol::schema().clone(),
        Form::Plan => Plan::schema(),
        Form::Chance => SeasonChance::schema(),
        Form::Cover => thawline::cover::Answer::schema(),
        Form::Tank => thawline::tank::Answer::schema(),
        Form::Thaw => thawline::thaw::Thaw::schema(),
        Form::Supplies => thawline::supplies::Answer::schema(),
        Form::Forecast => thawline::forecast::Answer::schema(),
        Form::Matings => thawline::mate::Matings::schema(),
        Form::Choose => output::choose::schema(),
        Form::Herd => output::json::herds_schema(),
        Form::Check => output::json::findings_schema(),
        Form::Protocols => output::json::protocols_schema(),
        Form::Dates => output::dates_json::dated_schema(),
        Form::Starts => output::dates_json::starts_schema(),
        Form::Explain => output::glossary::schema(),
    };
    serde_json::to_string_pretty(&schema).unwrap_or_default() + "\n"
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_part_that_does_not_hold_is_told_and_left_out() {
        let mut left_out = LeftOut::default();
        assert_eq!(left_out.unless("the PDF", Ok(7)), Some(7));
        assert!(left_out.0.is_empty());
        let wrong = |what| Finding::error(Code::Verify, what).expected("1.50 a head");
        let faults = vec![wrong("a pregnancy: the forecast has 2.50"), wrong("any")];
        let made: Result<u8, Error> = Err(Error::internal(faults));
        assert_eq!(left_out.unless("calves and money", made), None);
        // Sentences are wrapped to the terminal.
        let told = lines(&left_out.0);
        let told = told.split_whitespace().collect::<Vec<_>>().join(" ");
        for words in [
            "warning V101",
            "leave out calves and money",
            "the forecast has 2.50 (and 1 more)",
            "expected: 1.50 a head",
            "the plan holds without it",
        ] {
            assert!(told.contains(words), "{words}: {told}");
        }
    }
}
