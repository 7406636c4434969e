//! Which animal gets which bull, and where that straw sits.
//!
//! Straws on hand are shared among all groups at once. What counts, in this order: that as many
//! animals as can get a bull; that heifers get bulls marked for calving ease, where any are; the
//! sum of the scores; and sexed straws for those marked, where scores are equal. A sire is never
//! given his daughter, nor a half-sister or his dam, as far as parents are known, and only animals
//! marked get sexed straws. A second bull for each comes in the same way from what is left.
//!
//! Which straw it is, of a bull's, is the plan's: [`locate_straws`] names those that its sessions take.
//!
//! `transport` finds the best, whole by its structure, with prices for straws that prove it; the
//! verifier holds every rule and that proof against the files again.

mod answer;
mod assign;
mod choice;
mod demand;
mod input;
mod places;
mod reasons;
mod remarks;
mod report;
mod transport;

use crate::base::error::{Code, Error, Finding};

pub use answer::{BullTotals, Count, FORMAT, GroupMatings, Mating, Matings, Proof, Straw, Verdict};
pub use input::{Input, InputGroup, MOST_BULLS};
pub use places::locate_straws;

/// Finds the matings, with places for a season that is not planned: see [`locate_straws`]. They are not held
/// against the files again: `pipeline::matings` does.
///
/// # Errors
/// More bulls than [`MOST_BULLS`], or a mating given with a bull that the season does not have.
pub fn propose(input: &Input<'_>, findings: &[Finding]) -> Result<Matings, Error> {
    if input.season.bulls.len() > MOST_BULLS {
        let place = input.groups.first().map(InputGroup::place);
        let what = format!("the season has {} bulls", input.season.bulls.len());
        let mut finding = Finding::error(Code::TooManyBulls, what)
            .expected(format!("at most {MOST_BULLS} bulls for matings"))
            .hint("cut the season in two, each with its own groups and bulls");
        finding.place = place;
        return Err(finding.into());
    }
    let choice = choice::Choice::of(input);
    let mut said = findings.to_vec();
    let units = choice::Unit::all(input);
    let given = assign::given(&units, &choice, &mut said)?;
    let assigned = assign::assign(&choice, units, given);
    let mut made = report::matings(input, &choice, &assigned, said);
    locate_straws(&mut made, input.season, None);
    Ok(made)
}
