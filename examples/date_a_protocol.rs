//! Dates one protocol from a start, steps in days by the clock and steps in hours by elapsed
//! time, across a change of the clocks.
//!
//! `cargo run --release --example date_a_protocol`

use thawline::Library;
use thawline::protocol::{Anchor, Delay};
use thawline::time::{Zone, parse_local};

fn main() {
    let library = Library::built_in();
    let protocol = library
        .get("cow-7-day-co-synch-insert")
        .expect("it is built in");
    let zone = Zone::parse("America/Denver").expect("it is an IANA name");
    let start = zone.resolve(parse_local("2027-03-05T14:00").expect("it is a date and time"));

    println!("{}", protocol.name);
    let mut dated = Vec::new();
    for step in &protocol.steps {
        let from = match step.anchor {
            Anchor::Start => start.at,
            Anchor::Step(n) => dated[n],
        };
        let (at, note) = match step.delay {
            Delay::Days(days) => (zone.same_clock(from, days).at, String::new()),
            Delay::Elapsed(window) => (from + window.aim, format!("  ({})", window.words())),
        };
        println!("{}  {}{note}", zone.human(at), step.words());
        dated.push(at);
    }
}
