//! Stage 7: from flows to cows and people.
//!
//! `readback` gives members of a class their names and lots their cows. `moments` and `pack` lay each
//! technician's cows at moments of whole rounds, with boxes and the one alley to the second. `drives` solves
//! a part again without technicians who would drive far for few cows, and keeps that if no cow is lost.

pub(crate) mod drives;
pub(crate) mod moments;
pub(crate) mod pack;
pub(crate) mod readback;
