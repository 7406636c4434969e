//! Arguments that several commands take, and what a command prints.

use std::path::PathBuf;

use clap::{Args, ValueEnum};
use thawline::error::{Error, Finding, unknown_id};
use thawline::output::answer::{Answer, Kind};
use thawline::units::{Clock, Units};

#[derive(Args)]
pub(super) struct SeasonFile {
    /// The season file (YAML); - reads standard input.
    pub(super) season: PathBuf,
    #[command(flatten)]
    pub(super) own: OwnProtocols,
    #[arg(from_global)]
    pub(super) units: Vec<System>,
}

/// Units that people read.
#[derive(Clone, Copy, ValueEnum)]
pub(super) enum System {
    /// Degrees Fahrenheit, miles, pounds.
    Us,
    /// Degrees Celsius, kilometers, kilograms.
    Metric,
    /// Times of day with am and pm.
    #[value(name = "12h")]
    Clock12,
    /// Times of day from 00:00 to 23:59.
    #[value(name = "24h")]
    Clock24,
}

/// Units as asked for; the others as given.
pub(super) fn told_in(asked: &[System], given: Units) -> Units {
    asked.iter().fold(given, |units, system| match system {
        System::Us => Units::US.on(units.clock),
        System::Metric => Units::METRIC.on(units.clock),
        System::Clock12 => units.on(Clock::H12),
        System::Clock24 => units.on(Clock::H24),
    })
}

#[derive(Args)]
pub(super) struct OwnProtocols {
    /// A directory with protocol files (*.yaml) of your own. A file with the id of a built-in
    /// protocol takes its place, and a note says so.
    #[arg(long, value_name = "DIR")]
    pub(super) protocols: Option<PathBuf>,
}

/// A size of paper.
#[derive(Clone, Copy, ValueEnum)]
pub(super) enum PaperSize {
    /// 8.5 x 11 in.
    Letter,
    /// 210 x 297 mm.
    A4,
}

impl From<PaperSize> for thawline::output::pdf::Paper {
    fn from(size: PaperSize) -> Self {
        match size {
            PaperSize::Letter => Self::Letter,
            PaperSize::A4 => Self::A4,
        }
    }
}

/// In which form a command prints its answer.
#[derive(Args)]
pub(super) struct Printing {
    /// Print JSON.
    #[arg(long)]
    json: bool,
    /// Print a table as comma-separated values, for spreadsheets: the first one, or with =NAME another;
    /// a wrong name lists them.
    #[arg(long, value_name = "NAME", num_args = 0..=1, require_equals = true, default_missing_value = "", conflicts_with = "json")]
    csv: Option<String>,
}

impl Printing {
    /// An answer, what is said beside it, and whether all is well.
    pub(super) fn answer<A: Answer>(
        &self,
        answer: &A,
        err: String,
        well: bool,
    ) -> Result<Outcome, Error> {
        Ok(Outcome::answered(self.print(answer)?, err, well))
    }

    pub(super) fn form(&self) -> Printed {
        match (self.json, &self.csv) {
            (true, _) => Printed::Json,
            (_, Some(_)) => Printed::Csv,
            _ => Printed::Text,
        }
    }

    /// An answer in the form that was asked for.
    pub(super) fn print<A: Answer>(&self, answer: &A) -> Result<String, Finding> {
        match (self.json, self.csv.as_deref()) {
            (true, _) => Ok(answer.json()),
            (_, None) => Ok(answer.text()),
            (_, Some(name)) => {
                let all = answer.tables();
                let asked = |t: &&Kind<A>| name.is_empty() || t.name == name;
                if let Some(table) = all.iter().find(asked) {
                    return Ok(table.of(answer));
                }
                let all = all.iter().map(|t| t.name);
                let see = "`--csv` alone prints the first one";
                Err(unknown_id("table", name, all, "no table", see))
            }
        }
    }
}

/// In which form a command prints.
#[derive(Clone, Copy, PartialEq, Eq)]
pub(super) enum Printed {
    Text,
    Json,
    Csv,
}

/// What a command prints, and how it ends.
pub(super) struct Outcome {
    pub(super) out: String,
    pub(super) err: String,
    pub(super) code: u8,
}

impl Outcome {
    /// An answer, what is said beside it, and whether all is well.
    pub(super) fn answered(out: String, err: String, well: bool) -> Self {
        let code = u8::from(!well);
        Self { out, err, code }
    }

    pub(super) fn printed(out: String) -> Self {
        Self::answered(out, String::new(), true)
    }
}

/// What a command's arguments ask for.
pub(super) trait Run {
    /// True if findings are its answer: a table of them is printed where it fails, too.
    fn answers_with_findings(&self) -> bool {
        false
    }

    fn run(&self) -> Result<Outcome, Error>;
}
