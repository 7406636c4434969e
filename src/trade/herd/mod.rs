//! The animals behind a group: its herd file as comma-separated values, and which of them are
//! ready on the protocol's first day.
//!
//! A file is read by [`read()`], which knows the group's class and, if there is one, its first day;
//! herds are held against each other and their groups by [`compare`]; [`readiness::judge`] says of
//! one animal, and [`summary::report()`] of a group, who is ready. Class, protocol and start are
//! arguments everywhere, so that a group without a start can be asked about any.
//!
//! A plan counts the group's `head` without the animals of the herd file that are not ready at the start
//! ([`leave_out`]). `check` warns where `head` and the file differ.

mod cells;
mod columns;
mod dates;
pub mod electronic_id;
mod heading;
mod member;
mod order;
mod read;
pub mod readiness;
mod reasons;
mod report;
mod rules;
pub mod scores;
pub mod summary;
mod verdict;
mod waiting;

use chrono::NaiveDate;

pub use columns::Column;
pub use member::Member;
pub use order::of_pens;
pub use read::{read, read_as};
pub use rules::compare;
pub use waiting::{Start, leave_out, unknown};

pub use crate::base::error::Spot;
pub use crate::base::sheet::{Asked, DateOrder, MOST_BYTES};
pub use crate::base::units::same_id;

use crate::trade::protocol::Class;

/// Form and version of the herd report as JSON.
pub const FORMAT: &str = "thawline.herd/1";

/// The most animals one file may hold.
pub const MOST_ANIMALS: usize = 500_000;

/// A group's animals, in the file's order.
#[derive(Clone, Debug, PartialEq)]
pub struct Herd {
    /// The file as named.
    pub file: String,
    /// Its animals.
    pub animals: Vec<Animal>,
    /// Ids of animals that the plan leaves out: see [`Herd::without`].
    pub waiting: Vec<String>,
}

/// One animal: what the file says of it. What is blank there is not known.
#[derive(Clone, Debug, PartialEq)]
pub struct Animal {
    /// Its id, as written; an electronic id as 15 digits.
    pub id: String,
    /// True if the id is an electronic one (ISO 11784).
    pub electronic: bool,
    /// The tag beside an electronic id, or the electronic id beside a tag.
    pub other_id: Option<String>,
    /// Cow or heifer; the group's class unless the file says.
    pub class: Class,
    /// Birth.
    pub born: Option<NaiveDate>,
    /// Last calving.
    pub calved: Option<NaiveDate>,
    /// Breed, as written.
    pub breed: Option<String>,
    /// Body condition, 1 (thin) to 9 (fat), in halves.
    pub body_condition: Option<f64>,
    /// Weight in pounds.
    pub weight_lb: Option<f64>,
    /// When she was weighed.
    pub weighed: Option<NaiveDate>,
    /// Mature weight in pounds: as written, else by frame score (NDSU-01).
    pub mature_lb: Option<f64>,
    /// Frame score.
    pub frame: Option<f64>,
    /// Reproductive tract score, 1 to 5.
    pub tract_score: Option<u8>,
    /// Sire, as written.
    pub sire: Option<String>,
    /// Dam, as written.
    pub dam: Option<String>,
    /// The bull that the user gives her, as written.
    pub mating: Option<String>,
    /// The bull that the user gives her as backup, as written.
    pub second_mating: Option<String>,
    /// True if she is marked for sexed semen.
    pub sexed: bool,
    /// Her pen, from 1.
    pub pen: Option<u32>,
    /// Her place in the order of her pen at the pass that the hours of breeding count from, from 1.
    pub chute_order: Option<u32>,
    /// A remark.
    pub notes: Option<String>,
    /// Where the id stands.
    pub spot: Spot,
    /// Where the dam stands, if she is named.
    pub dam_spot: Spot,
    /// Where the bulls stand that the user gives her: the first, and the backup.
    pub mating_spots: [Spot; 2],
    /// Where her pen stands, and her place in its order, if they are given.
    pub order_spots: [Spot; 2],
}

/// Mature weight by frame score: frame x 75 + 800 lb (NDSU-01).
#[must_use]
pub fn mature_lb_by_frame(frame: f64) -> f64 {
    frame * 75.0 + 800.0
}

#[cfg(test)]
mod tests {
    use super::*;

    /// W19 and W11 of the published examples: frame 5.2 is given as 1188 lb mature (NDSU-APR01),
    /// frame 5.6 as 1220 lb, of which 884 lb are 72.5 % (NDSU-98).
    #[test]
    fn mature_weight_by_frame_score() {
        assert!((mature_lb_by_frame(5.2) - 1190.0).abs() < 1e-9);
        assert!((mature_lb_by_frame(5.2) - 1188.0).abs() <= 2.0);
        assert!((mature_lb_by_frame(5.6) - 1220.0).abs() < 1e-9);
        let percent: f64 = 884.0 / mature_lb_by_frame(5.6) * 100.0;
        assert!((percent - 72.5).abs() < 0.05);
    }
}
