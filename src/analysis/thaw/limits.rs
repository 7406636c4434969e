//! Published limits of handling a straw, by its size.

/// Millilitres that tell a small straw from a medium one.
const BETWEEN: f64 = 0.4;

/// Seconds that a straw stays in the bath at the least: 45 for 0.5 mL (SUMMER-AI), 30 for 0.25 mL
/// (from memory).
#[must_use]
pub fn thaw_seconds(straw_ml: f64) -> f64 {
    if straw_ml < BETWEEN { 30.0 } else { 45.0 }
}

/// Where [`thaw_seconds`] comes from.
#[must_use]
pub fn thaw_source(straw_ml: f64) -> &'static str {
    if straw_ml < BETWEEN {
        "from memory"
    } else {
        "SUMMER-AI"
    }
}

/// Seconds that a canister may be in the neck at one lift: 10 for 0.5 mL (MILIVE25, IASRI), 8 for
/// 0.25 mL (MILIVE25). A cane that is not found in 5 to 10 s goes down again to cool (ILL-AI).
#[must_use]
pub fn neck_seconds(straw_ml: f64) -> f64 {
    if straw_ml < BETWEEN { 8.0 } else { 10.0 }
}

/// Where [`neck_seconds`] comes from.
#[must_use]
pub fn neck_source(straw_ml: f64) -> &'static str {
    if straw_ml < BETWEEN {
        "MILIVE25"
    } else {
        "MILIVE25, IASRI"
    }
}
