//! Stage 4: straws.
//!
//! ```text
//! source -> bull (stock) -> group (its bulls) -> sink (straws wanted)
//! ```
//!
//! `reserve` finds the bulls whose stock is less than what the groups tied to them want: only these become
//! nodes of the model of a part. `allot` shares all straws out, after the crew, to those who are bred; `demand`
//! keeps the numbers that the matings ask for.

pub(crate) mod allot;
pub(crate) mod demand;
pub(crate) mod reserve;
