//! The library of protocols for people and programs: listed, chosen from, shown, dated, checked.

use std::path::{Path, PathBuf};

use clap::builder::{PossibleValuesParser, TypedValueParser};
use clap::{ArgGroup, Args};
use serde::de::DeserializeOwned;
use thawline::error::{Error, Finding, has_errors};
use thawline::output::findings::Findings;
use thawline::output::protocols::One;
use thawline::protocol::backwards::{BREEDING_CLOCK, MEAN_GESTATION_DAYS};
use thawline::protocol::dates::{Dates, Starts};
use thawline::protocol::select::Wish;
use thawline::protocol::target::Target;
use thawline::protocol::{Cattle, Class, Kind, Library, Semen, advice};
use thawline::time::{Zone, read};
use thawline::units::{Clock, Units};

use super::asked::{Outcome, OwnProtocols, Printed, Printing, Run, System, told_in};
use super::files;
use super::reading::library;
use super::words::lines;

/// List the synchronization protocols, show or date one, or check your own.
///
/// Without ID: every protocol that suits, with the days from the first treatment to breeding,
/// the trips through the chute, and a timeline. With ID: its steps as a timed table, who it
/// suits, its sources and cautions. With --start, --breed-at or --first-calf: dates.
#[derive(Args)]
#[command(group = ArgGroup::new("moment").multiple(false).requires("zone"))]
pub(super) struct Protocols {
    /// The id of one protocol.
    id: Option<String>,
    #[command(flatten)]
    own: OwnProtocols,
    #[command(flatten)]
    printing: Printing,
    #[arg(from_global)]
    units: Vec<System>,
    #[command(flatten)]
    filters: Filters,
    #[command(flatten)]
    moment: Moment,
    /// Read the protocol files (*.yaml) of a directory of your own, and say everything that is
    /// wrong or worth knowing.
    #[arg(long, value_name = "DIR", conflicts_with_all = ["id", "protocols", "start", "breed_at", "first_calf", "zone", "hours", "gestation_days", "clock"],
          help_heading = "Your own protocols")]
    check: Option<PathBuf>,
}

#[derive(Args)]
#[command(next_help_heading = "Which protocols")]
struct Filters {
    /// Published for these cattle.
    #[arg(long, conflicts_with_all = ["id", "check"], value_parser = one_of::<Class>(["cow", "heifer"]))]
    class: Option<Class>,
    /// Breeding in this way.
    #[arg(long, conflicts_with_all = ["id", "check"], value_parser = one_of::<Kind>(
        ["fixed-time", "estrus-detection", "estrus-detection-then-timed", "split-time"]))]
    kind: Option<Kind>,
    /// Published for these cattle.
    #[arg(long, conflicts_with_all = ["id", "check"], value_parser = one_of::<Cattle>(["beef", "bos-indicus", "dairy"]))]
    cattle: Option<Cattle>,
    /// Published for this semen.
    #[arg(long, conflicts_with_all = ["id", "check"], value_parser = one_of::<Semen>(["conventional", "sexed"]))]
    semen: Option<Semen>,
    /// At most so many days from the first treatment to the first breeding.
    #[arg(long, conflicts_with_all = ["id", "check"], value_name = "N", allow_negative_numbers = true)]
    most_days: Option<u32>,
    /// At most so many trips through the chute, breeding included.
    #[arg(long, conflicts_with_all = ["id", "check"], value_name = "N", allow_negative_numbers = true)]
    most_passes: Option<u32>,
}

#[derive(Args)]
#[command(next_help_heading = "Dates")]
struct Moment {
    /// Date the steps of ID from this local start, such as 2027-05-18T07:00.
    #[arg(long, group = "moment", value_name = "TIME", requires = "id")]
    start: Option<String>,
    /// Count back from breeding at this local time: the start, and with ID all its dates. Where
    /// animals are bred by heat alone, the watch begins then.
    #[arg(long, group = "moment", value_name = "TIME")]
    breed_at: Option<String>,
    /// Count back from the first calves on this date: 12 days before the mean due date (TORELL).
    #[arg(long, group = "moment", value_name = "DATE")]
    first_calf: Option<String>,
    /// The zone of local times, such as America/Denver.
    #[arg(long, requires = "moment")]
    zone: Option<String>,
    /// With --breed-at: elapsed hours from PG, or from the step that breeding counts from, in
    /// place of the protocol's aim.
    #[arg(long, value_name = "HOURS", requires = "breed_at",
          conflicts_with_all = ["start", "first_calf"], allow_negative_numbers = true)]
    hours: Option<f64>,
    /// With --first-calf: mean days from breeding to calving; 283 unless given, the mean of all
    /// breeds (TORELL).
    #[arg(long, value_name = "DAYS", requires = "first_calf", allow_negative_numbers = true,
          conflicts_with_all = ["start", "breed_at"])]
    gestation_days: Option<u32>,
    /// With --first-calf: the clock time of breeding; 08:00 unless given (common practice, no
    /// source).
    #[arg(long, value_name = "HH:MM", requires = "first_calf",
          conflicts_with_all = ["start", "breed_at"])]
    clock: Option<String>,
}

/// The words of a file for a value of the library.
fn one_of<T>(words: impl Into<PossibleValuesParser>) -> impl TypedValueParser<Value = T>
where
    T: DeserializeOwned + Clone + Send + Sync + 'static,
{
    let words: PossibleValuesParser = words.into();
    words.try_map(|word| serde_json::from_value::<T>(word.into()))
}

impl Filters {
    fn wishes(&self) -> Vec<Wish> {
        [
            self.class.map(Wish::Class),
            self.kind.map(Wish::Kind),
            self.cattle.map(Wish::Cattle),
            self.semen.map(Wish::Semen),
            self.most_days.map(Wish::MostDays),
            self.most_passes.map(Wish::MostPasses),
        ]
        .into_iter()
        .flatten()
        .collect()
    }
}

impl Moment {
    fn target(&self, zone: Zone) -> Result<Option<Target>, Finding> {
        if let Some(text) = &self.breed_at {
            let at = read::local(text)?;
            return Ok(Some(Target::of_breeding(zone, at, self.hours)));
        }
        let Some(text) = &self.first_calf else {
            return Ok(None);
        };
        let clock = self.clock.as_deref().map(read::clock).transpose()?;
        let clock = clock.unwrap_or(BREEDING_CLOCK);
        let days = self.gestation_days.unwrap_or(MEAN_GESTATION_DAYS);
        Target::of_first_calf(zone, read::date(text)?, days, clock).map(Some)
    }
}

impl Run for Protocols {
    fn answers_with_findings(&self) -> bool {
        self.check.is_some()
    }

    fn run(&self) -> Result<Outcome, Error> {
        let units = told_in(&self.units, Units::default());
        if let Some(dir) = &self.check {
            return check(dir, &self.printing, units.clock);
        }
        let (library, found) = library(&self.own)?;
        let zone = self.moment.zone.as_deref().map(read::zone).transpose()?;
        let zone = zone.map(|z| z.on(units.clock));
        let target = zone.map(|zone| self.moment.target(zone)).transpose()?;
        let (out, of_dates) = match (&self.id, target.flatten()) {
            (Some(id), target) => self.one(&library, id, zone, target.as_ref())?,
            (None, target) => self.several(&library, target.as_ref())?,
        };
        let mut said = found;
        // A table has no place for what is to be said of it.
        if self.printing.form() == Printed::Csv {
            said.extend(of_dates);
        }
        Ok(Outcome::answered(out, lines(&said), true))
    }
}

impl Protocols {
    /// One protocol, dated if a moment is given, and what is to be said of the dates.
    fn one(
        &self,
        library: &Library,
        id: &str,
        zone: Option<Zone>,
        target: Option<&Target>,
    ) -> Result<(String, Vec<Finding>), Error> {
        let protocol = library.get(id);
        let protocol = protocol.ok_or_else(|| library.unknown(id, Class::Both))?;
        let dates = match (target, zone, &self.moment.start) {
            (Some(target), ..) => Dates::back(protocol, target)?,
            (None, Some(zone), Some(start)) => {
                Dates::from_start(protocol, zone, read::local(start)?)
            }
            _ => {
                let units = told_in(&self.units, Units::default());
                let out = self.printing.print(&One { protocol, units })?;
                return Ok((out, Vec::new()));
            }
        };
        Ok((self.printing.print(&dates)?, dates.dated.findings))
    }

    /// All that suit, or when they start for a target.
    fn several(
        &self,
        library: &Library,
        target: Option<&Target>,
    ) -> Result<(String, Vec<Finding>), Error> {
        let selection = library.select(&self.filters.wishes());
        match target.filter(|_| !selection.protocols.is_empty()) {
            None => Ok((self.printing.print(&selection)?, Vec::new())),
            Some(target) => {
                let starts = Starts::of(selection.protocols, target)?;
                Ok((self.printing.print(&starts)?, starts.findings))
            }
        }
    }
}

fn check(dir: &Path, printing: &Printing, told: Clock) -> Result<Outcome, Error> {
    let (files, unreadable) = files::read_each_protocol(dir)?;
    let files = files.iter().map(|(n, b)| (n.as_str(), b.as_slice()));
    let mut checked = advice::check(files, told);
    checked.found.extend(unreadable);
    if has_errors(&checked.found) {
        return Err(Error::input(checked.found));
    }
    Ok(Outcome::printed(
        printing.print(&Findings::checked(&checked))?,
    ))
}
