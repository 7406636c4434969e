//! Stage 5: routes, for technicians who could be wanted at two sessions at once.
//!
//! A route is a path through sessions: stays with a begin, an end at the end of a round, and the road
//! between. Rest, the longest day and one place at a time hold on every route, so they are no rows of the
//! model. A day shorter than a session may lie in any part of it: such parts are routes as well. `list` has all
//! routes through up to three sessions. `graph` has all of them as paths of a time-expanded
//! network, and the path of least reduced cost by dynamic programming, for pricing. `once` finds the path that
//! adds most head beside the paths of all others.

pub(crate) mod graph;
pub(crate) mod list;
pub(crate) mod once;
