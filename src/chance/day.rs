//! One technician's day as it happens, cow by cow: straws into the bath, guns loaded, cows bred.
//!
//! Alone, a round is: thaw, load all guns, breed, reset. With a helper the next round thaws while
//! this one is bred. He does not put it in before the technician will want it, as straws age; nor
//! so late that the technician waits: he counts the guns left at the mean minutes a cow, and puts
//! the straws in when the first new gun will be ready just as the last old one is used. With steady
//! cows that is what the plan counts on. If a last cow then takes long, the new straws wait
//! loaded, and that is why a helper's rounds are late more often than by the plan's formula.
//!
//! Nobody is bred before her hours open. Straws go in only when, at the mean minutes, no cow of the
//! round would have to be waited for; if one comes too soon all the same, the straws in hand age.

/// Seconds of a technician's work.
#[derive(Clone, Copy, Debug)]
pub(super) struct Pace {
    pub(super) thaw: f64,
    pub(super) load: f64,
    pub(super) reset: f64,
    /// Mean seconds a cow.
    pub(super) cow: f64,
    pub(super) helper: bool,
}

impl Pace {
    /// From the bath to the first gun at hand, in rounds of `k`. A round of fewer has the time of a
    /// full one, as in the plan.
    pub(super) fn lead(&self, k: u32) -> f64 {
        if self.helper {
            self.thaw + self.load
        } else {
            self.thaw + f64::from(k) * self.load
        }
    }

    /// From the first gun at hand until the cow in place `p` (from 1) is bred, at the mean.
    pub(super) fn bred_after(&self, p: u32) -> f64 {
        let bred = f64::from(p) * self.cow;
        if self.helper {
            bred.max(f64::from(p - 1) * self.load + self.cow)
        } else {
            bred
        }
    }

    /// When a helper who began a round of `n` at `bath` has loaded its last gun.
    pub(super) fn hands_free(&self, bath: f64, n: u32) -> f64 {
        bath + self.thaw + f64::from(n) * self.load
    }

    /// At which gun of `n` (from 0), and how long after the technician takes it, a helper puts
    /// the next round in.
    fn call(&self, n: usize) -> (usize, f64) {
        let ready = self.thaw + self.load;
        let left = |gun: usize| (n - gun) as f64 * self.cow;
        let gun = (0..n).rev().find(|g| left(*g) >= ready).unwrap_or(0);
        (gun, (left(gun) - ready).max(0.0))
    }
}

/// A cow of a technician's day; seconds from the session's base.
#[derive(Clone, Copy, Debug)]
pub(super) struct Cow {
    /// When she may be bred from.
    pub(super) opens: f64,
    /// And until.
    pub(super) closes: f64,
    /// Pen, by its place in the session.
    pub(super) pen: usize,
    /// True if she is the first of a round in the plan.
    pub(super) new_round: bool,
    /// After a break: when the plan puts her round into the bath.
    pub(super) bath_from: f64,
    /// Where the plan leaves a gun waiting inside a round: when it takes it up.
    pub(super) start_from: f64,
}

/// A round: cows `first..end`.
#[derive(Clone, Copy, Debug)]
pub(super) struct Round {
    pub(super) first: usize,
    pub(super) end: usize,
    /// Not into the bath before: for a break, or until hours open.
    bath_from: f64,
    call: (usize, f64),
}

/// A technician's cows in rounds of `k` straws.
#[derive(Clone, Debug)]
pub(super) struct Rounds {
    pub(super) k: u32,
    pub(super) all: Vec<Round>,
    /// Rounds of `k` straws, no fewer.
    pub(super) full: usize,
}

impl Rounds {
    /// `planned`: as the plan's own rounds go; else only its breaks are kept.
    pub(super) fn new(pace: &Pace, cows: &[Cow], k: u32, planned: bool) -> Self {
        let mut all: Vec<Round> = Vec::new();
        let mut first = 0;
        while first < cows.len() {
            let begins = |c: &Cow| c.bath_from.is_finite() || (planned && c.new_round);
            let most = (first + k as usize).min(cows.len());
            let end = (first + 1..most)
                .find(|i| begins(&cows[*i]))
                .unwrap_or(most);
            // Each at the moment that she could be bred by the mean.
            let open = (first..end)
                .map(|i| cows[i].opens - pace.lead(k) - pace.bred_after((i - first + 1) as u32));
            all.push(Round {
                first,
                end,
                bath_from: open.fold(cows[first].bath_from, f64::max),
                call: pace.call(end - first),
            });
            first = end;
        }
        let full = all.iter().filter(|r| r.end - r.first == k as usize).count();
        Self { k, all, full }
    }
}

/// What came of a day.
#[derive(Clone, Copy, Debug, Default)]
pub(super) struct Day {
    /// When the last cow is bred.
    pub(super) finish: f64,
    /// Seconds without work, in breaks of the plan and until hours open.
    pub(super) idle: f64,
    /// Full rounds whose last straw is too old.
    pub(super) late_full_rounds: u32,
    /// Straws too old.
    pub(super) late_straws: u32,
}

/// A day: work begins at `begins`, cows take `times`, straws are too old after `limit`. When each
/// cow is bred is written to `bred`.
pub(super) fn play(
    pace: &Pace,
    rounds: &Rounds,
    cows: &[Cow],
    begins: f64,
    times: &[f64],
    limit: f64,
    bred: &mut [f64],
) -> Day {
    let mut day = Day::default();
    // When the next round could go in, and when the technician has nothing at hand.
    let (mut ready, mut free) = (begins, begins);
    for round in &rounds.all {
        let bath = ready.max(round.bath_from);
        day.idle += bath - ready;
        if !pace.helper {
            free = bath + pace.lead(rounds.k);
        }
        let mut call = bath;
        let mut late = 0;
        for i in round.first..round.end {
            let cow = &cows[i];
            let mut start = free.max(cow.start_from);
            if pace.helper {
                let gun = i - round.first;
                start = start.max(pace.hands_free(bath, gun as u32 + 1));
                if gun == round.call.0 {
                    call = start + round.call.1;
                }
            }
            free = (start + times[i]).max(cow.opens);
            bred[i] = free;
            // Just in time is in time, whatever the rounding.
            late += u32::from(free - bath > limit + 1e-6);
        }
        // Straws of a round are used in turn: the last is the oldest.
        let n = round.end - round.first;
        day.late_straws += late;
        day.late_full_rounds += u32::from(late > 0 && n == rounds.k as usize);
        ready = if pace.helper {
            call.max(pace.hands_free(bath, n as u32))
        } else {
            free + pace.reset
        };
    }
    day.finish = free;
    day
}
