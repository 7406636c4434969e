//! A day's work as it reads.

use crate::output::times::{OnDay, begins, ends, first_and_last};
use crate::planning::plan::{Moment, Pass, Session};

pub(super) enum Item<'a> {
    Pass(&'a Pass),
    Session(&'a Session),
}

/// The first and the last of some cows.
pub(super) fn span(first: Moment, last: Moment, day: OnDay, between: &str) -> String {
    let (first, last) = first_and_last(first, last);
    format!("{}{between}{}", begins(first, day), ends(last, day))
}

/// `BREED 40 head`; of a session that breeds no cow, why it is listed all the same.
pub(super) fn bred_words(s: &Session) -> String {
    let due: u32 = s.pens.iter().map(|p| p.head).sum();
    match (s.head, due) {
        (0, 0) => "No cows to breed".to_owned(),
        (0, _) => format!("NOT BRED: none of {due} head"),
        (head, _) if s.is_by_heat() => format!("BREED about {head} head"),
        (head, _) => format!("BREED {head} head"),
    }
}
