//! Looking on at long work: how far it is, and asking it to end early.
//!
//! The library prints nothing and reads no clock. Whoever calls it may hand in a [`Progress`], which
//! is told how far the work is and is asked, between one piece and the next, whether to end.
//! Ending early never leaves half a result: what is left is done by plain rules.
//!
//! Each part has a plan by plain rules before it is searched, and keeps that when asked to stop. Its
//! bound is known, so the gap is told (`W106`).

use std::sync::atomic::{AtomicBool, AtomicI64, Ordering};

/// What is being done.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Stage {
    /// The crew is spread over the parts of the season.
    Crew,
    /// Margins and reasons are counted, session by session.
    Margins,
    /// Starts of several groups are chosen together, by proposals.
    Choosing,
    /// Changes are tried that would let a crew breed all.
    Changes,
    /// Planned sessions are played over and over.
    Days,
}

impl Stage {
    /// What is done, for people.
    #[must_use]
    pub const fn words(self) -> &'static str {
        match self {
            Self::Crew => "spreading the breeding over the crew",
            Self::Margins => "counting what margin is left",
            Self::Choosing => "choosing starts together",
            Self::Changes => "trying what would get all bred",
            Self::Days => "playing the days",
        }
    }
}

/// Looks on at long work. Asked from several threads at once.
pub trait Progress: Sync {
    /// So many pieces of so many are done: of several threads, not always in rising order.
    fn reached(&self, stage: Stage, done: usize, of: usize) {
        let _ = (stage, done, of);
    }

    /// So much work is done, in about microseconds: worked out from sizes, never timed, so that the
    /// answer is the same on any machine.
    fn worked(&self, work: usize) {
        let _ = work;
    }

    /// True if the work is to end with what it has. Once true, it must stay true.
    fn stop(&self) -> bool {
        false
    }

    /// True if somebody asks for the end, and not a limit of work.
    fn by_hand(&self) -> bool {
        self.stop()
    }

    /// Work that may still be done. Read by one thread at a time: of several that share it, who is first
    /// hangs on the machine.
    fn left(&self) -> i64 {
        i64::MAX
    }
}

/// Nobody looks on.
#[derive(Clone, Copy, Debug, Default)]
pub struct NoProgress;

impl Progress for NoProgress {}

/// Asks another whether to end, and does not tell it how far the work is: for plans that are made on the way to an answer.
#[derive(Clone, Copy)]
pub(crate) struct OnlyStop<'a>(pub(crate) &'a dyn Progress);

impl Progress for OnlyStop<'_> {
    fn worked(&self, work: usize) {
        self.0.worked(work);
    }

    fn stop(&self) -> bool {
        self.0.stop()
    }

    fn by_hand(&self) -> bool {
        self.0.by_hand()
    }

    fn left(&self) -> i64 {
        self.0.left()
    }
}

/// Counts work that another looks on at.
pub(crate) struct Counted<'a> {
    progress: &'a dyn Progress,
    work: AtomicI64,
}

impl<'a> Counted<'a> {
    pub(crate) const fn new(progress: &'a dyn Progress) -> Self {
        let work = AtomicI64::new(0);
        Self { progress, work }
    }

    /// Work done so far.
    pub(crate) fn work(&self) -> i64 {
        self.work.load(Ordering::Relaxed)
    }
}

impl Progress for Counted<'_> {
    fn reached(&self, stage: Stage, done: usize, of: usize) {
        self.progress.reached(stage, done, of);
    }

    fn worked(&self, work: usize) {
        self.work.fetch_add(work as i64, Ordering::Relaxed);
        self.progress.worked(work);
    }

    fn stop(&self) -> bool {
        self.progress.stop()
    }

    fn by_hand(&self) -> bool {
        self.progress.by_hand()
    }

    fn left(&self) -> i64 {
        self.progress.left()
    }
}

/// Asks for an end after so much work, or when another does: for plans that are made on the way to an
/// answer.
pub(crate) struct Budget<'a> {
    progress: &'a dyn Progress,
    left: AtomicI64,
    /// True if what others spend does not end this.
    apart: bool,
    /// True if what is not done to its end counts for nothing.
    whole: bool,
}

impl<'a> Budget<'a> {
    pub(crate) const fn new(progress: &'a dyn Progress, work: i64) -> Self {
        Self {
            progress,
            left: AtomicI64::new(work),
            apart: false,
            whole: false,
        }
    }

    /// The same, for one of several threads: it ends after its own work or by hand, and never because
    /// others were faster.
    pub(crate) const fn apart(progress: &'a dyn Progress, work: i64) -> Self {
        Self {
            apart: true,
            ..Self::new(progress, work)
        }
    }

    /// The same, for answers that are dropped unless all is done: it ends as if by hand.
    pub(crate) const fn whole(progress: &'a dyn Progress, work: i64) -> Self {
        Self {
            whole: true,
            ..Self::apart(progress, work)
        }
    }

    /// True if the work is used up, whoever asks for the end.
    pub(crate) fn used_up(&self) -> bool {
        self.left.load(Ordering::Relaxed) < 0
    }
}

impl Progress for Budget<'_> {
    fn worked(&self, work: usize) {
        self.left.fetch_sub(work as i64, Ordering::Relaxed);
        self.progress.worked(work);
    }

    fn stop(&self) -> bool {
        let others = || {
            if self.apart {
                self.progress.by_hand()
            } else {
                self.progress.stop()
            }
        };
        self.used_up() || others()
    }

    fn by_hand(&self) -> bool {
        self.whole && self.used_up() || self.progress.by_hand()
    }

    fn left(&self) -> i64 {
        let own = self.left.load(Ordering::Relaxed).max(0);
        if self.apart {
            own
        } else {
            own.min(self.progress.left())
        }
    }
}

/// A flag alone: set it, and the work ends with what it has.
impl Progress for AtomicBool {
    fn stop(&self) -> bool {
        self.load(Ordering::Relaxed)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_budget_ends_after_its_work_or_when_another_does() {
        let all = Budget::new(&NoProgress, 100);
        let one = Budget::new(&all, 60);
        one.worked(60);
        assert!(!one.stop() && !all.stop());
        one.worked(1);
        assert!(one.stop() && !all.stop());
        // What one spends is spent of all.
        all.worked(40);
        assert!(all.stop());

        let by_hand = AtomicBool::new(false);
        let left = Budget::new(&by_hand, 1);
        assert!(!left.stop());
        by_hand.store(true, Ordering::Relaxed);
        assert!(left.stop());
    }

    #[test]
    fn a_budget_of_all_or_nothing_ends_as_if_by_hand() {
        let counted = Counted::new(&NoProgress);
        let (whole, apart) = (Budget::whole(&counted, 60), Budget::apart(&counted, 60));
        for budget in [&whole, &apart] {
            budget.worked(61);
            assert!(budget.stop());
        }
        assert!(whole.by_hand() && !apart.by_hand() && !counted.stop());
        assert_eq!(counted.work(), 122);
    }

    #[test]
    fn a_budget_apart_ends_after_its_own_work_or_by_hand_alone() {
        let by_hand = AtomicBool::new(false);
        let all = Budget::new(&by_hand, 100);
        let (one, other) = (Budget::apart(&all, 60), Budget::apart(&all, 60));
        one.worked(61);
        other.worked(59);
        // All is spent, yet the other goes on: which of two threads is faster must not matter.
        assert!(all.stop() && one.stop() && one.used_up() && !other.stop());
        assert!(!all.by_hand() && other.left() == 1 && all.left() == 0);
        by_hand.store(true, Ordering::Relaxed);
        assert!(other.stop() && other.by_hand() && !other.used_up());
    }
}
