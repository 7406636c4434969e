//! Stage 3: a network with decisions, solved.
//!
//! ```text
//! x_a in Z+   flow on arc a                  y_j in {0 .. most_j}   decision j
//! flow is conserved at every node but source and sink
//! x_a <= u_a
//! x_a <= sum over j of c_aj y_j              for each capacity of the arc that hangs on decisions
//! sum of y_j (j in plus) <= b + sum of y_j (j in minus)           for each limit
//! lexicographic:  max head;  min distance from the aim and road;  min load steps;  min lateness
//! ```
//!
//! `aggregate` is the same program for the head alone, with slots of the same lots as one and arcs to
//! technicians as one row; `solve` searches it for `y` by branch and bound, with the first choice of
//! `guess`. With `y` fixed the rest is a min-cost flow with whole capacities, so its corners are whole: the
//! network simplex finds one (`simplex`). `optimal_face` fixes the arcs whose
//! reduced cost is not zero; the next objective is then free to choose among optimal flows, and an
//! optimal flow is proven to be one.

pub(crate) mod aggregate;
pub(crate) mod guess;
pub(crate) mod network;
pub(crate) mod optimal_face;
pub(crate) mod simplex;
pub(crate) mod solve;
