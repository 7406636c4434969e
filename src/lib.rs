//! Plans and runs a cattle breeding season: synchronization protocols become dated chute work,
//! breeding is spread over technicians and thawed straws, and the result goes to phones, paper
//! and JSON.
//!
//! From the season file to the plan:
//!
//! ```
//! use thawline::{pipeline, protocol::Library, output, season};
//!
//! let text = include_bytes!("../demo/season.yaml");
//! let library = Library::built_in();
//! let (season, findings) = season::read("season.yaml", text, &library)?;
//! let plan = pipeline::plan(&season, &findings)?;
//!
//! assert!(plan.verdict.covered);
//! println!("{}", output::text::plan(&plan));
//! # Ok::<(), thawline::Error>(())
//! ```
//!
//! # Map
//!
//! Data flows one way; each module may use those above it.
//!
//! | module | holds |
//! |---|---|
//! | [`error`] | the one public error; a finding: code, place, cause, remedy |
//! | [`units`] | quantities with their unit in the type, and ids |
//! | [`progress`] | looking on at long work, and asking it to end early |
//! | [`time`] | the one home of zones: days against elapsed hours, skipped and repeated times (RFC 5545) |
//! | [`solver`] | linear programs with whole variables: the one file that names the solver |
//! | [`document`] | YAML as a tree with places, held against a JSON Schema |
//! | [`sources`] | the publications that are cited |
//! | [`sheet`] | tables of comma-separated values, with places |
//! | [`protocol`] | what a protocol is; the built-in library; one animal's dates, forwards and back |
//! | [`figures`] | gestation and calving dates, pregnancy rates, costs: published figures and plain arithmetic |
//! | [`season`] | what a season is; one technician's pace |
//! | [`herd`] | the animals behind a group, and which of them are ready on its first day |
//! | [`dating`] | protocol x group x start: dated passes |
//! | [`crew`] | passes x crew x sites x straws: who breeds how many, where, when |
//! | [`choose`] | which protocol, starting when: wishes to a short list |
//! | [`aftercare`] | what follows AI: return heats, bulls, pregnancy checks, calving, withdrawal |
//! | [`plan`] | the finished plan, as written to JSON |
//! | [`tank`] | what is where in the nitrogen, what is left after each session, and the day to refill |
//! | [`simulate`] | a planned session played over and over: how sure it is |
//! | [`thaw`] | a planned session's rounds by the minute, from tank to cow; the bath's heat |
//! | [`matings`] | which animal gets which bull, within straws, kinship and scores |
//! | [`supplies`] | what to have at hand and when: drugs, feed, goods, straws, nitrogen, in packages |
//! | [`forecast`] | what comes of a planned season: pregnancies, calves by day, money |
//! | [`verify`] | re-reads a plan, and matings, against the season by plain arithmetic |
//! | [`pipeline`] | the one way from a season to a verified plan |
//! | [`files`] | a season with the files that it names, wherever they are kept |
//! | [`staffing`] | whether a crew can breed a group, and the cheapest change that makes it so |
//! | [`output`] | the plan as text, tables, JSON, calendar, page and PDF |
//!
//! The manual is [`guide`]. No clock, no unseeded randomness and no hash order: the same input gives the same bytes.

mod analysis;
mod base;
pub mod output;
mod planning;
mod service;
mod trade;
pub mod verify;

/// The manual, one chapter a topic.
///
/// - To begin: [`first_season`](guide::first_season), [`season_file`](guide::season_file)
/// - To plan: [`protocols_and_dates`](guide::protocols_and_dates), [`choosing`](guide::choosing),
///   [`staffing`](guide::staffing), [`heat`](guide::heat), [`chance`](guide::chance)
/// - To work: [`straws_and_tank`](guide::straws_and_tank), [`thaw`](guide::thaw), [`supplies`](guide::supplies),
///   [`herd_and_matings`](guide::herd_and_matings), [`safety`](guide::safety)
/// - What comes of it: [`forecast`](guide::forecast), [`calendars_and_files`](guide::calendars_and_files)
/// - To look up: [`commands`](guide::commands), [`crew_rules`](guide::crew_rules)
///
/// The examples are tested: Rust by rustdoc, all others by `tests/it/guide.rs`.
// A chapter links to others as files, for readers of the sources. `links.md` stands before each chapter and
// turns these links into links of the documentation: of two definitions, Markdown takes the first.
pub mod guide {
    #[doc = include_str!("guide/links.md")]
    #[doc = include_str!("guide/first_season.md")]
    pub mod first_season {}
    #[doc = include_str!("guide/links.md")]
    #[doc = include_str!("guide/season_file.md")]
    pub mod season_file {}
    #[doc = include_str!("guide/links.md")]
    #[doc = include_str!("guide/protocols_and_dates.md")]
    pub mod protocols_and_dates {}
    #[doc = include_str!("guide/links.md")]
    #[doc = include_str!("guide/staffing.md")]
    pub mod staffing {}
    #[doc = include_str!("guide/links.md")]
    #[doc = include_str!("guide/crew_rules.md")]
    pub mod crew_rules {}
    #[doc = include_str!("guide/links.md")]
    #[doc = include_str!("guide/heat.md")]
    pub mod heat {}
    #[doc = include_str!("guide/links.md")]
    #[doc = include_str!("guide/choosing.md")]
    pub mod choosing {}
    #[doc = include_str!("guide/links.md")]
    #[doc = include_str!("guide/chance.md")]
    pub mod chance {}
    #[doc = include_str!("guide/links.md")]
    #[doc = include_str!("guide/straws_and_tank.md")]
    pub mod straws_and_tank {}
    #[doc = include_str!("guide/links.md")]
    #[doc = include_str!("guide/thaw.md")]
    pub mod thaw {}
    #[doc = include_str!("guide/links.md")]
    #[doc = include_str!("guide/supplies.md")]
    pub mod supplies {}
    #[doc = include_str!("guide/links.md")]
    #[doc = include_str!("guide/herd_and_matings.md")]
    pub mod herd_and_matings {}
    #[doc = include_str!("guide/links.md")]
    #[doc = include_str!("guide/forecast.md")]
    pub mod forecast {}
    #[doc = include_str!("guide/links.md")]
    #[doc = include_str!("guide/calendars_and_files.md")]
    pub mod calendars_and_files {}
    #[doc = include_str!("guide/links.md")]
    #[doc = include_str!("guide/commands.md")]
    pub mod commands {}
    #[doc = include_str!("guide/links.md")]
    #[doc = include_str!("guide/safety.md")]
    pub mod safety {}
}

pub use analysis::{forecast, matings, simulate, supplies, tank, thaw};
pub use base::{document, error, progress, sheet, solver, time, units};
pub use planning::{aftercare, choose, crew, dating, plan};
pub use service::{files, pipeline, staffing};
pub use trade::{figures, glossary, herd, protocol, season, sources};

pub use error::{Error, Finding};
pub use plan::Plan;
pub use protocol::Library;
pub use season::Season;
