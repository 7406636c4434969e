//! How long a cow takes on a day that is only thought of, drawn from a seed.
//!
//! Minutes a cow are never negative, and a bad cow costs more than a good one saves: the law must
//! be skewed to the right. The gamma law with the season's mean and deviation is that, and the sum
//! of `k` such times is gamma again, so that the chance of a late round can be held against an
//! exact figure. No published data tell which law is right; [`Law::LogNormal`] shows what another
//! would change.
//!
//! Each technician and day has a stream of draws of its own: numbers of straws, and plans, are compared
//! under the same luck, and no result hangs on the order of computation. One thread is enough: 10,000
//! days of a session of 300 cows, with ten numbers of straws, take 0.23 s of one processor.

use rand_chacha::ChaCha8Rng;
use rand_chacha::rand_core::SeedableRng;
use rand_distr::{Distribution, Gamma, LogNormal};

/// The law of the minutes a cow.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, serde::Serialize)]
#[serde(rename_all = "lowercase")]
pub enum Law {
    /// Gamma.
    #[default]
    Gamma,
    /// Lognormal, for comparison: the same mean and deviation, a longer tail.
    LogNormal,
}

/// Draws of one technician's seconds a cow.
#[derive(Clone, Copy, Debug)]
pub(super) enum Draw {
    Same(f64),
    Gamma(Gamma<f64>),
    LogNormal(LogNormal<f64>),
}

impl Draw {
    /// With this mean and standard deviation, in seconds. A deviation too small to matter, or to
    /// be computed with, is none.
    pub(super) fn new(law: Law, mean: f64, deviation: f64) -> Self {
        let variation = deviation / mean;
        if variation.is_nan() || variation < 1e-6 {
            return Self::Same(mean);
        }
        let squared = variation * variation;
        match law {
            Law::Gamma => Gamma::new(1.0 / squared, mean * squared).map(Self::Gamma),
            Law::LogNormal => LogNormal::from_mean_cv(mean, variation)
                .map(Self::LogNormal)
                .map_err(|_| rand_distr::GammaError::ScaleTooSmall),
        }
        .unwrap_or(Self::Same(mean))
    }

    /// A draw for each place.
    pub(super) fn fill(&self, rng: &mut ChaCha8Rng, times: &mut [f64]) {
        match self {
            Self::Same(t) => times.fill(*t),
            Self::Gamma(law) => times.fill_with(|| law.sample(rng)),
            Self::LogNormal(law) => times.fill_with(|| law.sample(rng)),
        }
    }
}

/// The generator of a technician, by place in the crew, on a day. Each has a stream of its own:
/// what is drawn does not hang on who else works there, on the order of the computation, or on
/// straws at once, so that plans and numbers of straws are compared under the same luck.
pub(super) fn stream(seed: u64, technician: usize, day: u32) -> ChaCha8Rng {
    let mut key = [0; 32];
    key[..8].copy_from_slice(&seed.to_le_bytes());
    let mut rng = ChaCha8Rng::from_seed(key);
    rng.set_stream(((technician as u64) << 32) | u64::from(day));
    rng
}

#[cfg(test)]
mod tests {
    #![allow(clippy::float_cmp)] // Whole seconds and values that are copied are exact.

    use super::*;

    fn mean_and_deviation(law: Law, mean: f64, deviation: f64) -> (f64, f64) {
        let mut times = vec![0.0; 200_000];
        Draw::new(law, mean, deviation).fill(&mut stream(1, 0, 0), &mut times);
        assert!(times.iter().all(|t| *t >= 0.0));
        let n = times.len() as f64;
        let m = times.iter().sum::<f64>() / n;
        let v = times.iter().map(|t| (t - m).powi(2)).sum::<f64>() / (n - 1.0);
        (m, v.sqrt())
    }

    #[test]
    fn both_laws_have_the_mean_and_the_deviation_asked_for() {
        for law in [Law::Gamma, Law::LogNormal] {
            for (mean, deviation) in [(180.0, 60.0), (240.0, 24.0), (90.0, 90.0)] {
                let (m, d) = mean_and_deviation(law, mean, deviation);
                // Four standard errors of the mean; the deviation within 2 %.
                assert!(
                    (m - mean).abs() < 4.0 * deviation / 200_000f64.sqrt(),
                    "{law:?} {m}"
                );
                assert!((d / deviation - 1.0).abs() < 0.02, "{law:?} {d}");
            }
        }
    }

    #[test]
    fn extremes_are_drawn_without_harm() {
        for law in [Law::Gamma, Law::LogNormal] {
            for (mean, deviation) in [
                (180.0, 0.0),
                (1e-9, 3600.0),
                (3600.0, 1e-12),
                (1e-300, 3600.0),
            ] {
                let mut times = [0.0; 100];
                Draw::new(law, mean, deviation).fill(&mut stream(1, 0, 0), &mut times);
                assert!(times.iter().all(|t| t.is_finite() && *t >= 0.0));
            }
        }
    }

    #[test]
    fn a_seed_means_the_same_draws_in_every_version() {
        let mut times = [0.0; 3];
        Draw::new(Law::Gamma, 180.0, 60.0).fill(&mut stream(7, 2, 5), &mut times);
        let rounded = times.map(|t| (t * 1000.0).round() / 1000.0);
        assert_eq!(rounded, [123.838, 147.349, 146.154]);
    }
}
