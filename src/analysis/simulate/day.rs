//! One technician's day as it happens, cow by cow: straws into the bath, guns loaded, cows bred.
//!
//! Alone, a round is: thaw, load all guns, breed, reset. With a helper the next round thaws while
//! this one is bred. He does not put it in before the technician will want it, as straws age; nor
//! so late that the technician waits: he counts the guns left at the mean minutes a cow, and puts
//! the straws in when the first new gun will be ready just as the last old one is used. With steady
//! cows that is what the plan counts on. If a last cow then takes long, the new straws wait
//! loaded, and that is why a helper's rounds are late more often than by the plan's formula.
//!
//! Nobody is bred before her AI window begins. Straws go in only when, at the mean minutes, no cow of the
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
    /// After a rest that the season's rules ask for: how long it is, however late it begins.
    pub(super) rest: f64,
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
    rest: f64,
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
            // Each at the moment that she could be bred by the mean. A gun that waits is the
            // plan's own way with its rounds; in others nobody would load it so early.
            let open = (first..end).map(|i| {
                let held = if planned {
                    f64::NEG_INFINITY
                } else {
                    cows[i].start_from + pace.cow
                };
                cows[i].opens.max(held) - pace.lead(k) - pace.bred_after((i - first + 1) as u32)
            });
            all.push(Round {
                first,
                end,
                bath_from: open.fold(cows[first].bath_from, f64::max),
                rest: cows[first].rest,
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
        let mut bath = ready.max(round.bath_from);
        if round.rest > 0.0 {
            bath = bath.max(free + round.rest);
        }
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

#[cfg(test)]
mod tests {
    #![allow(clippy::float_cmp)] // Whole seconds and values that are copied are exact.

    use statrs::distribution::{ContinuousCDF, Gamma};

    use super::super::law::{Draw, Law, stream};
    use super::*;

    const ANY: Cow = Cow {
        opens: 0.0,
        closes: 1e9,
        pen: 0,
        new_round: false,
        bath_from: f64::NEG_INFINITY,
        rest: 0.0,
        start_from: f64::NEG_INFINITY,
    };

    fn pace(helper: bool) -> Pace {
        Pace {
            thaw: 60.0,
            load: 30.0,
            reset: 60.0,
            cow: 180.0,
            helper,
        }
    }

    /// Begins at 10,000 s, so that hours are open from long before.
    fn bred(pace: &Pace, cows: &[Cow], k: u32, times: &[f64]) -> (Vec<f64>, Day) {
        let mut bred = vec![0.0; cows.len()];
        let rounds = Rounds::new(pace, cows, k, true);
        let day = play(pace, &rounds, cows, 10_000.0, times, 900.0, &mut bred);
        (bred.iter().map(|b| b - 10_000.0).collect(), day)
    }

    #[test]
    fn a_day_alone_by_hand() {
        // Thaw 60, load 2 x 30: guns at 120. Cows 100 and 300: bred at 220 and 520. Reset 60,
        // thaw and load 120: guns at 700. One cow of 180: 880.
        let (at, day) = bred(&pace(false), &[ANY; 3], 2, &[100.0, 300.0, 180.0]);
        assert_eq!(at, [220.0, 520.0, 880.0]);
        assert_eq!((day.late_straws, day.late_full_rounds), (0, 0));
        // The second straw is 60 + 60 + 900 old.
        let (_, day) = bred(&pace(false), &[ANY; 3], 2, &[100.0, 800.0, 180.0]);
        assert_eq!((day.late_straws, day.late_full_rounds), (1, 1));
    }

    #[test]
    fn a_day_with_a_helper_by_hand() {
        // First gun at 90. Two steady cows: 270, 450. The helper counts 180 s for the second
        // cow, needs 90 s to the first gun: bath at 270 + 90 = 360, gun at 450.
        let p = pace(true);
        let (at, _) = bred(&p, &[ANY; 4], 2, &[180.0; 4]);
        assert_eq!(at, [270.0, 450.0, 630.0, 810.0]);
        // The second cow is quick (40 s, bred at 310): the technician waits for the gun at 450.
        let (at, _) = bred(&p, &[ANY; 4], 2, &[180.0, 40.0, 180.0, 180.0]);
        assert_eq!(at, [270.0, 310.0, 630.0, 810.0]);
        // She is slow (bred at 270 + 700 = 970, her straw 970 s old): the straws of 360 wait, and
        // the last of them is in the cow at 970 + 360 = 1330, 970 s old, too.
        let (at, day) = bred(&p, &[ANY; 4], 2, &[180.0, 700.0, 180.0, 180.0]);
        assert_eq!(at, [270.0, 970.0, 1150.0, 1330.0]);
        assert_eq!((day.late_straws, day.late_full_rounds), (2, 2));
    }

    #[test]
    fn a_slow_helper_is_waited_for() {
        // Loading takes 200 s a gun, cows 60: guns of a round of two at 260 and 460, the next
        // straws into the bath at 460.
        let p = Pace {
            load: 200.0,
            cow: 60.0,
            ..pace(true)
        };
        let (at, _) = bred(&p, &[ANY; 4], 2, &[60.0; 4]);
        assert_eq!(at, [320.0, 520.0, 780.0, 980.0]);
    }

    #[test]
    fn nobody_is_bred_before_her_hours_and_straws_wait_in_the_tank() {
        // The second cow opens at 2,000 s: by the mean she would be bred 120 + 360 after the
        // bath, so it begins at 1,520.
        let opens = 12_000.0;
        let later = Cow { opens, ..ANY };
        let (at, day) = bred(&pace(false), &[ANY, later], 2, &[180.0, 180.0]);
        assert_eq!(at, [1820.0, 2000.0]);
        assert_eq!(day.idle, 1520.0);
        // She is quick, and is waited for all the same.
        let (at, _) = bred(&pace(false), &[ANY, later], 2, &[10.0, 10.0]);
        assert_eq!(at, [1650.0, 2000.0]);
    }

    #[test]
    fn a_break_waits_for_the_plan_and_a_rest_is_never_shortened() {
        let after = |rest: f64| Cow {
            bath_from: 11_000.0,
            rest,
            ..ANY
        };
        // Alone, one at a time: guns 90 s after the bath. Early: the plan's moment is waited for.
        let (at, day) = bred(&pace(false), &[ANY, after(600.0)], 1, &[100.0, 100.0]);
        assert_eq!(at, [190.0, 1190.0]);
        assert_eq!(day.idle, 1000.0 - 190.0 - 60.0);
        // Late, at 1,090: work goes on after the reset of a mere break, after the whole of a rest.
        let (at, _) = bred(&pace(false), &[ANY, after(0.0)], 1, &[1000.0, 100.0]);
        assert_eq!(at, [1090.0, 1340.0]);
        let (at, _) = bred(&pace(false), &[ANY, after(600.0)], 1, &[1000.0, 100.0]);
        assert_eq!(at, [1090.0, 1880.0]);
    }

    #[test]
    fn the_mean_finish_is_the_sum_of_the_means() {
        let (p, n, k, runs) = (pace(false), 60, 3, 10_000);
        let cows = vec![ANY; n];
        let rounds = Rounds::new(&p, &cows, k, true);
        let draw = Draw::new(Law::Gamma, 180.0, 60.0);
        let (mut times, mut at) = (vec![0.0; n], vec![0.0; n]);
        let mut sum = 0.0;
        for run in 0..runs {
            draw.fill(&mut stream(3, 0, run), &mut times);
            sum += play(&p, &rounds, &cows, 10_000.0, &times, 900.0, &mut at).finish;
        }
        // 20 rounds of thaw 60 and load 90, 19 resets of 60, 60 cows of 180.
        let exact = 10_000.0 + 20.0 * 150.0 + 19.0 * 60.0 + 60.0 * 180.0;
        let error = 60.0 * 60f64.sqrt() / f64::from(runs).sqrt();
        assert!((sum / f64::from(runs) - exact).abs() < 4.0 * error);
    }

    #[test]
    fn a_round_is_late_as_often_as_the_sum_of_its_gamma_times() {
        let (p, n, runs) = (pace(false), 40usize, 10_000);
        let cows = vec![ANY; n];
        let draw = Draw::new(Law::Gamma, 180.0, 60.0);
        for k in [2, 3, 4, 5] {
            let rounds = Rounds::new(&p, &cows, k, true);
            let (mut times, mut at) = (vec![0.0; n], vec![0.0; n]);
            let mut late = 0;
            for run in 0..runs {
                draw.fill(&mut stream(5, 0, run), &mut times);
                late += play(&p, &rounds, &cows, 0.0, &times, 900.0, &mut at).late_full_rounds;
            }
            let of = f64::from(runs) * rounds.full as f64;
            let share = f64::from(late) / of;
            // k cows of shape 9 and 20 s each; 60 + 30 k are gone when the first is begun.
            let sum = Gamma::new(9.0 * f64::from(k), 1.0 / 20.0).unwrap();
            let exact = sum.sf(900.0 - 60.0 - 30.0 * f64::from(k));
            let error = (exact * (1.0 - exact) / of).sqrt();
            assert!((share - exact).abs() < 4.0 * error, "{k}: {share} {exact}");
        }
    }

    #[test]
    fn with_a_helper_steady_rounds_are_late_as_the_formula_says() {
        // A first round finds the technician waiting: exactly gamma. Later ones may wait loaded.
        let (p, runs) = (pace(true), 20_000);
        let draw = Draw::new(Law::Gamma, 180.0, 60.0);
        let share = |n: usize| {
            let cows = vec![ANY; n];
            let rounds = Rounds::new(&p, &cows, 4, true);
            let (mut times, mut at) = (vec![0.0; n], vec![0.0; n]);
            let late: u32 = (0..runs)
                .map(|run| {
                    draw.fill(&mut stream(9, 0, run), &mut times);
                    play(&p, &rounds, &cows, 0.0, &times, 900.0, &mut at).late_full_rounds
                })
                .sum();
            f64::from(late) / f64::from(runs) / rounds.full as f64
        };
        let exact = Gamma::new(36.0, 1.0 / 20.0).unwrap().sf(900.0 - 90.0);
        let first = share(4);
        let error = (exact * (1.0 - exact) / f64::from(runs)).sqrt();
        assert!((first - exact).abs() < 4.0 * error, "{first} {exact}");
        assert!(share(40) > exact + 10.0 * error);
    }
}
