//! Arguments and commands. Everything that plans, checks or writes forms is the library's.

mod asked;
mod calendar;
mod chance;
mod check;
mod choose;
mod colour;
mod cover;
mod explain;
mod files;
mod forecast;
mod herd;
mod matings;
mod new;
mod plan;
mod progress;
mod protocols;
mod reading;
mod schema;
mod supplies;
mod tank;
mod thaw;
mod words;
mod writing;

use std::fmt::Write as _;
use std::io::Write as _;
use std::path::PathBuf;
use std::process::ExitCode;

use clap::{ArgMatches, CommandFactory as _, FromArgMatches as _, Parser, Subcommand};
use thawline::error::{Error, Severity, visible_text};
use thawline::output::answer::Answer as _;
use thawline::output::findings::{self, Findings};

use asked::{Outcome, Printed, Run, System};

/// Plan a cattle breeding season: protocols become dated chute work, breeding is spread over
/// technicians and thawed straws, and the result goes to phones, paper and JSON.
///
/// A season is one YAML file. Begin one with `thawline new`, check it with `thawline check`, then
/// plan it with `thawline plan`.
#[derive(Parser)]
#[command(name = "thawline", version, long_version = version(), max_term_width = 80, after_help = EXIT_CODES)]
struct Cli {
    /// Units that people read, in place of the season's own: us is F, miles, lb; metric C, km, kg; 12h
    /// and 24h are clocks, as in us,12h. JSON and tables keep theirs.
    #[arg(long, global = true, value_name = "WHICH", value_delimiter = ',')]
    units: Vec<System>,
    #[command(subcommand)]
    command: Command,
}

const EXIT_CODES: &str = "\
Exit codes:
  0  all well
  1  the plan is made but falls short: animals not bred in time, a rule broken,
     the search stopped by hand (Ctrl-C; a second one ends at once), or a part
     of its files left out, which standard error names
  2  the input is wrong; what and where is printed
  3  a fault of this program: there is no answer";

/// The table of commands: a name and its arguments, which say in their first lines what it is for and
/// know how to run it. Help, completions and manual pages follow from it.
macro_rules! commands {
    ($($name:ident($args:ty)),* $(,)?) => {
        #[derive(Subcommand)]
        enum Command {
            $($name($args)),*
        }

        impl Command {
            fn asked(&self) -> &dyn Run {
                match self {
                    $(Self::$name(args) => args),*
                }
            }
        }
    };
}

commands! {
    New(new::New),
    Protocols(protocols::Protocols),
    Check(check::Check),
    Choose(choose::Choose),
    Chance(chance::Chances),
    Cover(cover::Cover),
    Plan(plan::Plan),
    Calendar(calendar::Calendar),
    Herd(herd::Herd),
    Tank(tank::Tanks),
    Thaw(thaw::Rounds),
    Supplies(supplies::Order),
    Matings(matings::Asked),
    Explain(explain::Asked),
    Completions(explain::Completions),
    Man(explain::Man),
    Forecast(forecast::Forecast),
    Schema(schema::Schema),
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
/// is not there is taken from the compiled data. Says so where it names no folder.
fn use_zone_folder() -> Option<String> {
    let folder = PathBuf::from(std::env::var_os("TZDIR").filter(|dir| !dir.is_empty())?);
    if !folder.is_dir() {
        let folder = folder.display();
        return Some(format!(
            "TZDIR names {folder}, which is no folder: zone data of the program itself are used.\n"
        ));
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
    None
}

/// Runs the command of the process's arguments.
pub(crate) fn run() -> ExitCode {
    let zones = use_zone_folder();
    let matches = Cli::command().try_get_matches().and_then(|matches| {
        let asked = Cli::from_arg_matches(&matches);
        let asked = asked.map_err(|e| e.format(&mut Cli::command()))?;
        Ok((asked.command, matches))
    });
    match matches {
        Ok((command, matches)) => {
            let asked = command.asked();
            let form = || failing(asked, &matches);
            let mut outcome = asked.run().unwrap_or_else(|error| failed(&error, form()));
            outcome.err.insert_str(0, &zones.unwrap_or_default());
            print(&outcome)
        }
        Err(e) if e.use_stderr() => print(&Outcome {
            out: String::new(),
            err: e.render().to_string(),
            code: 2,
        }),
        // Help, which quotes nobody.
        Err(e) => e.exit(),
    }
}

impl Run for explain::Completions {
    fn run(&self) -> Result<Outcome, Error> {
        Ok(self.of(Cli::command()))
    }
}

impl Run for explain::Man {
    fn run(&self) -> Result<Outcome, Error> {
        self.of(Cli::command())
    }
}

/// In which form a command that fails prints its findings: in that of its answer, but as a table only
/// where they are the answer.
fn failing(asked: &dyn Run, matches: &ArgMatches) -> Printed {
    let given = matches.subcommand().map(|(_, given)| given);
    let json = given.and_then(|g| g.try_get_one::<bool>("json").ok()?);
    let csv = given.and_then(|g| g.try_get_one::<String>("csv").ok()?);
    match (json, csv) {
        (Some(true), _) => Printed::Json,
        (_, Some(_)) if asked.answers_with_findings() => Printed::Csv,
        _ => Printed::Text,
    }
}

fn failed(error: &Error, form: Printed) -> Outcome {
    let mut outcome = Outcome {
        out: String::new(),
        err: words::lines(error.findings()),
        code: if error.is_input() { 2 } else { 3 },
    };
    if error.is_input() {
        let errors = error.findings().iter();
        let errors = errors.filter(|f| f.severity == Severity::Error).count();
        let it = if errors == 1 { "it" } else { "them" };
        let _ = writeln!(
            outcome.err,
            "{errors} error{}. Fix {it} and run the command again; no file was changed.",
            words::plural(errors)
        );
    } else {
        outcome.err += "This is a fault of thawline, not of your file; no file was changed.\n";
    }
    let found = Findings::of(error.findings(), "");
    match form {
        Printed::Json => outcome.out = found.json(),
        Printed::Csv => outcome.out = findings::csv(&found),
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
