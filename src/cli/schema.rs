//! The forms of files and answers, for editors and programs.

use clap::{Args, ValueEnum};
use thawline::document::schema_of;
use thawline::error::Error;
use thawline::output::json::schema_of as printed;
use thawline::plan::Plan;
use thawline::simulate::SeasonChance;
use thawline::{output, protocol, season};

use super::asked::{Outcome, Run};

/// Print the JSON Schema of a file form, for editors.
#[derive(Args)]
pub(super) struct Schema {
    /// Which form.
    form: Form,
}

#[derive(Clone, Copy, ValueEnum)]
enum Form {
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

impl Run for Schema {
    fn run(&self) -> Result<Outcome, Error> {
        let schema = match self.form {
            Form::Season => season::schema().clone(),
            Form::Protocol => protocol::schema().clone(),
            Form::Plan => schema_of::<Plan>(),
            Form::Chance => schema_of::<SeasonChance>(),
            Form::Cover => schema_of::<thawline::staffing::Staffing>(),
            Form::Tank => schema_of::<thawline::tank::TankReport>(),
            Form::Thaw => schema_of::<thawline::thaw::Thaw>(),
            Form::Supplies => schema_of::<thawline::supplies::OrderList>(),
            Form::Forecast => schema_of::<thawline::forecast::Forecast>(),
            Form::Matings => schema_of::<thawline::matings::Matings>(),
            Form::Choose => printed::<thawline::choose::Chosen>(),
            Form::Herd => printed::<output::herd::Herds<'_>>(),
            Form::Check => printed::<output::findings::Findings<'_>>(),
            Form::Protocols => printed::<protocol::select::Selection<'_>>(),
            Form::Dates => printed::<protocol::dates::Dates<'_>>(),
            Form::Starts => printed::<protocol::dates::Starts<'_>>(),
            Form::Explain => printed::<Vec<thawline::glossary::Entry>>(),
        };
        let text = serde_json::to_string_pretty(&schema).unwrap_or_default();
        Ok(Outcome::printed(text + "\n"))
    }
}
