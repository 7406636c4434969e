//! Student's t: how far an estimate may be off, by the readings left over.

use statrs::distribution::{ContinuousCDF, StudentsT};

/// The factor on a standard error for a band that holds the truth 19 times in 20; nothing for none
/// left over.
pub(super) fn factor(spare: u32) -> Option<f64> {
    let law = StudentsT::new(0.0, 1.0, f64::from(spare)).ok()?;
    Some(law.inverse_cdf(0.975))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// One and two degrees have closed forms: tan(0.475 pi), and p times the root of 2 / (1 - p p) at
    /// p = 0.95. With 20 degrees a table has 2.086 (from memory).
    #[test]
    fn closed_forms_of_the_first_two() {
        let one = (0.475 * std::f64::consts::PI).tan();
        assert!((factor(1).unwrap() - one).abs() < 1e-6, "{one}");
        let p: f64 = 0.95;
        let two = p * (2.0 / (1.0 - p * p)).sqrt();
        assert!((factor(2).unwrap() - two).abs() < 1e-6, "{two}");
        assert!((factor(20).unwrap() - 2.086).abs() < 5e-4);
        assert_eq!(factor(0), None);
    }
}
