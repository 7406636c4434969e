//! The `thawline` command: arguments, files, the clock and exit codes around the library.

mod cli;

use std::process::ExitCode;

fn main() -> ExitCode {
    cli::run()
}
