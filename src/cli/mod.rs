//! Arguments and commands. Everything that plans, checks or writes forms is the library's.

mod asked;
mod calendar;
mod chance;
mod choose;
mod colour;
mod commands;
mod cover;
mod explain;
mod files;
mod forecast;
mod herd;
mod matings;
mod progress;
mod protocols;
mod reading;
mod supplies;
mod tank;
mod thaw;
mod words;
mod writing;

use std::fmt::Write as _;
use std::io::Write as _;
use std::path::PathBuf;
use std::process::ExitCode;

use clap::{CommandFactory as _, Parser, Subcommand};
use thawline::error::{Error, Severity, visible_text};

use asked::{Form, Outcome, OwnProtocols, PaperSize, Printed, SeasonFile, System};

/// Plan a cattle breeding season: protocols become dated chute work, breeding is spread over
/// technicians and thawed straws, and the result goes to phones, paper and JSON.
///
/// A season is one YAML file. Start from demo/season.yaml, check it with `thawline check`, then
/// plan it with `thawline plan`.
#[derive(Parser)]
#[command(name = "thawline", version, long_version = version(), max_term_width = 80, after_help = EXIT_CODES)]
struct Cli {
    /// Units that people read, in place of the season's own: us is F, miles, lb; metric C, km, kg.
    /// JSON and tables keep theirs.
    #[arg(long, global = true, value_name = "WHICH")]
    units: Option<System>,
    #[command(subcommand)]
    command: Command,
}

const EXIT_CODES: &str = "\
Exit codes:
  0  all well
  1  the plan is made but falls short: animals not covered, a rule broken,
     the search stopped by hand (Ctrl-C; a second one ends at once), or a part
     of its files left out, which standard error names
  2  the input is wrong; what and where is printed
  3  a fault of this program: there is no answer";

#[derive(Subcommand)]
enum Command {
    /// List the synchronization protocols, show or date one, or check your own.
    ///
    /// Without ID: every protocol that suits, with the days from the first treatment to breeding,
    /// the trips through the chute, and a timeline. With ID: its steps as a timed table, who it
    /// suits, its sources and cautions. With --start, --breed-at or --first-calf: dates.
    Protocols(protocols::Protocols),
    /// Read a season and print everything that is wrong or worth knowing.
    ///
    /// Each finding has a code, file, line, column and field, what was expected and what to do.
    /// All of them are printed, not only the first.
    Check {
        #[command(flatten)]
        season: SeasonFile,
        /// Print JSON.
        #[arg(long)]
        json: bool,
        /// Print the findings as comma-separated values, for spreadsheets.
        #[arg(long, conflicts_with = "json")]
        csv: bool,
        /// Exit with 1 when there are warnings.
        #[arg(long)]
        strict: bool,
    },
    /// Choose protocols and starts by the wishes of groups.
    ///
    /// A group may have `wishes` in place of, or beside, a protocol and a start. Every protocol
    /// at every start is looked at; what breaks a wish is dropped, with the reason; the rest is
    /// judged by what people weigh.
    Choose(choose::Choose),
    /// Say how sure the planned sessions are, as minutes a cow vary.
    ///
    /// Each session is tried on thousands of days, every cow taking a time of her own: when the
    /// last cow is bred, how often a cow is outside her hours or a straw too old, and what other
    /// numbers of straws at once would do. The same seed gives the same figures.
    Chance(chance::Chances),
    /// Say whether the crew, or some of it, can breed a group, and what would make it so.
    ///
    /// The verdict with its margin and what binds; the hours of each pen, the first and last cow
    /// with the hours since her own treatment; the largest group that one technician, two, three
    /// cover; and, where animals are left, the changes that cover them, the least asked first, each
    /// planned and verified before it is shown.
    Cover(cover::Cover),
    /// Plan a season: the main job.
    ///
    /// Prints the verdict and the dated work. With --out, writes plan.json, season.ics, one
    /// technician-ID.ics for each technician, and season.html. Files of an earlier plan are
    /// replaced only when every new one is complete. Its calendars are read before: the new ones
    /// count on from them, and cancel the events that went away.
    Plan {
        #[command(flatten)]
        season: SeasonFile,
        /// The directory for the files; made if it is not there.
        #[arg(long, value_name = "DIR")]
        out: Option<PathBuf>,
        /// Write season.pdf too: the pages of season.html for plain paper, with thaw rounds; each
        /// day of breeding on sheets of its own.
        #[arg(long, requires = "out")]
        pdf: bool,
        /// The size of its paper.
        #[arg(long, value_name = "SIZE", default_value = "letter", requires = "pdf")]
        paper: PaperSize,
        /// Print the plan as JSON in place of text.
        #[arg(long)]
        json: bool,
        /// Print all dated work as comma-separated values, for spreadsheets.
        #[arg(long, conflicts_with = "json")]
        csv: bool,
        /// Print every pen, session and finding, however long the text: that of a large season is
        /// shortened otherwise.
        #[arg(long, conflicts_with_all = ["json", "csv"])]
        full: bool,
        #[command(flatten)]
        over: writing::Over,
    },
    /// Print the season's calendar, for phones.
    ///
    /// An iCalendar file (RFC 5545) with every pass and session, and with what follows AI: return
    /// heats, bulls, pregnancy checks, calving, withdrawal. Importing a later one updates the
    /// events of an earlier one; with --previous, events that went away are cancelled, too.
    /// `SOURCE_DATE_EPOCH` sets its time stamp, for output that is the same from run to run.
    Calendar {
        #[command(flatten)]
        season: SeasonFile,
        /// Only what this technician does, by id.
        #[arg(long = "for", value_name = "TECHNICIAN")]
        technician: Option<String>,
        /// The calendar that was exported before: what changed counts on from it, and what went
        /// away is cancelled.
        #[arg(long, value_name = "OLD.ics")]
        previous: Option<PathBuf>,
        /// Write to this file in place of standard output.
        #[arg(short, long, value_name = "FILE")]
        output: Option<PathBuf>,
        #[command(flatten)]
        over: writing::Over,
    },
    /// Say which animals of the herds are ready on their group's first day.
    ///
    /// For groups that name a herd file (`herd: cows.csv`): how many are ready, who should wait
    /// and until when, who needs a progestin, and whose cells are blank; with the published
    /// thresholds and where they come from.
    ///
    /// A herd file is a table as comma-separated values (CSV; semicolons or tabs will do), one
    /// row for each animal. Its first line names the columns, in any order: animal must be there
    /// (a tag, or 15 digits of an electronic id); the others if known: class, `birth_date`,
    /// `last_calving_date`, breed, `body_condition` (1 to 9), `weight_lb` or `weight_kg`, `weighed_date`,
    /// `mature_weight_lb` or `mature_weight_kg`, `frame_score`, `tract_score` (1 to 5), sire, dam,
    /// mating and `second_mating` (bulls that you give her), sexed (`yes` for sexed semen), pen and
    /// `chute_order` (her number in it, for thaw rounds that name her), notes.
    /// Dates are written 2027-05-17; a blank cell is not known.
    Herd {
        #[command(flatten)]
        season: SeasonFile,
        /// Only this group, by id.
        #[arg(long, value_name = "ID")]
        group: Option<String>,
        /// Print JSON, with each animal.
        #[arg(long)]
        json: bool,
        /// Print a row for each animal as comma-separated values, for spreadsheets.
        #[arg(long, conflicts_with = "json")]
        csv: bool,
        /// List the animals that are ready too.
        #[arg(long)]
        all: bool,
    },
    /// Show the tanks: what is where, what each session leaves, and when to refill.
    ///
    /// Each tank from above with its canisters; canes, goblets, bulls, straw size and sort; which
    /// straws each session of the plan takes and what is left; and, where the season lists `tanks`
    /// with dipstick readings, what the nitrogen loses a day and the day to refill by.
    Tank(tank::Tanks),
    /// Show a session's thaw rounds by the minute, from tank to cow.
    ///
    /// For each technician which straws, out of which canister, go into the bath when, the
    /// earliest moment to take them out, and by when they must be in their cows; how often each
    /// canister is lifted; straws for cows that never come; what the bath's water can do; and
    /// the pace with 1 to 8 straws at once, alone and with a helper. Without --session the
    /// sessions are listed. --page writes a sheet for each technician, to tape to the wall.
    Thaw(thaw::Rounds),
    /// List what to have at hand for the season, and by which day.
    ///
    /// Doses of each drug by class and by day, with the volume at each published strength; MGA feed
    /// by head and day; inserts, patches, needles, sheaths, gloves and towels; straws by bull; liquid
    /// nitrogen. With `supplies` in the season file (sizes of packages, doses by your labels): which
    /// packages to buy, with the fewest leftovers, and when each bottle is opened.
    Supplies(supplies::Order),
    /// Say which animal gets which bull, and where the straw sits.
    ///
    /// For each animal of the groups' herd files a bull and a backup bull: as many as can get one,
    /// calving-ease bulls for heifers, then the best sum of scores that the straws on hand allow,
    /// proven; never a sire, a half-brother or a son, as far as parents are known; sexed straws
    /// for those marked only. What herd files give in `mating` and `second_mating` is kept. The
    /// straw is the one that `tank` and `thaw` take for her group. Bulls have their facts under
    /// `bulls` in the season file; scores are a CSV file under `scores`.
    Matings(matings::Asked),
    /// Say what a word, a caution, the code of a finding, a protocol or a key of a file means.
    ///
    /// Without a word all of them are listed.
    Explain(explain::Asked),
    /// Print a completion script for a shell.
    ///
    /// For bash: thawline completions bash > ~/.local/share/bash-completion/completions/thawline
    Completions {
        /// Which shell.
        shell: clap_complete::Shell,
    },
    /// Write manual pages: one of the program, and one of each command.
    Man {
        /// The directory for the pages; made if it is not there.
        #[arg(long, value_name = "DIR")]
        out: PathBuf,
        #[command(flatten)]
        over: writing::Over,
    },
    /// Say what comes of the season: pregnancies, calves by day, and money.
    ///
    /// By group: pregnant to AI by the published percentages of its protocol or your own, those
    /// that come back in heat, what clean-up bulls settle, and who stays open, each with its
    /// spread; when calves come, day by day, and how many in the first 21 days. What AI costs a head, a
    /// pregnancy and a calf at your own prices, and a partial budget against natural service; what has
    /// no price is named and in no sum. Groups have their facts under `calves`, the season under `prices`
    /// and `money`.
    Forecast(forecast::Forecast),
    /// Print the JSON Schema of a file form, for editors.
    Schema {
        /// Which form.
        form: Form,
    },
}

/// The program's version, and the release of the zone data, from the folder `TZDIR` where it is set.
fn version() -> &'static str {
    static TEXT: std::sync::OnceLock<String> = std::sync::OnceLock::new();
    TEXT.get_or_init(|| {
        use_zone_folder();
        let zones = thawline::time::data_version();
        format!("{}\nzone data: IANA {zones}", env!("CARGO_PKG_VERSION"))
    })
}

/// Takes zone data from the folder that `TZDIR` names, as other programs of the system do. A zone that
/// is not there is taken from the compiled data.
fn use_zone_folder() {
    let Some(folder) = std::env::var_os("TZDIR").map(PathBuf::from) else {
        return;
    };
    if !folder.is_dir() {
        return;
    }
    let release = |name: &str| {
        let text = std::fs::read_to_string(folder.join(name)).ok()?;
        let line = text.lines().next()?.trim_start_matches("# version ").trim();
        (!line.is_empty() && line.len() < 20).then(|| line.to_owned())
    };
    let release = release("tzdata.zi").or_else(|| release("+VERSION"));
    let release = release.unwrap_or_else(|| "of an unknown release".to_owned());
    let source = thawline::time::Source {
        version: format!("{release} (TZDIR)"),
        read: Box::new(move |name| {
            let file = folder.join(name);
            file.is_file().then(|| std::fs::read(file).ok()).flatten()
        }),
    };
    // A second call finds the first one's source in use.
    drop(thawline::time::use_source(source));
}

/// Runs the command of the process's arguments.
pub(crate) fn run() -> ExitCode {
    use_zone_folder();
    match Cli::try_parse() {
        Ok(asked) => print(&done(asked.command)),
        Err(e) if e.use_stderr() => print(&Outcome {
            out: String::new(),
            err: e.render().to_string(),
            code: 2,
        }),
        // Help, which quotes nobody.
        Err(e) => e.exit(),
    }
}

/// What each command does.
fn done(command: Command) -> Outcome {
    // A failed command prints its findings in the form of data that was asked for: as JSON always, as a
    // table where findings are what it prints.
    let mut findings = Printed::Text;
    let (json, result) = match command {
        Command::Protocols(args) => {
            if args.checks() {
                findings = args.form();
            }
            (args.form() == Printed::Json, protocols::run(&args))
        }
        Command::Check {
            season,
            json,
            csv,
            strict,
        } => {
            findings = Printed::of(json, csv);
            (json, commands::check(&season, findings, strict))
        }
        Command::Choose(args) => (args.json, choose::run(&args)),
        Command::Chance(args) => (args.json, chance::run(&args)),
        Command::Cover(args) => (args.json, cover::run(&args)),
        Command::Thaw(args) => (args.json, thaw::run(&args)),
        Command::Plan {
            season,
            out,
            pdf,
            paper,
            json,
            csv,
            full,
            over,
        } => {
            let paper = pdf.then_some(paper.into());
            let form = Printed::of(json, csv);
            let out = out.as_deref().map(|dir| (dir, over));
            (json, commands::plan(&season, out, paper, form, full))
        }
        Command::Calendar {
            season,
            technician,
            previous,
            output,
            over,
        } => (
            false,
            calendar::run(
                &season,
                technician.as_deref(),
                previous.as_deref(),
                output.as_deref().map(|path| (path, over)),
            ),
        ),
        Command::Herd {
            season,
            group,
            json,
            csv,
            all,
        } => {
            let form = Printed::of(json, csv);
            (json, herd::run(&season, group.as_deref(), form, all))
        }
        Command::Supplies(args) => (args.json, supplies::run(&args)),
        Command::Tank(args) => (args.json, tank::run(&args)),
        Command::Forecast(args) => (args.json, forecast::run(&args)),
        Command::Matings(args) => (args.json, matings::run(&args)),
        Command::Explain(args) => (args.json, explain::run(&args)),
        Command::Completions { shell } => (false, Ok(explain::completions(shell, Cli::command()))),
        Command::Man { out, over } => (false, explain::manual(&out, over, Cli::command())),
        Command::Schema { form } => (false, Ok(Outcome::printed(commands::schema(form)))),
    };
    if json {
        findings = Printed::Json;
    }
    result.unwrap_or_else(|error| failed(&error, findings))
}

fn failed(error: &Error, form: Printed) -> Outcome {
    let mut outcome = Outcome {
        out: String::new(),
        err: words::lines(error.findings()),
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
            words::plural(errors)
        );
    } else {
        outcome.err += "This is a fault of thawline, not of your file; nothing was written.\n";
    }
    match form {
        Printed::Json => outcome.out = thawline::output::json::findings(error.findings()),
        Printed::Csv => outcome.out = thawline::output::findings_csv::csv(error.findings()),
        Printed::Text => {}
    }
    outcome
}

/// The one place that prints. Whatever a file, its name or an argument holds: no terminal obeys it.
fn print(outcome: &Outcome) -> ExitCode {
    let (out, err) = (visible_text(&outcome.out), visible_text(&outcome.err));
    // A reader that goes away, as `head` does, is no fault of ours.
    // Files, pipes and `NO_COLOR` get every byte as it is.
    let plain = |choice| choice == anstream::ColorChoice::Never;
    let _ = if plain(anstream::AutoStream::choice(&std::io::stderr())) {
        std::io::stderr().write_all(err.as_bytes())
    } else {
        anstream::stderr().write_all(colour::coloured(&err).as_bytes())
    };
    let printed = if plain(anstream::AutoStream::choice(&std::io::stdout())) {
        let mut to = std::io::stdout().lock();
        to.write_all(out.as_bytes()).and_then(|()| to.flush())
    } else {
        let mut to = anstream::stdout().lock();
        to.write_all(colour::coloured(&out).as_bytes())
            .and_then(|()| to.flush())
    };
    match printed {
        Err(e) if e.kind() != std::io::ErrorKind::BrokenPipe => {
            let _ = writeln!(std::io::stderr(), "thawline: cannot print: {e}");
            ExitCode::from(2)
        }
        _ => ExitCode::from(outcome.code),
    }
}
