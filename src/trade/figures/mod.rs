//! What comes of a breeding: calving dates, pregnancies and money.
//!
//! Pure arithmetic on published figures, on a protocol's steps and on the user's own prices. What
//! it gives is an estimate: every figure carries its source, and where sources differ all are
//! shown.
//!
//! ```
//! use chrono::NaiveDate;
//! use thawline::figures::{Breed, Calving, Gestation};
//!
//! let bred = NaiveDate::from_ymd_opt(2027, 5, 20).unwrap();
//! let calving = Calving::from_breeding(bred, &Gestation::for_breed(Breed::Angus));
//! assert_eq!(calving.mean.to_string(), "2028-02-23");
//! ```

mod calving;
mod cost;
pub mod curve;
pub mod cycle;
mod gestation;
pub mod heat;
mod money;
mod rates;

pub use calving::{Calving, CalvingSpan, bred_for_due, bred_for_first, later};
pub use cost::{Cost, InHeat, Line, Prices, Work, chute_hours_a_head, cost_a_head};
pub use curve::GestationLaw;
pub use gestation::{Breed, Figure, Gestation};
pub use money::{Bull, BullCost, Money, PartialBudget, Price, with_interest};
pub use rates::{GENERAL, GeneralRate, cumulative, first_week, pregnant_head};

/// The source of sums that the trade simply does.
pub const COMMON_PRACTICE: &str = "common practice, no source";

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_tag_is_a_listed_publication() {
        let figures = Breed::ALL.iter().flat_map(|b| {
            let others = b.other_figures().iter().copied();
            others.chain([b.figure()])
        });
        let tags: Vec<&str> = figures
            .flat_map(|f| f.sources.iter().copied())
            .chain(GENERAL.iter().flat_map(|r| r.source.split(", ")))
            .chain([Gestation::SPREAD_SOURCE])
            .collect();
        assert_eq!(tags.len(), 22);
        for tag in tags {
            assert!(crate::trade::sources::find(tag).is_some(), "{tag}");
        }
    }
}
