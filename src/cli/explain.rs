//! What a word, a code or a caution means; completions and manual pages, made from the commands.

use std::path::{Path, PathBuf};

use clap::Args;
use thawline::error::{Error, Finding, unknown_id};
use thawline::units::Units;
use thawline::{glossary, output};

use super::asked::{Outcome, Printed, Printing, Run, System, told_in};
use super::writing;

/// Say what a word, a caution, a code such as W102, a protocol or a key of a file means.
///
/// Without a word all of them are listed.
#[derive(Args)]
pub(super) struct Asked {
    /// A word, a code such as W102, a caution, a protocol's id, a source's tag, or a key of a season or protocol file such as
    /// `groups.head`. Without it all of them are listed.
    term: Vec<String>,
    #[command(flatten)]
    printing: Printing,
    #[arg(from_global)]
    units: Vec<System>,
}

impl Run for Asked {
    fn run(&self) -> Result<Outcome, Error> {
        // Data have both units.
        let text = self.printing.form() == Printed::Text;
        let asked: &[System] = if text { &self.units } else { &[] };
        let units = told_in(asked, Units::default());
        let found = if self.term.is_empty() {
            glossary::all_in(units)
        } else {
            // The words of one term, or terms of a word each.
            let term = self.term.join(" ");
            let mut found = glossary::find_in(&term, units);
            if found.is_empty() {
                for word in &self.term {
                    let of_it = glossary::find_in(word, units);
                    if of_it.is_empty() {
                        return Err(unknown(word).into());
                    }
                    found.extend(of_it);
                }
            }
            found
        };
        let told = output::glossary::Printed {
            entries: &found,
            names: self.term.is_empty(),
        };
        Ok(Outcome::printed(self.printing.print(&told)?))
    }
}

fn unknown(term: &str) -> Finding {
    let all = glossary::all();
    let known = all.iter().map(|e| e.name.as_str());
    let see = "see `thawline explain` for all words, cautions, codes, protocols, sources and keys";
    unknown_id("word or code", term, known, "a known word", see)
}

/// Print a completion script for a shell.
///
/// For bash: thawline completions bash > ~/.local/share/bash-completion/completions/thawline
#[derive(Args)]
pub(super) struct Completions {
    /// Which shell.
    shell: clap_complete::Shell,
}

impl Completions {
    pub(super) fn of(&self, mut program: clap::Command) -> Outcome {
        let mut script = Vec::new();
        clap_complete::generate(self.shell, &mut program, "thawline", &mut script);
        Outcome::printed(String::from_utf8_lossy(&script).into_owned())
    }
}

/// Write manual pages: one of the program, and one of each command.
#[derive(Args)]
pub(super) struct Man {
    /// The directory for the pages; made if it is not there.
    #[arg(long, value_name = "DIR")]
    out: PathBuf,
    #[command(flatten)]
    over: writing::Over,
}

impl Man {
    pub(super) fn of(&self, program: clap::Command) -> Result<Outcome, Error> {
        let dir = &self.out;
        let program = program.disable_help_subcommand(true);
        let mut pages = vec![page(dir, program.clone(), "thawline")];
        for command in program.get_subcommands() {
            let name = format!("thawline-{}", command.get_name());
            pages.push(page(dir, command.clone(), &name));
        }
        let count = pages.len();
        writing::write_all(&pages, self.over)?;
        Ok(Outcome::printed(format!(
            "Written to {}: {count} manual pages. Read one with `man {}`.\n",
            dir.display(),
            dir.join("thawline.1").display()
        )))
    }
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
