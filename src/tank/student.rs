//! Student's t: how far an estimate may be off, by the readings left over.

/// Two-sided 95 percent points of Student's t, by degrees of freedom (open mathematics; any table
/// of the t distribution). Between two of them the smaller number of degrees is used, which errs on
/// the wide side.
const POINTS: [(u32, f64); 23] = [
    (1, 12.706),
    (2, 4.303),
    (3, 3.182),
    (4, 2.776),
    (5, 2.571),
    (6, 2.447),
    (7, 2.365),
    (8, 2.306),
    (9, 2.262),
    (10, 2.228),
    (11, 2.201),
    (12, 2.179),
    (13, 2.160),
    (14, 2.145),
    (15, 2.131),
    (16, 2.120),
    (17, 2.110),
    (18, 2.101),
    (19, 2.093),
    (20, 2.086),
    (25, 2.060),
    (30, 2.042),
    (60, 2.000),
];

/// The factor on a standard error for a band that holds the truth 19 times in 20; nothing for none
/// left over.
pub(super) fn factor(spare: u32) -> Option<f64> {
    POINTS
        .iter()
        .rev()
        .find(|(n, _)| *n <= spare)
        .map(|(_, t)| *t)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// One and two degrees have closed forms: tan(0.475 pi), and p times the root of 2 / (1 - p p) at
    /// p = 0.95.
    #[test]
    fn closed_forms_of_the_first_two() {
        let one = (0.475 * std::f64::consts::PI).tan();
        assert!((factor(1).unwrap() - one).abs() < 1e-3, "{one}");
        let p: f64 = 0.95;
        let two = p * (2.0 / (1.0 - p * p)).sqrt();
        assert!((factor(2).unwrap() - two).abs() < 1e-3, "{two}");
        assert_eq!(factor(0), None);
        assert_eq!(factor(24), factor(20));
        assert_eq!(factor(1000), Some(2.0));
    }
}
