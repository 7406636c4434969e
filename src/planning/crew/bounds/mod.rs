//! Stage 2: upper bounds on the head bred, by counting.
//!
//! With `c_k = max sum of cap_tsk over at most boxes_s technicians`, what one session breeds is a
//! transportation problem from lots to slots:
//!
//! ```text
//! max  sum x_lk    s.t.  sum over k in K_l of x_lk <= n_l,   sum over l of x_lk <= c_k,   x >= 0
//! ```
//!
//! Each `K_l` is an interval, so the rule "the lot whose last slot comes first" solves it (`coverage`).
//! `by_session` sends everybody to every session: a relaxation in which nobody is wanted at two places.
//! `by_slot` leaves the slots out as well: it holds for whatever way technicians divide their days.

pub(crate) mod by_session;
pub(crate) mod by_slot;
pub(crate) mod coverage;
