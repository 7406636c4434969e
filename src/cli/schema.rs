//! The forms of files and answers, for editors and programs.

use clap::{Args, ValueEnum};
use serde_json::Value;
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

/// The forms: what each holds, its name, and its schema.
macro_rules! forms {
    ($($(#[$doc:meta])+ $name:ident => $schema:expr,)+) => {
        #[derive(Clone, Copy, ValueEnum)]
        enum Form {
            $($(#[$doc])+ $name),+
        }

        impl Form {
            fn schema(self) -> Value {
                match self {
                    $(Self::$name => $schema),+
                }
            }
        }
    };
}

forms! {
    /// The season file.
    Season => season::schema().clone(),
    /// A protocol file.
    Protocol => protocol::schema().clone(),
    /// The plan as JSON.
    Plan => schema_of::<Plan>(),
    /// The chances of planned sessions as JSON.
    Chance => schema_of::<SeasonChance>(),
    /// The answer of `thawline cover` as JSON.
    Cover => schema_of::<thawline::staffing::Staffing>(),
    /// The answer of `thawline tank` as JSON.
    Tank => schema_of::<thawline::tank::TankReport>(),
    /// Thaw rounds as JSON.
    Thaw => schema_of::<thawline::thaw::Thaw>(),
    /// The order list as JSON.
    Supplies => schema_of::<thawline::supplies::OrderList>(),
    /// The answer of `thawline forecast` as JSON.
    Forecast => schema_of::<thawline::forecast::Forecast>(),
    /// Matings as JSON.
    Matings => schema_of::<thawline::matings::Matings>(),
    /// The answer of `thawline choose` as JSON.
    Choose => printed::<thawline::choose::Chosen>(),
    /// The answer of `thawline herd` as JSON.
    Herd => printed::<output::herd::Herds<'_>>(),
    /// Findings of `thawline check`, and of protocol files checked, as JSON.
    Check => printed::<output::findings::Findings<'_>>(),
    /// Protocols as JSON; one alone has the form that it has in the list.
    Protocols => printed::<protocol::select::Selection<'_>>(),
    /// The dates of one protocol as JSON.
    Dates => printed::<protocol::dates::Dates<'_>>(),
    /// The starts of several protocols for one target as JSON.
    Starts => printed::<protocol::dates::Starts<'_>>(),
    /// The answer of `thawline explain` as JSON.
    Explain => printed::<Vec<thawline::glossary::Entry>>(),
}

impl Run for Schema {
    fn run(&self) -> Result<Outcome, Error> {
        let text = serde_json::to_string_pretty(&self.form.schema()).unwrap_or_default();
        Ok(Outcome::printed(text + "\n"))
    }
}
