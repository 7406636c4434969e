//! What trials say together of the percentage pregnant: a random-effects mean on the logit scale.
//!
//! A trial `i` of `n_i` animals with share `p_i` pregnant has `y_i = ln(p_i / (1 - p_i))` with variance
//! `v_i = 1 / (n_i p_i (1 - p_i))`. Trials of one protocol differ by more than chance: their true values spread with
//! the variance `t^2` round the protocol's own. With `w_i = 1 / (v_i + t^2)` the mean is `m = sum(w_i y_i) / sum(w_i)`,
//! with variance `1 / sum(w_i)`. What another herd gets in another season lies, in 95 of 100 cases, within
//! `m +/- 1.96 sqrt(1 / sum(w_i) + t^2)`.
//!
//! `t` is that of all protocols with two figures or more, by the method of moments of `DerSimonian` and Laird
//! with the sums of all protocols: most have one trial, which tells nothing of it.

/// How far trials of one protocol differ, on the logit scale: one standard deviation, computed from the
/// figures of the library (a test computes it again).
const BETWEEN_TRIALS: f64 = 0.177;

/// The standard normal value that 97.5 % lie below.
const NORMAL_975: f64 = 1.959_964;

/// A trial's figure: percent pregnant, of so many head.
pub(super) type Figure = (f64, u32);

/// A figure on the logit scale: value and variance.
fn logit((percent, head): Figure) -> (f64, f64) {
    let head = f64::from(head);
    // A share of none or of all has no logit: half an animal to the other side.
    let share = (percent / 100.0).clamp(0.5 / head, 1.0 - 0.5 / head);
    let variance = 1.0 / (head * share * (1.0 - share));
    ((share / (1.0 - share)).ln(), variance)
}

/// In percent.
fn percent(logit: f64) -> f64 {
    100.0 / (1.0 + (-logit).exp())
}

/// Lower end, mean and upper end in percent for another herd and season. Of one figure or more.
pub(super) fn pooled(figures: impl Iterator<Item = Figure>) -> [f64; 3] {
    let between = BETWEEN_TRIALS * BETWEEN_TRIALS;
    let weighed = figures.map(logit).map(|(y, v)| (y, 1.0 / (v + between)));
    let (sum, weights) = weighed.fold((0.0, 0.0), |(s, ws), (y, w)| (s + w * y, ws + w));
    let mean = sum / weights;
    let spread = NORMAL_975 * (1.0 / weights + between).sqrt();
    [mean - spread, mean, mean + spread].map(percent)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::trade::protocol::{Library, Semen};

    /// The variance between trials by `DerSimonian` and Laird, over groups of figures.
    fn between(groups: &[Vec<(f64, f64)>]) -> f64 {
        let (mut q, mut c, mut df) = (0.0, 0.0, 0.0);
        for group in groups.iter().filter(|g| g.len() > 1) {
            let w: Vec<f64> = group.iter().map(|(_, v)| 1.0 / v).collect();
            let all: f64 = w.iter().sum();
            let mean = group.iter().zip(&w).map(|((y, _), w)| w * y).sum::<f64>() / all;
            q += group
                .iter()
                .zip(&w)
                .map(|((y, _), w)| w * (y - mean).powi(2))
                .sum::<f64>();
            c += all - w.iter().map(|w| w * w).sum::<f64>() / all;
            df += group.len() as f64 - 1.0;
        }
        ((q - df) / c).max(0.0)
    }

    /// statsmodels 0.14, `combine_effects` with `method_re="dl"`.
    #[test]
    fn the_method_of_moments_is_that_of_a_reference_library() {
        let trials = vec![(0.1, 0.01), (-0.2, 0.02), (0.45, 0.015)];
        assert!((between(&[trials]) - 0.074_722_222).abs() < 1e-8);
    }

    #[test]
    fn the_spread_between_trials_is_that_of_the_library() {
        let library = Library::built_in();
        let sorts = [Semen::Conventional, Semen::Sexed];
        let of = |sort| {
            library.iter().map(move |p| {
                let figures = p.pregnant.iter().filter(|f| f.semen == sort);
                figures.map(|f| logit(f.figure())).collect::<Vec<_>>()
            })
        };
        let groups: Vec<_> = sorts.into_iter().flat_map(of).collect();
        let found = between(&groups).sqrt();
        assert!((found - BETWEEN_TRIALS).abs() < 0.001, "{found}");
    }

    /// numpy, by the formulas above: STAI-SEXED with 404 heifers and THOMAS-STAI2 with 1138 give 56.8 (45.9 to 67.1);
    /// STEV18 63 and 58 % of 531 cows each give 60.5 (49.6 to 70.5).
    #[test]
    fn figures_are_pooled_as_by_hand() {
        let library = Library::built_in();
        for (id, wanted) in [
            ("heifer-14-day-insert-pg-split", [45.9, 56.8, 67.1]),
            ("cow-7-day-co-synch-insert-split", [49.6, 60.5, 70.5]),
        ] {
            let rate = library.get(id).unwrap().rate(Semen::Conventional).unwrap();
            for (got, wanted) in [rate.low, rate.mean, rate.high].into_iter().zip(wanted) {
                assert!((got - wanted).abs() < 0.05, "{id}: {got} {wanted}");
            }
        }
    }

    /// One trial is no certainty, and more animals make it surer.
    #[test]
    fn more_animals_narrow_the_interval_to_that_of_seasons() {
        let width = |head| {
            let [low, mean, high] = pooled([(50.0, head)].into_iter());
            assert!((mean - 50.0).abs() < 1e-9 && low > 0.0 && high < 100.0);
            high - low
        };
        assert!(width(10) > width(100) && width(100) > width(10_000));
        assert!(width(10_000_000) > 15.0);
        assert!(
            pooled([(100.0, 4)].into_iter())
                .iter()
                .all(|p| p.is_finite())
        );
    }
}
