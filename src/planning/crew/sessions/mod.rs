//! Stage 1: sessions and capacity.
//!
//! Sets:
//!
//! - `d` in `D`: dues. A due is a pen to be bred, with `n_d` head and its hours.
//! - `l` in `L_d`: lots of a due, `n_l` head each: cows that may be bred in the same slots. Where order is
//!   kept each cow has hours of her own, so a due may have many lots; in mixed order it has one.
//! - `k` in `K`: slots, as long as the season's grain. `K_l`: slots that lie wholly inside the hours of lot `l`.
//!   The grain is `slot_minutes`. Where that is not stated it is 15 minutes, or finer if that breeds more; the
//!   rows of the plan stay 15 minutes long.
//! - `s` in `S`: sessions. A session is one site over a stretch in which the hours of its dues touch.
//! - `t` in `T`: technicians.
//!
//! Parameters, worked out here and never changed afterwards:
//!
//! - `cap_tsk`: cows that technician `t` finishes in slot `k` of session `s`: moments of whole thaw rounds,
//!   within shifts less the road, hours kept free, rests and the longest day (`place`).
//! - `boxes_s`: how many technicians can breed at once.
//!
//! `parts` cuts `S` into connected components: two sessions are tied if one technician could be wanted at
//! both at once, or if they draw on a bull whose straws do not suffice. Each part is a model of its own.

pub(crate) mod gather;
pub(crate) mod grain;
pub(crate) mod parts;
pub(crate) mod place;
pub(crate) mod unstaffed;
