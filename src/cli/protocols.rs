//! The library of protocols for people and programs.

use thawline::error::Error;
use thawline::protocol::Class;
use thawline::report;

use super::commands::{library, lines};
use super::{Outcome, OwnProtocols};

pub(super) fn run(id: Option<&str>, own: &OwnProtocols, json: bool) -> Result<Outcome, Error> {
    let (library, found) = library(own)?;
    let out = match id {
        None if json => report::json::protocols(&library),
        None => report::protocols::list(&library),
        Some(id) => {
            let protocol = library
                .get(id)
                .ok_or_else(|| library.unknown(id, Class::Both))?;
            if json {
                report::json::protocol(protocol, &library)
            } else {
                report::protocols::show(protocol, &library)
            }
        }
    };
    Ok(Outcome {
        out,
        err: lines(&found),
        code: 0,
    })
}
