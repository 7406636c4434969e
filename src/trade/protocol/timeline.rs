//! A protocol day by day, for lists: what is done on each day from the first treatment on.

use chrono::TimeDelta;

use super::{Action, Protocol, Step};

/// The thing of a day that a timeline shows, the weightiest first: of several on one day it is
/// the first in this order.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, strum::VariantArray)]
pub enum Mark {
    /// Breeding at a set time.
    Breed,
    /// PG in two trips on one day.
    PgTwice,
    /// `GnRH` and PG on one day.
    GnrhAndPg,
    /// PG.
    Pg,
    /// `GnRH`.
    Gnrh,
    /// Estradiol.
    Estradiol,
    /// An insert is placed, and nothing is injected.
    InsertIn,
    /// An insert is removed, and nothing is injected.
    InsertOut,
    /// A patch is put on.
    Patch,
    /// MGA is fed.
    Feed,
    /// Heat is watched for, and those in heat are bred.
    Watch,
    /// The insert is in.
    Insert,
    /// Nothing is done.
    Nothing,
}

impl Protocol {
    /// A mark for each day from the first treatment to the last day of breeding. Days are those
    /// of [`Protocol::days_to_breeding`]: elapsed hours to the nearest day. Work without breeding
    /// that falls half-way between two days stands on the earlier: a morning start puts it into that
    /// evening, and on the later day the breeding after it would hide it.
    #[must_use]
    pub fn timeline(&self) -> Vec<Mark> {
        let days: Vec<usize> = self
            .nominal_offsets()
            .into_iter()
            .zip(&self.steps)
            .map(|(at, step)| {
                let half = if step.is_timed_breeding() { 12 } else { 11 };
                ((at + TimeDelta::hours(half)).num_hours() / 24).max(0) as usize
            })
            .collect();
        let last = |(step, day): (&Step, &usize)| day + step.lasts_days.unwrap_or(1) as usize - 1;
        let long = self.steps.iter().zip(&days).map(last).max().unwrap_or(0) + 1;
        (0..long).map(|day| self.mark_of(day, &days)).collect()
    }

    fn mark_of(&self, day: usize, days: &[usize]) -> Mark {
        let today = || {
            self.steps.iter().zip(days).filter(|(step, first)| {
                (**first..**first + step.lasts_days.unwrap_or(1) as usize).contains(&day)
            })
        };
        let done = |action: Action| {
            today()
                .filter(|(step, _)| step.actions.contains(&action))
                .count()
        };
        let any = |actions: &[Action]| actions.iter().any(|a| done(*a) > 0);
        let pg = done(Action::Pg) + done(Action::PgDouble);
        let happens = |mark: Mark| match mark {
            Mark::Breed => today().any(|(step, _)| step.is_timed_breeding()),
            Mark::PgTwice => pg > 1,
            Mark::GnrhAndPg => pg > 0 && any(&[Action::Gnrh]),
            Mark::Pg => pg > 0,
            Mark::Gnrh => any(&[Action::Gnrh]),
            Mark::Estradiol => any(&[Action::Estradiol]),
            Mark::InsertIn => any(&[Action::InsertIn]),
            Mark::InsertOut => any(&[Action::InsertOut]),
            Mark::Patch => any(&[Action::PatchOn]),
            Mark::Feed => any(&[Action::FeedMga]),
            Mark::Watch => any(&[Action::DetectEstrus]),
            Mark::Insert => self
                .insert_days(days)
                .iter()
                .any(|(a, b)| (a..b).contains(&&day)),
            Mark::Nothing => true,
        };
        <Mark as strum::VariantArray>::VARIANTS
            .iter()
            .copied()
            .find(|m| happens(*m))
            .unwrap_or(Mark::Nothing)
    }

    /// Days on which an insert goes in and comes out, in pairs.
    fn insert_days(&self, days: &[usize]) -> Vec<(usize, usize)> {
        let on = |action: Action| {
            let steps = self.steps.iter().zip(days);
            steps
                .filter(move |(step, _)| step.actions.contains(&action))
                .map(|(_, day)| *day)
        };
        on(Action::InsertIn).zip(on(Action::InsertOut)).collect()
    }

    /// Days for which the insert stays in, the longest where there are several; none without one.
    #[must_use]
    pub fn longest_insert_days(&self) -> Option<usize> {
        let days = self.nominal_offsets().into_iter();
        let days: Vec<usize> = days.map(|at| at.num_hours().max(0) as usize / 24).collect();
        let spans = self.insert_days(&days);
        spans.into_iter().map(|(a, b)| b.saturating_sub(a)).max()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::trade::protocol::read;

    fn timeline(kind: &str, steps: &str) -> Vec<Mark> {
        let text = format!(
            "id: own\nname: Our own\nclass: cow\nkind: {kind}\nsuits: Anyone.\nsources: [{{cite: us, supports: all}}]\nsteps:\n{steps}"
        );
        read("t", text.as_bytes()).unwrap().timeline()
    }

    #[test]
    fn the_weightiest_thing_of_a_day_is_drawn() {
        use Mark::{Breed, Gnrh, GnrhAndPg, Insert, InsertOut, Nothing, Pg, PgTwice, Watch};
        // PG a day before the insert comes out, as on labels; PG twice; breeding by the nearest day.
        let steps = "  - {id: a, after: start, days: 0, do: [gnrh, pg, insert-in]}
  - {id: b, after: start, days: 2, do: [pg]}
  - {id: c, after: b, days: 1, do: [insert-out]}
  - {id: d, after: c, days: 1, do: [pg]}
  - {id: e, after: d, hours: {earliest: 6, aim: 8, latest: 10}, do: [pg-double]}
  - {id: ai, after: d, hours: {earliest: 30, aim: 36, latest: 40}, do: [inseminate]}
";
        let expected = [GnrhAndPg, Insert, Pg, InsertOut, PgTwice, Nothing, Breed];
        assert_eq!(timeline("fixed-time", steps), expected);
        // GnRH half-way between two days, and breeding the day after.
        let steps = "  - {id: a, after: start, days: 0, do: [pg]}
  - {id: b, after: a, hours: {earliest: 34, aim: 36, latest: 38}, do: [gnrh]}
  - {id: ai, after: b, hours: {earliest: 16, aim: 18, latest: 20}, do: [inseminate]}
";
        assert_eq!(timeline("fixed-time", steps), [Pg, Gnrh, Breed]);
        let steps = "  - {id: a, after: start, days: 0, do: [pg, patch-on]}
  - {id: w, after: a, days: 0, lasts_days: 3, do: [detect-estrus, inseminate-in-heat]}
";
        assert_eq!(timeline("estrus-detection", steps), [Pg, Watch, Watch]);
    }
}
