//! Laws of chance by series and sums: the normal law, days of gestation and of the cycle, the binomial.

/// The normal law below z, by its series around the middle.
fn below(z: f64) -> f64 {
    if z.abs() > 7.0 {
        return if z > 0.0 { 1.0 } else { 0.0 };
    }
    let (mut term, mut sum, mut n) = (z, z, 1.0);
    while f64::abs(term) > 1e-15 {
        n += 2.0;
        term *= z * z / n;
        sum += term;
    }
    0.5 + sum * (-0.5 * z * z).exp() / std::f64::consts::TAU.sqrt()
}

/// Shares of whole days: from the first day on. What lies beyond the first or last day counts there.
pub(super) struct Days {
    first: usize,
    shares: Vec<f64>,
}

impl Days {
    fn of(mean: f64, sd: f64, reach: f64) -> Self {
        let first = (mean - reach).floor().max(0.0) as usize;
        let last = (mean + reach).ceil().max(0.0) as usize;
        // From the outside in: what is below each half day, and nothing below the first.
        let mut under: Vec<f64> = (first..=last)
            .map(|n| below((n as f64 - 0.5 - mean) / sd))
            .collect();
        under[0] = 0.0;
        under.push(1.0);
        Self {
            first,
            shares: under.windows(2).map(|w| w[1] - w[0]).collect(),
        }
    }

    /// Days to the next heat: 21 on average, 17 to 24 published (SYNCH-HEIFERS), two deviations of
    /// 1.75 days; beyond four days on the fourth.
    pub(super) fn cycle() -> Self {
        Self::of(21.0, 1.75, 4.0)
    }

    /// Days of gestation; beyond four deviations on the last such day.
    pub(super) fn gestation(mean: f64, sd: f64) -> Self {
        Self::of(mean, sd, 4.0 * sd)
    }

    /// Day and share.
    pub(super) fn each(&self) -> impl Iterator<Item = (usize, f64)> + '_ {
        self.shares
            .iter()
            .enumerate()
            .map(|(n, s)| (self.first + n, *s))
    }
}

/// Probabilities are held to this: both count from the same shares.
const CHANCE: f64 = 1e-6;

/// True if fewer than `least` of `all` come in fewer than 5 of 100, more than `most` in at most 5, both
/// as near as that allows; at these two chances.
pub(super) fn ends(all: u32, chances: [f64; 2], least: u32, most: u32) -> bool {
    let at = |chance: f64, n: u32, part: f64| {
        let (under, with) = at_most(all, chance.clamp(0.0, 1.0), n);
        under < part + CHANCE && with >= part - CHANCE
    };
    at(chances[0], least, 0.05) && at(chances[1], most, 0.95)
}

/// The chance of fewer than n of all, and of at most n: terms by their logarithms.
fn at_most(all: u32, chance: f64, n: u32) -> (f64, f64) {
    if n > all {
        return (1.0, 1.0);
    }
    if chance <= 0.0 {
        return (f64::from(u8::from(n > 0)), 1.0);
    }
    if chance >= 1.0 {
        return (0.0, f64::from(u8::from(n == all)));
    }
    let (yes, no) = (chance.ln(), (-chance).ln_1p());
    let mut term = f64::from(all) * no;
    let (mut under, mut with) = (0.0, term.exp());
    for k in 1..=n {
        let left = f64::from(all - k + 1);
        term += left.ln() - f64::from(k).ln() + yes - no;
        under = with;
        with += term.exp();
    }
    (under, with)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Tables of the normal law (from memory): 0.8413 below 1, 0.975 below 1.96; it adds up to 1.
    #[test]
    fn the_normal_law_is_the_tables() {
        assert!((below(1.0) - 0.8413).abs() < 5e-5 && (below(1.96) - 0.975).abs() < 5e-5);
        for days in [Days::cycle(), Days::gestation(283.0, 5.52)] {
            let sum: f64 = days.each().map(|d| d.1).sum();
            assert!((sum - 1.0).abs() < 1e-12);
        }
    }

    /// Of three tosses none or one are heads in half of all cases.
    #[test]
    fn tosses_of_a_coin() {
        let (none, one) = at_most(3, 0.5, 1);
        assert!((none - 0.125).abs() < 1e-12 && (one - 0.5).abs() < 1e-12);
        assert!(ends(10, [0.0, 1.0], 0, 10) && !ends(10, [0.0, 1.0], 1, 10));
    }
}
