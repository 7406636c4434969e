//! Published limits of handling a straw, by its size.

/// Millilitres that tell a small straw from a medium one.
const BETWEEN: f64 = 0.4;

/// A limit in seconds, with its source.
type Limit = (f64, &'static str);

/// How long a straw stays in the bath at the least: 45 s for 0.5 mL (SUMMER-AI), 30 s for 0.25 mL
/// (no published source checked).
pub(super) fn thaw(straw_ml: f64) -> Limit {
    if straw_ml < BETWEEN {
        (30.0, "no published source checked")
    } else {
        (45.0, "SUMMER-AI")
    }
}

/// How long a canister may be in the neck at one lift: 10 s for 0.5 mL (MILIVE25, IASRI), 8 s for
/// 0.25 mL (MILIVE25). A cane that is not found in 5 to 10 s goes down again to cool (ILL-AI).
pub(super) fn neck(straw_ml: f64) -> Limit {
    if straw_ml < BETWEEN {
        (8.0, "MILIVE25")
    } else {
        (10.0, "MILIVE25, IASRI")
    }
}
