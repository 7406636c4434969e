//! Dates one protocol from a start, steps in days by the clock and steps in hours by elapsed
//! time, across a change of the clocks; and back from a moment of breeding to its start.
//!
//! `cargo run --release --example date_a_protocol`

use thawline::Library;
use thawline::protocol::Delay;
use thawline::protocol::backwards::start_for_breeding;
use thawline::protocol::timetable::timetable;
use thawline::time::{Zone, parse_local};

fn main() {
    let library = Library::built_in();
    let protocol = library
        .get("cow-7-day-co-synch-insert")
        .expect("it is built in");
    let zone = Zone::parse("America/Denver").expect("it is a time zone");
    let start = parse_local("2027-03-05T14:00").expect("it is a date and time");

    println!("{}", protocol.name);
    let dates = timetable(protocol, zone, start);
    for (step, dated) in protocol.steps.iter().zip(&dates.steps) {
        let note = match step.delay {
            Delay::Days(_) => String::new(),
            Delay::Elapsed(window) => format!("  ({})", window.words()),
        };
        println!("{}  {}{note}", zone.human(dated.at), step.words());
    }

    let breeding = parse_local("2027-03-15T07:00").expect("it is a date and time");
    let breeding = zone.resolve(breeding).at;
    let back =
        start_for_breeding(protocol, zone, breeding, Some(66.0)).expect("66 h are published");
    println!("\nTo breed on {}:", zone.human(breeding));
    println!("start on {}", zone.human(back.timetable.began.at));
}
