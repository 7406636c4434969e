//! Stage 6: who goes where.
//!
//! Technicians who are alike form a class `c` with `m_c` members.
//!
//! ```text
//! source -> (scarce bull -> group) -> due -> lot -> (session, slot) -> class -> sink
//! ```
//!
//! Decisions, one of two sets (`model`, `formulate`):
//!
//! - whole sessions: `y_cs`, members of class `c` sent to session `s`. `y_cs + y_cr <= m_c` where `s` and `r` clash;
//! - routes: `y_r`, members who take route `r` (`columns`). `sum over r of y_r <= m_c` for each class and
//!   component of sessions that clash.
//!
//! Capacity of the arc from slot to class: `sum of cap_csk y_cs`, or `sum over r of cap_rsk y_r`. Where
//! technicians are more than boxes, a decision says how many of a class stand at one.
//!
//! `greedy` and `greedy_routes` give a first choice. Where routes are too many to list, `pricing` generates
//! columns: the linear relaxation gives a price `pi_sk` for a cow bred and a rent `rho_sk` for a box, and
//! the route with the largest `sum of (pi cap - rho)` is the next column. For any prices the Lagrangian sum
//! over lots, boxes and technicians is a valid bound. `reassign` then improves the plan by neighborhoods: the routes
//! of one to three technicians are chosen anew beside all others, then all routes known are searched together.
//! `best` puts it together.

pub(crate) mod best;
pub(crate) mod columns;
pub(crate) mod formulate;
pub(crate) mod greedy;
pub(crate) mod greedy_routes;
pub(crate) mod model;
pub(crate) mod pricing;
pub(crate) mod reassign;
