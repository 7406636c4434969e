//! Arguments that several commands take, and what a command prints.

use std::path::PathBuf;

use clap::{Args, ValueEnum};

#[derive(Args)]
pub(super) struct SeasonFile {
    /// The season file (YAML); - reads standard input.
    pub(super) season: PathBuf,
    #[command(flatten)]
    pub(super) own: OwnProtocols,
    #[arg(from_global)]
    pub(super) units: Option<System>,
}

/// Units that people read.
#[derive(Clone, Copy, ValueEnum)]
pub(super) enum System {
    /// Degrees Fahrenheit, miles, pounds.
    Us,
    /// Degrees Celsius, kilometers, kilograms.
    Metric,
}

impl System {
    pub(super) fn units(self) -> thawline::units::Units {
        match self {
            Self::Us => thawline::units::Units::US,
            Self::Metric => thawline::units::Units::METRIC,
        }
    }
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

#[derive(Clone, Copy, ValueEnum)]
pub(super) enum Form {
    /// The season file.
    Season,
    /// A protocol file.
    Protocol,
    /// The plan as JSON.
    Plan,
    /// The chances of planned sessions as JSON.
    Chance,
    /// The answer of `thawline cover` as JSON.
    Cover,
    /// The answer of `thawline tank` as JSON.
    Tank,
    /// Thaw rounds as JSON.
    Thaw,
    /// The order list as JSON.
    Supplies,
    /// The answer of `thawline forecast` as JSON.
    Forecast,
    /// Matings as JSON.
    Matings,
    /// The answer of `thawline choose` as JSON.
    Choose,
    /// The answer of `thawline herd` as JSON.
    Herd,
    /// Findings of `thawline check`, and of protocol files checked, as JSON.
    Check,
    /// Protocols as JSON; one alone has the form that it has in the list.
    Protocols,
    /// The dates of one protocol as JSON.
    Dates,
    /// The starts of several protocols for one target as JSON.
    Starts,
    /// The answer of `thawline explain` as JSON.
    Explain,
}

/// In which form a command prints.
#[derive(Clone, Copy, PartialEq, Eq)]
pub(super) enum Printed {
    Text,
    Json,
    Csv,
}

impl Printed {
    pub(super) fn of(json: bool, csv: bool) -> Self {
        match (json, csv) {
            (true, _) => Self::Json,
            (_, true) => Self::Csv,
            _ => Self::Text,
        }
    }
}

/// What a command prints, and how it ends.
pub(super) struct Outcome {
    pub(super) out: String,
    pub(super) err: String,
    pub(super) code: u8,
}

impl Outcome {
    pub(super) fn printed(out: String) -> Self {
        Self {
            out,
            err: String::new(),
            code: 0,
        }
    }
}
