//! How the search ended: what is proven, and how far off the rest can be.
//!
//! A search is limited by the nodes it opens, never by the clock: a plan must not depend on how busy
//! the machine is. Where it is not proven best, words say "are not bred" in place of "cannot be bred"
//! (`W104`). Both are said of the plans that the search looks at (guide, `crew_rules`).

use crate::base::error::{Code, Finding, quoted};
use crate::base::units::Head;
use crate::planning::crew::sessions::parts::Part;
use crate::planning::crew::sessions::unstaffed::Unstaffed;
use crate::planning::crew::{Open, Search, Session, Workload};
use crate::trade::season::Season;

/// How far below a bound something is: percent of the bound, in hundredths, never said smaller
/// than it is.
#[must_use]
pub fn gap_percent(covered: u32, bound: u32) -> f64 {
    if bound <= covered {
        return 0.0;
    }
    let exact = f64::from(bound - covered) / f64::from(bound) * 100.0;
    (exact * 100.0 - 1e-9).ceil() / 100.0
}

impl Search {
    /// Head more that a better plan could breed at the most.
    #[must_use]
    pub fn at_most_more(&self) -> u32 {
        self.open.iter().map(|o| o.bound.0 - o.covered.0).sum()
    }

    /// Adds what is said of other parts, later in the season.
    pub(crate) fn and(&mut self, other: Self) {
        self.parts += other.parts;
        self.proven += other.proven;
        self.with_choices += other.with_choices;
        self.open.extend(other.open);
        self.stopped |= other.stopped;
    }

    /// Takes note of a part, and that no plan of it breeds more than `bound`.
    pub(crate) fn add(&mut self, sessions: &[Session], bound: u32) {
        let covered: u32 = sessions.iter().map(Session::head_bred).sum();
        if covered >= bound {
            self.proven += 1;
            return;
        }
        self.open.push(Open {
            dues: sessions.iter().map(|s| s.dues[0]).collect(),
            covered: Head(covered),
            bound: Head(bound.max(covered)),
        });
    }
}

/// The choices of a part were not searched to the end: who goes where, or only, if that is `settled`,
/// who is at a box and has straws in the bath by the minute.
pub(crate) fn not_to_the_end(
    season: &Season,
    all_unstaffed: &[Unstaffed],
    part: &Part,
    (covered, bound): (u32, u32),
    settled: bool,
) -> Finding {
    let first = &all_unstaffed[part.sessions[0]];
    let (what, expected, hint) = if settled {
        (
            "how technicians share the boxes and the thaw bath, minute by minute,",
            "boxes and a bath for all who are there, or few changes at them",
            "add a breeding box or straws to the bath, or let fewer technicians follow each other at a box",
        )
    } else {
        (
            "who goes where",
            "sessions few enough to try every choice",
            "start some of the groups on another day, or keep technicians to fewer sites by their shifts",
        )
    };
    Finding::warning(
        Code::SearchStopped,
        format!(
            "{what} around {} at {} was not searched to the end: {covered} head are bred, and another choice might breed up to {} more ({} %)",
            season.zone.human_short(first.open),
            quoted(season.sites[first.site].id.as_str()),
            bound.saturating_sub(covered),
            gap_percent(covered, bound)
        ),
    )
    .expected(expected)
    .hint(hint)
}

/// Somebody ended the search.
pub(crate) fn stopped_by_hand(workload: &Workload) -> Finding {
    let search = &workload.search;
    let covered: u32 = workload.sessions.iter().map(Session::head_bred).sum();
    let more = search.at_most_more();
    Finding::warning(
        Code::StoppedByHand,
        format!(
            "the search was stopped by hand: {} of {} parts of the season are proven; in the others, planned by plain rules, up to {more} more head might be bred ({} %)",
            search.proven,
            search.parts,
            gap_percent(covered, covered + more)
        ),
    )
    .expected("a search that runs to its end")
    .hint("the plan holds as it is; let the search run to its end for the best one")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_gap_is_never_said_smaller_than_it_is() {
        assert!((gap_percent(0, 0)).abs() < 1e-9);
        assert!((gap_percent(3, 4) - 25.0).abs() < 1e-9);
        assert!((gap_percent(99_999, 100_000) - 0.01).abs() < 1e-9);
        assert!((gap_percent(2, 3) - 33.34).abs() < 1e-9);
    }
}
