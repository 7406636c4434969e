//! The library of protocols for people and programs: listed, chosen from, shown, dated, checked.

use std::path::{Path, PathBuf};

use clap::builder::{PossibleValuesParser, TypedValueParser};
use clap::{ArgGroup, Args};
use serde::de::DeserializeOwned;
use thawline::error::{Error, Finding, has_errors};
use thawline::output::{dates, protocols_csv};
use thawline::protocol::backwards::{BREEDING_CLOCK, Backwards, MEAN_GESTATION_DAYS};
use thawline::protocol::select::Wish;
use thawline::protocol::target::Target;
use thawline::protocol::timetable::timetable;
use thawline::protocol::{Cattle, Class, Kind, Library, Protocol, Semen, advice};
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
    /// Count back from calves on this date, at the mean length of gestation.
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
    fn target(&self) -> Result<Option<Target>, Finding> {
        if let Some(text) = &self.breed_at {
            return Ok(Some(Target::Breeding {
                at: read::local(text)?,
                hours: self.hours,
            }));
        }
        let Some(text) = &self.first_calf else {
            return Ok(None);
        };
        let clock = self.clock.as_deref().map(read::clock).transpose()?;
        Ok(Some(Target::FirstCalf {
            date: read::date(text)?,
            gestation_days: self.gestation_days.unwrap_or(MEAN_GESTATION_DAYS),
            clock: clock.unwrap_or(BREEDING_CLOCK),
        }))
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
        let target = self.moment.target()?;
        let mut of_dates = Vec::new();
        let out = match (&self.id, zone, target) {
            (Some(id), zone, target) => {
                let protocol = library
                    .get(id)
                    .ok_or_else(|| library.unknown(id, Class::Both))?;
                match (zone, target, &self.moment.start) {
                    (Some(zone), Some(target), _) => {
                        back(protocol, zone, &target, &self.printing, &mut of_dates)?
                    }
                    (Some(zone), None, Some(start)) => {
                        forwards(protocol, zone, start, &self.printing, &mut of_dates)?
                    }
                    _ => self.printing.print(&protocols_csv::One {
                        protocol,
                        library: &library,
                        units,
                    })?,
                }
            }
            (None, Some(zone), Some(target)) => {
                starts(self, &library, zone, &target, &mut of_dates)?
            }
            (None, ..) => list(self, &library)?,
        };
        let mut said = found;
        // A table has no place for what is to be said of it.
        if self.printing.form() == Printed::Csv {
            said.extend(of_dates);
        }
        Ok(Outcome::answered(out, lines(&said), true))
    }
}

fn list(args: &Protocols, library: &Library) -> Result<String, Finding> {
    let selection = library.select(&args.filters.wishes());
    args.printing.print(&protocols_csv::Chosen {
        selection: &selection,
        library,
    })
}

fn forwards(
    protocol: &Protocol,
    zone: Zone,
    start: &str,
    printing: &Printing,
    said: &mut Vec<Finding>,
) -> Result<String, Error> {
    let dates = timetable(protocol, zone, read::local(start)?);
    let found = dates.findings(protocol);
    let out = printing.print(&dates::Dated {
        protocol,
        dates: &dates,
        back: None,
        found: &found,
    })?;
    said.extend(found);
    Ok(out)
}

/// A skipped or repeated time that was asked for.
fn asked(zone: Zone, target: &Target) -> Result<Vec<Finding>, Finding> {
    let doubt = zone.resolve(target.breeding()?).doubt;
    let finding = doubt.map(|d| d.finding(zone).hint("ask for another hour if this matters"));
    Ok(finding.into_iter().collect())
}

fn back(
    protocol: &Protocol,
    zone: Zone,
    target: &Target,
    printing: &Printing,
    said: &mut Vec<Finding>,
) -> Result<String, Error> {
    let mut found = asked(zone, target)?;
    let back = target.start(protocol, zone)?;
    found.extend(back.findings(protocol));
    let out = printing.print(&dates::Dated {
        protocol,
        dates: &back.timetable,
        back: Some((target, &back)),
        found: &found,
    })?;
    said.extend(found);
    Ok(out)
}

fn starts(
    args: &Protocols,
    library: &Library,
    zone: Zone,
    target: &Target,
    said: &mut Vec<Finding>,
) -> Result<String, Error> {
    let selection = library.select(&args.filters.wishes());
    if selection.protocols.is_empty() {
        return Ok(list(args, library)?);
    }
    let found = asked(zone, target)?;
    let mut all: Vec<(&Protocol, Backwards)> = Vec::new();
    let mut left_out: Vec<(&Protocol, Finding)> = Vec::new();
    for protocol in selection.protocols {
        match target.start(protocol, zone) {
            Ok(back) => all.push((protocol, back)),
            Err(finding) => left_out.push((protocol, finding)),
        }
    }
    if all.is_empty() {
        return Err(Error::input(left_out.into_iter().map(|(_, f)| f).collect()));
    }
    all.sort_by_key(|(_, back)| back.start());
    let out = args.printing.print(&dates::Starts {
        target,
        zone,
        starts: &all,
        left_out: &left_out,
        found: &found,
    })?;
    said.extend(found);
    Ok(out)
}

fn check(dir: &Path, printing: &Printing, told: Clock) -> Result<Outcome, Error> {
    let (files, unreadable) = files::read_each_protocol(dir)?;
    let files = files.iter().map(|(n, b)| (n.as_str(), b.as_slice()));
    let mut checked = advice::check(files, told);
    checked.found.extend(unreadable);
    if has_errors(&checked.found) {
        return Err(Error::input(checked.found));
    }
    Ok(Outcome::printed(printing.print(&checked)?))
}
