//! Slaughter withdrawal: only what a listed publication states, for its own country.

use crate::trade::protocol::dose::Drug;

/// What a publication states for a class of drug.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Stated {
    /// ISO 3166 code of the country that it holds for.
    pub country: &'static str,
    /// The class.
    pub drug: Drug,
    /// Which substance or use, in words.
    pub of: &'static str,
    /// Days for meat after the last treatment.
    pub days: u32,
    /// Source tag.
    pub source: &'static str,
}

const fn stated(
    country: &'static str,
    drug: Drug,
    of: &'static str,
    days: u32,
    source: &'static str,
) -> Stated {
    Stated {
        country,
        drug,
        of,
        days,
        source,
    }
}

/// Every statement, the longest of a class first. None is listed for `GnRH` and estradiol.
pub const WITHDRAWALS: &[Stated] = &[
    stated("GB", Drug::Pg, "dinoprost", 2, "NOAH-PG"),
    stated("GB", Drug::Pg, "cloprostenol", 2, "NOAH-CLO2"),
    stated("GB", Drug::Pg, "d-cloprostenol", 1, "NOAH-CLOPROSTENOL"),
    stated("GB", Drug::Insert, "progesterone insert", 0, "NOAH-INSERT"),
    // 24 hours.
    stated("CA", Drug::Mga, "in feedlots", 1, "CFIA"),
    stated("US", Drug::Mga, "in feed", 0, "MGA-MAKER"),
];
