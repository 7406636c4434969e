//! Re-reads a finished plan against the season by plain arithmetic.
//!
//! It shares no code with what made the plan: dates are worked out again from the protocol's
//! steps on the zone's own calendar, each animal's hours from her own treatment time, each
//! technician's day from shifts and roads, straws and boxes cow by cow. What disagrees comes back as a finding `V101` that
//! says what was expected and what stands in the plan.

mod alley;
mod answers;
mod crew;
mod dates;
mod days;
mod follow;
mod heat;
mod law;
mod matings;
mod minute;
mod plan_matings;
mod reading;
mod road;
mod sessions;
mod stays;
mod tank;
pub mod thaw;
mod totals;

pub use answers::{calves, supplies};
pub use days::as_spread;
pub use matings::matings;
pub use plan_matings::{plan_matings, straw_places};

use crate::base::error::Finding;
use crate::planning::plan::Plan;
use crate::trade::season::Season;
use reading::{CLOSE, Reading, Treated, close, pass_id};

/// Everything in which the plan disagrees with the season; empty for a sound plan. Of its findings the verifier
/// reads code, weight and place: that of a group stands at its start in the season file, under the name that it was read by.
#[must_use]
pub fn verify(season: &Season, plan: &Plan) -> Vec<Finding> {
    let spread = match days::as_spread(season, plan) {
        Ok(spread) => spread,
        Err(faults) => return faults,
    };
    let mut reading = Reading::new(&spread, plan);
    let half_days = heat::check(&mut reading);
    dates::check(&mut reading, half_days);
    sessions::check(&mut reading);
    let stays = stays::stays(&reading);
    crew::check(&mut reading, &stays);
    road::check(&mut reading, &stays);
    follow::check(&mut reading);
    law::check(&mut reading);
    totals::check(&mut reading);
    minute::check(&mut reading, &stays);
    tank::check(&mut reading);
    reading.found
}
