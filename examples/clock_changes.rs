//! Prints every change of the clocks from 2000 to 2040, in one zone or in all:
//! `cargo run --example clock_changes -- America/Denver`

use std::io::{self, BufWriter, Write as _};

use thawline::time::{Instant, Zone, data_version};

fn main() -> Result<(), Box<dyn std::error::Error>> {
    let wanted: Vec<String> = std::env::args().skip(1).collect();
    let from: Instant = "2000-01-01T00:00:00Z".parse()?;
    let to: Instant = "2041-01-01T00:00:00Z".parse()?;
    let mut out = BufWriter::new(io::stdout().lock());
    writeln!(out, "IANA {}", data_version())?;
    for name in Zone::names().filter(|n| wanted.is_empty() || wanted.iter().any(|w| w == n)) {
        let zone = Zone::parse(name).map_err(|_| format!("no zone {name}"))?;
        writeln!(out, "{name} {}", zone.offset_seconds(from))?;
        for change in zone.transitions(from, to) {
            let at = change.at.timestamp();
            let daylight = zone.is_daylight(change.at);
            writeln!(out, "  {at} {} {} {daylight}", change.after, change.name)?;
        }
    }
    out.flush()?;
    Ok(())
}
