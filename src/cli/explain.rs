//! What a word, a code or a caution means; completions and manual pages, made from the commands.

use std::path::{Path, PathBuf};

use clap::Args;
use thawline::error::{Error, Finding, unknown_id};
use thawline::{glossary, output};

use super::writing::{self, Over};
use super::{Outcome, System};

#[derive(Args)]
pub(super) struct Asked {
    /// A word, a code such as W102, a caution, a protocol's id, a source's tag, or a key of a file such as
    /// `groups.head`. Without it all of them are listed.
    term: Vec<String>,
    /// Print JSON.
    #[arg(long)]
    pub(super) json: bool,
    /// Print a table as comma-separated values, for spreadsheets.
    #[arg(long, conflicts_with = "json")]
    csv: bool,
    #[arg(from_global)]
    units: Option<System>,
}

pub(super) fn run(args: &Asked) -> Result<Outcome, Error> {
    // Data have both units.
    let text = !args.json && !args.csv;
    let units = args.units.filter(|_| text).map(System::units);
    let units = units.unwrap_or_default();
    let found = if args.term.is_empty() {
        glossary::all_in(units)
    } else {
        // The words of one term, or terms of a word each.
        let term = args.term.join(" ");
        let mut found = glossary::find_in(&term, units);
        if found.is_empty() {
            for word in &args.term {
                let of_it = glossary::find_in(word, units);
                if of_it.is_empty() {
                    return Err(unknown(word).into());
                }
                found.extend(of_it);
            }
        }
        found
    };
    Ok(Outcome::printed(if args.json {
        output::glossary::json(&found)
    } else if args.csv {
        output::glossary::csv(&found)
    } else if args.term.is_empty() {
        output::glossary::list(&found)
    } else {
        output::glossary::text(&found)
    }))
}

fn unknown(term: &str) -> Finding {
    let all = glossary::all();
    let known = all.iter().map(|e| e.name.as_str());
    let see = "see `thawline explain` for all words, cautions, codes, protocols, sources and keys";
    unknown_id("word or code", term, known, "a known word", see)
}

/// A completion script for a shell.
pub(super) fn completions(shell: clap_complete::Shell, mut program: clap::Command) -> Outcome {
    let mut script = Vec::new();
    clap_complete::generate(shell, &mut program, "thawline", &mut script);
    Outcome::printed(String::from_utf8_lossy(&script).into_owned())
}

/// A manual page for the program and one for each command.
pub(super) fn manual(dir: &Path, over: Over, program: clap::Command) -> Result<Outcome, Error> {
    let program = program.disable_help_subcommand(true);
    let mut pages = vec![page(dir, program.clone(), "thawline")];
    for command in program.get_subcommands() {
        let name = format!("thawline-{}", command.get_name());
        pages.push(page(dir, command.clone(), &name));
    }
    let count = pages.len();
    writing::write_all(&pages, over)?;
    Ok(Outcome::printed(format!(
        "Written to {}: {count} manual pages. Read one with `man {}`.\n",
        dir.display(),
        dir.join("thawline.1").display()
    )))
}

fn page(dir: &Path, command: clap::Command, name: &str) -> (PathBuf, String) {
    let mut text = Vec::new();
    // Writing to memory does not fail.
    let command = command
        .display_name(name.to_owned())
        .bin_name(name.replacen('-', " ", 1));
    let _ = clap_mangen::Man::new(command).render(&mut text);
    let text = String::from_utf8_lossy(&text).into_owned();
    (dir.join(format!("{name}.1")), text)
}
